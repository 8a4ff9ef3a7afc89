"""``asfound translations``: how far each file of a book is translated, and what is out of date."""

from __future__ import annotations

import json
import os
from collections.abc import Set
from pathlib import Path

import click

from ..book.translated import Progress, progress
from ..source.names import bad_name, modeline
from ..source.writing import scalar
from .common import book_option, load_book, near_it, refuse


@click.command()
@click.argument("language")
@book_option()
@click.option(
    "--missing", metavar="FILE",
    help="Print the texts of one file that have no translation, to be filled in; a whole file at first.",
)  # fmt: skip
def translations(language: str, folder: Path, missing: str | None) -> None:
    """Say how far each file of a book is translated into a language.

    LANGUAGE is its code, such as nl.

    A text that was changed in the original has no translation any more; where the old one stands is said, so
    that somebody looks at it again. Pages show such a text in the language it was written in.

    Exit status: 0 said, 2 could not run.
    """
    place, book = load_book("translations", folder)
    if wrong := bad_name(language):
        refuse("translations", f"{wrong[0]}; write a language's code, such as nl.")
    loaded, every = book.loaded, progress(book, language)
    if missing is not None:
        of = _of(missing, place.folder)
        broken = {finding.file.removesuffix(".yml").removesuffix("/recipe") for finding in loaded.findings}
        _entries(every, of, language, begun=of in loaded.translations.get(language, {}), broken=broken)
        return
    for one in every:
        done = len(one.texts) - len(one.missing)
        if done or one.stale:
            click.echo(f"{one.of}: {done} of {len(one.texts)}")
        for origin in one.stale:
            line, column = loaded.locate(origin)
            click.echo(f"  {origin.file}:{line}:{column} the original says something else now")
    done = sum(len(one.texts) - len(one.missing) for one in every)
    begun = sum(len(one.missing) < len(one.texts) for one in every)
    click.echo(
        f"{done} of {sum(len(one.texts) for one in every)} texts, {begun} of {len(every)} files begun."
    )


def _of(written: str, folder: Path) -> str:
    """The file as the book calls it: ``modules/lamps`` for ``recipes/modules/lamps.yml``."""
    path = Path(os.path.abspath(written))
    below = path.relative_to(folder).as_posix() if path.is_relative_to(folder) else written
    return below.removesuffix(".yml").removesuffix("/recipe")


def _entries(every: tuple[Progress, ...], of: str, language: str, begun: bool, broken: Set[str]) -> None:
    """Entries for what is left of one file; a whole file where none is begun."""
    found = next((one for one in every if one.of == of), None)
    if found is None:
        if of in broken:
            refuse("translations", f"{of} has findings of its own; asfound check lists them.")
        refuse(
            "translations",
            f"the book has no file {of}; write it as in modules/lamps or changes/some-recipe."
            f"{near_it(of, (one.of for one in every))}",
        )
    if not found.missing:
        click.echo(f"Nothing of {of} is left to translate.", err=True)
        return
    path = f"languages/{language}/{of}.yml"
    if not begun:
        click.echo(modeline("translation", path))
        click.echo(f"language: {scalar(language)}\ntexts:")
    for text in found.missing:
        click.echo(f"  - text: {json.dumps(text, ensure_ascii=False)}")
        click.echo("    says:")
    place = "is added to" if begun else "belongs in"
    click.echo(f"This {place} {path} of the book. Take out what you leave untranslated.", err=True)
