"""The desk: what the views of one build share, each answer of the book asked for once."""

from __future__ import annotations

from collections.abc import Mapping, Set
from functools import cached_property
from typing import Any, NamedTuple

from ...book import Book
from ...car.conditions import Condition, leaves
from ...car.fitting import NOTHING, Answer, answer
from ...car.words import Names
from ...source.pictures import size
from ...source.remembered import cleaned
from ...trust.codes import Codes
from ...trust.vetting import Standing
from ...work.recipes import Recipe
from .common import StatusKind

VariantKey = tuple[str, str, str]  # line, model, phase

_FIXED: dict[str, StatusKind] = {"draft": "draft", "withdrawn": "withdrawn", "own notes": "own-notes"}


_SIMPLIFIED = 8  # facts; the search for the simplest form grows exponentially with them


class Said(NamedTuple):
    """What many pages say of a recipe: as ``Desk.kind``, ``Desk.lines`` and ``Book.codes`` have it."""

    kind: StatusKind
    lines: frozenset[str]
    codes: Codes


class Desk:
    """A book and the answers the views have had from it so far."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.names: Names = book.names
        self._cells: dict[str, Mapping[VariantKey, Answer]] = {}
        self._kinds: dict[str, StatusKind] = {}
        self._lines: dict[str, frozenset[str]] = {}
        self._sizes: dict[tuple[str, str], tuple[int, int]] = {}
        self._standings: dict[str, Mapping[VariantKey, Standing]] = {}

    def cells(self, recipe: str) -> Mapping[VariantKey, Answer]:
        """For every variant: does the recipe fit?"""
        if recipe not in self._cells:
            self._cells[recipe] = self.book.cells(recipe)
        return self._cells[recipe]

    def standings(self, recipe: str) -> Mapping[VariantKey, Standing]:
        """The standing of each variant that the recipe fits or may fit."""
        if recipe not in self._standings:
            self._standings[recipe] = {
                key: self.book.standing(recipe, key)
                for key, answer in self.cells(recipe).items()
                if answer.kind != "no"
            }
        return self._standings[recipe]

    def take_over(self, other: Desk, changed: Set[str]) -> None:
        """Takes over what the desk of the book before a change knows; see ``Book.take_over``."""
        if self.book.world is not other.book.world or self.book.club != other.book.club:
            return
        same = self.book.recipes.keys() - changed
        pairs: tuple[tuple[dict[str, Any], dict[str, Any]], ...] = (
            (self._cells, other._cells),
            (self._standings, other._standings),
            (self._kinds, other._kinds),
            (self._lines, other._lines),
        )
        for mine, theirs in pairs:
            mine.update((id, had) for id, had in theirs.items() if id in same)

    def said(self, recipe: Recipe) -> Said:
        """What many pages say of a recipe."""
        return Said(self.kind(recipe), self.lines(recipe.id), self.book.codes(recipe.id))

    def know(self, said: Mapping[str, Said]) -> None:
        """Takes over what ``said`` said elsewhere of the same book."""
        self._kinds |= {recipe: one.kind for recipe, one in said.items()}
        same = {one.lines: one.lines for one in said.values()}  # one object for all that are equal
        self._lines |= {recipe: same[one.lines] for recipe, one in said.items()}
        self.book.know({recipe: one.codes for recipe, one in said.items()})

    def lines(self, recipe: str) -> frozenset[str]:
        """The vehicle lines that have a variant which the recipe fits or may fit."""
        if recipe not in self._lines:
            cells = self.cells(recipe).items()
            self._lines[recipe] = frozenset(line for (line, _, _), answer in cells if answer.kind != "no")
        return self._lines[recipe]

    def kind(self, recipe: Recipe) -> StatusKind:
        """How far the club stands behind a recipe, in one word for all its variants."""
        if recipe.id not in self._kinds:
            self._kinds[recipe.id] = self._kind(recipe)
        return self._kinds[recipe.id]

    def _kind(self, recipe: Recipe) -> StatusKind:
        if recipe.status != "offered":
            return recipe.status
        labels = {standing.label for standing in self.standings(recipe.id).values()}
        if len(labels) == 1 and (fixed := _FIXED.get(next(iter(labels)))):
            return fixed
        if "vetted" not in labels:
            return "not-vetted"
        return "vetted" if labels == {"vetted"} else "partly"

    def simplest(self, condition: Condition) -> Condition:
        """The condition without what no car can contradict: what it hangs on when nothing is known."""
        if len(leaves(condition)) > _SIMPLIFIED:
            return condition
        found = answer(condition, NOTHING, self.book.world)
        return condition if found.residual is None else found.residual

    def picture(self, recipe: str, file: str) -> bytes:
        """A picture as the site shows it. PictureProblem when it cannot."""
        content = cleaned(self.book.picture(recipe, file), file)
        self._sizes[recipe, file] = size(content)
        return content

    def picture_size(self, recipe: str, file: str) -> tuple[int, int]:
        """Width and height in pixels."""
        if (recipe, file) not in self._sizes:
            self.picture(recipe, file)
        return self._sizes[recipe, file]

    @property
    def places(self) -> Mapping[tuple[str, str], tuple[str, str | None]]:
        """Names and diagnostic addresses of the places of modules fitted more than once."""
        return self.book.place_names

    def variant(self, key: VariantKey) -> str:
        """``Loft Phase 2``; the line is named too where the book has several."""
        line, model, phase = key
        names = self.names
        said = f"{names.models.get((line, model), model)} {names.phases.get((line, phase), phase)}"
        return f"{names.lines.get(line, line)} {said}" if len(self.book.lines) > 1 else said

    def unit(self, module: str | None, place: str | None) -> str:
        """A control module's name, with that of its place where it has several."""
        return self.book.unit(module or "", place)

    @cached_property
    def needed_by(self) -> Mapping[str, tuple[str, ...]]:
        """For each recipe, those that need it."""
        return self._backward({recipe.id: recipe.needs for recipe in self.book.recipes.values()})

    @cached_property
    def replaced_by(self) -> Mapping[str, tuple[str, ...]]:
        """For each recipe, those that replace it."""
        return self._backward({recipe.id: recipe.replaces for recipe in self.book.recipes.values()})

    @staticmethod
    def _backward(forward: Mapping[str, tuple[str, ...]]) -> Mapping[str, tuple[str, ...]]:
        out: dict[str, list[str]] = {}
        for one, others in sorted(forward.items()):
            for other in others:
                out.setdefault(other, []).append(one)
        return {key: tuple(ids) for key, ids in out.items()}
