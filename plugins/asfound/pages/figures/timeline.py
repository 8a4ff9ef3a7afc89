"""A job on a scale of minutes: when the key is on, which module is open, written and restarted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from ...speech import gettext
from .svg import WIDTH, frame, lines, words

_LEFT, _SPAN = 2, WIDTH - 12  # of the scale
_NAME, _BAR, _LANE = 13, 14, 36  # height of a lane's name, of its bar, of both and the gap
_AXIS = 22
_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 240)  # minutes between marks of the scale

BarKind = Literal["on", "work", "open", "write", "restart"]


@dataclass(frozen=True, slots=True)
class Bar:
    """Something that lasts, from minute ``start`` to minute ``end``."""

    kind: BarKind
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Lane:
    """What happens in one place, in order."""

    name: str
    bars: tuple[Bar, ...]


def timeline(lanes: Sequence[Lane], minutes: int, alternative: str) -> Markup:
    """The lanes below each other over one scale from 0 to ``minutes``; empty for a job that takes none."""
    if minutes <= 0:
        return Markup("")
    height = _LANE * len(lanes) + _AXIS
    base = _LANE * len(lanes)
    scale = _SPAN / minutes
    step = next((s for s in _STEPS if minutes / s <= 8), _STEPS[-1] * -(-minutes // (8 * _STEPS[-1])))
    marks = [minute for minute in range(0, minutes, step) if minutes - minute >= step * 0.6 or not minute]
    parts = [f'<path class="asf-grid" d="M{_LEFT + m * scale:.1f} 0V{base + 4}"/>' for m in (*marks, minutes)]
    for at, lane in enumerate(lanes):
        top = at * _LANE + _NAME + 2
        parts.append(words("asf-t asf-t--halo", _LEFT, top - 4, lines(lane.name, _SPAN, 1)[0]))
        parts.append(f'<path class="asf-lane" d="M{_LEFT} {top + _BAR}H{_LEFT + _SPAN}"/>')
        for bar in lane.bars:
            x, width = _LEFT + bar.start * scale, (bar.end - bar.start) * scale
            place = f'x="{x:.1f}" y="{top}" width="{width:.1f}" height="{_BAR}"'
            parts.append(f'<rect class="asf-bar asf-bar--{bar.kind}" {place}/>')
            if bar.kind in ("write", "restart"):
                pattern = "written" if bar.kind == "write" else "checksum"
                parts.append(f'<rect fill="url(#asf-{pattern})" {place}/>')
    for minute in marks:
        css = "asf-t asf-t--soft" if not minute else "asf-t asf-t--mid asf-t--soft"
        parts.append(words(css, round(_LEFT + minute * scale, 1), base + 16, str(minute)))
    parts.append(
        words("asf-t asf-t--end asf-t--soft", WIDTH - 2, base + 16, gettext("{minutes} min", minutes=minutes))
    )
    return frame(WIDTH, height, "asf-time", alternative, parts)


def swatch(kind: BarKind) -> Markup:
    """A sample of a bar, for the key below the drawing."""
    pattern = {"write": "written", "restart": "checksum"}.get(kind)
    over = f'<rect fill="url(#asf-{pattern})" x="1" y="1" width="22" height="10"/>' if pattern else ""
    return Markup(
        '<svg class="asf-swatch" viewBox="0 0 24 12" width="24" height="12" aria-hidden="true">'
        f'<rect class="asf-bar asf-bar--{kind}" x="1" y="1" width="22" height="10"/>{over}</svg>'
    )
