"""Rewriting conditions into smaller or more regular ones that mean the same."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from .conditions import FALSE, TRUE, All, Any, Condition, Leaf, Not


def conjunction(parts: Iterable[Condition]) -> Condition:
    """All of ``parts``, without nesting, repetition or constants."""
    out: list[Condition] = []
    for part in parts:
        if part == FALSE:
            return FALSE
        out.extend(part.of if isinstance(part, All) else (part,))
    unique = tuple(dict.fromkeys(out))
    return unique[0] if len(unique) == 1 else All(unique)


def disjunction(parts: Iterable[Condition]) -> Condition:
    """Any of ``parts``, without nesting, repetition or constants."""
    out: list[Condition] = []
    for part in parts:
        if part == TRUE:
            return TRUE
        out.extend(part.of if isinstance(part, Any) else (part,))
    unique = tuple(dict.fromkeys(out))
    return unique[0] if len(unique) == 1 else Any(unique)


def negation(part: Condition) -> Condition:
    """Not ``part``, without double negation or constants."""
    if part in (TRUE, FALSE):
        return FALSE if part == TRUE else TRUE
    return part.of if isinstance(part, Not) else Not(part)


def map_leaves(condition: Condition, change: Callable[[Leaf], Condition]) -> Condition:
    """``condition`` with every leaf changed, simplified."""
    match condition:
        case All(of):
            return conjunction(map_leaves(part, change) for part in of)
        case Any(of):
            return disjunction(map_leaves(part, change) for part in of)
        case Not(of):
            return negation(map_leaves(of, change))
        case _:
            return change(condition)


def push_negation(condition: Condition, negate: bool = False) -> Condition:
    """``condition`` (or its negation), with negation only on leaves (De Morgan)."""
    match condition:
        case All(of):
            return (disjunction if negate else conjunction)(push_negation(part, negate) for part in of)
        case Any(of):
            return (conjunction if negate else disjunction)(push_negation(part, negate) for part in of)
        case Not(of):
            return push_negation(of, not negate)
        case _:
            return Not(condition) if negate else condition
