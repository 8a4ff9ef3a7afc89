"""Which item of a list before is which item after."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from difflib import SequenceMatcher
from typing import Generic, NamedTuple, TypeVar

T = TypeVar("T")
ALIKE = 0.6  # from which share of equal letters on two texts count as one, rewritten


class Paired(NamedTuple, Generic[T]):
    """Items that changed, side by side; removed; added. ``order``: those that stayed stand otherwise."""

    changed: tuple[tuple[T, T], ...]
    removed: tuple[T, ...]
    added: tuple[T, ...]
    order: bool


def pair(before: Sequence[T], after: Sequence[T], key: Callable[[T], str], names: bool = False) -> Paired[T]:
    """Equal items are the same; of the others those of one key, then those whose keys are most alike.

    ``names``: keys are names, of which none is alike another.
    """
    left, right = list(before), list(after)
    same_before: list[T] = []
    same_after: list[T] = []
    for item in before:
        if item in right:
            left.remove(item)
            right.remove(item)
            same_before.append(item)
    for item in after:
        if item in same_before and same_after.count(item) < same_before.count(item):
            same_after.append(item)
    changed: list[tuple[T, T]] = []
    for likeness in (1.0,) if names else (1.0, ALIKE):
        while found := _most_alike(left, right, key, likeness):
            left.remove(found[0])
            right.remove(found[1])
            changed.append(found)
    changed.sort(key=lambda both: after.index(both[1]))
    return Paired(tuple(changed), tuple(left), tuple(right), same_before != same_after)


def _most_alike(
    left: Sequence[T], right: Sequence[T], key: Callable[[T], str], least: float
) -> tuple[T, T] | None:
    best: tuple[float, tuple[T, T]] | None = None
    for one in left:
        for other in right:
            likeness = alike(key(one), key(other))
            if likeness >= least and (best is None or likeness > best[0]):
                best = likeness, (one, other)
    return best[1] if best else None


def alike(one: str, other: str) -> float:
    """How much of two texts is equal: 0 to 1."""
    if one == other:
        return 1.0
    # Word by word: it is quick, and letters alone make any two sentences look alike.
    left, right = (re.findall(r"\w+", text.casefold()) for text in (one, other))
    words = SequenceMatcher(None, left, right, autojunk=False).ratio()
    return min(words, 0.999)
