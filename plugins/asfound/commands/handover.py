"""``asfound handover``: what a workshop or the next owner must know."""

from __future__ import annotations

from pathlib import Path

import click

from ..pages import compiled_plan, logged
from ..source.car_file import open_log
from ..work.handover import handover as handover_of
from .cars import as_json, open_file, sound_book
from .common import book_option, format_option


@click.command()
@click.argument("log", type=click.Path(path_type=Path))
@format_option()
@book_option()
def handover(log: Path, form: str, folder: Path) -> None:
    """Say what stands in a car, for a workshop or its next owner.

    With what was found before the first change, and what an update of a module may lose.

    LOG is a car's log, as the pages export it.

    Exit status: 0 done, 2 could not run.
    """
    kept = open_file("handover", log, open_log)
    book = sound_book("handover", folder)
    one = handover_of(kept)
    if form == "json":
        click.echo(as_json(compiled_plan.handover(one)))
        return
    for line in logged.handover_lines(book, one, kept.name):
        click.echo(line)
