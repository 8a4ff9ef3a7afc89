"""``asfound review``: what changed in the car between two commits, or since one."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..review.data import as_json
from ..review.git import GitProblem
from ..review.markdown import as_markdown
from ..review.run import review as run
from ..review.text import as_text
from ..review.web import as_html
from . import CLEAN, FINDINGS
from .common import refuse

FORMATS = {"text": as_text, "markdown": as_markdown, "json": as_json, "html": as_html}


@click.command()
@click.argument("base")
@click.argument("head", required=False)
@click.option(
    "--format",
    "form",
    type=click.Choice([*FORMATS]),
    default="text",
    show_default=True,
    help="text for a terminal, markdown for a comment, json for programs, html to read or keep.",
)
@click.option(
    "--book",
    metavar="FOLDER",
    help="The book's folder, from the top of the repository.  [default: recipes, or the only one there is]",
)
@click.option(
    "--repository",
    "folder",
    type=click.Path(path_type=Path),
    default=Path("."),
    metavar="FOLDER",
    help="A folder in the repository, or a bare one; this one if left out.",
)
def review(base: str, head: str | None, form: str, book: str | None, folder: Path) -> None:
    """Say what changed in the car between two commits, and what to look at by hand.

    BASE is the branch or commit that the changes are to go into, HEAD the one that has them; if left out, the
    working tree. HEAD is compared with the point where it left BASE. Nothing that either side holds is run.

    Exit status: 0 nothing needs a human, 1 something does, 2 could not run.
    """
    try:
        found = run(folder, base, head, book)
    except GitProblem as problem:
        refuse("review", str(problem))
    click.echo(FORMATS[form](found), nl=False)
    sys.exit(FINDINGS if found.needs_a_human else CLEAN)
