"""The two sides of a review: a book's files in a commit or on disk, and what differs outside it."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Protocol

from ..source.findings import printable
from ..source.guards import Unreadable, too_large
from ..source.limits import FILE_BYTES, PICTURE_BYTES
from ..source.tree import DEEPEST, Entry, FolderTree, Tree
from .git import LINK, SUBMODULE, GitProblem, Item, Repository
from .review import Commit, How


@dataclass(frozen=True, slots=True)
class FileChange:
    """A file that differs between the sides; ``path`` from the top of the repository, or within the book."""

    path: str
    how: How


class Side(Tree, Protocol):
    """A tree that knows the id of each file's content."""

    files: Mapping[str, str]

    def some(self, paths: Set[str]) -> Iterator[Entry]:
        """Of the entries, those with these paths."""
        ...

    def prefetch(self, paths: Iterable[str]) -> None:
        """Reads many files at once."""
        ...


class GitTree:
    """The files of a book in a commit. Contents are shared through ``store``, by id."""

    def __init__(
        self, repository: Repository, items: Mapping[str, Item], store: dict[str, bytes | int | None]
    ) -> None:
        self._repository, self._items, self._store = repository, items, store
        self.files: Mapping[str, str] = {path: item.id for path, item in items.items()}
        self._entries = tuple(self._walk())

    def entries(self) -> Iterator[Entry]:
        """Everything in the tree, in order of path; links and submodules are named, never followed."""
        return iter(self._entries)

    def some(self, paths: Set[str]) -> Iterator[Entry]:
        """Of the entries, those with these paths."""
        return (entry for entry in self._entries if entry.path in paths)

    def _walk(self) -> Iterator[Entry]:
        folders: set[tuple[str, ...]] = set()
        for parts, path in sorted((tuple(path.split("/")), path) for path in self._items):
            for depth in range(1, min(len(parts), DEEPEST + 2)):
                if parts[:depth] not in folders:
                    folders.add(parts[:depth])
                    yield Entry("/".join(parts[:depth]), "folder")
            if len(parts) <= DEEPEST + 1:
                yield Entry(path, "link" if self._items[path].mode in (LINK, SUBMODULE) else "file")

    def prefetch(self, paths: Iterable[str]) -> None:
        """Reads many files at once."""
        ids = {self.files[p] for p in paths if p in self.files and self._items[p].mode != SUBMODULE}
        if new := {id for id in ids if id not in self._store}:
            self._store.update(self._repository.contents(sorted(new), PICTURE_BYTES))

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes; see ``Tree``."""
        item = self._items.get(path)
        if item is None or item.mode in (LINK, SUBMODULE):
            raise Unreadable("file-not-regular", "this is no ordinary file", "put an ordinary file here")
        if item.id not in self._store:
            self.prefetch((path,))
        held = self._store[item.id]
        if held is None:
            raise Unreadable("file-unreadable", "this clone does not hold the file's content", "fetch it")
        size = held if isinstance(held, int) else len(held)
        if isinstance(held, int) or size > limit:
            raise too_large(size, limit)
        return held


class WorkingTree(FolderTree):
    """The files of a book on disk, with the ids git would give them."""

    def __init__(self, folder: Path, base: Mapping[str, str]) -> None:
        super().__init__(folder)
        self._read: dict[str, bytes] = {}
        self._all = tuple(super().entries())
        self.files: Mapping[str, str] = {
            entry.path: self._id(entry, base.get(entry.path, ""))
            for entry in self._all
            if entry.kind != "folder"
        }

    def entries(self) -> Iterator[Entry]:
        """Everything in the folder as it was found; see ``Tree``."""
        return iter(self._all)

    def some(self, paths: Set[str]) -> Iterator[Entry]:
        """Of the entries, those with these paths."""
        return (entry for entry in self._all if entry.path in paths)

    def prefetch(self, paths: Iterable[str]) -> None:
        """Nothing to do: every file has been read to compute its id."""

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes as they were found; see ``Tree``."""
        held = self._read.get(path)
        if held is None:
            return super().read(path, limit)
        if len(held) > limit:
            raise too_large(len(held), limit)
        return held

    def _id(self, entry: Entry, base: str) -> str:
        if entry.kind == "link":
            return f"link {blob_id(os.fsencode(os.readlink(self.folder / entry.path)), base)}"
        try:
            limit = FILE_BYTES if entry.path.endswith(".yml") else PICTURE_BYTES
            raw = self._read[entry.path] = super().read(entry.path, limit)
        except Unreadable as why:
            return why.message
        found = blob_id(raw, base)
        # A checkout may have put CR LF where the commit has LF.
        return base if found != base and blob_id(raw.replace(b"\r\n", b"\n"), base) == base else found


@dataclass(frozen=True, slots=True)
class Sides:
    """Both sides and what is known about them. ``within`` are files of the book, ``outside`` all others."""

    before: Side
    after: Side
    folder: str
    base: str  # in words
    head: str
    within: tuple[FileChange, ...]
    outside: tuple[FileChange, ...]
    notes: tuple[str, ...]
    signed: Mapping[str, Commit | None]  # signature files that are new: by which commit; None: not committed


