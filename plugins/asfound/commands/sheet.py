"""``asfound sheet``: garage sheets as PDF."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import click

from ..book import Book
from ..book.translated import in_language
from ..car.known import Known
from ..car.phrases import counted
from ..car.records import SettingPath
from ..pages import languages
from ..pages.environment import environment
from ..pages.links import file_of
from ..pages.printing import NoPrinter, bound, marked, pages_in, printer
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
    refuse_unknown,
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
    reading = reading_of("sheet", found)
    known = known_of("sheet", car, reading)
    book = sound_book("sheet", folder, recipes or None)
    for name in recipes:
        recipe_of("sheet", book, name)
    picked = choices("sheet", book, chosen)
    own = book.club.language if book.club.language in languages.languages() else languages.SOURCE
    with speaking(languages.language(language or own)):
        # The QR symbol leads to the top of the club's site, which is there whatever languages it has besides.
        done = _printed(
            in_language(book, language or own),
            recipes,
            paper,
            as_plan,
            as_booklet,
            car,
            known,
            reading,
            picked,
        )
    write("sheet", out, done)
    click.echo(f"{out}: {counted(pages_in(done), 'page')}")


def _printed(
    book: Book,
    recipes: Sequence[str],
    paper: str,
    as_plan: bool,
    as_booklet: bool,
    car: Path | None,
    known: Known,
    reading: ReadingFile | None,
    picked: Mapping[SettingPath, str],
) -> bytes:
    """The PDF, in the language spoken; ends the program when there is no browser to print with."""
    desk = Desk(book)
    maker, templates = Maker(desk, file_of), environment(marks=book.original is not None)
    try:
        with printer(Sheets(desk, templates), "letter" if paper == "letter" else "a4") as press:
            if as_booklet:
                pages = booklet(desk, maker, book.recipes.values())
                pdf, numbers = press.booklet(pages)
                marks = [
                    (f"{one.sheet.title} ({one.sheet.codes[0]})", numbers[one.id])
                    for one in pages.sheets
                    if one.id in numbers
                ]
                title = gettext("%(club)s: all sheets") % {"club": book.club.name}
                return marked(pdf, marks, title, book.club.name)
            made = list(_sheets(book, maker, recipes, as_plan, known, reading, picked, bool(car)))
            printed = [press.sheet(one) for one in made]
            return bound(printed, " + ".join(one.title for one in printed), book.club.name)
    except NoPrinter as problem:
        refuse("sheet", str(problem))


def _sheets(
    book: Book,
    maker: Maker,
    recipes: Sequence[str],
    as_plan: bool,
    known: Known,
    reading: ReadingFile | None,
    picked: Mapping[SettingPath, str],
    has_car: bool,
) -> list[Sheet]:
    if as_plan:
        return [_planned(book, maker, plan_of(recipes, book.shop, known, picked), known, reading, picked)]
    if reading is None and not has_car:
        try:
            return [maker.recipe(book.recipes[name], picked) for name in recipes]
        except EditProblem as error:
            refuse("sheet", f"{error.problems[0].reason} {error.problems[0].repair}")
    plans = [alone(name, book.shop, known, picked) for name in recipes]
    return [_planned(book, maker, one, known, reading, picked) for one in plans]


def _planned(
    book: Book,
    maker: Maker,
    plan: Plan,
    known: Known,
    reading: ReadingFile | None,
    picked: Mapping[SettingPath, str],
) -> Sheet:
    """The sheet of a plan; ends the program when there is no job, or nothing may be written."""
    refuse_unknown("sheet", plan)
    if plan.troubles:
        refuse("sheet", f"{plan.troubles[0].reason} {plan.troubles[0].repair}")
    if plan.questions:
        one = plan.questions[0].recipe
        refuse("sheet", f"{one} is done differently from car to car; asfound plan says what must be known.")
    rows = {}
    if reading is not None and plan.records:
        sheet = worksheet(plan, reading.records, book.world, known)
        for row in sheet.rows:
            if row.stops or row.asks:
                click.echo(f"asfound sheet: {(*row.stops, *row.asks)[0]}", err=True)
                sys.exit(FINDINGS)
        if sheet.missing:
            refuse("sheet", f"the reading lacks {', '.join(map(str, sheet.missing))}.")
        rows = {row.path: row for row in sheet.rows}
    return maker.plan(plan, known, picked, rows)
