"""``asfound vet``: a reviewer signs the present sheet of a recipe."""

from __future__ import annotations

from pathlib import Path

import click

from ..book import Book
from ..car.origin import Origin
from ..source.findings import Finding
from ..source.folders import BookFolder
from ..source.writing import signature_file
from ..trust.codes import make_code
from ..trust.reports import Signature
from ..trust.vetting import examine, vetted
from ..work.recipes import Recipe
from .common import book_option, day_option, open_book, recipe_of, refuse, stop_for, write

_LONGEST_NOTE = 240


@click.command()
@click.argument("recipe")
@click.option("--as", "handle", required=True, metavar="HANDLE", help="Who signs; a reviewer of the club.")
@click.option(
    "--note", default="", metavar="TEXT", help="One line to go with it: what was looked at, and how."
)
@day_option("The day of signing")
@book_option()
def vet(recipe: str, handle: str, note: str, day: str, folder: Path) -> None:
    """Sign the present sheet of a recipe.

    A signature says: I have reviewed exactly this, and vouch for it. It becomes vetted/HANDLE.yml in the
    recipe's folder, in place of an earlier one of the same reviewer, and is void as soon as the instructions
    change. The command says what was signed: title, code, and for each variant whether the club vouches for
    it now, or what is still missing.

    RECIPE is the name of the recipe's folder, or the path of the folder.

    Exit status: 0 signed, or already so, 1 the check has findings, 2 refused or could not run.
    """
    if "/" in recipe or "\\" in recipe:
        folder = Path(recipe)
    if not note.isprintable() or len(note) > _LONGEST_NOTE:
        refuse("vet", f"a note is one line of at most {_LONGEST_NOTE} letters.")
    place, book, findings = open_book("vet", folder)
    name = Path(recipe).name if folder != Path(recipe) else _recipe_of(place)
    if not name:
        refuse("vet", f"{recipe!r} is no recipe and lies in none; name the recipe's folder.")
    own = Origin(f"changes/{name}/vetted/{handle}.yml")
    found = book.recipes.get(name) if book else None
    if book and found and (why := _why_not(book, found, handle, day)):
        refuse("vet", why)
    stop_for("vet", (f for f in findings if _matters(f, name, own.file)), place)
    assert book is not None  # without a club there is a finding
    found = recipe_of("vet", book, name)
    signature = Signature(name, handle, book.codes(name).sheet, day, note, own)
    before = [one for one in book.signatures(name) if one.by == handle]
    if before and (before[0].sheet_code, before[0].note) == (signature.sheet_code, note or before[0].note):
        click.echo(f"{handle} signed this very sheet on {before[0].on}; nothing was written.")
    else:
        write("vet", place.folder / own.file, signature_file(signature).encode())
        click.echo(f"Signed: {place.shown / own.file}")
        before = [signature]
    _say(book, found, before[0])


def _recipe_of(place: BookFolder) -> str:
    """The recipe that a path below a book lies in; "" when it lies in none."""
    parts = place.asked_for[0].parts if place.asked_for else ()
    return parts[1] if len(parts) > 1 and parts[0] == "changes" else ""


def _matters(finding: Finding, recipe: str, own: str) -> bool:
    """Whether a finding keeps the recipe from being signed.

    Those in other recipes' folders do not, nor does one about the signature that is about to be replaced.
    """
    if finding.file == own:
        return False
    if finding.id == "unknown-code" and finding.also and all(file == own for file, _, _ in finding.also):
        return False
    return not finding.file.startswith("changes/") or finding.file.startswith(f"changes/{recipe}/")


def _why_not(book: Book, recipe: Recipe, by: str, day: str) -> str:
    """Why a signature of that day would not count; "" when it would."""
    club = book.club
    if not club.reviewers:
        return "this book has no reviewers; it is one owner's own notes, which nobody signs."
    if recipe.status == "draft":
        return f"{recipe.id} is a draft. Let its author offer it first."
    if recipe.status == "withdrawn":
        return f"{recipe.id} is withdrawn. Nobody is to do it any more."
    code = make_code(b"")  # whichever: what it would be for is not in question
    match examine([Signature(recipe.id, by, code, day)], recipe, club, code)[0].validity:
        case "by the author":
            return f"{by} wrote {recipe.id}; an author's signature does not count."
        case "no reviewer that day":
            term = next((r for r in club.reviewers if r.handle == by), None)
            if term is None:
                named = ", ".join(r.handle for r in club.reviewers if r.until is None)
                return f"{by} is no reviewer of {club.name}. Its reviewers are {named}."
            said = f"from {term.since}" + (f" to {term.until}" if term.until else "")
            return f"{by} is a reviewer {said}, which {day} is not in."
        case _:
            return ""


def _say(book: Book, recipe: Recipe, signature: Signature) -> None:
    """What was signed, and what it makes of each variant."""
    click.echo(f"  {recipe.title}")
    click.echo(f"  sheet code {signature.sheet_code}")
    signatures = [one for one in book.signatures(recipe.id) if one.by != signature.by] + [signature]
    evidence, names = book.evidence(recipe.id), book.names
    for (line, model, phase), answer in book.cells(recipe.id).items():
        if answer.kind == "no":
            continue
        count = evidence.count((line, model, phase))
        standing = vetted(recipe, book.club, signature.sheet_code, signatures, count)
        called = f"{book.lines[line].name} {names.models[line, model]} {names.phases[line, phase]}"
        because = "" if standing.vetted else f": {'; '.join(standing.reasons)}"
        click.echo(f"  {called}: {standing.label}{because}")
