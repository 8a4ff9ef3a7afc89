"""Checking a book in which one file is another, quickly: what cannot have changed is not worked out again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from asfound.book import Book
from asfound.rules import Problem, Rule
from asfound.rules.run import run
from asfound.source.findings import Finding, arrange
from asfound.source.guards import Unreadable
from asfound.source.limits import FILE_BYTES
from asfound.source.loader import FolderTree, Kept, load
from asfound.source.names import Named, sort_out
from asfound.source.tree import Entry


@dataclass(frozen=True)
class MemoryTree:
    """A tree whose files are in memory."""

    files: Mapping[str, bytes]
    found: tuple[Entry, ...]

    @classmethod
    def of(cls, folder: Path) -> MemoryTree:
        """All that lies in a folder."""
        tree = FolderTree(folder)
        found = tuple(tree.entries())
        return cls({e.path: tree.read(e.path, 1 << 24) for e in found if e.kind == "file"}, found)

    def entries(self) -> Iterator[Entry]:
        """Everything in the tree."""
        return iter(self.found)

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes."""
        if path not in self.files:
            raise Unreadable("file-unreadable", "there is no such file", "add it")
        return self.files[path]


@dataclass
class _Kept(Kept):
    """What was read, and the pictures that were decoded: no mutation changes one."""

    pictures: frozenset[bytes] = frozenset()

    def knows_picture(self, raw: bytes, name: str) -> bool:
        """Whether the picture was decoded before."""
        return raw in self.pictures


def _caches(book: Book) -> tuple[dict[str, Any], ...]:
    """What a book remembers of each recipe."""
    return (book._forms, book._edits, book._frames, book._codes, book._evidence)


class Bench:
    """A sound book and, for each other content of one of its files, what the whole check would say first."""

    def __init__(self, folder: Path) -> None:
        self.tree = MemoryTree.of(folder)
        self.named: dict[str, Named] = {file.path: file for file in sort_out(self.tree.found)[0]}
        self.kept = _Kept()
        self.loaded = load(self.tree, self.kept)
        decoded = (self.tree.files[path] for path, file in self.named.items() if file.kind == "picture")
        self.kept.pictures = frozenset(decoded)
        self.book = Book(self.loaded)
        self.loaded = replace(self.loaded, lines=self.book.world)
        self.problems: dict[tuple[Any, ...], tuple[Problem, ...]] = {}
        self.said: dict[str, bytes] = {}
        for path, file in self.named.items():
            key = f"changes/{file.recipe}" if file.recipe else path
            if file.kind != "picture":
                self.said[key] = self.said.get(key, b"") + self.tree.files[path]
        self.findings = self._check(self.book, None)

    def check(self, path: str, raw: bytes, whole: bool = False) -> tuple[Finding, ...]:
        """All findings, in the order in which the check prints them, when the file holds ``raw``.

        ``whole``: work everything out again.
        """
        tree = MemoryTree({**self.tree.files, path: raw}, self.tree.found)
        if whole:
            loaded = load(tree)
            return arrange(loaded.findings) if loaded.club is None else self._check(Book(loaded), None)
        kept = replace(self.kept, _by_path=dict(self.kept._by_path))
        loaded = load(tree, kept)
        loaded._positions.update({name: parsed.positions for name, (_, parsed) in kept._by_path.items()})
        file = self.named[path]
        changed = self._touched(file) | {path}
        if file.kind != "line":
            loaded = replace(loaded, lines=self.book.world)
        if loaded.club is None:
            return arrange(loaded.findings)
        book = Book(loaded)
        for own, known in zip(_caches(book), _caches(self.book), strict=True):
            own.update({key: value for key, value in known.items() if key not in changed})
        book.memo.update({key: value for key, value in self.book.memo.items() if key[-1] not in changed})
        return self._check(book, changed)

    def _touched(self, file: Named) -> frozenset[str]:
        """All lines, modules and recipes by id, and other files, of which a finding could depend on it."""
        everything = frozenset((*self.book.lines, *self.book.modules, *self.book.recipes))
        if file.kind == "club":
            return everything | frozenset(self.named)  # whether codes may be written in any file
        if file.kind == "line":
            return everything
        if file.kind in ("report", "signature", "codes"):
            return frozenset((file.recipe,))
        name = file.recipe or file.name
        related = {name}
        for path, said in self.said.items():
            if name.encode() in said:
                other = path.rpartition("/")[2].removesuffix(".yml")
                related.add(other)
        return frozenset(related)

    def _check(self, book: Book, changed: frozenset[str] | None) -> tuple[Finding, ...]:
        found = list(book.loaded.findings)
        if book.loaded.club is not None:
            found += run(book, ask=lambda rule, subject: self._ask(book, changed, rule, subject))
        return arrange(found)

    def _ask(
        self, book: Book, changed: frozenset[str] | None, rule: Rule, subject: Any
    ) -> tuple[Problem, ...]:
        """What the rule says, from memory where the file cannot have changed it."""
        name = subject if isinstance(subject, str) else getattr(subject, "id", None)
        key = rule.id, rule.check, name
        if name is not None and changed is not None and name not in changed and key in self.problems:
            return self.problems[key]
        said = rule.problems(book, subject)
        if book is self.book:
            self.problems[key] = said
        return said
