"""``asfound init``: a whole club's repository, or one owner's, that builds at once."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path

import click

from .. import __version__
from ..book import Book
from ..source.loader import load
from ..source.names import slug
from ..source.schemas import schema_folder
from ..source.writing import scalar
from .common import refuse, write

STARTER = Path(__file__).parent / "starter"
GUIDES = (
    "cautions.md",
    "contribute.md",
    "review.md",
    "promises.md",
    "ci.md",
)  # the demo's; they name no club
_LONGEST_NAME = 100
_CODE = "@code@"


@click.command()
@click.argument("directory", type=click.Path(path_type=Path), metavar="DIR")
@click.option("--name", metavar="NAME", help="What the club, or the book, is called.")
@click.option("--personal", is_flag=True, help="One owner's own book, without reviewers.")
@click.option("--schemas", is_flag=True, help="Only write DIR/schema anew, after a new version of asfound.")
def init(directory: Path, name: str | None, personal: bool, schemas: bool) -> None:
    """Make a club's repository that builds at once.

    DIR then holds a small book about an invented van, the site's configuration, guides, schemas and checks.
    README.md in it says what to replace first. DIR must be empty, or not there yet.

    Exit status: 0 done, 2 could not run.
    """
    if schemas:
        if not (directory / "recipes" / "club.yml").is_file():
            refuse("init", f"there is no {directory / 'recipes' / 'club.yml'}; DIR is where recipes/ lies.")
        for path, content in _schemas():
            write("init", directory / path, content)
        click.echo(f"{directory / 'schema'} now holds the schemas of asfound {__version__}.")
        return
    name = (name or ("My own notes" if personal else "Our Club")).strip()
    if not name.isprintable() or not 0 < len(name) <= _LONGEST_NAME:
        refuse("init", f"a name has 1 to {_LONGEST_NAME} characters, all of which can be seen.")
    try:
        if directory.exists() and any(directory.iterdir()):
            refuse("init", f"{directory} is not empty; name a folder that is, or one that is not there yet.")
    except OSError as error:
        refuse("init", f"{directory} cannot be used: {error.strerror or error}")
    later: list[tuple[str, str]] = []  # what names the code of a recipe
    for path, text in starter(name, personal):
        if "/reports/" in path or "/vetted/" in path:
            later.append((path, text))
        else:
            write("init", directory / path, text.encode())
    for path, content in _schemas():
        write("init", directory / path, content)
    book = Book(load(directory / "recipes"))
    for path, text in later:
        recipe = path.split("/")[2]
        write("init", directory / path, text.replace(_CODE, book.codes(recipe).sheet).encode())
    for script in sorted((directory / "ci").glob("*.sh")):
        script.chmod(0o755)
    click.echo(f"{name}: a book of {len(book.recipes)} recipes for an invented van in {directory}.")
    click.echo(f"Next, in {directory}: asfound check, asfound site, and README.md.")
    checkout = STARTER.parents[3]
    if (checkout / "pyproject.toml").is_file():
        click.echo(f"Where asfound is not installed yet: pip install -q {shlex.quote(str(checkout))}")


def still_ours(club: str) -> tuple[int, ...]:
    """Lines of a club's file that say what the starter's says: who it is, how it is asked, who reviews."""
    ours = {
        line
        for kind in ("club", "own")
        for line in (STARTER / kind / "recipes" / "club.yml").read_text("utf-8").splitlines()
        if line.startswith(("contact: ", "  - {handle: ")) or re.match("  [A-Z][a-z]+ [^:]*$", line)
    }
    return tuple(number for number, line in enumerate(club.splitlines(), 1) if line in ours)


def starter(name: str, personal: bool) -> Iterator[tuple[str, str]]:
    """Path and text of every file of a new repository but the schemas; codes are left as ``@code@``."""
    words = _words(name, personal)
    for folder in (STARTER / "both", STARTER / ("own" if personal else "club")):
        for file in sorted(path for path in folder.rglob("*") if path.is_file()):
            path, text = (
                re.sub("|".join(words), lambda word: words[word[0]], each)
                for each in (file.relative_to(folder).as_posix(), file.read_text("utf-8"))
            )
            yield (".gitignore" if path == "gitignore" else path), text
    for guide in GUIDES:
        if guide == "cautions.md" or not personal:
            yield f"site_src/{guide}", (_guides() / guide).read_text("utf-8")


def _words(name: str, personal: bool) -> Mapping[str, str]:
    author = "owner" if personal else "siskin"
    return {
        "@name@": scalar(name),
        "@name_md@": re.sub(r"([\\`*_{}\[\]<>()#+.!|~&-])", r"\\\1", name),
        "@id@": scalar(slug(name) or "club"),
        "@version@": __version__,
        "@author@": author,
        "@read_on@": f"{author}-2026-01" if personal else "redstart-2026-01",
        "@not_in_nav@": "" if personal else "not_in_nav: ci.md   # linked from Review\n",
        "@nav@": ""
        if personal
        else "".join(f"  - {name}: {name.lower()}.md\n" for name in ("Contribute", "Review", "Promises")),
    }


def _schemas() -> Iterator[tuple[str, bytes]]:
    for path in sorted(schema_folder().glob("*.schema.json")):
        yield f"schema/{path.name}", path.read_bytes()


def _guides() -> Path:
    """Where the guides lie: inside the installed package, or at the top of a checkout."""
    for folder in (STARTER / "site_src", STARTER.parents[3] / "site_src"):
        if (folder / GUIDES[0]).is_file():
            return folder
    raise FileNotFoundError(f"asfound is not installed whole: {STARTER / 'site_src'} is missing")
