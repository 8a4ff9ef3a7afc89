"""What must hold for the changes themselves: each value can be stored, and something changes."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.origin import Origin
from ..car.records import SettingPath
from ..car.settings import Number, Setting
from ..car.values import ValueProblem, accept, encode
from ..source.findings import plainly
from ..work.compiled import EditProblem
from ..work.recipes import Ask, Change, Recipe
from .ask import both, can_be, conditions_of, same_value
from .base import Problem, Rule, Stage


def changes_make_sense(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Each value can be stored; nothing is changed into itself; no two changes fight."""
    twice = tuple(_changed_twice(book, recipe))
    yield from twice
    try:
        book.edits(recipe.id)
    except EditProblem as error:
        for origin, reason, repair in dict.fromkeys(error.problems):
            change = next((c for c in recipe.changes if origin.path[:2] == c.origin.path), None)
            if change and any(problem.origin == change.origin.at("setting") for problem in twice):
                continue  # a consequence
            setting = book.setting(change.setting) if change else None
            yield Problem(origin, plainly(reason), plainly(repair), _limits(setting))
    for change in recipe.changes:
        setting = book.setting(change.setting)
        if setting is not None:
            yield from _into_itself(setting, change)


def _changed_twice(book: Book, recipe: Recipe) -> Iterator[Problem]:
    for index, change in enumerate(recipe.changes):
        for other in recipe.changes[:index]:
            same_place = other.place == change.place or None in (other.place, change.place)
            if other.setting != change.setting or not same_place:
                continue
            if can_be(book, both(recipe.fits, other.fits, change.fits)):
                yield Problem(
                    change.origin.at("setting"),
                    f"{change.setting} is changed twice on the same car",
                    "keep one of the changes, or let their for exclude each other",
                    also=(other.origin.at("setting"), *conditions_of(other, change)),
                )


def _limits(setting: Setting | None) -> tuple[Origin, ...]:
    """Where it is written which numbers a setting can be."""
    if setting is None or not isinstance(setting.kind, Number):
        return ()
    return tuple(setting.origin.at("number", key) for key in ("min", "max", "factor", "offset"))


def _into_itself(setting: Setting, change: Change) -> Iterator[Problem]:
    asked = isinstance(change.to, Ask)
    to = change.to.suggest if isinstance(change.to, Ask) else change.to
    if change.before is not None and same_value(setting, change.before, to):
        yield Problem(
            change.origin.at("to", "suggest") if asked else change.origin.at("to"),
            f"{to} is what the setting is changed from",
            "suggest the value most readers choose, or write from: any"
            if asked
            else "write the new value, or remove the change",
            also=(change.origin.at("from"),),
        )


def alternatives_differ(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Each alternative can be stored, and is neither what is written anyway nor offered twice."""
    offered: set[tuple[object, str]] = set()
    for alternative in recipe.alternatives:
        setting = book.setting(alternative.setting)
        if setting is None:
            continue
        origin = alternative.origin.at("to")
        yield from _can_be_stored(book, recipe, alternative.setting, setting, alternative.to, origin)
        for change in recipe.changes:
            to = change.to.suggest if isinstance(change.to, Ask) else change.to
            if change.setting == alternative.setting and same_value(setting, alternative.to, to):
                yield Problem(
                    origin,
                    f"{alternative.to} is what the recipe writes or suggests anyway",
                    "write another value, or remove the alternative",
                    also=(change.origin.at("to"),),
                )
        if (alternative.setting, alternative.to) in offered:
            yield Problem(origin, f"{alternative.to} is offered twice", "remove one of them")
        offered.add((alternative.setting, alternative.to))


def choices_can_be_stored(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """What a worked example has the reader choose can be stored."""
    for example in recipe.worked_examples:
        for path, words in example.choose:
            setting = book.setting(path)
            if setting is not None:
                origin = example.origin.at("choose", str(path))
                yield from _can_be_stored(book, recipe, path, setting, words, origin)


def _can_be_stored(
    book: Book, recipe: Recipe, path: SettingPath, setting: Setting, words: str, origin: Origin
) -> Iterator[Problem]:
    """In every layout the recipe reaches."""
    layouts = [layout for record, layout in book.reached(recipe.id) if record == path.record_path]
    widths = {x.places[path.setting].width for x in layouts if x is not None and path.setting in x.places}
    try:
        accept(setting, words)
        for width in widths:
            encode(setting, words, width)
    except ValueProblem as problem:
        yield Problem(origin, plainly(problem.reason), plainly(problem.repair), _limits(setting))


RULES = (
    Rule(
        "change-makes-no-sense",
        "Every value can be stored, and every change changes something.",
        "The module would store something else, or nothing would happen.",
        "Write a value the setting can hold and that differs from the one before.",
        "recipe",
        changes_make_sense,
        Stage.CHANGES,
        grounds=True,
    ),
    Rule(
        "alternative-makes-no-sense",
        "Every alternative can be stored and is another value than the recipe's own.",
        "A reader would choose something and nothing would be different.",
        "Offer another value the setting can hold, or remove the alternative.",
        "recipe",
        alternatives_differ,
        Stage.CHANGES,
        grounds=True,
    ),
    Rule(
        "choice-makes-no-sense",
        "What a worked example has the reader choose can be stored.",
        "It would show something that no reader can do.",
        "Choose a value within the setting's limits.",
        "recipe",
        choices_can_be_stored,
        Stage.CHANGES,
        grounds=True,
    ),
)
