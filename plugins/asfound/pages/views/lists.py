"""Lists of recipes and of pages."""

from __future__ import annotations

from dataclasses import dataclass

from ...car import functions
from ...speech import gettext, ngettext
from ...work.recipes import Recipe
from .. import links, prose
from ..links import Link
from ..words import join_text, list_words, sentence
from .common import Ref, StatusKind
from .desk import Desk
from .status import stamp


@dataclass(frozen=True, slots=True)
class RecipeItem:
    """A recipe in a list; ``line`` names modules and functions, ``search`` the words on a tool."""

    id: str
    href: str
    title: str
    annoyance: str
    kind: StatusKind
    label: str
    line: str
    search: str


@dataclass(frozen=True, slots=True)
class ListPage:
    """A page that lists pages."""

    title: str
    says: str
    items: tuple[Ref, ...]


def recipe_item(desk: Desk, recipe: Recipe, link: Link) -> RecipeItem:
    """The recipe as it stands in lists."""
    mark = stamp(desk, recipe)
    modules = [desk.book.modules[m].name for m in touched_modules(recipe) if m in desk.book.modules]
    acts_on = [functions.words(f) for f in desk.book.functions(recipe.id)]
    return RecipeItem(
        id=recipe.id,
        href=link(links.recipe(recipe.id)),
        title=recipe.title,
        annoyance=sentence(recipe.annoyance) if recipe.annoyance else "",
        kind=mark.kind,
        label=mark.label,
        line=" · ".join(part for part in (list_words(modules), "; ".join(acts_on)) if part),
        search=list_words([f"“{word}”" for word in search_words(desk, recipe)], "or"),
    )


def touched_modules(recipe: Recipe) -> tuple[str, ...]:
    """The ids of the modules a recipe writes to or loads a file into, each once."""
    out = dict.fromkeys(change.setting.module for change in recipe.changes)
    if recipe.media is not None:
        out.setdefault(recipe.media.module)
    return tuple(out)


def search_words(desk: Desk, recipe: Recipe) -> tuple[str, ...]:
    """What finds the changed settings in a long list on a tool."""
    settings = (desk.book.setting(change.setting) for change in recipe.changes)
    return tuple(dict.fromkeys(word for s in settings if s is not None for word in s.search_words))


def said_and_named(desk: Desk, recipe: Recipe) -> tuple[str, str]:
    """What a recipe is found by besides its title: what it is for, and the names of what it touches."""
    settings = [desk.book.setting(change.setting) for change in recipe.changes]
    names = (
        *dict.fromkeys(s.name for s in settings if s is not None),
        *search_words(desk, recipe),
        *(functions.words(f) for f in desk.book.functions(recipe.id)),
        *(desk.book.modules[m].name for m in touched_modules(recipe) if m in desk.book.modules),
        *(message.message for message in recipe.may_show),
        *(fault.code for fault in recipe.faults_to_expect),
    )
    return join_text((recipe.annoyance, prose.plain(recipe.purpose))), join_text(names)


def module_list(desk: Desk, link: Link) -> ListPage:
    """Every module, by name."""
    items = []
    for module in sorted(desk.book.modules.values(), key=lambda m: (m.name.casefold(), m.id)):
        count = len(desk.book.by_module.get(module.id, ()))
        many = ngettext("{n} recipe", "{n} recipes", count) if count else gettext("no recipe so far")
        duty = prose.plain(module.duty)
        items.append(Ref(module.name, link(links.module(module.id)), f"{duty} ({many})"))
    return ListPage(
        gettext("Modules"),
        gettext("The control modules the club knows: what each does, what it keeps, who changes it."),
        tuple(items),
    )


def vehicle_list(desk: Desk, link: Link) -> ListPage:
    """Every vehicle line."""
    items = tuple(
        Ref(line.name, link(links.vehicle(line.id)), prose.plain(line.about))
        for line in desk.book.lines.values()
    )
    return ListPage(
        gettext("Vehicles"),
        gettext("The vehicle lines the club knows, and which recipe fits which variant."),
        items,
    )
