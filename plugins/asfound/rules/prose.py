"""What must hold for prose fields: only marks and links that can be shown, links to recipes that exist."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.origin import Origin
from ..car.records import Module
from ..car.vehicles import VehicleLine
from ..source.findings import plainly
from ..source.prose import ProseProblem, mentioned
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage

Field = tuple[Origin, str]


def _of_club(book: Book) -> Iterator[Field]:
    yield book.club.origin.at("about"), book.club.about


def _of_line(line: VehicleLine) -> Iterator[Field]:
    yield line.origin.at("about"), line.about


def _of_module(module: Module) -> Iterator[Field]:
    yield module.origin.at("duty"), module.duty
    for record in module.records:
        for setting in record.settings:
            yield setting.origin.at("about"), setting.about


def _of_recipe(book: Book, recipe: Recipe) -> Iterator[Field]:
    yield recipe.origin.at("purpose"), recipe.purpose
    if recipe.media is not None:
        yield recipe.media.origin.at("origin", "how"), recipe.media.origin_how
    if recipe.withdrawn is not None:
        yield recipe.origin.at("withdrawn", "because"), recipe.withdrawn.because
    for step in recipe.steps:
        yield step.origin.at("step"), step.step
    for report in book.reports(recipe.id):
        yield report.origin.at("side_effects"), report.side_effects
        yield report.origin.at("note"), report.note


def _problems(book: Book, fields: Iterator[Field]) -> Iterator[Problem]:
    for origin, text in fields:
        if not text:
            continue
        try:
            recipes = mentioned(text)
        except ProseProblem as problem:
            yield Problem(origin, plainly(problem.reason), plainly(problem.repair))
            continue
        for recipe in dict.fromkeys(recipes):
            if recipe not in book.recipes:
                because = book.broken("recipe", recipe)
                yield Problem(
                    origin,
                    f"a link leads to the recipe {recipe}, which does not exist",
                    "correct its id, or take the link out",
                    because=because,
                )


def club_prose(book: Book) -> Iterator[Problem]:
    """The club's prose can be shown."""
    return _problems(book, _of_club(book))


def line_prose(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """A vehicle line's prose can be shown."""
    return _problems(book, _of_line(line))


def module_prose(book: Book, module: Module) -> Iterator[Problem]:
    """A module's prose can be shown."""
    return _problems(book, _of_module(module))


def recipe_prose(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The prose of a recipe and its reports can be shown."""
    return _problems(book, _of_recipe(book, recipe))


_DEMAND = "Prose holds emphasis, code, lists and links to https addresses or recipes, and nothing else."
_WHY = "A link could lead readers astray, and a mark that is not understood could hide a warning."
_HELPS = "Write it in plain text, or with the marks that are understood."

RULES = (
    Rule("prose-of-club", _DEMAND, _WHY, _HELPS, "book", club_prose, Stage.NAMES),
    Rule("prose-of-vehicle", _DEMAND, _WHY, _HELPS, "line", line_prose, Stage.NAMES),
    Rule("prose-of-module", _DEMAND, _WHY, _HELPS, "module", module_prose, Stage.NAMES),
    Rule("prose-of-recipe", _DEMAND, _WHY, _HELPS, "recipe", recipe_prose, Stage.NAMES),
)
