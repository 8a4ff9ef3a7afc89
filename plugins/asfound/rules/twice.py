"""What must hold for names that are given: within a list each is given once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..book import Book
from ..car.origin import Origin
from ..car.records import Module
from ..car.settings import Choices, Number, Setting
from ..car.vehicles import VehicleLine
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage

ID = "named-twice"
Named = Iterable[tuple[str, Origin]]


def _once(what: str, named: Named) -> Iterator[Problem]:
    first: dict[str, Origin] = {}
    for name, origin in named:
        before = first.setdefault(name, origin)
        if before is not origin:
            yield Problem(
                origin,
                f"{what} {name} stands here twice",
                "give each a name of its own, or remove one",
                also=(before,),
            )


def in_line(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """Phases, models, markets, equipment, fitted modules and their places."""
    yield from _once("phase", ((p.id, p.origin.at("phase")) for p in line.phases))
    yield from _once("model", ((m.id, m.origin.at("model")) for m in line.models))
    yield from _once("market", ((m.id, m.origin.at("market")) for m in line.markets))
    yield from _once("equipment", ((e.id, e.origin.at("item")) for e in line.equipment))
    yield from _once("module", ((f.module, f.origin.at("module")) for f in line.fitted))
    for fitted in line.fitted:
        places = ((p.id, fitted.origin.at("places", n, "place")) for n, p in enumerate(fitted.places))
        yield from _once("place", places)


def in_module(book: Book, module: Module) -> Iterator[Problem]:
    """Records, and in each its settings and layouts."""
    yield from _once("record", ((r.id, r.origin.at("record")) for r in module.records))
    for record in module.records:
        yield from _once("setting", ((s.id, s.origin.at("setting")) for s in record.settings))
        yield from _once("layout", ((x.id, x.origin.at("layout")) for x in record.layouts))
        for setting in record.settings:
            yield from _once("value", values_of(setting))


def values_of(setting: Setting) -> Iterator[tuple[str, Origin]]:
    """The words for a setting's values, and where they are given."""
    match setting.kind:
        case Choices(choices):
            where = setting.origin.at("choices")
        case Number(special=choices):
            where = setting.origin.at("number", "special")
        case _:
            return
    for index, choice in enumerate(choices):
        yield choice.means, where.at(index, "means")


def in_recipe(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Pictures, clashes and past codes."""
    yield from _once("picture", ((p.file, p.origin.at("file")) for p in recipe.pictures))
    yield from _once("recipe", ((c.recipe, c.origin.at("recipe")) for c in recipe.clashes))
    codes = book.codes_origin(recipe.id).at
    past = enumerate(book.past_codes(recipe.id))
    yield from _once("sheet code", ((code.sheet_code, codes("codes", n, "sheet_code")) for n, code in past))


def in_club(book: Book) -> Iterator[Problem]:
    """Reviewers."""
    at = book.club.origin.at
    handles = ((r.handle, at("reviewers", n, "handle")) for n, r in enumerate(book.club.reviewers))
    yield from _once("reviewer", handles)


_DEMAND = "Within a list each name is given once."
_WHY = "One would hide the other."
_HELPS = "Give each a name of its own, or remove one."

RULES = (
    Rule(ID, _DEMAND, _WHY, _HELPS, "line", in_line, Stage.NAMES, grounds=True),
    Rule(ID, _DEMAND, _WHY, _HELPS, "module", in_module, Stage.NAMES, grounds=True),
    Rule(ID, _DEMAND, _WHY, _HELPS, "recipe", in_recipe, Stage.NAMES),
    Rule(ID, _DEMAND, _WHY, _HELPS, "book", in_club, Stage.NAMES),
)
