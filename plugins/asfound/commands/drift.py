"""``asfound drift``: a later reading against the log of the car."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..book import Book
from ..car.records import RecordPath
from ..pages import compiled_plan, logged
from ..source.car_file import ReadingFile, open_log
from ..work.drift import Present, RecordDrift, unread
from ..work.drift import drift as drift_of
from ..work.log import Log, last_held
from ..work.worksheet import layouts_read
from . import CLEAN, FINDINGS
from .cars import READING, as_json, known_of, names_of, open_file, reading_of, sound_book
from .common import book_option, format_option, refuse


@click.command()
@click.argument("log", type=click.Path(path_type=Path))
@click.option(
    "--read",
    "reading",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE",
    help=f"The records as they are now. {READING}.",
)
@format_option()
@book_option()
def drift(log: Path, reading: Path, form: str, folder: Path) -> None:
    """Compare a later reading with a car's log.

    Says which changes stand, which were lost, what else moved, and what puts the lost ones back.

    LOG is a car's log, as the pages export it.

    Exit status: 0 all that was read stands, 1 something was lost or moved or cannot be told, 2 could not run.
    """
    kept = open_file("drift", log, open_log)
    now = reading_of("drift", reading)
    assert now is not None
    book = sound_book("drift", folder)
    present = {path: _present(book, kept, now, path) for path in now.records if last_held(kept, path)}
    if not present:
        refuse("drift", f"{reading} holds no record that {log} knows; read one that was written.")
    found = drift_of(kept, present, book.modules)
    missing = unread(kept, present)
    if form == "json":
        data = {"records": [compiled_plan.drift(d) for d in found], "unread": [str(p) for p in missing]}
        click.echo(as_json(data))
    else:
        for line in logged.drift_lines(book, found, missing):
            click.echo(line)
    sys.exit(CLEAN if all(map(_stands, found)) else FINDINGS)


def _stands(one: RecordDrift) -> bool:
    return not (one.problem or one.moved or one.bits or any(m.state != "stands" for m in one.marks))


def _present(book: Book, log: Log, reading: ReadingFile, path: RecordPath) -> Present:
    """What was read of a record, in the layout it has now; ends the program when that is unclear."""
    held, record = reading.records[path], book.record(path)
    if not isinstance(held, str):
        return Present(None, held)
    if record is None:
        return Present(None, {})
    if record.names_only:
        words = names_of("drift", book, path, held)
        return Present(None, {record.settings[0].id: words} if isinstance(words, str) else words)
    known = known_of("drift", None, reading)
    found = layouts_read(path, record, record.layouts, held, book.world, known)
    seen = last_held(log, path)
    best = [m for m in found if seen is not None and m.layout.id == seen[0]] or list(found)
    if len({(m.layout.id, m.reading.held) for m in best}) > 1:
        refuse("drift", f"{path}: this can be read in several ways. Write hex pairs with 0x before each.")
    return Present(best[0].layout.id, best[0].reading.held) if best else Present("", b"")
