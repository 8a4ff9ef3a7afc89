"""Software versions of control modules: their order, and ranges of them.

Natural order: digits inside a version compare as numbers, everything else letter by letter (ASCII), and a
version comes before its own continuations: 1.9, 1.10, 0210, 0210A, 0310. Versions that differ in leading
zeros only are different versions and lie next to each other, the one with more zeros first: 00210, 0210,
210; so ``=0210`` does not accept 210. Makers do not agree on a scheme, and PEP 440 or semantic versioning
would order these wrongly.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from operator import eq, ge, gt, le, lt
from typing import Any

Key = tuple[tuple[str | int, ...], str]
Point = tuple[Key, int]  # (key, 0): that version; (key, 1): any version just above, before the next one named

BELOW_ALL: Point = (((), ""), 1)

_COMPARE: dict[str, Callable[[Any, Any], bool]] = {">=": ge, "<=": le, "=": eq, "<": lt, ">": gt}
_COMPARISON = re.compile(r"(>=|<=|=|<|>)([0-9A-Za-z.]{1,24})\Z")


class RangeProblem(ValueError):
    """A range that cannot be read or that no version satisfies: ``reason`` and ``repair``, one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(f"{reason} {repair}")
        self.reason = reason
        self.repair = repair


@lru_cache(maxsize=4096)
def key(version: str) -> Key:
    """Sort key of a version; equal for equal texts only."""
    parts = re.split(r"([0-9]+)", version)
    return tuple(int(p) if i % 2 else p for i, p in enumerate(parts)), version


@dataclass(frozen=True, slots=True)
class Range:
    """Comparisons (operator, version) that all hold."""

    comparisons: tuple[tuple[str, str], ...]

    @property
    def bounds(self) -> tuple[str, ...]:
        """Every version named, in order, once."""
        return tuple(sorted({version for _, version in self.comparisons}, key=key))

    def contains(self, version: str) -> bool:
        """Whether ``version`` satisfies every comparison."""
        return self.contains_point((key(version), 0))

    def contains_point(self, point: Point) -> bool:
        """Whether a version, or all versions between two neighbouring bounds, satisfy every comparison."""
        return all(_COMPARE[op](point, (key(version), 0)) for op, version in self.comparisons)

    def __str__(self) -> str:
        return ",".join(op + version for op, version in self.comparisons)


def points(bounds: tuple[str, ...]) -> tuple[Point, ...]:
    """One point for every class of versions that ranges with these bounds can tell apart, lowest first.

    Between two versions there is always taken to be room for another: makers number as they like.
    """
    named = sorted({key(version) for version in bounds})
    return BELOW_ALL, *((k, above) for k in named for above in (0, 1))


@lru_cache(maxsize=4096)
def parse_range(text: str) -> Range:
    """The range a text such as ``>=0210,<0405`` states. RangeProblem when unreadable or empty."""
    comparisons = []
    for part in text.split(","):
        match = _COMPARISON.match(part)
        if match is None:
            raise RangeProblem(
                f"{text[:80]!r} is not a range of software versions.",
                "Write one to four comparisons joined by commas without spaces, such as >=0210,<0405.",
            )
        comparisons.append((match[1], match[2]))
    found = Range(tuple(comparisons))
    if not any(found.contains_point(point) for point in points(found.bounds)):
        raise RangeProblem(
            f"No software version can satisfy {text}.",
            "Put the lower version after > or >= and the higher after < or <=.",
        )
    return found


def range_of(point: Point, bounds: tuple[str, ...]) -> str:
    """The range of exactly the versions that ``point`` stands for among ``bounds``."""
    (_, version), above = point
    if not above:
        return f"={version}"
    higher = [b for b in sorted(bounds, key=key) if key(b) > point[0]][:1]
    return ",".join([f">{version}"] * bool(version) + [f"<{b}" for b in higher])
