"""What a file must be before YAML looks at it, and that no file takes time or memory before it is refused."""

from __future__ import annotations

import os
import socket
import time
import tracemalloc

import pytest

from asfound.source import guards
from asfound.source.guards import Unreadable, hidden, position, read_file
from asfound.source.limits import DEPTH, FILE_BYTES, FINDINGS_PER_FILE, VALUES
from asfound.source.reader import read
from asfound.source.schemas import KINDS, validate


def refused(path) -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        read_file(path)
    return caught.value


def test_an_ordinary_file(tmp_path):
    (tmp_path / "a").write_bytes(b"x" * FILE_BYTES)
    assert read_file(tmp_path / "a") == b"x" * FILE_BYTES
    assert read_file(tmp_path / "a", FILE_BYTES) and (tmp_path / "a").stat().st_size == FILE_BYTES


def test_a_link_is_not_followed(tmp_path):
    (tmp_path / "secret").write_text("secret")
    (tmp_path / "link").symlink_to("secret")
    why = refused(tmp_path / "link")
    assert (why.id, why.repair) == ("file-link", "put the file itself here")
    assert "secret" not in why.message


def test_a_pipe_does_not_block(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert refused(tmp_path / "pipe").id == "file-not-regular"


def test_folders_sockets_and_devices(tmp_path):
    assert refused(tmp_path).id == "file-not-regular"
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(tmp_path / "socket"))
        assert refused(tmp_path / "socket").id == "file-not-regular"
    assert refused("/dev/zero").id == "file-not-regular"


