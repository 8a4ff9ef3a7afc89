"""``asfound plan``: several recipes as one job on one car."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from ..pages import compiled_plan, planned
from ..work.plan import plan as plan_of
from ..work.worksheet import worksheet
from . import CLEAN, FINDINGS
from .cars import (
    READING,
    as_json,
    car_option,
    choices,
    choose_option,
    known_of,
    reading_of,
    refuse_impossible,
    refuse_unknown,
    sound_book,
)
from .common import book_option, format_option


@click.command()
@click.argument("recipes", nargs=-1, required=True, metavar="RECIPE…")
@car_option()
@click.option(
    "--found",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help=f"The records as found; then what to write is worked out too. {READING}.",
)
@choose_option()
@format_option()
@book_option()
def plan(
    recipes: Sequence[str],
    car: Path | None,
    found: Path | None,
    chosen: Sequence[str],
    form: str,
    folder: Path,
) -> None:
    """Merge recipes into one job.

    Each record is written once, and modules are visited as seldom as can be. What a recipe needs is pulled
    in, recipes that clash are refused. Without a car file the job is that of any car the recipes fit, as far
    as it is the same for all; what must be known first is said. asfound sheet --plan puts it on paper.

    RECIPE is the name of a recipe's folder.

    Exit status: 0 there is a job (and, with --found, something to write), 1 there is none, 2 could not run.
    """
    reading = reading_of("plan", found)
    known = known_of("plan", car, reading)
    book = sound_book("plan", folder, recipes)
    refuse_impossible("plan", book, car, known)
    one = plan_of(recipes, book.shop, known, choices("plan", book, chosen))
    refuse_unknown("plan", one)
    sheet = worksheet(one, reading.records, book.world, known) if reading and one.operations else None
    view = planned.planned(book, one, sheet, known)
    if form == "json":
        click.echo(as_json(compiled_plan.plan(one, sheet)))
    else:
        for line in planned.as_lines(view):
            click.echo(line)
    fine = bool(one.operations) and (sheet is None or sheet.ready)
    sys.exit(CLEAN if fine else FINDINGS)
