"""What every sheet code stands for: the present ones, those of before, and those of withdrawn recipes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from ...speech import gettext
from ...trust.reports import PastCode
from ...work.recipes import Recipe
from .. import links
from ..links import Link
from ..words import list_words
from .common import Withdrawal
from .desk import Desk
from .status import withdrawal

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
    """Every code of the club, the present ones first."""

    club: str
    contact: str
    rows: tuple[CodeRow, ...]


def code_page(desk: Desk, link: Link) -> CodePage:
    """The page of all codes; ``link`` as seen from it."""
    recipes = sorted(desk.book.recipes.values(), key=lambda recipe: (recipe.title, recipe.id))
    rows = [row for recipe in recipes for row in _rows(desk, recipe, link)]
    rows.sort(key=lambda row: ("current", "outdated", "withdrawn").index(row.state))
    once = {row.code: row for row in reversed(rows)}  # two recipes with one code: the present one counts
    kept = tuple(row for row in rows if once[row.code] is row)
    return CodePage(desk.book.club.name, desk.book.club.contact, kept)


def _rows(desk: Desk, recipe: Recipe, link: Link) -> Iterator[CodeRow]:
    present = desk.book.codes(recipe.id)
    past = [one for one in desk.book.past_codes(recipe.id)]
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


def _since(recipe: Recipe, past: list[PastCode], at: int) -> tuple[Since, ...]:
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
