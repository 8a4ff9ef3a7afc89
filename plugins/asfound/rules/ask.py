"""Questions that several rules ask."""

from __future__ import annotations

from ..book import Book
from ..car import fitting
from ..car.conditions import TRUE, All, Condition
from ..car.origin import Origin
from ..car.records import Layout
from ..car.settings import Setting
from ..car.values import ValueProblem, accept
from ..car.vehicles import Fitted
from ..car.words import say
from ..work.recipes import Change


def both(*conditions: Condition | None) -> Condition:
    """All the conditions there are."""
    return All(tuple(c for c in conditions if c is not None))


def can_be(book: Book, condition: Condition) -> bool:
    """Whether a car that was made satisfies the condition."""
    return fitting.satisfiable(condition, book.world)


def follows(book: Book, one: Condition, other: Condition) -> bool:
    """Whether every car that satisfies ``one`` satisfies ``other``."""
    return fitting.implies(one, other, book.world)


def a_car(book: Book, one: Condition | None, other: Condition | None) -> str | None:
    """In words, a car that satisfies both; None when there is none."""
    car = fitting.exclude(one or TRUE, other or TRUE, book.world)
    return None if car is None else say(car, book.names)


def conditions_of(*things: Change | Fitted | Layout) -> tuple[Origin, ...]:
    """Where the conditions of these are written, as far as they have one."""
    return tuple(thing.origin.at("for") for thing in things if thing.fits is not None)


def same_value(setting: Setting, one: str, other: str) -> bool:
    """Whether two values are the same once stored; False when one of them cannot be."""
    try:
        return accept(setting, one) == accept(setting, other)
    except ValueProblem:
        return False
