"""Conditions inside the sentences of pages."""

from __future__ import annotations

from ..car.conditions import Condition, Equipped, Vehicle, leaves
from ..car.words import Names, say
from ..speech import gettext


def if_words(condition: Condition, names: Names, line: str | None = None) -> str:
    """``if it is a Loft with an awning`` or ``if the heater has software 0210 or later``."""
    said = say(condition, names, line)
    return (
        gettext("if it is {car}", car=said)
        if _of_kind(condition)
        else gettext("if {statement}", statement=said)
    )


def is_words(condition: Condition, names: Names) -> str:
    """The same as a statement: ``it is a Loft`` or ``the heater has software 0210 or later``."""
    said = say(condition, names)
    return gettext("it is {car}", car=said) if _of_kind(condition) else said


def _of_kind(condition: Condition) -> bool:
    """Whether it tells what kind of car it is."""
    return any(isinstance(leaf, Vehicle | Equipped) for leaf in leaves(condition))
