"""``asfound work``: the worksheet of one recipe."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from ..pages import compiled_plan, planned
from ..work.plan import alone
from ..work.worksheet import worksheet
from . import CLEAN, FINDINGS
from .cars import (
    as_json,
    car_option,
    choices,
    choose_option,
    known_of,
    refuse_impossible,
    refuse_unknown,
    sound_book,
    typed_of,
)
from .common import book_option, format_option, refuse


@click.command()
@click.argument("recipe")
@click.option(
    "--found",
    multiple=True,
    required=True,
    metavar="[RECORD=]TEXT",
    help="What was read: hex pairs, a decimal number or binary, or words. Once for each record of the job.",
)
@car_option()
@choose_option()
@format_option()
@book_option()
def work(
    recipe: str, found: Sequence[str], car: Path | None, chosen: Sequence[str], form: str, folder: Path
) -> None:
    """Work out what to write for a recipe, from what was found.

    What to write is shown when every record of the job is noted, none holds anything unexpected and it is
    clear what was read. Recipes that this one needs are taken to be done.

    RECIPE is the name of a recipe's folder. Several records: --found module/record=TEXT for each.

    Exit status: 0 here is what to write, 1 write nothing, 2 could not run.
    """
    known = known_of("work", car)
    book = sound_book("work", folder, (recipe,))
    refuse_impossible("work", book, car, known)
    one = alone(recipe, book.shop, known, choices("work", book, chosen))
    refuse_unknown("work", one)
    if one.operations and not one.records:
        refuse("work", f"{recipe} loads a file and writes no record; its sheet says what to do.")
    typed = typed_of("work", book, [r.path for r in one.records], found) if one.records else {}
    sheet = worksheet(one, typed, book.world, known) if one.records else None
    view = planned.planned(book, one, sheet, known)
    if form == "json":
        click.echo(as_json(compiled_plan.plan(one, sheet)))
    else:
        for line in planned.worksheet_lines(view):
            click.echo(line)
    sys.exit(CLEAN if sheet is not None and sheet.ready else FINDINGS)
