"""What must hold where safety is touched, and what the club refuses."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.functions import category, words
from ..car.origin import Origin
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage


def safety_is_proved(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A safety function has a precheck that proves it, and no precheck proves what is not touched."""
    touched = book.functions(recipe.id)
    proved = {p.proves for p in recipe.before}
    for function in touched:
        if category(function) == "safety" and function not in proved:
            where = next(
                (
                    change.origin.at("setting")
                    for change in recipe.changes
                    if (s := book.setting(change.setting)) and function in s.functions
                ),
                recipe.origin.at("functions"),
            )
            yield Problem(
                where,
                f"the recipe touches a safety function ({words(function)}) and no precheck proves it",
                f"add a precheck with proves: {function}",
                also=(
                    *_stated(book, recipe, function),
                    *_idle(recipe, touched),
                ),
            )
    for precheck in recipe.before:
        if precheck.proves is not None and precheck.proves not in touched:
            yield Problem(
                precheck.origin.at("proves"),
                f"the recipe does not touch {words(precheck.proves)}",
                f"write one of: {', '.join(touched)}; or remove proves",
                also=_settings(book, recipe),
            )
    inherited = {
        function
        for change in recipe.changes
        if (setting := book.setting(change.setting))
        for function in setting.functions
    }
    for index, function in enumerate(recipe.functions):
        if function in inherited:
            yield Problem(
                recipe.origin.at("functions", index),
                f"{function} comes with the settings already",
                "remove it; a recipe only adds functions",
                also=_stated(book, recipe, function),
            )


def _idle(recipe: Recipe, touched: tuple[str, ...]) -> Iterator[Origin]:
    """The prechecks that prove nothing, or something that is not touched: one of them may be meant."""
    for precheck in recipe.before:
        if precheck.proves is None:
            yield precheck.origin
        elif precheck.proves not in touched:
            yield precheck.origin.at("proves")


def _stated(book: Book, recipe: Recipe, function: str) -> tuple[Origin, ...]:
    """Where it is written that the recipe touches the function."""
    own = (recipe.origin.at("functions"),) if function in recipe.functions else ()
    settings = (s for c in recipe.changes if (s := book.setting(c.setting)) and function in s.functions)
    return (*own, *(setting.origin.at("functions") for setting in settings))


def _settings(book: Book, recipe: Recipe) -> tuple[Origin, ...]:
    """Where it is written what the changed settings act on."""
    settings = dict.fromkeys(c.setting for c in recipe.changes)
    return tuple(s.origin.at("functions") for path in settings if (s := book.setting(path)))


def policy_is_kept(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The club's policy does not refuse what the recipe touches."""
    refused = book.club.refuse_functions
    for change in recipe.changes:
        setting = book.setting(change.setting)
        for function in setting.functions if setting else ():
            if function in refused:
                yield Problem(
                    change.origin.at("setting"),
                    f"the club's policy refuses recipes that touch {words(function)}",
                    "leave this change out; ask the club's owners if you think the policy is wrong",
                    also=(
                        book.club.origin.at("policy", "refuse_functions"),
                        *_stated(book, recipe, function),
                    ),
                )
    for index, function in enumerate(recipe.functions):
        if function in refused:
            yield Problem(
                recipe.origin.at("functions", index),
                f"the club's policy refuses recipes that touch {words(function)}",
                "such a recipe cannot be published here",
                also=(book.club.origin.at("policy", "refuse_functions"),),
            )
    yield from _loaded_into(book, recipe)


def _loaded_into(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A file may change whatever its module does, so the module must do nothing that is refused."""
    module = book.modules.get(recipe.media.module) if recipe.media else None
    settings = [setting for record in module.records for setting in record.settings] if module else []
    for function in book.club.refuse_functions:
        acting = tuple(s.origin.at("functions") for s in settings if function in s.functions)
        if recipe.media and acting:
            yield Problem(
                recipe.media.origin.at("module"),
                f"{recipe.media.module} acts on {words(function)}, which the club's policy refuses to touch,"
                " and a file that is loaded may change all that a module does",
                "such a recipe cannot be published here",
                also=(book.club.origin.at("policy", "refuse_functions"), *acting[:3]),
            )


RULES = (
    Rule(
        "safety-not-proved",
        "Before a safety function is changed, a precheck proves that it works.",
        "A function that was broken before would be blamed on the change, or never noticed.",
        "Add a precheck with proves: and the function.",
        "recipe",
        safety_is_proved,
        Stage.CARS,
    ),
    Rule(
        "against-policy",
        "No recipe touches a function that the club refuses.",
        "The club has decided not to carry that risk.",
        "Leave the change out; ask the club's owners if you think the policy is wrong.",
        "recipe",
        policy_is_kept,
        Stage.CARS,
    ),
)
