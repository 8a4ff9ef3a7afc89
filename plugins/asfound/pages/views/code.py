"""What every sheet code stands for: the present ones, those of before, and those of withdrawn recipes.

A book of few recipes has all codes on one page. That of a larger one leads to a page for each letter, or pair
of letters, with which codes begin.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Literal

from ...speech import gettext
from ...trust.letters import ALPHABET
from ...trust.reports import PastCode
from ...work.recipes import Recipe
from .. import links
from ..links import Link
from ..words import list_words
from .common import Ref, Withdrawal
from .desk import Desk
from .status import withdrawal

WHOLE = 200  # recipes whose codes are on one page
PART = 400  # else so many on each, at most

State = Literal["current", "outdated", "withdrawn"]


@dataclass(frozen=True, slots=True)
class Since:
    """What changed on a day."""

    on: str
    what: str


@dataclass(frozen=True, slots=True)
class CodeRow:
    """A code and what to think of a paper that bears it.

    ``since``: what changed after an outdated one. ``work`` names the records into which something else is
    written by now; ``same_work``: nothing else is. ``present`` is the code that holds now.
    """

    code: str
    state: State
    title: str
    href: str
    sheet: str
    on: str
    present: str
    since: tuple[Since, ...]
    work: str
    same_work: bool
    withdrawal: Withdrawal | None


@dataclass(frozen=True, slots=True)
class CodePage:
    """Codes of the club, the present ones first.

    ``letters``: what all of these codes begin with. In a large book the first page has no rows but ``parts``,
    the pages of the codes that begin with each so many letters (``width``).
    """

    club: str
    contact: str
    rows: tuple[CodeRow, ...]
    letters: str
    width: int
    parts: tuple[Ref, ...]


class Codes:
    """All codes of a book, found by how they begin."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        size = len(desk.book.recipes)
        least = 0 if size <= WHOLE else 1
        self._width = next(width for width in range(least, 9) if size <= PART * len(ALPHABET) ** width)
        self.beginnings = tuple(map("".join, product(ALPHABET, repeat=self._width))) if self._width else ()

    @cached_property
    def _recipes(self) -> dict[str, list[Recipe]]:
        """The recipes that have or had a code, by how that begins."""
        book = self._desk.book
        out: dict[str, list[Recipe]] = defaultdict(list)
        for recipe in sorted(book.recipes.values(), key=lambda recipe: (recipe.title, recipe.id)):
            codes = (book.codes(recipe.id).sheet, *(past.sheet_code for past in book.past_codes(recipe.id)))
            for letters in dict.fromkeys(code[: self._width] for code in codes):
                out[letters].append(recipe)
        return out

    def page(self, letters: str, link: Link) -> CodePage:
        """The page of the codes that begin so; ``link`` as seen from it."""
        parts = () if letters else tuple(Ref(one, link(links.code(one))) for one in self.beginnings)
        rows: list[CodeRow] = []
        if not parts:
            rows = [row for recipe in self._recipes[letters] for row in _rows(self._desk, recipe, link)]
            rows = [row for row in rows if row.code.startswith(letters)]
            rows.sort(key=lambda row: ("current", "outdated", "withdrawn").index(row.state))
        once = {row.code: row for row in reversed(rows)}  # two recipes with one code: the present one counts
        kept = tuple(row for row in rows if once[row.code] is row)
        club = self._desk.book.club
        return CodePage(club.name, club.contact, kept, letters, self._width, parts)


def _rows(desk: Desk, recipe: Recipe, link: Link) -> Iterator[CodeRow]:
    present = desk.book.codes(recipe.id)
    past = desk.book.past_codes(recipe.id)
    gone = withdrawal(desk, recipe, link)
    on = next((one.on for one in past if one.sheet_code == present.sheet), "")
    page, sheet = link(links.recipe(recipe.id)), link(links.sheet(recipe.id))
    yield CodeRow(
        present.sheet, "withdrawn" if gone else "current", recipe.title, page, sheet, on, present.sheet,
        (), "", True, gone,
    )  # fmt: skip
    for at, one in enumerate(past):
        if one.sheet_code == present.sheet:
            continue
        changed = [key for key, code in one.work.items() if present.work.get(key) != code]
        changed += [key for key in present.work if key not in one.work]
        yield CodeRow(
            one.sheet_code, "withdrawn" if gone else "outdated", recipe.title, page, sheet, one.on,
            present.sheet, _since(recipe, past, at), list_words([_record(desk, key) for key in changed]),
            not changed, gone,
        )  # fmt: skip


def _since(recipe: Recipe, past: Sequence[PastCode], at: int) -> tuple[Since, ...]:
    """What was published after a code, and what the history tells since the last publication."""
    told = [Since(one.on, one.what) for one in past[at + 1 :] if one.what]
    last = past[-1].on
    told += [Since(entry.on, entry.what) for entry in recipe.history if entry.on > last]
    return tuple(sorted(dict.fromkeys(told), key=lambda one: one.on))


def _record(desk: Desk, key: str) -> str:
    """A record and its layout by name, from the key of a work code."""
    parts = key.split("/")
    record = f"{parts[0]}/{parts[1]}" if len(parts) > 1 else ""
    name = desk.names.records.get(record)
    if name is None:
        return gettext("the file to load") if key == "media" else key
    return gettext("{title} (layout {id})", title=name, id=parts[2]) if len(parts) > 2 else name
