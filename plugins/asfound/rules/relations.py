"""What must hold between recipes, and within a recipe's own history."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..book import Book
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage
from .references import ID, named_file


def related_recipes_exist(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Each recipe that is named is there, is another one, and is named once."""
    at = recipe.origin.at
    for key, others in _lists(recipe):
        for index, other in enumerate(others):
            origin = at(key, index, "recipe") if key == "clashes" else at(key, index)
            if other == recipe.id:
                yield Problem(origin, f"a recipe cannot stand in its own {key}", "name another recipe")
            else:
                yield from named_file(book, "recipe", other, origin, book.recipes)
    if recipe.withdrawn and recipe.withdrawn.instead is not None:
        origin = at("withdrawn", "instead")
        yield from named_file(book, "recipe", recipe.withdrawn.instead, origin, book.recipes)


def _lists(recipe: Recipe) -> tuple[tuple[str, tuple[str, ...]], ...]:
    clashes = tuple(clash.recipe for clash in recipe.clashes)
    return (("needs", recipe.needs), ("replaces", recipe.replaces), ("clashes", clashes))


def stated_on_both_sides(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Clashes, and what replaces a withdrawn recipe, are stated by both."""
    at = recipe.origin.at
    for index, clash in enumerate(recipe.clashes):
        other = book.recipes.get(clash.recipe)
        if other and other is not recipe and recipe.id not in {c.recipe for c in other.clashes}:
            yield Problem(
                at("clashes", index, "recipe"),
                f"{other.id} does not state the clash with {recipe.id}",
                f"state it in {other.origin.file} too, or remove it here",
                also=(other.origin.at("clashes") if other.clashes else other.origin.at("recipe"),),
            )
    for index, name in enumerate(recipe.replaces):
        old = book.recipes.get(name)
        if old and old.withdrawn and old.withdrawn.instead != recipe.id:
            yield Problem(
                at("replaces", index),
                f"{name} is withdrawn and does not say that {recipe.id} replaces it",
                f"write instead: {recipe.id} in {old.origin.file}, or remove it here",
                also=(old.origin.at("withdrawn", "instead"),),
            )
    if recipe.withdrawn and (new := book.recipes.get(recipe.withdrawn.instead or "")):
        origin = at("withdrawn", "instead")
        if new.status != "offered" or new is recipe:
            yield Problem(
                origin,
                f"{new.id} is not offered either",
                "name a recipe that is offered, or leave instead out",
                also=(new.origin.at("status"),),
            )
        elif recipe.id not in new.replaces:
            yield Problem(
                origin,
                f"{new.id} does not say that it replaces {recipe.id}",
                f"write replaces: [{recipe.id}] in {new.origin.file}, or leave instead out",
                also=(new.origin.at("replaces") if new.replaces else new.origin.at("recipe"),),
            )


def needs_can_be_met(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """What a recipe needs is on offer, does not clash with it, and can be done together with it."""
    at = recipe.origin.at
    clashing = [clash.recipe for clash in recipe.clashes]
    for index, name in enumerate(recipe.needs):
        needed = book.recipes.get(name)
        if needed is None:
            continue
        origin = at("needs", index)
        if name in clashing:
            yield Problem(
                origin,
                f"{name} is needed and clashes",
                "remove one of the two",
                also=(at("clashes", clashing.index(name), "recipe"),),
            )
        if _RANK[needed.status] < _RANK[recipe.status]:
            what = "withdrawn" if needed.status == "withdrawn" else "only a draft"
            yield Problem(
                origin,
                f"{name} is {what}, so nobody can do this recipe",
                "need another one, or make both of the same status",
                also=(at("status"), needed.origin.at("status")),
            )
        if recipe.alone or needed.alone:
            which = recipe if recipe.alone else needed
            yield Problem(
                origin,
                f"{which.id} must be done alone, so it cannot be done together with what it needs"
                if which is recipe
                else f"{name} must be done alone, so it cannot be done together with what needs it",
                "remove alone, or say in a precheck that the other comes first",
                also=(which.origin.at("alone"),),
            )


_RANK = {"withdrawn": 0, "draft": 1, "offered": 2}


def history_is_in_order(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The newest entry comes first, and a withdrawal is in it."""
    at = recipe.origin.at
    for index, (newer, older) in enumerate(pairwise(entry.on for entry in recipe.history)):
        if older > newer:
            yield Problem(
                at("history", index + 1, "date"),
                f"{older} is later than {newer} above it",
                "put the newest entry first",
                also=(at("history", index, "date"),),
            )
    if recipe.withdrawn and recipe.withdrawn.on not in {entry.on for entry in recipe.history}:
        yield Problem(
            at("withdrawn", "date"),
            f"the history has no entry of {recipe.withdrawn.on}",
            "write the same day in both; readers look in the history for what changed",
            also=(at("history", 0, "date"),),
        )


def needs_no_circle(book: Book) -> Iterator[Problem]:
    """No recipe needs itself through others."""
    done: set[str] = set()
    for start in sorted(book.recipes):
        path: list[str] = []
        stack = [(start, iter(book.recipes[start].needs))]
        path.append(start)
        while stack:
            name, rest = stack[-1]
            for needed in rest:
                if needed in path and len(path) - path.index(needed) > 1:
                    circle = [*path[path.index(needed) :], needed]
                    recipe = book.recipes[name]
                    yield Problem(
                        recipe.origin.at("needs", recipe.needs.index(needed)),
                        f"these recipes need each other in a circle: {' → '.join(circle)}",
                        "remove one of the needs",
                    )
                elif needed in book.recipes and needed not in done and needed not in path:
                    stack.append((needed, iter(book.recipes[needed].needs)))
                    path.append(needed)
                    break
            else:
                stack.pop()
                done.add(path.pop())


RULES = (
    Rule(
        ID,
        "Every recipe that another names is there.",
        "A reader would follow a link to nowhere.",
        "Write the name of a recipe that is there.",
        "recipe",
        related_recipes_exist,
        Stage.NAMES,
    ),
    Rule(
        "stated-on-one-side",
        "Clashes and replacements are stated by both recipes.",
        "One page would warn and the other would not.",
        "State it in the other recipe too, or in neither.",
        "recipe",
        stated_on_both_sides,
        Stage.CARS,
    ),
    Rule(
        "needs-not-met",
        "What a recipe needs is on offer and can be done together with it.",
        "A reader would begin a job that cannot be finished.",
        "Need another recipe, or give both the same status.",
        "recipe",
        needs_can_be_met,
        Stage.CARS,
    ),
    Rule(
        "needs-circle",
        "No recipe needs itself, not even through others.",
        "Nobody could start.",
        "Remove one of the needs.",
        "book",
        needs_no_circle,
        Stage.CARS,
    ),
    Rule(
        "history-out-of-order",
        "The history tells every withdrawal and has the newest entry first.",
        "A reader with an older sheet would not learn what changed.",
        "Put the newest entry first, and write the day of a withdrawal in both places.",
        "recipe",
        history_is_in_order,
        Stage.CARS,
    ),
)
