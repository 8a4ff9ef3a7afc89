"""Record strips: the drawing of a record as one bar, cut at the bytes, with segments named by setting.

Each byte is a small SVG of its own and the bytes flow like words, so that a strip is one bar on a wide
screen and several on a phone. A segment is as wide as its label needs, not in proportion to its bits: one bit
must be readable too. What a segment is shows in its pattern and its label, never by colour alone.

Where something changes, two bars stand above each other, as found and to write: a written segment carries
its number between them, and in each bar the bits it holds, or the pair of digits when it is a whole byte.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import Literal, NamedTuple

from markupsafe import Markup

from ...car.bits import Place
from ...car.records import Layout

SegmentKind = Literal["written", "several", "clash", "known", "checksum", "free"]

# One definition for a page; the fills refer to it. Lines are drawn in the text's colour, so that they print.
PATTERNS = Markup(
    '<svg class="asf-patterns" width="0" height="0" aria-hidden="true" focusable="false"><defs>'
    '<pattern id="asf-written" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="asf-hatch" d="M-1 1 1-1M0 6 6 0M5 7 7 5"/></pattern>'
    '<pattern id="asf-several" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="asf-hatch" d="M-1 1 1-1M0 6 6 0M5 7 7 5M0 3H6"/></pattern>'
    '<pattern id="asf-clash" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="asf-hatch" d="M-1 1 1-1M0 6 6 0M5 7 7 5M-1 5 1 7M0 0 6 6M5-1 7 1"/></pattern>'
    '<pattern id="asf-checksum" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path class="asf-dots" d="M1.5 .5v2M.5 1.5h2M4.5 3.5v2M3.5 4.5h2"/></pattern>'
    "</defs></svg>"
)

_PATTERNED = frozenset({"written", "several", "clash", "checksum"})
_TOP, _BAR, _HEIGHT, _EDGE = 17, 36, 68, 1
_FOUND, _PAIR, _GAP, _WRITE, _TALL = 17, 24, 20, 61, 100  # of two bars: their tops, height and gap
_LONGEST_FREE = 2  # longer runs of bytes of which nothing is known are drawn as one


class Mark(NamedTuple):
    """How the segments of one setting are drawn: a short label and what they are."""

    label: str
    kind: SegmentKind


@dataclass(frozen=True, slots=True)
class Contents:
    """What an edit makes of a record, a byte string of the record's length each.

    ``found`` holds the values the recipe starts from where ``known`` has a bit set; ``write`` the values it
    ends with where ``mask`` has one.
    """

    found: bytes
    known: bytes
    write: bytes
    mask: bytes


class _Segment(NamedTuple):
    high: int
    low: int
    mark: Mark
    found: str = ""  # what stands in the two bars, where there are two
    write: str = ""

    @property
    def bits(self) -> str:
        if self.high - self.low == 7:
            return ""
        return str(self.low) if self.high == self.low else f"{self.high}–{self.low}"

    @property
    def width(self) -> int:
        whole = 46 if self.high - self.low == 7 else 24 if self.high == self.low else 34
        return max(whole, 16 + 9 * max(len(self.mark.label), len(self.found), len(self.write)))


_FREE = Mark("", "free")


def _segments(bits: Mapping[int, Mark]) -> tuple[_Segment, ...]:
    """Runs of one mark within a byte, bit 7 first."""
    marks = [bits.get(bit, _FREE) for bit in range(8)]
    ends = [bit for bit in range(7, 0, -1) if marks[bit] != marks[bit - 1]]
    return tuple(
        _Segment(high, low, marks[low])
        for high, low in zip((7, *(e - 1 for e in ends)), (*ends, 0), strict=True)
    )


def _filled(segments: tuple[_Segment, ...], contents: Contents, at: int) -> tuple[_Segment, ...]:
    """The segments with what they hold before and after."""
    if at >= len(contents.mask) or not contents.mask[at]:
        return segments
    return tuple(
        one._replace(
            found=_digits(one, contents.found[at], contents.known[at]),
            write=_digits(one, contents.write[at], contents.mask[at]),
        )
        if one.mark.kind == "written"
        else one
        for one in segments
    )


def _digits(segment: _Segment, value: int, known: int) -> str:
    """The bits of a segment, most significant first; a whole byte as its pair; a dot for what may be any."""
    if segment.high - segment.low == 7 and known == 0xFF:
        return f"{value:02X}"
    if segment.high - segment.low == 7 and not known:
        return "··"
    bits = range(segment.high, segment.low - 1, -1)
    return "".join(str(value >> bit & 1) if known >> bit & 1 else "·" for bit in bits)


@lru_cache(maxsize=512)
def _byte(number: str, segments: tuple[_Segment, ...]) -> str:
    """A byte as one bar."""
    x, parts = 0, []
    for segment in segments:
        parts += _piece(segment, x, _TOP, _BAR, segment.mark.label, segment.mark.kind)
        parts += _bit_numbers(segment, x, _TOP + _BAR + 12)
        x += segment.width
    return _svg(number, x, _HEIGHT, [*parts, _outline(_TOP, x, _BAR)])


@lru_cache(maxsize=512)
def _two(number: str, segments: tuple[_Segment, ...]) -> str:
    """A byte as two bars: as found above, to write below."""
    x, parts = 0, []
    for segment in segments:
        kind, label = segment.mark.kind, segment.mark.label
        if kind == "written":
            parts += _piece(segment, x, _FOUND, _PAIR, segment.found, "known")
            parts += _piece(segment, x, _WRITE, _PAIR, segment.write, kind)
            middle, top = x + segment.width / 2, _FOUND + _PAIR
            parts.append(f'<path class="asf-becomes" d="M{middle:g} {top}v{_GAP}"/>')
            half = 4 + 4 * len(label)
            place = f'x="{middle - half:g}" y="{top + 2.5}" width="{2 * half}" height="15"'
            parts.append(
                f'<rect class="asf-chip" {place}/>'
                f'<text class="asf-bits asf-bits--key" x="{middle:g}" y="{top + 14}">{escape(label)}</text>'
            )
        else:
            below = "known" if kind == "checksum" else kind
            parts += _piece(segment, x, _FOUND, _PAIR, label, below)
            parts += _piece(segment, x, _WRITE, _PAIR, label, kind)
        parts += _bit_numbers(segment, x, _WRITE + _PAIR + 12)
        x += segment.width
    return _svg(number, x, _TALL, [*parts, _outline(_FOUND, x, _PAIR), _outline(_WRITE, x, _PAIR)])


def _svg(number: str, width: int, height: int, parts: Iterable[str]) -> str:
    outer = width + 2 * _EDGE
    return (
        f'<svg width="{outer}" height="{height}" viewBox="{-_EDGE} 0 {outer} {height}">'
        f'<text class="asf-byte" x="{width / 2:g}" y="11">{number}</text>{"".join(parts)}</svg>'
    )


def _outline(top: int, width: int, height: int) -> str:
    return f'<rect class="asf-byte-edge" x="0" y="{top}" width="{width}" height="{height}"/>'


def _bit_numbers(segment: _Segment, x: int, base: int) -> list[str]:
    if not segment.bits:
        return []
    return [f'<text class="asf-bits" x="{x + segment.width / 2:g}" y="{base}">{segment.bits}</text>']


def _piece(segment: _Segment, x: int, top: int, height: int, label: str, kind: SegmentKind) -> list[str]:
    """One segment of one bar: its ground, its pattern, its label, which a halo keeps readable."""
    place = f'x="{x}" y="{top}" width="{segment.width}" height="{height}"'
    parts = [f'<rect class="asf-seg asf-seg--{kind}" {place}/>']
    if kind in _PATTERNED:
        parts.append(f'<rect fill="url(#asf-{kind})" {place}/>')
    if label:
        middle, base = f"{x + segment.width / 2:g}", top + height // 2 + 5
        css = "asf-label asf-label--halo" if kind in _PATTERNED else "asf-label"
        parts.append(f'<text class="{css}" x="{middle}" y="{base}">{escape(label)}</text>')
    return parts


def strip(layout: Layout, marks: Mapping[str, Mark], alternative: str) -> Markup:
    """The strip of a record in ``layout``; ``marks``: how settings are drawn; ``alternative``: in words.

    Settings without a mark are left out; the checksum is drawn by itself. Places outside the record are not
    drawn (a rule reports them). ``PATTERNS`` must stand once on the page.
    """
    bytes_ = (_byte(number, segments) for number, segments, _ in _runs(layout, marks))
    return _flow("asf-strip", bytes_, alternative)


def change_strip(
    layout: Layout, marks: Mapping[str, Mark], contents: Contents, alternative: str, bars: tuple[str, str]
) -> Markup:
    """The strip of a record before and after; ``bars``: the names of the two, as ``strip`` otherwise."""
    bytes_ = (_two(number, _filled(segments, contents, at)) for number, segments, at in _runs(layout, marks))
    return _flow("asf-strip asf-strip--two", (_names(*bars), *bytes_), alternative)


@lru_cache(maxsize=64)
def _names(found: str, write: str) -> str:
    """The names of the two bars, as wide as a byte or two, before the first of them."""
    width = 8 + 7 * max(len(found), len(write))
    rows = ((found, _FOUND), (write, _WRITE))
    return (
        f'<svg width="{width}" height="{_TALL}" viewBox="0 0 {width} {_TALL}">'
        + "".join(
            f'<text class="asf-bar-name" x="0" y="{top + _PAIR // 2 + 4}">{escape(name)}</text>'
            for name, top in rows
        )
        + "</svg>"
    )


def _flow(css: str, parts: Iterable[str], alternative: str) -> Markup:
    return Markup(f'<div class="{css}" role="img" aria-label="{escape(alternative)}">{"".join(parts)}</div>')


def _runs(layout: Layout, marks: Mapping[str, Mark]) -> Iterator[tuple[str, tuple[_Segment, ...], int]]:
    """Each byte's number, segments and place; a long run of which nothing is known comes as one."""
    held: list[dict[int, Mark]] = [{} for _ in range(layout.length)]

    def draw(place: Place, mark: Mark) -> None:
        for byte, bit in place.bits():
            if 0 <= byte < layout.length:
                held[byte][bit] = mark

    for setting, place in layout.places.items():
        if mark := marks.get(setting):
            draw(place, mark)
    if layout.checksum is not None:
        draw(layout.checksum.place, Mark("sum", "checksum"))
    byte = 0
    while byte < len(held):
        end = byte
        while end < len(held) and not held[end]:
            end += 1
        if end - byte > _LONGEST_FREE:
            yield f"{byte}–{end - 1}", (_Segment(7, 0, Mark("…", "free")),), byte
            byte = end
        else:
            yield str(byte), _segments(held[byte]), byte
            byte += 1
