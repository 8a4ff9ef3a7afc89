"""What remains to be found out of a condition, and why a condition cannot be true."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial

from .completions import Fact, Space, Value, accepts, fact
from .conditions import FALSE, TRUE, All, Any, Condition, Leaf, Not, Software, Vehicle, leaves
from .rewrite import conjunction, disjunction, map_leaves, negation
from .world import Car, vehicle_keys


def residual(condition: Condition, space: Space) -> Condition:
    """A small condition true in the same completions of ``space``, naming only facts that can change it.

    Smaller ones are tried until none is the same: a node true or false outright, a fact given one of its
    values throughout, a key of a vehicle or an end of a range left away. Conditions are short and what
    remains is for people, so the first way down that the author's order offers is good enough.
    """
    wanted = space.where(condition)
    best = map_leaves(condition, lambda leaf: _tidy(leaf, space))
    while True:
        smaller = next((c for c in _smaller(best, space) if c != best and space.where(c) == wanted), None)
        if smaller is None:
            return best
        best = smaller


def why_false(condition: Condition, space: Space) -> tuple[Condition, ...]:
    """For a condition true in no completion: a few parts of it, each of them never true, that explain it.

    A part that only stands in the way together with another comes as ``All`` of the two; what had to be
    false but is true comes as ``Not``.
    """
    match condition:
        case All(of):
            culprits = [why_false(part, space) for part in of if not space.where(part)]
            return min(culprits, key=len) if culprits else (All(_fewest(of, space, All, 0)),)
        case Any(of):
            return _together(why_false(part, space) for part in of)
        case Not(of):
            return _why_true(of, space)
        case _:
            return (_weakest(condition, space),)


def _why_true(condition: Condition, space: Space) -> tuple[Condition, ...]:
    """For a condition true in every completion: conditions never true that keep its negation from it."""
    match condition:
        case All(of):
            return _together(_why_true(part, space) for part in of)
        case Any(of):
            culprits = [_why_true(part, space) for part in of if space.where(part) == space.valid]
            return min(culprits, key=len) if culprits else (Not(Any(_fewest(of, space, Any, space.valid))),)
        case Not(of):
            return why_false(of, space)
        case _:
            return (Not(condition),)


def _together(reasons: Iterable[tuple[Condition, ...]]) -> tuple[Condition, ...]:
    return tuple(dict.fromkeys(reason for group in reasons for reason in group))


def _fewest(
    of: tuple[Condition, ...], space: Space, join: Callable[[tuple[Condition, ...]], Condition], wanted: int
) -> tuple[Condition, ...]:
    """Parts of which none can be left away without the whole being true elsewhere."""
    for part in of:
        rest = tuple(other for other in of if other is not part)
        if space.where(join(rest)) == wanted:
            return _fewest(rest, space, join, wanted)
    return of


def _weakest(leaf: Leaf, space: Space) -> Leaf:
    """The least of a leaf that is never true that is never true either."""
    for weaker in _weaker(leaf):
        if not space.where(weaker):
            return _weakest(weaker, space)
    return leaf


def _tidy(leaf: Leaf, space: Space) -> Condition:
    """Constants where nothing is unknown, and of the kinds of vehicle named only those still possible."""
    where = space.where(leaf)
    if where in (0, space.valid):
        return TRUE if where else FALSE
    if not isinstance(leaf, Vehicle):
        return leaf
    possible = [car for car in space.all_cars if car.line == leaf.line]
    return replace(
        leaf,
        models=tuple(m for m in leaf.models if any(car.model == m for car in possible)),
        phases=tuple(p for p in leaf.phases if any(car.phase == p for car in possible)),
        markets=tuple(m for m in leaf.markets if any(car.market == m for car in possible)),
    )


def _smaller(condition: Condition, space: Space) -> Iterator[Condition]:
    yield from _one_changed(condition, lambda part: () if part in (TRUE, FALSE) else (TRUE, FALSE))
    yield from _one_fact_given(condition, space)
    yield from _one_changed(
        condition, lambda part: () if isinstance(part, All | Any | Not) else _weaker(part)
    )


def _one_changed(
    condition: Condition, change: Callable[[Condition], Iterable[Condition]]
) -> Iterator[Condition]:
    """``condition`` with one of its parts, large ones first, changed in one of the ways offered."""
    yield from change(condition)
    match condition:
        case All(of) | Any(of):
            join = conjunction if isinstance(condition, All) else disjunction
            for i, part in enumerate(of):
                for new in _one_changed(part, change):
                    yield join((*of[:i], new, *of[i + 1 :]))
        case Not(of):
            yield from map(negation, _one_changed(of, change))


def _weaker(leaf: Leaf) -> Iterator[Leaf]:
    """The leaf with one key or comparison fewer; what is easiest to find out stays longest."""
    if isinstance(leaf, Vehicle):
        first, last = leaf.built
        if first:
            yield replace(leaf, built=(None, last))
        if last:
            yield replace(leaf, built=(first, None))
        if leaf.markets:
            yield replace(leaf, markets=())
        if leaf.models:
            yield replace(leaf, models=())
        if leaf.phases:
            yield replace(leaf, phases=())
    elif isinstance(leaf, Software):
        comparisons = leaf.range.split(",")
        for i in range(len(comparisons) if len(comparisons) > 1 else 0):
            yield replace(leaf, range=",".join(comparisons[:i] + comparisons[i + 1 :]))


def _one_fact_given(condition: Condition, space: Space) -> Iterator[Condition]:
    """``condition`` with one fact that several leaves name given one of its values.

    A fact that cannot change the answer can be given any; where one leaf names it, giving that leaf a
    constant is the same.
    """
    named = leaves(condition)
    for name, count in Counter(fact(leaf) for leaf in named).items():
        if count > 1 and name in space.values:
            for value in space.values[name]:
                yield map_leaves(condition, partial(_value_given, name=name, value=value))
    if sum(isinstance(leaf, Vehicle) for leaf in named) > 1:
        for key in range(6):
            for car in space.cars:
                yield map_leaves(condition, partial(_key_given, key=key, car=car))


def _value_given(leaf: Leaf, name: Fact, value: Value) -> Condition:
    """The leaf where a fact, not the kind of vehicle, is known to have this value."""
    return leaf if fact(leaf) != name else TRUE if accepts(leaf, value) else FALSE


def _key_given(leaf: Leaf, key: int, car: Car) -> Condition:
    """The leaf where one key, counted as in ``vehicle_keys``, is known to be as that of ``car``."""
    if not isinstance(leaf, Vehicle) or (key > 0 and leaf.line != car.line):
        return leaf
    if not vehicle_keys(leaf, car)[key]:
        return FALSE
    first, last = leaf.built
    match key:
        case 1:
            return replace(leaf, models=())
        case 2:
            return replace(leaf, phases=())
        case 3:
            return replace(leaf, built=(None, last))
        case 4:
            return replace(leaf, built=(first, None))
        case 5:
            return replace(leaf, markets=())
        case _:
            return leaf
