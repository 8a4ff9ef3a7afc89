"""All sheets of a book in one binding: by vehicle and function, with contents and index."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ...car import functions
from ...work.recipes import Recipe
from .desk import Desk
from .sheet import Maker, Sheet
from .status import label


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of contents or index: ``id`` of the sheet it leads to."""

    words: str
    code: str
    label: str
    id: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """The recipes of a vehicle line that act on one thing."""

    vehicle: str
    function: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Bound:
    """A sheet and the id it is found by; ``chapter`` is new with it, or empty."""

    id: str
    sheet: Sheet


@dataclass(frozen=True, slots=True)
class Booklet:
    """The booklet: contents, sheets in their order, index by title, by annoyance and by module."""

    club: str
    chapters: tuple[Chapter, ...]
    sheets: tuple[Bound, ...]
    index: tuple[Entry, ...]


def booklet(desk: Desk, maker: Maker, recipes: Iterable[Recipe]) -> Booklet:
    """The sheets of these recipes, each printed once, in the first chapter it belongs to."""
    book, chapters, order = desk.book, [], dict[str, Recipe]()
    listed = sorted(recipes, key=lambda r: (r.title.casefold(), r.id))
    for line in book.lines.values():
        mine = [
            r for r in listed
            if any(cell[0] == line.id and a.kind != "no" for cell, a in desk.cells(r.id).items())
        ]  # fmt: skip
        for function in functions.FUNCTIONS:
            acting = [r for r in mine if function in book.functions(r.id)]
            if acting:
                words = functions.words(function)
                chapters.append(Chapter(line.name, words, tuple(_entry(desk, r, r.title) for r in acting)))
                order |= {r.id: r for r in acting if r.id not in order}
    order |= {r.id: r for r in listed if r.id not in order}  # what fits no vehicle line, or acts on nothing
    entries = [_entry(desk, r, r.title) for r in listed]
    entries += [_entry(desk, r, r.annoyance) for r in listed if r.annoyance]
    for r in listed:
        units = dict.fromkeys(c.setting.module for c in r.changes)
        entries += [_entry(desk, r, f"{desk.unit(unit, None)}: {r.title}") for unit in units]
    return Booklet(
        book.club.name,
        tuple(chapters),
        tuple(Bound(r.id, maker.recipe(r)) for r in order.values()),
        tuple(sorted(entries, key=lambda e: (e.words.casefold(), e.id))),
    )


def _entry(desk: Desk, recipe: Recipe, words: str) -> Entry:
    kind = desk.kind(recipe)
    said = "" if kind == "vetted" else label(kind)
    return Entry(words, desk.book.codes(recipe.id).sheet, said, recipe.id)
