"""The command line, thin: reads arguments, calls the rooms below, prints, and sets the exit status.

Heavy imports stay inside the commands, so that ``asfound --help`` answers at once.
"""

from __future__ import annotations

import gc
import re
import sys
from collections.abc import Sequence
from datetime import datetime
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from . import __version__
from .commands import CLEAN, COULD_NOT_RUN, FINDINGS, LazyGroup

if TYPE_CHECKING:
    from .source.findings import Finding


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Each command says its exit status; it is 141, as of any program in a pipe, once whoever reads "
    "what it prints has gone.",
)
@click.version_option(__version__, "-V", "--version", message="asfound %(version)s")
def main() -> None:
    """Keep a club's recipes for changing how a car's control modules behave."""
    gc.set_threshold(50_000)  # what a command makes stays and has few cycles: they are sought less often
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # whatever a terminal or a pipe cannot show


def _https(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    if value is None or re.fullmatch(r"https://[a-z0-9.-]+(/[A-Za-z0-9._~/-]*)?", value):
        return value
    raise click.BadParameter(
        f"{value!r} is no address of a site; write it like https://circle.example/changes/."
    )


@main.command()
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path), metavar="[PATH…]")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "sarif", "junit"]),
    default="text",
    show_default=True,
    help="How findings are printed.",
)
@click.option(
    "--site",
    metavar="ADDRESS",
    callback=_https,
    help="The club's site, where findings and fields are explained; text and SARIF then lead there. Its pages"
    " must end in .html, as with use_directory_urls: false.",
)
@click.option("--watch", "watching", is_flag=True, help="Check again after each change, until Ctrl-C.")
def check(paths: Sequence[Path], form: str, site: str | None, watching: bool) -> None:
    """Check recipes and report every finding with file, line, column and repair.

    PATH is a book's folder (the one with club.yml), or files and folders inside it, to hear only of those.
    Without PATH, the folder recipes here is checked.

    Exit status: 0 nothing found, 1 findings, 2 could not run.
    """
    from .review.noted import looked
    from .source.findings import printable
    from .source.folders import BookFolder, NoBook

    try:
        books = BookFolder.all_of(paths or (Path("recipes"),))
    except NoBook as problem:
        _refuse(str(problem))
    if len(books) > 1:
        _refuse(f"{books[0].shown} and {books[1].shown} are different books; check one at a time")
    book = books[0]

    def once() -> int:
        # JUnit names every file, with findings or without.
        now = None if form == "junit" else looked(book.folder, book.asked_for)
        findings: Sequence[Finding] = ()
        files: Sequence[str] = ()
        if now is None or now.changed:
            from .review import since

            findings, files = since.check(book.folder, book.asked_for, now)
        if watching:
            click.clear()  # in a terminal only
        _print(findings, form, printable(str(book.shown)), files, site)
        return FINDINGS if findings else CLEAN

    if not watching:
        sys.exit(once())
    if form != "text":
        _refuse("--watch prints text; leave --format out")
    from .commands.watch import watch

    def wait() -> None:
        click.echo(f"{datetime.now():%H:%M:%S}: checked. The next change is checked too; Ctrl-C ends.")

    sys.exit(watch(book.folder, once, wait))


def _refuse(why: str) -> NoReturn:
    click.echo(f"asfound check: {why}", err=True)
    sys.exit(COULD_NOT_RUN)


def _print(
    findings: Sequence[Finding], form: str, folder: str, files: Sequence[str], site: str | None
) -> None:
    from .source import report

    if form == "json":
        click.echo(report.as_json(findings, folder))
    elif form == "sarif":
        from .rules.kinds import every_kind
        from .source.sarif import as_sarif

        click.echo(as_sarif(findings, folder, every_kind(), __version__, site))
    elif form == "junit":
        from .source.junit import as_junit

        click.echo(as_junit(findings, files, folder))
    elif not findings:
        click.echo(report.count_text(findings))
    else:
        for line in report.as_lines(findings, folder):
            click.echo(line)
        click.echo(report.count_text(findings))
        for line in report.more_lines(findings, site):
            click.echo(line)


if __name__ == "__main__":
    main()
