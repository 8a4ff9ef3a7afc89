"""Running the checks: a folder in, findings out, with the book when it can be trusted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from ..book import Book
from ..car.origin import Origin
from ..source.findings import Finding, path_text
from ..source.loader import FolderTree, Loaded, load
from . import RULES
from .base import Problem, Rule


class NoBook(Exception):
    """There is no book where one was asked for; one line, with what to do."""


@dataclass(frozen=True, slots=True)
class BookFolder:
    """A book's folder and what of it was asked for; ``shown`` is the folder as the user would type it."""

    folder: Path
    shown: Path
    asked_for: tuple[PurePosixPath, ...]  # below the folder; empty: all

    @classmethod
    def all_of(cls, paths: Iterable[Path]) -> tuple[BookFolder, ...]:
        """The books that ``paths`` lie in. NoBook when a path is missing or in no book."""
        asked: dict[Path, tuple[Path, list[PurePosixPath]]] = {}
        for path in paths:
            if not path.exists() and not path.is_symlink():
                raise NoBook(f"there is no {path}; name a book's folder or something inside one")
            here = Path(path.absolute())
            book = next((p for p in (here, *here.parents) if (p / "club.yml").exists()), None)
            if book is None:
                raise NoBook(f"{path} is in no book; a book's folder holds a file club.yml")
            shown = path
            for _ in range(len(here.relative_to(book).parts)):
                shown = shown.parent if shown != Path(".") else Path("..")
            asked.setdefault(book, (shown, []))[1].append(PurePosixPath(*here.relative_to(book).parts))
        return tuple(
            cls(book, shown, () if PurePosixPath(".") in below else tuple(below))
            for book, (shown, below) in asked.items()
        )


def check_folder(folder: Path) -> tuple[Loaded, tuple[Finding, ...]]:
    """Everything loaded from a book's folder, and every finding, the files' before the rules'.

    The rules run on what could be built, so one broken file does not hide what is wrong in others.
    """
    loaded = load(FolderTree(folder))
    findings = list(loaded.findings)
    if loaded.club is not None:
        findings += run(Book(loaded), RULES)
    return loaded, tuple(findings)


def run(book: Book, rules: Sequence[Rule]) -> list[Finding]:
    """What the rules find in the book."""
    return [finding(book.loaded, rule, problem) for rule in rules for problem in rule.problems(book)]


def finding(loaded: Loaded, rule: Rule, problem: Problem) -> Finding:
    """A problem with its line and column."""
    line, column = loaded.locate(problem.origin)
    return Finding(
        rule.id,
        problem.origin.file,
        line,
        column,
        path_text(problem.origin.path),
        problem.message,
        problem.repair,
        problem.because,
        also=tuple(_place(loaded, origin) for origin in problem.also),
    )


def _place(loaded: Loaded, origin: Origin) -> tuple[str, int, int]:
    return (origin.file, *loaded.locate(origin))


def only_below(findings: Iterable[Finding], asked_for: Sequence[PurePosixPath]) -> list[Finding]:
    """The findings in the files asked for; all when nothing in particular was."""
    return [
        f
        for f in findings
        if not asked_for or any(PurePosixPath(f.file).is_relative_to(a) for a in asked_for)
    ]
