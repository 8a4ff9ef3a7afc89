"""What contributors do to a book, at random: words and values changed, files added, renamed and removed."""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable
from pathlib import Path

Edit = Callable[[Path, random.Random], None]


def _one_of(folder: Path, pattern: str, dice: random.Random) -> Path:
    return dice.choice(sorted(folder.glob(pattern)))


def _replaced(
    path: Path, pattern: str, by: str | Callable[[re.Match[str]], str], dice: random.Random
) -> None:
    text = path.read_text("utf-8")
    found = list(re.finditer(pattern, text, re.MULTILINE))
    if found:
        at = dice.choice(found)
        new = at.expand(by) if isinstance(by, str) else by(at)
        path.write_text(text[: at.start()] + new + text[at.end() :], "utf-8")


def title(folder: Path, dice: random.Random) -> None:
    """Another title."""
    recipe = _one_of(folder, "changes/*/recipe.yml", dice)
    _replaced(recipe, r"^title: (.*)$", rf"title: {dice.choice(['Truly', 'Nearly', 'Never'])} \1", dice)


def purpose(folder: Path, dice: random.Random) -> None:
    """Other prose."""
    _replaced(_one_of(folder, "changes/*/recipe.yml", dice), r" the ", " that ", dice)


def value(folder: Path, dice: random.Random) -> None:
    """A number in a recipe, which may make it wrong."""
    recipe = _one_of(folder, "changes/*/recipe.yml", dice)
    _replaced(recipe, r"\b(\d+)\b", lambda m: str(int(m[1]) + dice.choice([1, 2, 10])), dice)


def module_words(folder: Path, dice: random.Random) -> None:
    """A name or a duration in a module."""
    path = _one_of(folder, "modules/*.yml", dice)
    _replaced(path, r"(name: [A-Z][a-z]+)", r"\1 really", dice)
    _replaced(path, r"minutes: (\d+)", lambda m: f"minutes: {int(m[1]) + 1}", dice)


def place(folder: Path, dice: random.Random) -> None:
    """Where a setting lies, which mostly makes examples wrong."""
    path = _one_of(folder, "modules/*.yml", dice)
    _replaced(path, r"\{byte: (\d+)", lambda m: f"{{byte: {int(m[1]) + 1}", dice)


def line_words(folder: Path, dice: random.Random) -> None:
    """How equipment is told, or called."""
    _replaced(_one_of(folder, "vehicles/*.yml", dice), r"name: ([A-Z])", r"name: Fine \1", dice)


def outcome(folder: Path, dice: random.Random) -> None:
    """Another outcome of a report."""
    path = _one_of(folder, "changes/*/reports/*.yml", dice)
    said = dice.choice(["worked", "partly", "no-effect"])
    _replaced(path, r"^outcome: .*$", f"outcome: {said}", dice)


def report_gone(folder: Path, dice: random.Random) -> None:
    """A report is withdrawn."""
    _one_of(folder, "changes/*/reports/*.yml", dice).unlink()


def signature_gone(folder: Path, dice: random.Random) -> None:
    """A signature is withdrawn."""
    _one_of(folder, "changes/*/vetted/*.yml", dice).unlink()


def recipe_gone(folder: Path, dice: random.Random) -> None:
    """A recipe is removed, with all that belongs to it."""
    shutil.rmtree(_one_of(folder, "changes/*", dice))


def recipe_added(folder: Path, dice: random.Random) -> None:
    """A recipe like another, under a new name."""
    like = _one_of(folder, "changes/*", dice)
    name = f"{like.name}-too"
    if (folder / "changes" / name).exists():
        return
    (folder / "changes" / name).mkdir()
    for path in like.iterdir():
        if path.suffix in (".yml", ".png") and path.name != "codes.yml":
            content = path.read_bytes().replace(
                f"recipe: {like.name}\n".encode(), f"recipe: {name}\n".encode()
            )
            content = re.sub(
                rb"read_on: [a-z0-9-]+", b"read_on: made-up", content
            )  # the reports are not its own
            (folder / "changes" / name / path.name).write_bytes(content)


def recipe_renamed(folder: Path, dice: random.Random) -> None:
    """A recipe under another name, everywhere."""
    old = _one_of(folder, "changes/*", dice)
    new = old.with_name(f"{old.name}-again")
    old.rename(new)
    for path in folder.glob("changes/**/*.yml"):
        text = path.read_text("utf-8")
        renamed = re.sub(rf"(?<![a-z0-9-]){re.escape(old.name)}(?![a-z0-9-])", new.name, text)
        if renamed != text:
            path.write_text(renamed, "utf-8")


def status(folder: Path, dice: random.Random) -> None:
    """A recipe becomes a draft, or is offered."""
    recipe = _one_of(folder, "changes/*/recipe.yml", dice)
    _replaced(recipe, r"^status: (draft|offered)$", f"status: {dice.choice(['draft', 'offered'])}", dice)


def club(folder: Path, dice: random.Random) -> None:
    """What the club says or demands."""
    _replaced(folder / "club.yml", r" the ", " our ", dice)
    _replaced(folder / "club.yml", r"^(\w*reports\w*): (\d+)$", r"\1: 2", dice)


def broken(folder: Path, dice: random.Random) -> None:
    """A file that cannot be read."""
    path = _one_of(folder, dice.choice(["changes/*/recipe.yml", "modules/*.yml"]), dice)
    path.write_text(path.read_text("utf-8") + "  : [\n", "utf-8")


HARMLESS: tuple[Edit, ...] = (
    title, purpose, module_words, line_words, outcome, report_gone, signature_gone, status, club,
)  # fmt: skip
ALL: tuple[Edit, ...] = (*HARMLESS, value, place, recipe_gone, recipe_added, recipe_renamed, broken)
