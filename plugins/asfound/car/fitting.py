"""Whether a car satisfies a condition: yes, no, or what it hangs on.

Two answers are offered. ``truth`` is Kleene's three-valued logic, leaf by leaf (S. C. Kleene, Introduction
to Metamathematics, 1952, section 64; the NULL logic of SQL). ``answer`` is exact: it weighs every car that
what is known leaves possible, so that "phase 1 or 2" is no unknown of a line made in two phases.

``lines`` is any mapping of vehicle lines; a ``World`` remembers answers. An answer may have been worked
out for an equal condition written elsewhere, so origins inside it say nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast

from .completions import Space, describe
from .conditions import All, Any, Condition, Leaf, Not, Vehicle, leaves
from .known import Known
from .residual import residual, why_false
from .rewrite import conjunction, disjunction
from .vehicles import VehicleLine
from .world import World, cars

Lines = Mapping[str, VehicleLine]
NOTHING = Known()


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a car fits.

    ``because``, for "no": conditions none of which the car can satisfy, and that alone explain it; empty
    when no such car was ever made. ``residual``, for "if": what decides, naming nothing that does not.
    """

    kind: Literal["fits", "no", "if"]
    because: tuple[Condition, ...] = ()
    residual: Condition | None = None


def truth(condition: Condition, known: Known, lines: Lines) -> bool | None:
    """Kleene's value of the condition; None: unknown."""
    match condition:
        case All(of):
            values = [truth(part, known, lines) for part in of]
            return False if False in values else None if None in values else True
        case Any(of):
            values = [truth(part, known, lines) for part in of]
            return True if True in values else None if None in values else False
        case Not(of):
            value = truth(of, known, lines)
            return None if value is None else not value
        case _:
            return _leaf_truth(condition, known, World.of(lines))


def _leaf_truth(leaf: Leaf, known: Known, world: World) -> bool | None:
    space = Space((leaf,), known, world)
    where = space.where(leaf)
    return False if not where else True if where == space.valid else None


def answer(condition: Condition, known: Known, lines: Lines) -> Answer:
    """Exactly whether cars of which this is known satisfy the condition. TooManyFacts beyond all measure."""
    world = World.of(lines)
    question = condition, known
    if question not in world.answers:
        world.answers[question] = _answer(condition, known, world)
    return cast(Answer, world.answers[question])


def _answer(condition: Condition, known: Known, world: World) -> Answer:
    space = Space((condition,), known, world)
    where = space.where(condition)
    if not where:
        return Answer("no", why_false(condition, space) or (condition,)) if space.valid else Answer("no")
    if where == space.valid:
        return Answer("fits")
    return Answer("if", residual=residual(condition, space))


def possible(known: Known, lines: Lines) -> bool:
    """Whether any car of which this is known was made."""
    return bool(cars((), known, World.of(lines)))


def satisfiable(condition: Condition, lines: Lines, known: Known = NOTHING) -> bool:
    """Whether a car of which this is known can satisfy the condition."""
    return exclude(condition, All(()), lines, known) is not None


def implies(one: Condition, other: Condition, lines: Lines, known: Known = NOTHING) -> bool:
    """Whether every car that satisfies ``one`` satisfies ``other``."""
    return not satisfiable(conjunction((one, Not(other))), lines, known)


def same(one: Condition, other: Condition, lines: Lines, known: Known = NOTHING) -> bool:
    """Whether the same cars satisfy both."""
    space = Space((one, other), known, World.of(lines))
    return space.where(one) == space.where(other)


def exclude(one: Condition, other: Condition, lines: Lines, known: Known = NOTHING) -> All | None:
    """None when no car satisfies both; else one that does, as a condition that only such cars satisfy."""
    world = World.of(lines)
    question = "both", one, other, known
    if question not in world.answers:
        space = Space((one, other), known, world)
        found = space.example(space.where(one) & space.where(other))
        world.answers[question] = found and describe(*found, leaves(one) + leaves(other))
    return cast("All | None", world.answers[question])


def has_module(module: str, lines: Lines) -> Condition:
    """Which cars have the module, over all lines."""
    return disjunction(
        conjunction((Vehicle(line.id), *((fitted.fits,) if fitted.fits is not None else ())))
        for line in lines.values()
        for fitted in line.fitted
        if fitted.module == module
    )
