"""The strict reader: what it gives, where it says things stand, and its words."""

from __future__ import annotations

from decimal import Decimal

import pytest

from asfound.source.positions import Positions
from asfound.source.reader import read


def test_data_of_every_kind():
    raw = b'a: [1, 0x10, 1.50, true, null, 2026-01-02, "off", plain words]\nb: {c: |\n    x\n    y\n  }\n'
    assert read(b"a: [1, 0x10, 1.50, true, null, 2026-01-02, 'off', plain words]\nb: {c: d}\n", "x").data == {
        "a": [1, 16, Decimal("1.50"), True, None, "2026-01-02", "off", "plain words"],
        "b": {"c": "d"},
    }
    assert read(raw, "x").data is None  # a block scalar cannot stand inside braces


def test_positions_of_values_keys_and_sources():
    raw = "grün: {ä: [ö, {x: 0x1F}]}\nlist:\n  - one\n  - two: 2\n".encode()
    positions = read(raw, "x").positions
    assert positions.value(()) == (1, 1)
    assert positions.value(("grün",)) == (1, 7)
    assert positions.key(("grün", "ä")) == (1, 8)
    assert positions.value(("grün", "ä", 1, "x")) == (1, 19)  # columns count characters, not bytes
    assert positions.source(("grün", "ä", 1, "x")) == "0x1F"
    assert positions.value(("list", 1)) == (4, 5)
    assert positions.key(("list", 1)) == (4, 5)
    assert positions.key(("list", 1, "two")) == (4, 5)
    assert positions.has(("list", 1, "two")) and not positions.has(("list", 2))
    # what does not exist: the innermost thing around it
    assert positions.value(("list", 1, "three", "x")) == (4, 5)
    assert positions.value(("list", "two")) == (3, 3)
    assert Positions().value(("a",)) == (1, 1)


def test_a_quoted_scalar_has_no_source():
    assert read(b'a: "1"\n', "x").positions.source(("a",)) is None
    assert read(b"a: 1\n", "x").positions.source(("a",)) == "1"


def test_reading_goes_on_after_a_finding():
    found = read(b"a: off\nb: 0123\nc: {d: 1, d: 2}\ne: fine\n", "x.yml")
    assert [(f.id, f.path, f.line) for f in found.findings] == [
        ("yaml-plain-word", "a", 1),
        ("yaml-plain-number", "b", 2),
        ("yaml-duplicate-key", "c.d", 3),
    ]
    assert found.data == {"a": "off", "b": "0123", "c": {"d": 1}, "e": "fine"}
    assert found.positions.is_spoilt(("a",)) and not found.positions.is_spoilt(("e",))


def test_nothing_is_left_of_a_file_that_breaks_off():
    found = read(b"a: 1\nb: [\n", "x.yml")
    assert found.data is None
    assert [f.id for f in found.findings] == ["yaml-syntax"]


def test_the_value_of_a_second_key_is_read_but_not_kept():
    found = read(b"a: 1\na: {b: off}\n", "x.yml")
    assert found.data == {"a": 1}
    assert [f.id for f in found.findings] == ["yaml-duplicate-key", "yaml-plain-word"]


def test_an_anchor_can_not_multiply():
    """The aliases of an alias bomb are findings and stand for nothing."""
    found = read(b"a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n", "x.yml")
    assert found.data == {"a": ["x", "x"], "b": ["*a", "*a"], "c": ["*b", "*b"]}
    assert [f.id for f in found.findings] == [
        "yaml-anchor",
        "yaml-anchor",
        "yaml-alias",
        "yaml-alias",
        "yaml-alias",
        "yaml-alias",
    ]


@pytest.mark.parametrize(
    ("raw", "place", "message"),
    [
        ('a:\n  b: "one\n  c: two\n  d: "three"\n', (2, 6), "the quote that opens here is never closed"),
        ('a:\n  - b: "one\n  - c: "two"\n', (2, 8), "the quote that opens here is never closed"),
        ('a: "one\n  two" three\n', (2, 8), "text goes on after the closing quote"),
        ('a: "one: two" three\n', (1, 15), "text goes on after the closing quote"),
    ],
)
def test_a_quote_that_takes_in_keys_is_one_nobody_closed(raw, place, message):
    (found,) = read(raw.encode(), "x.yml").findings
    assert ((found.line, found.column), found.message) == (place, message)


@pytest.mark.parametrize(
    ("raw", "message", "repair"),
    [
        (
            "a: off\n",
            "off without quotes: some programs read it as true, false, nothing or a sign of YAML's own",
            'write "off" for the word, or false',
        ),
        (
            "a: 0210\n",
            "0210 without quotes: some programs read a number, a time or a day, others read text",
            'write "0210", or 210 if a number is meant',
        ),
        (
            "a: 01 40\n",
            "01 40 without quotes: bytes made of digits, or of digits and an E, would turn into numbers",
            'write "01 40"',
        ),
        ("a:\n", "nothing stands here", "write the value, or leave the key out"),
        (
            "a: b c # d\n",
            "from the # on this is a comment, which is not part of the text",
            "put the whole text in double quotes, or write the comment in a line of its own",
        ),
        ("a:\n  -\n", "nothing stands here", "write it, or remove the dash"),
        (
            "{a: one, and two}\n",
            '"and two" stands here as a key without a value',
            "put the text before the comma in double quotes, comma included",
        ),
        (
            "a: 1\na: 2\n",
            'the key "a" stands here a second time; the first is in line 1',
            "keep one of the two",
        ),
        ("5: a\n", "the key 5 reads as a number", 'write "5"'),
        (
            "a: &b c\n",
            "&b names a place of the file for use elsewhere",
            "remove it and write out the value wherever it is meant",
        ),
        ("a: !x c\n", "the tag !x asks for a type", "remove it; quotes make text of a value"),
        ("a: 1\n---\n", "a second document starts here", "remove the line ---, or make it a file of its own"),
        (
            "a: b: c\n",
            "a second colon followed by a space in one line",
            "put the whole text in double quotes",
        ),
        ("a: 1\nb\n", "this line has no colon", "write key: value, or indent it if it continues text"),
        ('a: "b\n', "the quote that opens here is never closed", "close it at the end of the text"),
        (
            "a:\n - b: c\n    d: e\n",
            "this line is indented deeper than the line above allows",
            "start it in the same column as the key above, or begin that line 1 column further right",
        ),
        ("a: >=3\n", 'text cannot start with ">"', "put the whole text in double quotes"),
        ("a: [1\n", "the [ that opens here is never closed", "write ] after the last entry"),
        ("a:\n\tb: 1\n", "a tab character (U+0009)", "write spaces"),
        (
            'a: "\\u202E"\n',
            "the text holds a character that reverses the direction of the text around it (U+202E)",
            "remove it",
        ),
    ],
)
def test_words(raw, message, repair):
    (finding,) = read(raw.encode(), "x.yml").findings
    assert (finding.message, finding.repair) == (message, repair)


def test_messages_never_repeat_foreign_text_unescaped_or_whole():
    long = "x" * 5000
    for raw in (
        f"*{long} : 1",
        f"a: &{long} 1",
        f"a: !{long} 1",
        f"{long}: 1\n{long}: 2",
        f"a: 12:{'3' * 5000}",
    ):
        for finding in read(raw.encode(), "x.yml").findings:
            assert len(finding.message) < 300, finding
