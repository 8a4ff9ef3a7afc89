"""``asfound publish``: keep the codes of what is being published."""

from __future__ import annotations

from pathlib import Path

import click

from ..book import Book
from ..car.phrases import counted
from ..source.writing import CannotAppend, with_code
from ..trust.reports import PastCode
from ..work.recipes import Recipe
from .common import day_option, open_book, refuse, stop_for, write


@click.command()
@click.argument("book", type=click.Path(path_type=Path), default=Path("recipes"), metavar="[BOOK]")
@day_option("The day of publishing")
@click.option("--dry-run", is_flag=True, help="Only say what would be written.")
def publish(book: Path, day: str, dry_run: bool) -> None:
    """Note the sheet code of every recipe that changed.

    Run it when the site is published, on the main branch only, and keep what it wrote: it adds an entry to
    codes.yml of each recipe whose instructions are new or changed. Reports and signatures that name an older
    code are known by it, and count further wherever the work on their car is still the same. Run twice, it
    writes nothing the second time.

    BOOK is the book's folder, the one with club.yml; recipes if left out.

    Exit status: 0 done, 1 the check has findings, 2 could not run.
    """
    folder, found, findings = open_book("publish", book)
    stop_for("publish", findings, folder)
    assert found is not None  # without a club there is a finding
    files: list[tuple[Path, bytes, str]] = []  # path, content, what is said
    for recipe in sorted(found.recipes.values(), key=lambda recipe: recipe.id):
        code = new_code(found, recipe, day)
        if code is None:
            continue
        past = found.past_codes(recipe.id)
        if past and day < past[-1].on:
            refuse("publish", f"{recipe.id} was published on {past[-1].on}, which is later than {day}.")
        path = found.codes_origin(recipe.id).file
        raw = found.loaded.tree.read(path) if past else None
        try:
            content = with_code(raw, recipe.id, code)
        except CannotAppend as problem:
            refuse("publish", f"nothing was written. {problem}")
        files.append((folder.folder / path, content, f"{recipe.id} {code.sheet_code}"))
    if not dry_run:
        for target, content, _ in files:
            write("publish", target, content)
    for *_, said in files:  # when all is written: whoever reads along may stop
        click.echo(said)
    count = counted(len(files), "code")
    if not files:
        click.echo("Every recipe's code is noted already.")
    else:
        click.echo(f"{count} would be noted." if dry_run else f"{count} noted.")


def new_code(book: Book, recipe: Recipe, day: str) -> PastCode | None:
    """What is to be noted of a recipe; None when its present code stands in its file already.

    A code stands for the same instructions whenever, so a recipe that went back to an earlier sheet needs no
    second entry. *what* is the newest entry of its history, where that is newer than the last code.
    """
    codes, past = book.codes(recipe.id), book.past_codes(recipe.id)
    if any(one.sheet_code == codes.sheet for one in past):
        return None
    newest = max(recipe.history, key=lambda entry: entry.on)
    what = newest.what if not past or newest.on > past[-1].on else ""
    return PastCode(codes.sheet, day, dict(codes.work), what, dict(codes.fits))
