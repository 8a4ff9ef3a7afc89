"""Conditions inside the sentences of pages."""

from __future__ import annotations

from ..car.conditions import Condition, Equipped, Vehicle, leaves
from ..car.words import Names, say
from ..speech import gettext


def if_words(condition: Condition, names: Names, line: str | None = None) -> str:
    """``if it is a Loft with an awning`` or ``if the heater has software 0210 or later``."""
    kind = any(isinstance(leaf, Vehicle | Equipped) for leaf in leaves(condition))
    return (
        gettext("if it is {car}", car=say(condition, names, line))
        if kind
        else gettext("if {statement}", statement=say(condition, names, line))
    )