def test_missing_and_forbidden_files(tmp_path, monkeypatch):
    none = refused(tmp_path / "none")
    assert (none.id, none.message) == ("file-unreadable", "there is no such file")

    def denied(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(guards.os, "open", denied)
    why = refused(tmp_path / "a")
    assert (why.id, why.message) == ("file-unreadable", "the file cannot be read: Permission denied")


def test_a_large_file_is_refused_by_its_size_alone(tmp_path):
    with (tmp_path / "a").open("wb") as file:
        file.truncate(50 * 2**20)
    tracemalloc.start()
    why = refused(tmp_path / "a")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert why.message == "the file has 52,428,800 bytes; at most 262,144 are read"
    assert peak < 2**20


def test_a_file_that_grows_while_it_is_read(tmp_path, monkeypatch):
    """The size was asked before; what is read is counted as well."""
    (tmp_path / "a").write_bytes(b"x" * 100)
    real = os.fstat

    class Small:
        def __init__(self, status):
            self.st_mode, self.st_size = status.st_mode, 1

    monkeypatch.setattr(guards.os, "fstat", lambda handle: Small(real(handle)))
    with pytest.raises(Unreadable) as caught:
        read_file(tmp_path / "a", 50)
    assert caught.value.id == "file-too-large"


@pytest.mark.parametrize(
    ("raw", "line", "column", "message"),
    [
        ("a: ü\n".encode("utf-8-sig"), 1, 1, "the file starts with a byte-order mark"),
        ("a: 1\n".encode("utf-16"), 1, 1, "the file starts with UTF-16 or UTF-32"),
        (b"\xfe\xff" + "a: 1\n".encode("utf-16-be"), 1, 1, "the file starts with UTF-16"),
        (b"\x00\x00\xfe\xff", 1, 1, "the file starts with UTF-32"),
        ("ä: 1\nb: grün\n".encode("latin-1"), 1, 1, "the byte E4 is not UTF-8"),
        ("ä: 1\r\nb: ".encode() + b"gr\xfcn\n", 2, 6, "the byte FC is not UTF-8"),
        (b"a: \xed\xa0\x80\n", 1, 4, "the byte ED is not UTF-8"),  # a surrogate
        (b"a: \xc0\xaf\n", 1, 4, "the byte C0 is not UTF-8"),  # an overlong slash
    ],
)
def test_only_utf_8(raw, line, column, message):
    found = read(raw, "x.yml")
    assert found.data is None
    (finding,) = found.findings
    assert (finding.id, finding.line, finding.column) == ("file-not-utf-8", line, column)
    assert finding.message == message


def test_utf_16_without_mark_and_raw_nul():
    assert {f.id for f in read("a: 1\n".encode("utf-16-le"), "x").findings} == {"file-hidden-character"}
    (finding,) = read(b"a: \x00\n", "x").findings
    assert (finding.message, finding.line, finding.column) == ("a control character (U+0000)", 1, 4)


def test_every_control_direction_and_tag_character():
    """C0 and C1 (ISO/IEC 6429), separators, bidirectional controls (UAX #9), tags (Unicode chapter 23.9)."""
    bad = [*range(0x20), *range(0x7F, 0xA0), 0x2028, 0x2029, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
    bad += [*range(0xE0000, 0xE0080), 0xFEFF, 0x200B]
    for code in bad:
        if code == 0x0A:
            continue
        assert hidden(f"a{chr(code)}b", raw=True), hex(code)
        escape = f"\\U{code:08X}"
        found = read(f'a: "{escape}"\n'.encode(), "x.yml").findings
        assert [f.id for f in found] == ["file-hidden-character"], hex(code)
        assert f"U+{code:04X}" in found[0].message


def test_ordinary_signs_stay():
    assert not hidden("äöü ß € → × – “x” 日本 \U0001f69a é e\u0301 a\u200db\n")
    assert not hidden("a\r\nb\r\n", raw=True)


def test_crlf_counts_as_one_line_end():
    found = read(b"a: 1\r\nb: off\r\n", "x.yml")
    assert [(f.line, f.column) for f in found.findings] == [(2, 4)]
    assert position("ä\r\nbc", 4) == (2, 2)


def test_a_hidden_line_in_a_comment_cannot_override():
    """NEL, U+2028 and a bare CR start a line for YAML only; the file is refused before YAML sees it."""
    for sign in ("\x85", "\u2028", "\u2029", "\r"):
        found = read(f"to: follows # note{sign}to: stays off\n".encode(), "x.yml")
        assert found.data is None
        assert [f.id for f in found.findings] == ["file-hidden-character"]


HOSTILE = {
    "alias bomb": b"a: &a [x,x,x,x,x,x,x,x,x]\n"
    + b"".join(b"%c: &%c [%s]\n" % (n, n, b",".join([b"*%c" % (n - 1)] * 9)) for n in range(98, 107)),
    "brackets": b"a: " + b"[" * 200_000,
    "braces": b"a: " + b"{" * 200_000,
    "dashes": b"- " * 100_000,
    "questions": b"? " * 100_000,
    "nested with commas": b"[a," * 60_000,
    "quotes": b"'" * 200_000,
    "one quote": b'"' + b"x" * 200_000,
    "stars": b"*" * 200_000,
    "ampersands": b"- &a b\n" * 30_000,
    "tags": b"- !!a\n" * 40_000,
    "long plain": b"a" * 250_000,
    "long digits": b"a: " + b"1" * 250_000,
    "digits then a letter": b"a: " + b"1" * 250_000 + b"x",
    "digits and dots then a letter": b"a: " + b"1." * 120_000 + b"x",
    "colons": b"a: " + b"1:" * 120_000 + b"x",
    "hex pairs then a letter": b"a: " + b"AB " * 80_000 + b"x",
    "zeros and underscores": b"a: 0" + b"_" * 200_000 + b"x",
    "base-60 flood": b"- 1:59:59:59\n" * 20_000,
    "plain words": b"- off\n" * 40_000,
    "long lines of flow": b"a: [" + b"b, " * 80_000 + b"]",
    "many keys": b"".join(b"k%d: 1\n" % n for n in range(20_000)),
    "one key over and over": b"a: 1\n" * 40_000,
    "near keys": b"".join(b"titl%d: 1\n" % n for n in range(9_000)),
    "empty values": b"".join(b"k%d:\n" % n for n in range(20_000)),
    "comments": b"#" * 250_000,
    "newlines": b"\n" * 250_000,
    "hidden signs": b"a: \xe2\x80\xae\n" * 30_000,
    "carriage returns": b"\r" * 250_000,
    "folded": b"a: >\n" + b"  \n" * 80_000,
    "escapes": b'a: "' + b"\\u202e" * 40_000 + b'"',
    "conditions": b"recipe: a\nfits: " + b"{all: [" * 15 + b"{line: 1}" + b"]}" * 15,
    "many wrong conditions": b"fits: {all: [" + b"{lin: a}, " * 4_000 + b"]}",
    "many wrong changes": b"changes:\n" + b"- {setting: a, form: 1, to: {ask: 2}}\n" * 2_500,
    "deep enough": b"a: " + b"[" * DEPTH + b"]" * DEPTH,
}


@pytest.mark.parametrize("raw", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_files_are_answered_quickly(raw):
    """All are within the size limit, so that this is all that protects the reader of a pull request."""
    assert len(raw) <= FILE_BYTES
    before = time.process_time()
    found = read(raw, "x.yml")
    findings = list(found.findings)
    assert time.process_time() - before < 1
    for kind in KINDS if found.data is not None else ():
        before = time.process_time()
        more = validate(kind, found.data, found.positions, "x.yml")
        assert time.process_time() - before < 2
        assert len(more) <= FINDINGS_PER_FILE
        findings += more
    assert findings
    assert len(found.findings) <= FINDINGS_PER_FILE + 1


@pytest.mark.parametrize("name", ["alias bomb", "long lines of flow", "many keys", "one quote"])
def test_hostile_files_take_little_memory(name):
    tracemalloc.start()
    read(HOSTILE[name], "x.yml")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 32 * 2**20


def test_the_number_of_values_is_limited():
    assert not read(b"- a\n" * (VALUES - 1), "x.yml").findings
    (finding,) = read(b"- a\n" * (VALUES + 1), "x.yml").findings
    assert finding.id == "file-too-many-values"


def test_findings_of_one_file_are_limited():
    findings = read(b"- off\n" * 1000, "x.yml").findings
    assert len(findings) == FINDINGS_PER_FILE + 1
    assert findings[-1].id == "file-too-many-findings"
    assert read(b"- off\n" * 1000, "x.yml").data is None


def test_depth_is_limited_exactly():
    for deep in (DEPTH, DEPTH + 1):
        raw = b"[" * deep + b"]" * deep
        assert [f.id for f in read(raw, "x.yml").findings] == ["yaml-too-deep"] * (deep > DEPTH)
