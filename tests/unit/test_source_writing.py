"""Files that commands write: read back by the strict reader, and by PyYAML as an outside reader."""

from __future__ import annotations

from dataclasses import replace

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from asfound.car.origin import Origin
from asfound.source.build_trust import codes as build_codes
from asfound.source.build_trust import signature as build_signature
from asfound.source.reader import read
from asfound.source.schemas import validate
from asfound.source.writing import CannotAppend, scalar, signature_file, with_code
from asfound.trust.reports import PastCode, Signature

NEW = PastCode(
    "4M7Q0Z2K",
    "2026-03-01",
    {"living-area/lamps/late": "1B2C3D4E", "living-area/lamps/early": "7Z0K2Q4M", "media": "00000000"},
    "It waits: ten seconds, not five.",
    {"living-area/lamps": "5E1AAAAA"},
)
HEAD = "# yaml-language-server: $schema=../../../schema/codes.schema.json\nrecipe: lamp\n"
OLD = PastCode("7Z0K2Q4M", "2026-01-10", {"media": "7Z0K2Q4M"}, "First.")


def codes_of(raw: bytes) -> tuple[PastCode, ...]:
    found = read(raw, "codes.yml")
    assert found.findings == ()
    assert validate("codes", found.data, found.positions, "codes.yml") == ()
    outside = yaml.safe_load(raw)  # an outside reader finds the same texts
    assert [each["sheet_code"] for each in outside["codes"]] == [e["sheet_code"] for e in found.data["codes"]]
    return build_codes(found.data, Origin("codes.yml"))


ENTRY = '- sheet_code: "7Z0K2Q4M"\n{0}date: 2026-01-10\n{0}work: {{media: "7Z0K2Q4M"}}\n{0}what: First.\n'

FILES = {
    "indented": HEAD + "codes:\n  " + ENTRY.format("    "),
    "not indented": HEAD + "codes:\n" + ENTRY.format("  "),
    "wide dash": HEAD + "codes:\n  -   " + ENTRY.format("      ")[2:],
    "no line feed at the end": (HEAD + "codes:\n  " + ENTRY.format("    "))[:-1],
    "carriage returns": (HEAD + "codes:\n  " + ENTRY.format("    ")).replace("\n", "\r\n"),
    "another key behind": HEAD.replace("recipe: lamp\n", "")
    + "codes:\n  "
    + ENTRY.format("    ")
    + "\n# whose codes\nrecipe: lamp\n",
    "comments": HEAD
    + "# kept by hand until 2025\ncodes:  # oldest first\n  # the first\n  "
    + ENTRY.format("    ")[:-1]
    + "  # at last\n    # still the entry's\n\n# the end\n",
    "flow": HEAD
    + 'codes: [{sheet_code: "7Z0K2Q4M", date: 2026-01-10, work: {media: "7Z0K2Q4M"}, what: First.}]\n',
    "flow with a comma and a comment behind": HEAD
    + 'codes: [\n  {sheet_code: "7Z0K2Q4M", date: 2026-01-10, work: {media: "7Z0K2Q4M"}, '
    + "what: First.},  # one\n]\n",
    "flow entries in a block": HEAD
    + 'codes:\n  - {sheet_code: "7Z0K2Q4M", date: 2026-01-10, work: {media: "7Z0K2Q4M"}, what: First.}\n',
    "folded text at the end": HEAD
    + "codes:\n"
    + ENTRY.format("  ").replace("what: First.", "what: >-\n      First.\n")
    + "# the end\n",
    "the map last": HEAD
    + 'codes:\n- {sheet_code: "4M7Q0Z2M", date: 2026-01-01, work: {media: "7Z0K2Q4M"}}\n'
    + '- sheet_code: "7Z0K2Q4M"\n  what: First.\n  date: 2026-01-10\n  work:\n    media: "7Z0K2Q4M"\n',
}


@pytest.mark.parametrize("text", FILES.values(), ids=FILES)
def test_a_code_is_added_and_nothing_else_changes(text):
    before = codes_of(text.encode())
    assert before[-1] == OLD
    out = with_code(text.encode(), "lamp", NEW)
    assert codes_of(out) == (*before, NEW)
    # Only added: what was there is there still, one piece before the new entry and one behind it.
    after = out.decode()
    same = next((at for at, (a, b) in enumerate(zip(text, after, strict=False)) if a != b), len(text))
    assert after.endswith(text[same:])
    if "\r\n" in text:
        assert out.count(b"\n") == out.count(b"\r\n")


def test_a_comment_of_the_last_entry_stays_with_it():
    out = with_code(FILES["comments"].encode(), "lamp", NEW).decode()
    assert out.index("# still the entry's") < out.index("4M7Q0Z2K") < out.index("# the end")


def test_a_file_is_begun():
    out = with_code(None, "lamp", NEW)
    assert codes_of(out) == (NEW,)
    assert out.decode().startswith(HEAD)


def test_a_mark_at_the_end_of_the_document_stays_there():
    text = HEAD + "codes:\n" + ENTRY.format("  ") + "...\n"
    out = with_code(text.encode(), "lamp", NEW)
    assert codes_of(out) == (OLD, NEW)
    assert out.endswith(b"\n...\n")


def test_what_does_not_read_back_is_not_written_and_the_entry_is_shown():
    # No list can be read here, so the result would not be the old codes and the new one.
    raw = (HEAD + 'codes:\n- {sheet_code: "7Z0K2Q4M", date: 2026-01-10, work: {media: wrong}}\n').encode()
    with pytest.raises(CannotAppend) as problem:
        with_code(raw, "lamp", replace(NEW, what="two\nlines"))
    assert 'sheet_code: "4M7Q0Z2K"' in problem.value.entry
    assert problem.value.file == "changes/lamp/codes.yml"


TEXT = st.text(
    st.characters(exclude_categories=["C", "Z"], include_characters=" "), min_size=1, max_size=60
).filter(lambda text: text.strip() == text)


@given(TEXT)
@example("on")
@example("5E1")
@example("0x10")
@example("a: b")
@example("a #b")
@example("12:30")
@example("yes")
@example("it's")
@example("2026-01-01")
@example("a,")
@example('say "no"')
@example("back\\slash")
def test_a_scalar_reads_as_the_text_it_was(text):
    written = f"note: {scalar(text)}\n"
    found = read(written.encode(), "x.yml")
    assert found.findings == ()
    assert found.data == {"note": text}
    assert yaml.safe_load(written) == {"note": text}  # YAML 1.1, where most words are taken


@given(st.sampled_from(["dunlin", "on", "no", "0x1", "007"]), TEXT | st.just(""))
def test_a_signature_reads_as_it_was(by, note):
    signature = Signature("lamp", by, "4M7Q0Z2K", "2026-03-01", note)
    raw = signature_file(signature).encode()
    assert raw.startswith(b"# yaml-language-server: $schema=../../../../schema/signature.schema.json\n")
    found = read(raw, "x.yml")
    assert found.findings == ()
    assert validate("signature", found.data, found.positions, "x.yml") == () or len(note) > 240
    assert build_signature(found.data, Origin("x.yml")) == signature
