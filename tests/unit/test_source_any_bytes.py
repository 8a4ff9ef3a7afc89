"""Whatever the bytes, the reader answers with data or findings, never with an error."""

from __future__ import annotations

from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from asfound.source.plain import plain
from asfound.source.reader import read, read_carefully
from asfound.source.schemas import KINDS, validate

FILES = [path.read_bytes() for path in sorted((Path(__file__).parent.parent / "examples").glob("*/*/*.yml"))]
RECIPES = Path(__file__).parents[2] / "recipes"
PIECES = [
    *(
        sign.encode()
        for sign in ("a", "b: ", ": ", "- ", "? ", "[", "]", "{", "}", ", ", "#", " # ", "'", '"', "\\")
    ),
    *(
        end.encode()
        for end in ("\n", "\n  ", "\r\n", "\r", "\t", "|\n", ">-\n", "---\n", "...\n", "%YAML 1.1\n")
    ),
    *(
        word.encode()
        for word in ("off", "0123", "1:30", "5E1", "~", "=", "2026-01-01", "01 40", "@", "`", "%")
    ),
    *(
        mark.encode()
        for mark in ("\\x", "\\u202e", "&a ", "*a", "!!int ", "! ", "<<: ", "é", "\x85", "\u2028", "🚙")
    ),
    *(b"\xef\xbb\xbf", b"\xff", b"\x00"),
]


def answered(raw: bytes) -> None:
    found = read(raw, "x.yml")
    with_care = read_carefully(raw, "x.yml")
    assert (repr(found.data), found.findings) == (repr(with_care.data), with_care.findings)
    assert found.positions.root == with_care.positions.root
    lines = raw.count(b"\n") + raw.count(b"\r") + 1
    findings = list(found.findings)
    if found.data is None:
        assert findings
    for kind in KINDS:
        findings += validate(kind, found.data, found.positions, "x.yml") if found.data is not None else ()
    for finding in findings:
        assert 1 <= finding.line <= lines
        assert finding.column >= 1
        assert finding.message.isprintable() and finding.repair.isprintable() and finding.path.isprintable()


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=200))
@example(b"")
@example(b"null")
@example(b"--- null\n...\n")
@example(b"\xef\xbb\xbf")
@example(b"a: " + b"9" * 6000)
@example(b"2024-13-45")
@example(b"? \n- a")
def test_any_bytes(raw):
    answered(raw)


@settings(deadline=None, max_examples=250)
@given(st.lists(st.sampled_from(PIECES), max_size=24).map(b"".join))
def test_any_pieces_of_yaml(raw):
    answered(raw)


@settings(deadline=None, max_examples=100)
@given(st.text(max_size=80).map(str.encode))
def test_any_text(raw):
    answered(raw)


@settings(deadline=None, max_examples=150)
@given(st.sampled_from(FILES), st.integers(0, 4000), st.integers(0, 12), st.sampled_from(PIECES))
def test_any_file_with_something_cut_out_and_put_in(raw, at, length, piece):
    at %= len(raw) + 1
    answered(raw[:at] + piece + raw[at + length :])


def test_ordinary_files_are_read_the_quick_way():
    ordinary = [path.read_bytes() for path in sorted(RECIPES.rglob("*.yml"))]
    assert len(ordinary) > 50
    assert [raw for raw in ordinary if plain(raw) is None] == []
