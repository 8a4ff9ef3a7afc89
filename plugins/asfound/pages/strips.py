"""Record strips: the drawing of a record as one bar, cut at the bytes, with segments named by setting.

Each byte is a small SVG of its own and the bytes flow like words, so that a strip is one bar on a wide
screen and several on a phone. A segment is as wide as its label needs, not in proportion to its bits: one bit
must be readable too. What a segment is shows in its pattern and its label, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import Literal

from markupsafe import Markup

from ..car.bits import Place
from ..car.records import Layout

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
_LONGEST_FREE = 2  # longer runs of bytes of which nothing is known are drawn as one


@dataclass(frozen=True, slots=True)
class Mark:
    """How the segments of one setting are drawn: a short label and what they are."""

    label: str
    kind: SegmentKind


@dataclass(frozen=True, slots=True)
class _Segment:
    high: int
    low: int
    mark: Mark

    @property
    def bits(self) -> str:
        if self.high - self.low == 7:
            return ""
        return str(self.low) if self.high == self.low else f"{self.high}–{self.low}"

    @property
    def width(self) -> int:
        whole = 46 if self.high - self.low == 7 else 24 if self.high == self.low else 34
        return max(whole, 12 + 9 * len(self.mark.label))


_FREE = Mark("", "free")


def _segments(bits: Mapping[int, Mark]) -> tuple[_Segment, ...]:
    """Runs of one mark within a byte, bit 7 first."""
    out: list[_Segment] = []
    for bit in range(7, -1, -1):
        mark = bits.get(bit, _FREE)
        if out and out[-1].mark == mark:
            out[-1] = _Segment(out[-1].high, bit, mark)
        else:
            out.append(_Segment(bit, bit, mark))
    return tuple(out)


@lru_cache(maxsize=4096)
def _byte(number: str, segments: tuple[_Segment, ...]) -> str:
    width = sum(segment.width for segment in segments)
    outer = width + 2 * _EDGE
    parts = [
        f'<svg width="{outer}" height="{_HEIGHT}" viewBox="{-_EDGE} 0 {outer} {_HEIGHT}">'
        f'<text class="asf-byte" x="{width / 2:g}" y="11">{number}</text>'
    ]
    x = 0
    for segment in segments:
        kind, label = segment.mark.kind, segment.mark.label
        box = f'x="{x}" y="{_TOP}" width="{segment.width}" height="{_BAR}"'
        parts.append(f'<rect class="asf-seg asf-seg--{kind}" {box}/>')
        if kind in _PATTERNED:
            parts.append(f'<rect fill="url(#asf-{kind})" {box}/>')
        middle = f"{x + segment.width / 2:g}"
        if label:
            if kind in _PATTERNED:  # a plate behind the label keeps it readable on its pattern
                plate = 7 + 9 * len(label)
                parts.append(
                    f'<rect class="asf-plate" x="{x + (segment.width - plate) / 2:g}" y="{_TOP + 9}" '
                    f'width="{plate}" height="18" rx="2"/>'
                )
            parts.append(f'<text class="asf-label" x="{middle}" y="{_TOP + 23}">{escape(label)}</text>')
        if segment.bits:
            parts.append(f'<text class="asf-bits" x="{middle}" y="{_TOP + _BAR + 12}">{segment.bits}</text>')
        x += segment.width
    parts.append(f'<rect class="asf-byte-edge" x="0" y="{_TOP}" width="{width}" height="{_BAR}"/></svg>')
    return "".join(parts)


def strip(layout: Layout, marks: Mapping[str, Mark], alternative: str) -> Markup:
    """The strip of a record in ``layout``; ``marks``: how settings are drawn; ``alternative``: in words.

    Settings without a mark are left out; the checksum is drawn by itself. Places outside the record are not
    drawn (a rule reports them). ``PATTERNS`` must stand once on the page.
    """
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
    return Markup(
        f'<div class="asf-strip" role="img" aria-label="{escape(alternative)}">{"".join(_bytes(held))}</div>'
    )


def _bytes(held: list[dict[int, Mark]]) -> Iterable[str]:
    byte = 0
    while byte < len(held):
        end = byte
        while end < len(held) and not held[end]:
            end += 1
        if end - byte > _LONGEST_FREE:
            yield _byte(f"{byte}–{end - 1}", (_Segment(7, 0, Mark("…", "free")),))
            byte = end
        else:
            yield _byte(str(byte), _segments(held[byte]))
            byte += 1
