"""``asfound sheet``: garage sheets as PDF."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import click

from ..book.translated import in_language
from ..car.known import Known
from ..car.phrases import counted
from ..car.records import SettingPath
from ..pages import languages
from ..pages.environment import environment
from ..pages.links import file_of
from ..pages.printing import NoPrinter, Printer, bound, marked, pages_in, printer
from ..pages.sheets import Sheets
from ..pages.views.booklet import booklet
from ..pages.views.desk import Desk
from ..pages.views.sheet import Maker, Sheet
from ..source.car_file import ReadingFile
from ..speech import gettext, speaking
from ..work.compiled import EditProblem
from ..work.plan import Plan, alone
from ..work.plan import plan as plan_of
from ..work.worksheet import worksheet
from . import FINDINGS
from .cars import (
    READING,
    car_option,
    choices,
    choose_option,
    known_of,
    reading_of,
    refuse_impossible,
    sound_book,
)
from .common import book_option, recipe_of, refuse, write


@click.command()
@click.argument("recipes", nargs=-1, metavar="[RECIPE…]")
@click.option(
    "-o", "--out", required=True, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="The PDF to write.",
)  # fmt: skip
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="The size of paper."
)
@click.option("--plan", "as_plan", is_flag=True, help="One sheet for all recipes, merged into one job.")
@click.option("--booklet", "as_booklet", is_flag=True, help="The whole book, with contents and index.")
@car_option()
@click.option(
    "--found", type=click.Path(path_type=Path), metavar="FILE",
    help=f"The records as found: what to write is then printed. {READING}.",
)  # fmt: skip
@choose_option()
@click.option(
    "--language", type=click.Choice(languages.languages()),
    help="The language of the sheets; the book's own if left out.",
)  # fmt: skip
@book_option()
def sheet(
    recipes: Sequence[str],
    out: Path,
    paper: str,
    as_plan: bool,
    as_booklet: bool,
    car: Path | None,
    found: Path | None,
    chosen: Sequence[str],
    language: str | None,
    folder: Path,
) -> None:
    """Print garage sheets as PDF.

    A sheet is for any car that its recipe fits. With a car file or a reading it is for that car; with a
    reading what to write is printed too. It is set by the browser that is installed: Chromium, or one built
    on it, which ASFOUND_BROWSER may name. In another language than the book's it bears the same code, and
    what nobody has translated stands in the original.

    RECIPE is the name of a recipe's folder.

    Exit status: 0 written, 1 the reading forbids the job, 2 could not run.
    """
    if as_booklet and recipes:
        refuse("sheet", "--booklet has every recipe; leave the names out, or print these without it.")
    if not as_booklet and not recipes:
        refuse("sheet", "name recipes, or ask for the --booklet of all of them.")
    if as_booklet and (as_plan or car or found or chosen):
        refuse("sheet", "--booklet is for any car; leave out --plan, --car, --found and --choose.")
    reading = reading_of("sheet", found)
    known = known_of("sheet", car, reading)
    book = sound_book("sheet", folder, recipes or None)
    refuse_impossible("sheet", book, car, known)
    for name in recipes:
        recipe_of("sheet", book, name)
    picked = choices("sheet", book, chosen)
    wish = _Wish(recipes, as_plan, car is None and reading is None, known, reading, picked)
    own = book.club.language if book.club.language in languages.languages() else languages.SOURCE
    with speaking(languages.language(language or own)):
        # The QR symbol leads to the top of the club's site, which is there whatever languages it has besides.
        desk = Desk(in_language(book, language or own))
        maker, templates = Maker(desk, file_of), environment(marks=desk.book.original is not None)
        try:
            with printer(Sheets(desk, templates), "letter" if paper == "letter" else "a4") as press:
                done = _booklet(maker, press) if as_booklet else _bound(maker, press, wish)
        except NoPrinter as problem:
            refuse("sheet", str(problem))
    write("sheet", out, done)
    click.echo(f"{out}: {counted(pages_in(done), 'page')}")


@dataclass(frozen=True, slots=True)
class _Wish:
    """Which sheets, for which car, and what their reader chose; ``merged``: one sheet for all recipes."""

    recipes: Sequence[str]
    merged: bool
    any_car: bool
    known: Known
    reading: ReadingFile | None
    picked: Mapping[SettingPath, str]


def _booklet(maker: Maker, press: Printer) -> bytes:
    """The PDF of the whole book."""
    book = maker.desk.book
    pages = booklet(maker.desk, maker, book.recipes.values())
    pdf, numbers = press.booklet(pages)
    marks = [
        (f"{one.sheet.title} ({one.sheet.codes[0]})", numbers[one.id])
        for one in pages.sheets
        if one.id in numbers
    ]
    return marked(pdf, marks, gettext("%(club)s: all sheets") % {"club": book.club.name}, book.club.name)


def _bound(maker: Maker, press: Printer, wish: _Wish) -> bytes:
    """The PDF of some sheets."""
    printed = [press.sheet(one) for one in _sheets(maker, wish)]
    return bound(printed, " + ".join(one.title for one in printed), maker.club.name)


def _sheets(maker: Maker, wish: _Wish) -> list[Sheet]:
    book = maker.desk.book
    if wish.merged:
        return [_planned(maker, wish, plan_of(wish.recipes, book.shop, wish.known, wish.picked))]
    if wish.any_car:
        try:
            return [maker.recipe(book.recipes[name], wish.picked) for name in wish.recipes]
        except EditProblem as error:
            refuse("sheet", f"{error.problems[0].reason} {error.problems[0].repair}")
    plans = [alone(name, book.shop, wish.known, wish.picked) for name in wish.recipes]
    return [_planned(maker, wish, one) for one in plans]


def _planned(maker: Maker, wish: _Wish, plan: Plan) -> Sheet:
    """The sheet of a plan; ends the program when there is no job, or nothing may be written."""
    if plan.troubles:
        refuse("sheet", f"{plan.troubles[0].reason} {plan.troubles[0].repair}")
    if plan.questions:
        one = plan.questions[0].recipe
        refuse("sheet", f"{one} is done differently from car to car; asfound plan says what must be known.")
    rows = {}
    if wish.reading is not None and plan.records:
        sheet = worksheet(plan, wish.reading.records, maker.desk.book.world, wish.known)
        for row in sheet.rows:
            if row.stops or row.asks:
                click.echo(f"asfound sheet: {(*row.stops, *row.asks)[0]}", err=True)
                sys.exit(FINDINGS)
        if sheet.missing:
            refuse("sheet", f"the reading lacks {', '.join(map(str, sheet.missing))}.")
        rows = {row.path: row for row in sheet.rows}
    return maker.plan(plan, wish.known, wish.picked, rows)