def blob_id(raw: bytes, like: str) -> str:
    """The id git gives such a content, of the same kind (SHA-1 or SHA-256) as ``like``."""
    made = hashlib.sha256() if len(like) == 64 else hashlib.sha1(usedforsecurity=False)
    made.update(b"blob %d\0" % len(raw))
    made.update(raw)
    return made.hexdigest()


def sides(repository: Repository, base: str, head: str | None, book: str | None) -> Sides:
    """Both sides, from where the head left the base. GitProblem, in one line, when that cannot be done."""
    if head is None and repository.bare:
        raise GitProblem("this is a bare repository, without a working tree; name a second commit to compare")
    base_id, head_id = repository.commit(base), repository.commit(head or "HEAD")
    fork = repository.fork(base_id, head_id)
    start = fork or base_id
    old = repository.items(start)
    new = repository.items(head_id) if head is not None else repository.staged()
    known = {*old, *new}
    if head is None and not any(path.endswith("/club.yml") for path in known):
        known.update(repository.untracked())  # a book that no commit has yet
    folder = _book(repository, book, known, head is None)
    store: dict[str, bytes | int | None] = {}
    before = GitTree(repository, _below(old, folder), store)
    after: Side
    if head is None:
        after = WorkingTree(repository.top / folder, before.files)
        new |= {path: Item("100644", "") for path in repository.untracked(folder)}
        new = _on_disk(repository.top, _not_below(old, folder), _not_below(new, folder))
    else:
        after = GitTree(repository, _below(new, folder), store)
    within = _differences(before.files, after.files)
    prefix = f"{folder}/"
    signed = [c.path for c in within if c.how != "removed" and c.path.split("/")[-2:-1] == ["vetted"]]
    by = repository.added_by(start, head_id, [prefix + path for path in signed]) if fork else {}
    return Sides(
        before=before,
        after=after,
        folder=folder,
        base=f"{printable(base)}, {start[:10]}" + ", where the other side left it" * (start != base_id),
        head="the working tree" if head is None else f"{printable(head)}, {head_id[:10]}",
        within=within,
        outside=_differences(_as_text(_not_below(old, folder)), _as_text(_not_below(new, folder))),
        notes=() if fork else (_NO_FORK.format(base=printable(base), head=printable(head or "HEAD")),),
        signed={path: by.get(prefix + path) for path in signed} if fork else {},
    )


_NO_FORK = (
    "This clone does not hold the history that tells where {head} left {base}. So {base} as it is now is"
    " compared, what it gained since looks undone, and git cannot tell here who added a signature."
)


def _book(repository: Repository, asked: str | None, paths: Iterable[str], on_disk: bool) -> str:
    """The book's folder, from the top of the repository."""
    found = sorted({path.removesuffix("/club.yml") for path in paths if path.endswith("/club.yml")})
    wanted = PurePosixPath(asked if asked is not None else "recipes").as_posix()
    if wanted not in found:
        if asked is not None or len(found) != 1:
            there = f"; there is one in {', '.join(map(printable, found[:5]))}" if found else ""
            raise GitProblem(
                f"no book lies in {printable(wanted)} of the repository{there}; name its folder, the one with"
                " club.yml, with --book"
            )
        wanted = found[0]
    if on_disk:
        for part in (PurePosixPath(wanted), *PurePosixPath(wanted).parents):
            if part.parts and (repository.top / part).is_symlink():
                raise GitProblem(f"{printable(str(part))} is a link; a book is read from real folders only")
    return wanted


def _on_disk(top: Path, old: Mapping[str, Item], new: Mapping[str, Item]) -> dict[str, Item]:
    """The files named on either side as they are on disk."""
    found = {path: _item(top / path, old.get(path), new.get(path)) for path in {*old, *new}}
    return {path: item for path, item in found.items() if item is not None}


def _as_text(items: Mapping[str, Item]) -> dict[str, str]:
    return {path: f"{item.mode} {item.id}" for path, item in items.items()}


def _item(file: Path, was: Item | None, staged: Item | None) -> Item | None:
    like = was.id if was else ""
    try:
        if file.is_symlink():
            return Item(LINK, blob_id(os.fsencode(os.readlink(file)), like))
        if file.is_dir():
            return staged if staged and staged.mode == SUBMODULE else None
        if not file.is_file():
            return None
        raw = file.read_bytes()
    except OSError:
        return Item("unreadable", "")
    found = blob_id(raw, like)
    if was and found != was.id and blob_id(raw.replace(b"\r\n", b"\n"), like) == was.id:
        found = was.id
    # Whether a file on disk can be executed is not told: not every system can say.
    mode = was.mode if was and was.mode not in (LINK, SUBMODULE) else "100644"
    return Item(mode, found)


def _below(items: Mapping[str, Item], folder: str) -> dict[str, Item]:
    prefix = f"{folder}/"
    return {path.removeprefix(prefix): item for path, item in items.items() if path.startswith(prefix)}


def _not_below(items: Mapping[str, Item], folder: str) -> dict[str, Item]:
    return {path: item for path, item in items.items() if not path.startswith(f"{folder}/")}


def _differences(old: Mapping[str, str], new: Mapping[str, str]) -> tuple[FileChange, ...]:
    out = []
    for path in sorted({*old, *new}):
        was, is_ = old.get(path), new.get(path)
        if was != is_:
            out.append(FileChange(path, "added" if was is None else "removed" if is_ is None else "changed"))
    return tuple(out)
