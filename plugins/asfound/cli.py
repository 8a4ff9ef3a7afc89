"""The command line, thin: reads arguments, calls the rooms below, prints, and sets the exit status.

Heavy imports stay inside the commands, so that ``asfound --help`` answers at once.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import __version__
from .commands import CLEAN, COULD_NOT_RUN, FINDINGS, LazyGroup

if TYPE_CHECKING:
    from .source.findings import Finding


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, "-V", "--version", message="asfound %(version)s")
def main() -> None:
    """Keep a club's recipes for changing how a car's control modules behave."""


@main.command()
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path), metavar="[PATH…]")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How findings are printed.",
)
def check(paths: Sequence[Path], form: str) -> None:
    """Check recipes and report every finding with file, line, column and repair.

    PATH is a book's folder (the one with club.yml), or files and folders inside it, to hear only of those.
    Without PATH, the folder recipes here is checked.

    Exit status: 0 nothing found, 1 findings, 2 could not run.
    """
    from .rules.run import BookFolder, NoBook, check_folder, only_below

    try:
        books = BookFolder.all_of(paths or (Path("recipes"),))
    except NoBook as problem:
        click.echo(f"asfound check: {problem}", err=True)
        sys.exit(COULD_NOT_RUN)
    findings: list[Finding] = []
    shown = ""
    for book in books:
        _, found = check_folder(book.folder)
        findings.extend(only_below(found, book.asked_for))
        shown = str(book.shown)
    _print(findings, form, shown)
    sys.exit(FINDINGS if findings else CLEAN)


def _print(findings: Sequence[Finding], form: str, folder: str) -> None:
    from .source import report

    if form == "json":
        click.echo(report.as_json(findings, folder))
    elif not findings:
        click.echo(report.count_text(findings))
    else:
        for line in report.as_lines(findings, folder):
            click.echo(line)
        click.echo(report.count_text(findings))


if __name__ == "__main__":
    main()
