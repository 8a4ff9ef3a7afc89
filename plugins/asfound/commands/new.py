"""``asfound new``: files to begin with."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from ..book import Book
from ..car.phrases import counted
from ..car.records import SettingPath
from ..source.folders import BookFolder
from ..source.names import bad_name
from ..source.reader import read
from ..source.schemas import validate
from ..trust.codes import check_code, normalise
from ..work.compiled import EditProblem
from . import drafts
from .common import book_option, day_option, find_book, load_book, near_it, recipe_of, refuse, write
from .draft import Draft


@click.group()
def new() -> None:
    """Begin a file: a recipe, a report, a module, a vehicle line.

    What is known is written, what is not stands empty and is explained. `asfound check` names what is left to
    fill in.
    """


@new.command()
@click.argument("name")
@click.option(
    "--setting",
    "settings",
    multiple=True,
    metavar="PATH",
    help="A setting it changes: MODULE/RECORD/SETTING.",
)
@click.option("--file-for", "media", metavar="MODULE", help="It loads a file into this module.")
@click.option("--by", "handle", metavar="HANDLE", help="Who writes it.")
@day_option("The day it is begun")
@book_option()
def recipe(
    name: str, settings: Sequence[str], media: str | None, handle: str | None, day: str, folder: Path
) -> None:
    """Begin a recipe: changes/NAME/recipe.yml. NAME becomes part of its page's address."""
    place, book = load_book("new", folder)
    _refuse_bad(name)
    if handle is not None:
        _refuse_bad(handle)
    for path in settings:
        known = [str(each) for each in book.settings]
        if path not in known:
            refuse("new", f"no module has a setting {path}.{near_it(path, known) or _settings(book, path)}")
    if media is not None and media not in book.modules:
        refuse("new", f"there is no module {media}; the book has {', '.join(sorted(book.modules))}.")
    chosen = [SettingPath.parse(path) for path in settings]
    touched = {function for path in chosen for function in book.settings[path].functions}
    if refused := sorted(touched & set(book.club.refuse_functions)):
        refuse("new", f"the club publishes no recipe that acts on {' or '.join(refused)}.")
    _save(place, drafts.recipe(book, name, chosen, media, handle, day))


@new.command(short_help="Begin a report: changes/RECIPE/reports/….")
@click.argument("recipe")
@click.option("--by", "handle", required=True, metavar="HANDLE", help="Who reports.")
@click.option("--code", metavar="CODE", help="The sheet code of the page or paper that was followed.")
@day_option("The day it was done")
@book_option()
def report(recipe: str, handle: str, code: str | None, day: str, folder: Path) -> None:
    """Begin a report on RECIPE: changes/RECIPE/reports/HANDLE-MONTH.yml."""
    place, book = load_book("new", folder)
    recipe_of("new", book, recipe)
    _refuse_bad(handle)
    if code is not None and check_code(code) != "ok":
        refuse("new", f"{code} is mistyped: its check letter does not match. Compare it with the sheet.")
    stem, files = f"{handle}-{day[:7]}", book.loaded.files
    name, number = stem, 1
    while f"changes/{recipe}/reports/{name}.yml" in files:
        number += 1
        name = f"{stem}-{number}"
    try:
        draft = drafts.report(book, recipe, name, handle, normalise(code) if code else None, day)
    except EditProblem:
        refuse("new", f"{recipe} cannot be worked out; asfound check says why.")
    _save(place, draft)


@new.command()
@click.argument("name")
@book_option()
def module(name: str, folder: Path) -> None:
    """Begin a control module: modules/NAME.yml."""
    place = find_book("new", folder)
    _refuse_bad(name)
    _save(place, drafts.module(name))
    lines = sorted((place.folder / "vehicles").glob("*.yml"))
    where = str(place.shown / "vehicles" / lines[0].name) if len(lines) == 1 else "the vehicle line's file"
    click.echo(f"Cars have it when {where} says so, under fitted: - module: {name}")


@new.command()
@click.argument("name")
@book_option()
def vehicle(name: str, folder: Path) -> None:
    """Begin a vehicle line: vehicles/NAME.yml."""
    place, book = load_book("new", folder)
    _refuse_bad(name)
    _save(place, drafts.vehicle(book, name))


def _refuse_bad(name: str) -> None:
    """End the program when no file may be called so."""
    if wrong := bad_name(name):
        refuse("new", f"{wrong[0]}; {wrong[1]}.")


def _settings(book: Book, path: str) -> str:
    """`` …``, what may stand in place of a setting's path that is like no other."""
    module = path.partition("/")[0]
    if own := [str(each) for each in book.settings if each.module == module]:
        return f" {module} has {', '.join(own[:6])}{' and others' if len(own) > 6 else ''}."
    if not book.settings:
        return " The book has no settings yet; begin a module with asfound new module NAME."
    modules = dict.fromkeys(each.module for each in book.settings)
    return f" Write MODULE/RECORD/SETTING, with a module of {', '.join(modules)}."


def _save(place: BookFolder, draft: Draft) -> None:
    """Write the draft where no file is yet, and say how much is to be filled in."""
    target = place.folder / draft.path
    if target.exists() or target.is_symlink():
        refuse("new", f"{place.shown / draft.path} is there already.")
    raw = draft.text.encode()
    found = read(raw, draft.path)
    left = len(found.findings) + len(validate(draft.kind, found.data, found.positions, draft.path))
    write("new", target, raw)
    click.echo(f"{place.shown / draft.path}: {counted(left, 'thing')} to fill in.")
    click.echo(f"asfound check {place.shown / draft.path} lists what is left.")
