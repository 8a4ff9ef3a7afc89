"""A recipe's hazards in the risk assessment matrix of MIL-STD-882E, Table III."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from .svg import LINE, WIDTH, box, frame, words

_HEAD, _ROW = 24, 26  # heights of the head and of an empty row
_LETTER = 6.4  # of a row head, whose words differ with the language
_CHIP, _ACROSS = 18, 3  # from chip to chip, chips side by side in a cell


@dataclass(frozen=True, slots=True)
class Scales:
    """The matrix in words: its columns, its rows, each row's levels, and all levels from the highest down."""

    severities: Sequence[str]
    likelihoods: Sequence[str]
    levels: Sequence[Sequence[str]]
    ranks: Sequence[str]


def risk_matrix(scales: Scales, held: Mapping[tuple[int, int], Sequence[int]], alternative: str) -> Markup:
    """The matrix with the numbers of hazards in their cells; ``held``: row and column to numbers.

    Empty where it would show fewer than two hazards: one is said sooner than drawn.
    """
    if sum(len(numbers) for numbers in held.values()) < 2:
        return Markup("")
    left = min(112.0, max(76.0, _LETTER * max(map(len, scales.likelihoods)) + 4))
    across = (WIDTH - 2 - left) / len(scales.severities)
    parts, y = _heads(scales.severities, left, across)
    for row, likelihood in enumerate(scales.likelihoods):
        most = max((len(held.get((row, at), ())) for at in range(len(scales.severities))), default=0)
        height = _ROW + _CHIP * -(-most // _ACROSS) - (4 if most else 0)
        parts.append(words("asf-t asf-t--soft", 0, y + 17, likelihood))
        levels = scales.levels[row]
        if len(set(levels)) == 1:  # one level for the whole row is said once
            parts += _cell(levels[0], scales, left, y, WIDTH - 2 - left, height)
        for at, level in enumerate(levels):
            x = left + across * at
            if len(set(levels)) > 1:
                parts += _cell(level, scales, x, y, across, height)
            parts += _chips(held.get((row, at), ()), x, y)
        y += height
    return frame(WIDTH, y + 2, "asf-risk", alternative, parts)


def _heads(names: Sequence[str], left: float, across: float) -> tuple[list[str], int]:
    """The heads of the columns, and where the rows begin. Where one is wider than its column, they stand in
    two lines, by turns, and the last ends where the matrix ends."""
    wide = max(map(len, names)) * 5.4 > across
    parts = []
    for at, name in enumerate(names):
        y = _HEAD - 8 + LINE * (wide and at % 2)
        if wide and at == len(names) - 1:
            parts.append(words("asf-t asf-t--end asf-t--soft", WIDTH - 2, y, name))
        else:
            parts.append(words("asf-t asf-t--mid asf-t--soft", left + across * (at + 0.5), y, name))
    return parts, _HEAD + LINE * wide


def _cell(level: str, scales: Scales, x: float, y: float, width: float, height: float) -> list[str]:
    rank = scales.ranks.index(level)
    return [
        box(f"asf-risk__cell asf-risk__cell--{rank}", x, y, width, height),
        words("asf-t asf-t--small", x + 5, y + 16, level),
    ]


def _chips(numbers: Sequence[int], x: float, y: float) -> list[str]:
    out = []
    for at, number in enumerate(numbers):
        down, along = divmod(at, _ACROSS)
        left, top = x + 5 + _CHIP * along, y + 22 + _CHIP * down
        out.append(box("asf-chip", left, top, _CHIP - 3, _CHIP - 3))
        out.append(words("asf-t asf-t--mid asf-t--bold", left + (_CHIP - 3) / 2, top + 11.5, str(number)))
    return out
