"""Running the checks: a folder in, findings out, with the book when it can be trusted."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

from ..book import Book
from ..car.origin import Origin
from ..source.crew import Crew, cores
from ..source.findings import Finding, path_text, printable
from ..source.loader import FolderTree, Loaded, load
from ..source.remembered import Remembered
from . import RULES
from .base import Problem, Rule, Stage, Subject
from .ground import Ground


def check_folder(folder: Path) -> tuple[Loaded, tuple[Finding, ...]]:
    """Everything loaded from a book's folder, and every finding, the files' before the rules'.

    The rules run on what could be built, so one broken file does not hide what is wrong in others.
    """
    loaded, findings, _ = check_book(folder)
    return loaded, findings


def check_book(folder: Path) -> tuple[Loaded, tuple[Finding, ...], Book | None]:
    """As ``check_folder``, with the book, which keeps what the rules had it work out; None without a club."""
    loaded = load(FolderTree(folder), Remembered(crew=True))
    if loaded.club is None:
        return loaded, loaded.findings, None
    book = Book(loaded)
    return loaded, check_loaded(book), book


def check_loaded(book: Book) -> tuple[Finding, ...]:
    """The findings of a book's files and of the rules."""
    if not book.loaded.findings and len(book.recipes) >= _PAYS:
        crew = Crew(book, cores())
        try:
            shares = [(turn, crew.size) for turn in range(crew.size)]
            if crew.size > 1 and all(crew.each(_share_sound, shares)):
                return ()
        finally:
            crew.close()
    return (*book.loaded.findings, *run(book))


_PAYS = 200  # recipes; with fewer, one core is done before two have begun
_PIECE = 100  # recipes


def _share_sound(book: Book, share: tuple[int, int]) -> bool:
    return sound(book, *share)


Ask = Callable[[Rule, Any], tuple[Problem, ...]]


def run(book: Book, rules: Sequence[Rule] = RULES, ask: Ask | None = None) -> list[Finding]:
    """What the rules find in the book, stage by stage; ``ask`` may answer for a rule from memory."""
    ground = Ground(book)
    found: list[Finding] = []
    touched: set[str] = set()
    for stage in Stage:
        lost = touched if stage == Stage.CODES else set()  # a code depends on everything
        ground.lose(lost)
        for rule in rules:
            if rule.stage != stage:
                continue
            for subject in _subjects(book, rule, ground):
                problems = ask(rule, subject) if ask else rule.problems(book, subject)
                found += (finding(book.loaded, rule, problem) for problem in problems)
                if rule.grounds:
                    # What only refers to a broken file still stands itself.
                    lost |= {problem.origin.file for problem in problems if problem.because is None}
                touched |= {_subject(place.file) for p in problems for place in (p.origin, *p.also)}
        ground.lose(lost)
    return found


def sound(book: Book, turn: int = 0, of: int = 1) -> bool:
    """Whether the rules find nothing in one share of the book; in all shares: whether ``run`` finds nothing.

    While nothing is found no ground is lost, so shares can be asked about apart. A rule about all recipes
    finds something in all exactly if it finds something in some share of them. So a share is asked about in
    pieces, after each of which the book lets go of what would take more memory than the book.
    """
    every: dict[Subject, Sequence[Any]] = {
        "file": book.loaded.files,
        "line": tuple(book.lines.values()),
        "module": tuple(book.modules.values()),
        "recipe": tuple(book.recipes.values()),
    }
    pieces = 1 + len(book.recipes) // (of * _PIECE)
    for piece in range(pieces):
        if _finds(book, every, turn + of * piece, of * pieces):
            return False
        book.let_go()
    return True


def _finds(book: Book, every: Mapping[Subject, Sequence[Any]], turn: int, of: int) -> bool:
    for stage in Stage:
        for at, rule in enumerate(RULES):
            if rule.stage != stage:
                continue
            subjects: Sequence[Any]
            match rule.subject:
                case "recipes":
                    subjects = (every["recipe"][turn::of],)
                case "book":
                    subjects = (book,) if at % of == turn else ()
                case one:
                    subjects = every[one][turn::of]
            if any(rule.problems(book, subject) for subject in subjects):
                return True
    return False


def _subject(file: str) -> str:
    """The file of the recipe that a report or signature is about; any other file itself."""
    folders = file.split("/")
    return f"changes/{folders[1]}/recipe.yml" if folders[0] == "changes" else file


def _subjects(book: Book, rule: Rule, ground: Ground) -> Iterator[Any]:
    """What the rule is asked about: whatever still stands."""
    match rule.subject:
        case "file":
            yield from book.loaded.files
        case "line":
            yield from filter(ground.holds, book.lines.values())
        case "module":
            yield from filter(ground.holds, book.modules.values())
        case "recipe":
            yield from filter(ground.holds, book.recipes.values())
        case "recipes":
            yield tuple(filter(ground.holds, book.recipes.values()))
        case "book":
            yield book


def finding(loaded: Loaded, rule: Rule, problem: Problem) -> Finding:
    """A problem with its line and column."""
    line, column = problem.at or loaded.locate(problem.origin)
    also: dict[tuple[str, int], tuple[str, int, int]] = {(problem.origin.file, line): ("", 0, 0)}
    for origin in problem.also:  # one place on a line is enough
        where = _place(loaded, origin)
        also.setdefault(where[:2], where)
    return Finding(
        rule.id,
        problem.origin.file,
        line,
        column,
        path_text(problem.origin.path),
        problem.message,
        problem.repair,
        problem.because,
        also=tuple(also.values())[1:],
    )


def _place(loaded: Loaded, origin: Origin) -> tuple[str, int, int]:
    return (origin.file, *loaded.locate(origin))


def only_below(findings: Iterable[Finding], asked_for: Sequence[PurePosixPath]) -> list[Finding]:
    """The findings that are, or may be, about the files asked for; all when nothing in particular was."""
    places = [PurePosixPath(printable(str(each))) for each in asked_for]  # as findings name them

    def asked(file: str) -> bool:
        return any(PurePosixPath(file).is_relative_to(place) for place in places)

    return [
        finding
        for finding in findings
        if not asked_for or any(map(asked, (finding.file, *(place[0] for place in finding.also))))
    ]
