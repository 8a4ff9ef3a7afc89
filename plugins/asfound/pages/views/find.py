"""The find page: every recipe by annoyance, by function, by module, by vehicle.

A book of few recipes is listed whole on one page. A larger one is listed in parts of so many, by wish and for
each function; modules and vehicles list theirs on their own pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from ...car import functions
from ...speech import gettext
from ...work.recipes import Recipe
from .. import compiled, links
from ..links import Link
from ..words import capital, count_words
from .common import Ref
from .desk import Desk
from .lists import RecipeItem, recipe_item
from .status import LABELS, label

PART = 100  # recipes on a page


@dataclass(frozen=True, slots=True)
class FindPart:
    """One function, module or model; its recipes, where they are listed here, else how many there are."""

    id: str
    title: str
    href: str
    note: str
    recipes: tuple[RecipeItem, ...]
    count: str = ""


@dataclass(frozen=True, slots=True)
class FindGroup:
    """One way of finding."""

    id: str
    title: str
    parts: tuple[FindPart, ...]


@dataclass(frozen=True, slots=True)
class FindPage:
    """``items`` in full; ``pages`` the other parts of a long list, the present one without address.

    The first page of all has the filter, with ``functions`` and ``labels`` to choose from (value and words)
    and how ``many`` recipes there are, and the ``groups``; others have none of these and lead ``back`` to it.
    """

    title: str
    items: tuple[RecipeItem, ...]
    pages: tuple[Ref, ...]
    groups: tuple[FindGroup, ...] = ()
    functions: tuple[tuple[str, str], ...] = ()
    labels: tuple[tuple[str, str], ...] = ()
    many: str = ""
    back: Ref | None = None


class Finder:
    """The lists of one build, each put together once."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._book = desk.book

    @cached_property
    def _recipes(self) -> list[Recipe]:
        return compiled.by_wish(self._book)

    @cached_property
    def _lists(self) -> dict[str, list[Recipe]]:
        """What has pages of its own: "" all recipes, and where they are many those of each function."""
        lists = {"": self._recipes}
        if len(self._recipes) > PART:
            for name in self._functions:
                acting = set(self._book.by_function[name])
                lists[name] = [one for one in self._live if one.id in acting]
        return lists

    @cached_property
    def _live(self) -> list[Recipe]:
        return [one for one in self._recipes if one.status != "withdrawn"]

    @cached_property
    def _functions(self) -> list[str]:
        live = {one.id for one in self._live}
        return [n for n in functions.FUNCTIONS if not live.isdisjoint(self._book.by_function.get(n, ()))]

    @cached_property
    def parts(self) -> dict[str, tuple[str, int]]:
        """Function (or "") and number of every page of the lists, by the page's key."""
        return {
            links.find_part(part, name): (name, part)
            for name, recipes in self._lists.items()
            for part in range(1, max(1, -(-len(recipes) // PART)) + 1)
        }

    def title(self, key: str) -> str:
        """The title of one of the pages, each another one."""
        name, part = self.parts[key]
        said = (
            gettext("Find a recipe")
            if not name
            else gettext("Recipes: {function}", function=functions.words(name))
        )
        return said if part == 1 else gettext("{title}, part {n}", title=said, n=part)

    def page(self, key: str, link: Link) -> FindPage:
        """The page of that key."""
        name, part = self.parts[key]
        some = self._lists[name][(part - 1) * PART : part * PART]
        items = tuple(recipe_item(self._desk, recipe, link) for recipe in some)
        others = [(n, other) for other, (whose, n) in self.parts.items() if whose == name]
        pages = tuple(Ref(str(n), "" if n == part else link(other)) for n, other in others)
        pages = pages if len(pages) > 1 else ()
        if key != links.FIND:
            back = Ref(gettext("All recipes, with a filter"), link(links.FIND))
            return FindPage(self.title(key), items, pages, back=back)
        kinds = {self._desk.kind(recipe) for recipe in self._recipes}
        return FindPage(
            self.title(key),
            items,
            pages,
            self._groups({item.id: item for item in items if item.kind != "withdrawn"}, link),
            tuple((n, capital(functions.words(n))) for n in self._functions),
            tuple((kind, label(kind).capitalize()) for kind in LABELS if kind in kinds),
            count_words(len(self._recipes), "recipe", "recipes"),
        )

    def _groups(self, items: dict[str, RecipeItem], link: Link) -> tuple[FindGroup, ...]:
        book = self._book
        live = {one.id for one in self._live}
        by_function = tuple(
            self._part(
                items,
                f"function-{name}",
                capital(functions.words(name)),
                link(links.find_part(1, name)) if name in self._lists else "",
                [id for id in book.by_function[name] if id in live],
                functions.keeps(name),
            )
            for name in self._functions
        )
        by_module = tuple(
            self._part(items, f"module-{module.id}", module.name, link(links.module(module.id)), ids)
            for module in sorted(book.modules.values(), key=lambda m: (m.name.casefold(), m.id))
            if (ids := [id for id in book.by_module.get(module.id, ()) if id in live])
        )
        by_vehicle = tuple(
            self._part(
                items,
                f"vehicle-{line.id}-{model.id}",
                f"{line.name} {model.name}",
                link(links.vehicle(line.id)),
                ids,
            )
            for line in book.lines.values()
            for model in line.models
            if (ids := self._fitting.get((line.id, model.id), []))
        )
        if len(by_module) > PART:
            many = count_words(len(by_module), "module", "modules")
            by_module = (FindPart("module-all", gettext("Every module"), link(links.MODULES), "", (), many),)
        return (
            FindGroup("functions", gettext("By what it acts on"), by_function),
            FindGroup("modules", gettext("By module"), by_module),
            FindGroup("vehicles", gettext("By vehicle"), by_vehicle),
        )

    def _part(
        self, items: dict[str, RecipeItem], id: str, title: str, href: str, ids: Sequence[str], note: str = ""
    ) -> FindPart:
        if len(self._recipes) > PART:
            return FindPart(id, title, href, note, (), count_words(len(ids), "recipe", "recipes"))
        return FindPart(id, title, href, note, tuple(items[one] for one in ids))

    @cached_property
    def _fitting(self) -> dict[tuple[str, str], list[str]]:
        """For each line and model, the recipes that fit or may fit it in some phase, by title."""
        fitting: dict[tuple[str, str], list[str]] = {}
        for recipe in sorted(self._live, key=lambda one: (one.title.casefold(), one.id)):
            for line, model in dict.fromkeys(
                (line, model)
                for (line, model, _), answer in self._desk.cells(recipe.id).items()
                if answer.kind != "no"
            ):
                fitting.setdefault((line, model), []).append(recipe.id)
        return fitting
