"""Words, bits, strips and addresses on pages."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.bits import Part, Place
from asfound.car.checksums import Checksum
from asfound.car.records import Layout
from asfound.pages import bits, links, words
from asfound.pages.build import headings
from asfound.pages.figures.strips import PATTERNS, Mark, strip
from asfound.pages.views.changes import checksum_words
from asfound.pages.views.sheet_words import bytes_words

BYTE = st.integers(0, 255)


def text(html: str) -> str:
    return re.sub(r"<[^>]+>", "", html)


# English ordinals; from memory, as any dictionary has them.
@pytest.mark.parametrize(
    ("n", "said"),
    [(1, "first"), (5, "fifth"), (12, "twelfth"), (20, "twentieth"), (21, "21st"), (22, "22nd"), (23, "23rd"),
     (24, "24th"), (111, "111th"), (112, "112th"), (113, "113th"), (121, "121st"), (256, "256th")],
)  # fmt: skip
def test_ordinals(n: int, said: str) -> None:
    assert words.ordinal(n) == said


def test_positions_are_said_twice() -> None:
    assert words.part_words(Part(4, 2, 2)) == "byte 4, the fifth pair; bit 2, third from the right"
    assert words.part_words(Part(0)) == "byte 0, the first pair"
    assert words.part_words(Part(6, 4, 7)) == (
        "byte 6, the seventh pair; bits 7 to 4, eighth to fifth from the right"
    )


def test_two_bytes_are_named_and_no_run() -> None:
    two, four = (Checksum(kind, 0, 5, 6, order="little") for kind in ("crc16-arc", "crc32-iso-hdlc"))
    assert checksum_words(two).startswith(
        "Bytes 6 and 7, the seventh and eighth pairs, least significant first, are a checksum ("
    )
    assert checksum_words(four).startswith("Bytes 6 to 9, the seventh to tenth pair, ")
    assert bytes_words(6, 7) == "bytes 6 and 7, the seventh and eighth pairs"
    assert bytes_words(6, 8) == "bytes 6 to 8, the seventh to ninth pair"
    assert bytes_words(6, 6) == "byte 6, the seventh pair"


def test_places_of_several_parts() -> None:
    assert (
        words.place_words(Place((Part(5), Part(6, 4, 7))))[-1]
        == "the first of these holds the most significant bits"
    )
    assert (
        words.place_words(Place(tuple(Part(b) for b in range(3, 9))))[0]
        == "bytes 3 to 8, the fourth to ninth pair"
    )
    backwards = words.place_words(Place((Part(9), Part(8), Part(7))))
    assert backwards[0] == "bytes 9 to 7, the tenth to eighth pair"
    assert words.place_words(Place((Part(2), Part(1))))[:2] == (
        "byte 2, the third pair",
        "byte 1, the second pair",
    )


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 7), st.integers(0, 7)), min_size=1, max_size=6))
def test_every_byte_of_a_place_is_named_or_lies_in_a_named_run(parts: list[tuple[int, int, int]]) -> None:
    place = Place(tuple(Part(byte, min(a, b), max(a, b)) for byte, a, b in parts))
    named: set[int] = set()
    for line in words.place_words(place):
        if run := re.match(r"bytes (\d+) to (\d+),", line):
            first, last = sorted((int(run[1]), int(run[2])))
            named |= set(range(first, last + 1))
        elif one := re.match(r"byte (\d+),", line):
            named.add(int(one[1]))
    assert named == {part.byte for part in place.parts}


def test_small_words() -> None:
    assert words.minutes_words(0) == "0 min"
    assert words.minutes_words(59) == "59 min"
    assert words.minutes_words(60) == "1 h"
    assert words.minutes_words(125) == "2 h 5 min"
    assert words.count_words(0, "report", "reports") == "no report"
    assert words.count_words(1, "report", "reports") == "1 report"
    assert words.count_words(2, "report", "reports") == "2 reports"
    assert words.count_words(2, "body", "bodies") == "2 bodies"
    assert words.list_words(["a", "b", "c"]) == "a, b and c"
    assert words.list_words(["a", "b"], "or") == "a or b"
    assert words.list_words([]) == ""
    assert words.sentence("so it is") == "So it is."
    assert words.sentence("Is it?") == "Is it?"
    assert words.sentence("") == ""


# ISO 8601 durations.
@pytest.mark.parametrize(
    ("iso", "said"),
    [
        ("P3M", "3 months"),
        ("P1Y6M", "1 year 6 months"),
        ("P2W", "2 weeks"),
        ("P1D", "1 day"),
        ("PT5H", "PT5H"),
    ],
)
def test_durations(iso: str, said: str) -> None:
    assert words.duration_words(iso) == said


def test_a_capital_at_the_beginning_leaves_the_other_letters() -> None:
    assert words.capital("byte 4, das fünfte Paar") == "Byte 4, das fünfte Paar"
    assert words.capital("élan") == "Élan" and words.capital("") == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("it works", "It works."), (" it works. ", "It works."), ("", ""), ("does it?", "Does it?"),
        ("they say “it works.”", "They say “it works.”"), ("it is “on”", "It is “on”."), ("wait …", "Wait …"),
    ],
)  # fmt: skip
def test_a_sentence_ends_once(text: str, said: str) -> None:
    assert words.sentence(text) == said


def test_sizes() -> None:
    assert words.size_words(512) == "512 bytes"
    assert words.size_words(3_019_898_880) == "3 019 898 880 bytes (3.0 GB)"


@given(BYTE)
def test_binary_is_what_format_gives(value: int) -> None:
    assert text(bits.binary(value)).replace(" ", "") == format(value, "08b")


@given(BYTE, BYTE, BYTE)
def test_marked_bits_are_exactly_those_in_bold_and_brackets(value: int, known: int, changed: int) -> None:
    html = str(bits.binary(value, known, changed))
    assert html.count("<b>[") == html.count("]</b>")
    inside, position, marked = False, 7, 0
    for piece in re.findall(r"<b>\[|\]</b>|[01·]", html):
        if piece == "<b>[":
            inside = True
        elif piece == "]</b>":
            inside = False
        else:
            expected = format(value, "08b")[7 - position] if known >> position & 1 else "·"
            assert piece == expected
            marked |= inside << position
            position -= 1
    assert marked == changed
    assert position == -1


@given(st.integers(0, 15), st.integers(0, 15), st.integers(0, 15), st.integers(0, 15))
def test_digit_table(mask: int, goal: int, known: int, before: int) -> None:
    """Against plain arithmetic on every digit."""
    known &= mask
    table = dict(bits.digit_table(mask, goal, known, before))
    for digit in range(16):
        expected = (digit & ~mask | goal & mask) & 15
        possible = (digit ^ before) & known == 0
        if expected != digit and possible:
            assert int(table.pop(f"{digit:X}"), 16) == expected
    assert not table


@given(st.binary(min_size=1, max_size=40), st.data())
def test_record_in_pairs(record: bytes, data: st.DataObject) -> None:
    changed = data.draw(st.binary(min_size=len(record), max_size=len(record)))
    html = str(bits.record_hex(record, changed))
    assert bytes.fromhex(text(html).replace("[", "").replace("]", "")) == record
    assert html.count("<b>[") == sum(1 for byte in changed if byte)


def layout_of(length: int, places: dict[str, Place], checksum: Checksum | None = None) -> Layout:
    return Layout("x", None, length, places, checksum)


def svgs(html: str) -> list[ElementTree.Element]:
    return ElementTree.fromstring(html).findall("svg")


@given(
    st.integers(1, 24),
    st.dictionaries(
        st.sampled_from(["a", "b", "c"]), st.tuples(st.integers(0, 23), st.integers(0, 7), st.integers(0, 7))
    ),
)
def test_a_strip_draws_every_byte_once_and_every_marked_bit(
    length: int, spots: dict[str, tuple[int, int, int]]
) -> None:
    places = {name: Place((Part(byte, min(a, b), max(a, b)),)) for name, (byte, a, b) in spots.items()}
    marks = {name: Mark(name.upper(), "written") for name in places}
    html = strip(layout_of(length, places), marks, 'a "bar" & more')
    drawn: list[int] = []
    labels: set[str] = set()
    for svg in svgs(html):
        number = svg.findall("text[@class='asf-byte']")[0].text or ""
        first, _, last = number.partition("–")
        drawn += range(int(first), int(last or first) + 1)
        labels |= {t.text or "" for t in svg.iter("text") if t.get("class", "").startswith("asf-label")}
        width, edges = float(svg.get("width", "")), svg.findall("rect[@class='asf-byte-edge']")
        assert float(edges[0].get("width", "")) == width - 2
    assert drawn == list(range(length))
    held: dict[tuple[int, int], str] = {}
    for name, place in places.items():
        held |= {at: name.upper() for at in place.bits() if at[0] < length}
    assert labels - {"…"} == set(held.values())


def test_a_strip_shows_its_checksum_and_needs_no_colour() -> None:
    layout = layout_of(4, {"a": Place((Part(0, 2, 2),))}, Checksum("crc8-j1850", 0, 2, 3))
    html = strip(layout, {"a": Mark("1", "clash")}, "bar")
    assert ">sum<" in html and "url(#asf-checksum)" in html and "url(#asf-clash)" in html
    for kind in ("written", "several", "clash", "checksum"):
        assert f'id="asf-{kind}"' in PATTERNS
    assert "style=" not in html and 'fill="#' not in html


def test_addresses() -> None:
    link = links.linker("recipes/a")
    assert link(links.HOME) == "../index.html"
    assert link(links.recipe("b")) == "../recipes/b.html"
    assert link(links.picture("a", "c.png")) == "../recipes/a/c.png"
    assert links.linker(links.HOME)(links.FIND) == "find.html"
    assert links.linker(links.MODULES)("assets/asfound/asfound.css") == "../assets/asfound/asfound.css"


def test_headings_are_read_from_the_page() -> None:
    html = '<h1 id="top">A &amp; <em>b</em></h1><h2>no id</h2><h3 id="c">d\n</h3>'
    assert [(e.level, e.id, e.title) for e in headings(html)] == [(1, "top", "A & b"), (3, "c", "d")]


@pytest.mark.parametrize(
    ("html", "whole"),
    [
        ("<p>Below 12.2 V, connect</p>", "<p>Below 12.2\u00a0V, connect</p>"),
        ("<b>1 h 5 min</b>", "<b>1\u00a0h 5\u00a0min</b>"),
        ("<td>60 km/h</td><td>30 %</td>", "<td>60\u00a0km/h</td><td>30\u00a0%</td>"),
        ("<p>about 3 Vans and 4 ms/div</p>", "<p>about 3 Vans and 4 ms/div</p>"),
        ('<p title="12.2 V">x</p>', '<p title="12.2 V">x</p>'),
        ("<code>03 A1 09 06</code>", "<code>03 A1 09 06</code>"),
        ("<p>0 then D then 2 to F</p>", "<p>0 then D then 2 to F</p>"),
    ],
)
def test_no_number_is_parted_from_its_unit(html: str, whole: str) -> None:
    assert words.unbroken(html) == whole
