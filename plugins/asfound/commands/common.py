"""What the commands share: finding the book, days, refusing, writing files."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import NoReturn, TypeVar

import click

from ..book import Book
from ..rules.run import check_folder
from ..source import report
from ..source.findings import Finding
from ..source.folders import BookFolder, NoBook
from ..source.loader import load
from ..work.recipes import Recipe
from . import COULD_NOT_RUN, FINDINGS

_Command = TypeVar("_Command", bound=Callable[..., object])


def day_option(says: str) -> Callable[[_Command], _Command]:
    """The option ``--on``, a day as text, ISO 8601 YYYY-MM-DD; today if left out."""

    def day(ctx: click.Context, param: click.Parameter, value: str | None) -> str:
        if value is None:
            return date.today().isoformat()
        try:
            if date.fromisoformat(value).isoformat() == value:
                return value
        except ValueError:
            pass
        raise click.BadParameter(f"{value!r} is no day; write it like 2026-04-30.")

    return click.option("--on", "day", callback=day, metavar="DAY", help=f"{says}; today if left out.")


def book_option() -> Callable[[_Command], _Command]:
    """The option that names the book's folder."""
    return click.option(
        "--book",
        "folder",
        type=click.Path(path_type=Path),
        default=Path("recipes"),
        show_default=True,
        metavar="FOLDER",
        help="The book's folder, the one with club.yml.",
    )


def format_option() -> Callable[[_Command], _Command]:
    """The option ``--format``: text or JSON."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(["text", "json"]),
        default="text",
        show_default=True,
        help="How it is printed.",
    )


def refuse(command: str, why: str) -> NoReturn:
    """Say why nothing was done, and end with the status for that."""
    click.echo(f"asfound {command}: {why}", err=True)
    sys.exit(COULD_NOT_RUN)


def near_it(name: str, known: Iterable[str]) -> str:
    """`` Near it: …``, the names that an unknown one may be a slip of; empty where none is near."""
    near = get_close_matches(name, list(known), 3, 0.5)
    return f" Near it: {', '.join(near)}." if near else ""


def find_book(command: str, path: Path) -> BookFolder:
    """Where the book lies that ``path`` is, or lies in; ends the program when there is none there."""
    try:
        return BookFolder.all_of((path,))[0]
    except NoBook as problem:
        refuse(command, str(problem))


def open_book(command: str, path: Path) -> tuple[BookFolder, Book | None, tuple[Finding, ...]]:
    """The book that ``path`` lies in and its findings; ends the program when there is none there.

    The book is None when even the club's own file cannot be read.
    """
    folder = find_book(command, path)
    loaded, findings = check_folder(folder.folder)
    return folder, Book(loaded) if loaded.club is not None else None, findings


def load_book(command: str, path: Path) -> tuple[BookFolder, Book]:
    """As ``open_book``, without asking the rules; ends the program when the club's file cannot be read."""
    folder = find_book(command, path)
    loaded = load(folder.folder)
    if loaded.club is None:
        refuse(command, f"{folder.shown}/club.yml cannot be read; asfound check {folder.shown} says why.")
    return folder, Book(loaded)


def recipe_of(command: str, book: Book, name: str) -> Recipe:
    """The recipe of that name; ends the program when the book has none."""
    found = book.recipes.get(name)
    if found is None:
        refuse(command, f"there is no recipe {name!r}.{near_it(name, book.recipes)}")
    return found


def stop_for(command: str, findings: Iterable[Finding], folder: BookFolder) -> None:
    """End the program with the findings, if there are any."""
    found = tuple(findings)
    if not found:
        return
    for line in report.as_lines(found, str(folder.shown)):
        click.echo(line, err=True)
    click.echo(f"asfound {command}: nothing was written. {report.count_text(found)}", err=True)
    sys.exit(FINDINGS)


def write(command: str, path: Path, content: bytes) -> None:
    """Write a file whole or not at all; its folder is made if need be. Ends the program when it cannot."""
    beside = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            beside.write_bytes(content)
            os.replace(beside, path)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        refuse(command, f"{path} could not be written: {error.strerror or error}")
