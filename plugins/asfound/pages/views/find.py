"""The find page: every recipe by annoyance, by function, by module, by vehicle."""

from __future__ import annotations

from dataclasses import dataclass

from ...car import functions
from .. import links
from ..links import Link
from .desk import Desk
from .lists import RecipeItem, recipe_item

_CATEGORY = {
    "safety": "keeps people safe",
    "security": "protects the car",
    "environment": "protects the surroundings",
    "ordinary": "",
}


@dataclass(frozen=True, slots=True)
class FindPart:
    """One function, module or model and its recipes."""

    id: str
    title: str
    href: str
    note: str
    recipes: tuple[RecipeItem, ...]


@dataclass(frozen=True, slots=True)
class FindGroup:
    """One way of finding."""

    id: str
    title: str
    parts: tuple[FindPart, ...]


@dataclass(frozen=True, slots=True)
class FindPage:
    """``items`` once in full, by annoyance; ``groups`` name them again."""

    items: tuple[RecipeItem, ...]
    groups: tuple[FindGroup, ...]


def find_page(desk: Desk, link: Link) -> FindPage:
    """Everything there is to find."""
    items = {recipe.id: recipe_item(desk, recipe, link) for recipe in desk.book.recipes.values()}
    live = {id: item for id, item in items.items() if item.kind != "withdrawn"}
    by_wish = sorted(items.values(), key=lambda item: ((item.annoyance or item.title).casefold(), item.id))
    return FindPage(
        tuple(by_wish),
        (
            FindGroup("functions", "By what it acts on", _by_function(desk, live)),
            FindGroup("modules", "By module", _by_module(desk, live, link)),
            FindGroup("vehicles", "By vehicle", _by_vehicle(desk, live, link)),
        ),
    )


def _by_function(desk: Desk, items: dict[str, RecipeItem]) -> tuple[FindPart, ...]:
    return tuple(
        FindPart(
            f"function-{name}",
            functions.words(name).capitalize(),
            "",
            _CATEGORY[functions.category(name)],
            tuple(items[recipe] for recipe in desk.book.by_function[name] if recipe in items),
        )
        for name in functions.FUNCTIONS
        if any(recipe in items for recipe in desk.book.by_function.get(name, ()))
    )


def _by_module(desk: Desk, items: dict[str, RecipeItem], link: Link) -> tuple[FindPart, ...]:
    return tuple(
        FindPart(
            f"module-{module.id}",
            module.name,
            link(links.module(module.id)),
            "",
            tuple(items[recipe] for recipe in desk.book.by_module[module.id] if recipe in items),
        )
        for module in sorted(desk.book.modules.values(), key=lambda m: (m.name.casefold(), m.id))
        if any(recipe in items for recipe in desk.book.by_module.get(module.id, ()))
    )


def _by_vehicle(desk: Desk, items: dict[str, RecipeItem], link: Link) -> tuple[FindPart, ...]:
    """For each model, the recipes that fit or may fit it in some phase."""
    fitting: dict[tuple[str, str], list[RecipeItem]] = {}
    for item in sorted(items.values(), key=lambda item: (item.title.casefold(), item.id)):
        for line, model in dict.fromkeys(
            (line, model) for (line, model, _), answer in desk.cells(item.id).items() if answer.kind != "no"
        ):
            fitting.setdefault((line, model), []).append(item)
    return tuple(
        FindPart(
            f"vehicle-{line.id}-{model.id}",
            f"{line.name} {model.name}",
            link(links.vehicle(line.id)),
            "",
            tuple(fitting[line.id, model.id]),
        )
        for line in desk.book.lines.values()
        for model in line.models
        if (line.id, model.id) in fitting
    )
