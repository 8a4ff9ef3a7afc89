"""The neighbourhood of a recipe: which others it meets, and in which record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Literal

from markupsafe import Markup

from .svg import LINE, WIDTH, box, frame, lines, words

_LEFT, _RECORD, _RIGHT = 62, 98, 136  # widths of the three columns
_AT_RECORD = _LEFT + 22
_AT_RIGHT = WIDTH - _RIGHT - 1
_PAD, _BETWEEN = 6, 8
_MOST = 10  # neighbours; the list below the drawing names every one

Tie = Literal["clash", "needs", "near"]


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another recipe: its title, how the two are tied, in words, and the records they share, by name."""

    title: str
    tie: Tie
    says: str
    records: tuple[str, ...] = ()


def neighbourhood(here: str, neighbours: Sequence[Neighbour], alternative: str) -> Markup:
    """This recipe on the left, shared records in the middle, neighbours on the right.

    ``here``: a word or two for this recipe. Empty for fewer than two neighbours: one is said sooner.
    """
    if len(neighbours) < 2:
        return Markup("")
    shown = sorted(neighbours[:_MOST], key=lambda one: (bool(one.records), one.records[:1]))
    tops, y = [], 1.0
    for one in shown:
        tops.append(y)
        y += _height(_texts(one)) + _BETWEEN
    middles = [top + _height(_texts(one)) / 2 for top, one in zip(tops, shown, strict=True)]
    direct = sum(not one.records for one in shown)  # they stand on top, and their ties run straight across
    records = _records(shown, middles, tops[direct] if direct < len(tops) else 1)
    own_text = lines(here, _LEFT - 2 * _PAD, 2)
    low = [middle + _height((text,)) / 2 for middle, text in records.values()]
    height = ceil(max(y - _BETWEEN, _height((own_text,)) + 1, *low) + 1)
    ties, boxes = [], []
    own = height / 2
    for middle, text in records.values():
        ties.append(_line("asf-tie", _LEFT, own, _AT_RECORD, middle))
        boxes += _box("asf-node", _AT_RECORD, middle, _RECORD, text, bold=False)
    for one, top, middle in zip(shown, tops, middles, strict=True):
        css = f"asf-tie asf-tie--{one.tie}"
        if one.records:
            for record in one.records:
                ties.append(_line(css, _AT_RECORD + _RECORD, records[record][0], _AT_RIGHT, middle))
        else:
            ties.append(f'<path class="{css}" d="M{_LEFT} {own:g} {_AT_RECORD} {middle:g}H{_AT_RIGHT}"/>')
        says, title = _texts(one)
        size = _height((says, title))
        boxes.append(box(f"asf-node asf-node--{one.tie}", _AT_RIGHT, top, _RIGHT, size))
        for at, line in enumerate((*says, *title)):
            kind = "asf-t asf-t--bold" if at < len(says) else "asf-t"
            boxes.append(words(kind, _AT_RIGHT + _PAD, top + _PAD + 9 + LINE * at, line))
    boxes += _box("asf-node asf-node--own", 1, own, _LEFT - 1, own_text, bold=True)
    return frame(WIDTH, height, "asf-near", alternative, [*ties, *boxes])


def _texts(one: Neighbour) -> tuple[tuple[str, ...], tuple[str, ...]]:
    inside = _RIGHT - 2 * _PAD
    return lines(one.says, inside, 2), lines(one.title, inside, 3)


def _height(texts: tuple[tuple[str, ...], ...]) -> float:
    return LINE * sum(len(part) for part in texts) + 2 * _PAD - 1


def _records(
    shown: Sequence[Neighbour], middles: Sequence[float], top: float
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """Each shared record once: where its box has its middle, level with its neighbours, and its lines."""
    wanted: dict[str, list[float]] = {}
    for one, middle in zip(shown, middles, strict=True):
        for record in one.records:
            wanted.setdefault(record, []).append(middle)
    out: dict[str, tuple[float, tuple[str, ...]]] = {}
    edge = top
    for record, at in sorted(wanted.items(), key=lambda item: sum(item[1]) / len(item[1])):
        text = lines(record, _RECORD - 2 * _PAD, 3)
        size = _height((text,))
        middle = max(sum(at) / len(at), edge + size / 2)
        out[record] = (middle, text)
        edge = middle + size / 2 + _BETWEEN
    return out


def _box(css: str, x: float, middle: float, width: float, text: tuple[str, ...], bold: bool) -> list[str]:
    size = _height((text,))
    top = middle - size / 2
    kind = "asf-t asf-t--mid asf-t--bold" if bold else "asf-t asf-t--mid"
    return [
        box(css, x, top, width, size),
        *(words(kind, x + width / 2, top + _PAD + 9 + LINE * at, one) for at, one in enumerate(text)),
    ]


def _line(css: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<path class="{css}" d="M{x1:g} {y1:g} {x2:g} {y2:g}"/>'
