"""What must hold between recipes and cars: somebody has the car, the module, and a known layout."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.conditions import All, Condition, Not, Vehicle, leaves
from ..car.origin import Origin
from ..car.records import Record
from ..work.recipes import Change, Recipe
from .ask import a_car, both, can_be, conditions_of, follows
from .base import Problem, Rule, Stage


def fits_some_car(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """`fits` and each change's `for` are true for at least one car that was made."""
    if not can_be(book, recipe.fits):
        yield Problem(
            recipe.origin.at("fits"),
            "no car that was made fits",
            "widen the condition, or look for a misprint",
            also=parts(recipe.fits, recipe.origin.at("fits")),
        )
        return
    for change in recipe.changes:
        if change.fits is None:
            continue
        if not can_be(book, both(recipe.fits, change.fits)):
            yield Problem(
                change.origin.at("for"),
                "none of the cars that fit the recipe satisfies this",
                "widen the condition or remove the change",
                also=parts(recipe.fits, recipe.origin.at("fits")),
            )
        elif follows(book, recipe.fits, change.fits):
            yield Problem(
                change.origin.at("for"),
                "every car that fits the recipe satisfies this, so it says nothing",
                "remove it, or narrow it to the cars you mean",
                also=parts(recipe.fits, recipe.origin.at("fits")),
            )


def fitted_and_laid_out(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Every car that fits has the modules, and every record changed has a layout with the setting in it."""
    for change in recipe.changes:
        record = book.record(change.setting.record_path)
        wanted = both(recipe.fits, change.fits)
        where = (*conditions_of(change), *parts(recipe.fits, recipe.origin.at("fits")))
        at = change.origin.at("setting")
        missing = tuple(_not_fitted(book, wanted, change.setting.module, at, where))
        yield from missing
        if record is not None and not missing:
            yield from _no_place(book, change, wanted, record, where)
            yield from _no_layout(book, change, wanted, record, where)
    if recipe.media and recipe.media.module in book.modules:
        origin = recipe.media.origin.at("module")
        where = parts(recipe.fits, recipe.origin.at("fits"))
        yield from _not_fitted(book, recipe.fits, recipe.media.module, origin, where)


def _not_fitted(
    book: Book, wanted: Condition, module: str, origin: Origin, where: tuple[Origin, ...]
) -> Iterator[Problem]:
    without = Not(book.fitted(module))
    car = a_car(book, wanted, without)
    if car is not None:
        fitted = [f for line in book.lines.values() for f in line.fitted if f.module == module]
        line = next(
            one for one in book.lines.values() if can_be(book, both(wanted, without, Vehicle(one.id)))
        )
        has_it = "correct for" if any(f.module == module for f in line.fitted) else f"add - module: {module}"
        yield Problem(
            origin,
            f"a car that fits has no {book.names.modules[module]}: {car}",
            "narrow fits to the cars that have it, or say under for on which cars this is changed; "
            f"if all have it, {has_it} under fitted in {line.origin.file}",
            also=(*where, *conditions_of(*fitted)),
        )


def _no_place(
    book: Book, change: Change, wanted: Condition, record: Record, where: tuple[Origin, ...]
) -> Iterator[Problem]:
    for layout in record.layouts:
        if change.setting.setting not in layout.places and can_be(book, both(wanted, layout.fits)):
            yield Problem(
                change.origin.at("setting"),
                f"layout {layout.id} of {change.setting.record_path}, which some fitting cars have, "
                f"has no place for {change.setting.setting}",
                "narrow fits or for, or add the place to the layout",
                also=(layout.origin.at("places"), *where),
            )


def _no_layout(
    book: Book, change: Change, wanted: Condition, record: Record, where: tuple[Origin, ...]
) -> Iterator[Problem]:
    conditions = [layout.fits for layout in record.layouts]
    if not conditions or None in conditions:
        return
    car = a_car(book, wanted, All(tuple(Not(fits) for fits in conditions if fits is not None)))
    if car is not None:
        yield Problem(
            change.origin.at("setting"),
            f"for a car that fits, no layout of {change.setting.record_path} is known: {car}",
            "narrow fits to the cars whose layout is known, or add a layout",
            also=(*where, *conditions_of(*record.layouts)),
        )


def parts(condition: Condition, origin: Origin) -> tuple[Origin, ...]:
    """Where the leaves of a condition are written; ``origin`` where the condition itself is."""
    return tuple(dict.fromkeys(leaf.origin for leaf in leaves(condition))) or (origin,)


RULES = (
    Rule(
        "fits-no-car",
        "A recipe fits at least one car, and each condition on a change tells cars apart.",
        "A condition that is never true is a misprint.",
        "Look for a misprint; else widen the condition, or remove it.",
        "recipe",
        fits_some_car,
        Stage.CARS,
        grounds=True,
    ),
    Rule(
        "no-module-or-layout",
        "Every car that fits has the modules and a known layout for every setting changed.",
        "A reader would be sent to a module that is not there, or guess where the bits lie.",
        "Narrow fits to the cars that have it, or add the module or the layout where it is missing.",
        "recipe",
        fitted_and_laid_out,
        Stage.CARS,
        grounds=True,
    ),
)
