"""Which cars a sheet is for, what must have been done before, and how its ways are told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...car.conditions import All, Condition, Equipped, Holds, Vehicle
from ...car.known import Known
from ...car.records import RecordPath
from ...car.words import look, say
from ...speech import gettext
from ...work.recipes import Recipe
from ..speech import is_words
from ..words import sentence
from .desk import Desk
from .sheet_words import holds_words


@dataclass(frozen=True, slots=True)
class Tick:
    """A condition to tick before starting, and how to find out."""

    words: str
    look: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """One way the job can run: ``mark`` stands before whatever is done on such cars only."""

    mark: str
    words: str
    look: tuple[str, ...]


def ticks(desk: Desk, condition: Condition) -> tuple[Tick, ...]:
    """One line to tick for each part of the condition."""
    some = condition.of if isinstance(condition, All) else (condition,)
    return tuple(Tick(_said(desk, one), _look(desk, one)) for one in some)


def _look(desk: Desk, condition: Condition) -> tuple[str, ...]:
    """How to find out; what a thing looks like comes without its name where that was just said."""
    found = look(condition, desk.names)
    short = tuple(one.removeprefix(gettext("How to tell ")) for one in found)
    if len(short) == 1 and short != found and isinstance(condition, Vehicle | Equipped):
        return (sentence(short[0].partition(": ")[2]),)
    return tuple(map(sentence, short))


def _said(desk: Desk, condition: Condition) -> str:
    if isinstance(condition, Holds):
        record = desk.book.record(RecordPath.parse(condition.record))
        module = desk.unit(condition.record.split("/")[0], None)
        return sentence(
            gettext(
                "{record} of {module}: {what}",
                record=record.name if record else "", module=module, what=holds_words(condition),
            )
        )  # fmt: skip
    if condition == Vehicle(next(iter(desk.book.lines), "")):
        return sentence(gettext("it is a {line}", line=say(condition, desk.names)))
    return sentence(is_words(condition, desk.names))


def besides(desk: Desk, recipes: Sequence[Recipe]) -> list[Tick]:
    """What must have been done, and must not, besides."""
    here = {r.id for r in recipes}
    book = desk.book
    needs = [book.recipes[n] for r in recipes for n in r.needs if n not in here and n in book.recipes]
    out = [
        Tick(
            gettext("Done before: {title} (sheet {code}).", title=need.title, code=book.codes(need.id).sheet)
        )
        for need in dict.fromkeys(needs)
    ]
    for recipe in recipes:
        for clash in recipe.clashes:
            if clash.recipe not in here and (other := book.recipes.get(clash.recipe)):
                words = gettext("Not done on this car: {title}.", title=other.title)
                out.append(Tick(words, (sentence(clash.because),)))
    if any(r.alone for r in recipes):
        out.append(Tick(gettext("Nothing else is changed in the same job.")))
    return out


def way(desk: Desk, mark: str, condition: Condition, fits: Condition) -> Way:
    """What tells the cars of one way from the others the recipe fits."""
    known = fits.of if isinstance(fits, All) else (fits,)
    simplest = desk.simplest(condition)
    if isinstance(simplest, All):
        left = tuple(part for part in simplest.of if part not in known)
        simplest = left[0] if len(left) == 1 else All(left)
    return Way(mark, _said(desk, simplest), _look(desk, simplest))


def car_words(desk: Desk, known: Known) -> list[str]:
    """What is known of the car, in a few words."""
    names = desk.names
    line = next(iter(known.lines), "") if known.lines and len(known.lines) == 1 else ""
    out = [names.lines.get(line, line)] if line else []
    for ids, called in ((known.models, names.models), (known.phases, names.phases)):
        if ids and len(ids) == 1:
            one = next(iter(ids))
            out.append(called.get((line, one), one))
    return out
