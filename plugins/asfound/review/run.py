"""A review from a repository: the two sides, as little of them read as will do, compared and checked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from ..book import Book
from ..car.world import World
from ..source.findings import Finding, arrange, printable
from ..source.loader import Kept, load
from .asked import all_findings
from .both import renamed_recipes
from .compare import compare
from .git import GitProblem, Repository
from .review import FindingChange, OwnersFile, Review
from .scope import WHOLE, Scope, narrow, without_unread
from .sides import FileChange, Sides, sides


def review(folder: Path, base: str, head: str | None = None, book: str | None = None) -> Review:
    """What changed from ``base`` to ``head`` (None: the working tree) in the book that a repository holds.

    ``book`` is its folder from the top of the repository. GitProblem, in one line, when that cannot be done.
    """
    return review_sides(sides(Repository(folder), base, head, book))


def review_sides(found: Sides, whole: bool = False) -> Review:
    """As ``review``, of sides at hand; ``whole`` reads both books from end to end, to the same effect."""
    kept = Kept()
    scope = WHOLE if whole else narrow(found, kept)
    if scope.paths is None:
        for side in (found.before, found.after):
            side.prefetch(side.files)
    before, after = (
        without_unread(load(side, kept, scope.wanted), side.files, scope)
        for side in (found.before, found.after)
    )
    club = before.club or after.club
    if club is None:
        file = f"{printable(found.folder)}/club.yml"
        raise GitProblem(f"{file} cannot be read on either side; asfound check says why")
    site = before.club.site if before.club else None
    notes = list(found.notes)
    if before.club is None or after.club is None:
        notes.append("club.yml cannot be read on one side; what it says on the other is taken for both.")
        before, after = (replace(side, club=side.club or club) for side in (before, after))
    # Lines that are equal on both sides become one world, which remembers what it was asked.
    world = World.of(before.lines)
    if before.lines == after.lines:
        after = replace(after, lines=world)
    sides_read = Book(replace(before, lines=world)), Book(after)
    compared = (_filled(*sides_read), _filled(*reversed(sides_read)))
    changes = compare(*compared, {change.path: change.how for change in found.within}, found.signed)
    return Review(
        base=found.base,
        head=found.head,
        folder=printable(found.folder),
        notes=tuple(notes),
        owners=tuple(_owners(found)),
        changes=changes,
        findings=_findings(*sides_read, scope, renamed_recipes(*compared)),
        site=site,
    )


def _filled(book: Book, other: Book) -> Book:
    """The book, with what the other side says where a vehicle line or module is there but cannot be read.

    Without that, one broken file would make every recipe look changed.
    """
    lines = {id: x for id, x in other.lines.items() if id not in book.lines and book.broken("line", id)}
    modules = {
        id: x for id, x in other.modules.items() if id not in book.modules and book.broken("module", id)
    }
    if not lines and not modules:
        return book
    return Book(replace(book.loaded, lines={**book.lines, **lines}, modules={**book.modules, **modules}))


_Key = tuple[str, str, str]  # file, id, message


def _findings(
    before: Book, after: Book, scope: Scope, renamed: Mapping[str, str]
) -> tuple[FindingChange, ...]:
    """Findings one side has and the other has not; on which line they stand makes no difference.

    What only follows from another of them is left out.
    """

    def old_key(found: Finding) -> _Key:
        folder, *rest = found.file.split("/")
        if folder == "changes" and rest:
            return "/".join((folder, renamed.get(rest[0], rest[0]), *rest[1:])), found.id, found.message
        return new_key(found)

    def new_key(found: Finding) -> _Key:
        return found.file, found.id, found.message

    old, new = (arrange(all_findings(book, scope)) for book in (before, after))
    there, here = Counter(map(old_key, old)), Counter(map(new_key, new))
    out = [FindingChange("new", _bare(found)) for found in _beyond(new, there, new_key)]
    # What can no longer be read is not asked about any more: that repairs nothing.
    lost = {key.partition("#")[0] for key in after.loaded.broken.values()}
    if not any(
        kind in ("line", "module") for kind, _ in after.loaded.broken.keys() - before.loaded.broken.keys()
    ):
        fixed = _beyond(old, here, old_key)
        out += [FindingChange("fixed", _bare(found)) for found in fixed if old_key(found)[0] not in lost]
    caused = {(one.state, one.finding.key) for one in out}
    return tuple(one for one in out if (one.state, one.finding.because) not in caused)


def _bare(found: Finding) -> Finding:
    """Without what may hang on files that were not read; asfound check tells it."""
    return replace(found, repair="", also=())


def _beyond(
    found: Iterable[Finding], known: Counter[_Key], key: Callable[[Finding], _Key]
) -> Iterator[Finding]:
    left = Counter(known)
    for one in found:
        if left[key(one)]:
            left[key(one)] -= 1
        else:
            yield one


def _owners(found: Sides) -> Iterable[OwnersFile]:
    club = [c for c in found.within if c.path == "club.yml"]
    for one in (*(FileChange(f"{found.folder}/{c.path}", c.how) for c in club), *found.outside):
        yield OwnersFile(printable(one.path), one.how, what_it_is(one.path, found.folder))


_FOLDERS = {
    "schema": "what files may say",
    "plugins": "the program that checks and builds",
    "site_src": "a hand-written page of the site",
    "docs": "a hand-written page of the site",
    "overrides": "a template of the site's pages",
    "templates": "a template of the site's pages",
    "theme": "a template of the site's pages",
}
_FILES = {"mkdocs.yml": "how the site is built", "mkdocs.yaml": "how the site is built"}


def what_it_is(path: str, folder: str) -> str:
    """What a file that only owners may change is to the club."""
    if path == f"{folder}/club.yml":
        return "who may vet, what the club demands and refuses"
    top, _, rest = path.partition("/")
    if path in _FILES:
        return _FILES[path]
    if top.startswith(".") or "ci" in top.casefold().split("-") or top == "Jenkinsfile":
        return (
            "what runs by itself, or how git behaves"
            if top.startswith(".git") or not rest
            else "what runs by itself"
        )
    return _FOLDERS.get(top, "outside the book") if rest else "outside the book"
