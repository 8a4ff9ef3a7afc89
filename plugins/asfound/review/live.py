"""A book that is kept up to date with its folder, for a preview: what changed is read, the rest is kept.

Only a book in which nothing was found is shown. While there are findings the last sound one stays; at first
it is the book without the recipes that have any.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from pathlib import Path

from ..book import Book
from ..rules.run import check_loaded
from ..source.findings import Finding
from ..source.limits import FILE_BYTES
from ..source.loader import Kept, Parsed, load
from ..source.names import Named
from ..source.remembered import Remembered
from ..source.tree import Entry, FolderTree, Tree
from .noted import Now, Sound, look
from .scope import names_in
from .since import findings, names_of, note_sound


class LiveBook:
    """The book of a folder; ``book`` is the last sound one. While there was none yet it lacks the recipes in
    which something was found; it is None where that leaves no sound one either.

    ``found`` are the findings of the folder as it was at the last look.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book: Book | None = None
        self.found: tuple[Finding, ...] = ()
        self.changed: frozenset[str] | None = None  # recipes, between the last two sound books; None: any
        self._memory = _Memory()
        self._sound: Sound | None = None
        self._whole()

    def look(self) -> bool:
        """Looks at the folder; whether the book or its findings are others than before."""
        before = self.book, self.found
        now = look(self.folder, self._sound) if self._sound else None
        if now is None or self._sound is None or self.book is None:
            self._whole()
        elif now.changed:
            self._part(now, self.book)
        else:
            self.found = ()  # as it was
        return (self.book, self.found) != before

    def _whole(self) -> None:
        started = time.time_ns()
        loaded = load(FolderTree(self.folder), self._memory)
        book = Book(loaded) if loaded.club is not None else None
        self.found = check_loaded(book) if book else loaded.findings
        if book and not self.found:
            self._memory.accept()
            self.book, self.changed = book, None
            self._sound = note_sound(self.folder, loaded, started)
        elif self.book is None:
            self.book = self._rest()

    def _rest(self) -> Book | None:
        """The book without the recipes in which something was found; None where that leaves no sound one."""
        found, unfinished = self.found, set[str | None]()
        while found:
            more = {_recipe_of(finding.file) for finding in found}
            if None in more or more <= unfinished:
                return None
            unfinished |= more
            loaded = load(FolderTree(self.folder), self._memory, _outside(unfinished))
            if loaded.club is None:
                return None
            book = Book(loaded)
            found = check_loaded(book)
        return book

    def _part(self, now: Now, shown: Book) -> None:
        sound, tree = now.sound, _Tree(self.folder, self._memory, now)
        told = findings(tree, now, self._memory.raw)
        loaded = load(tree, self._memory)
        if told is None or told[0] or loaded.findings or loaded.club is None:
            self._whole()  # which also says what is wrong in all other files
            return
        book = Book(loaded)
        book.take_over(shown, told[1].recipes)
        self._memory.accept()
        self.book, self.found, self.changed = book, (), told[1].recipes
        known = names_of(loaded)
        for path in now.changed:
            raw = self._memory.raw(path)
            sound.names.pop(path, None)
            if raw is not None:
                sound.names[path] = names_in(raw, known).decode()
        was = sound.digests | dict(now.changed)
        sound.at, sound.disk = now.at, now.disk
        sound.digests = {path: was[path] for path in now.disk.files}


def _recipe_of(path: str) -> str | None:
    """The recipe that a file belongs to, also one that translates it; None for any other file."""
    where = path.split("/")[2:] if path.startswith("languages/") else path.split("/")
    return where[1].removesuffix(".yml") if where[:1] == ["changes"] and len(where) > 1 else None


def _outside(recipes: Set[str | None]) -> Callable[[str], bool]:
    """Whether a file belongs to none of the recipes."""
    return lambda path: _recipe_of(path) not in recipes


class _Memory(Kept):
    """What the files of the last sound book said, and what the last two loadings read."""

    def __init__(self) -> None:
        super().__init__()
        self._sound: dict[str, tuple[bytes, Parsed]] = {}
        self._last: dict[str, tuple[bytes, Parsed]] = {}
        self._now: dict[str, tuple[bytes, Parsed]] = {}
        self._disk = Remembered()

    def prepare(self, tree: Tree, files: Sequence[Named]) -> None:
        """Begins another loading."""
        self._last, self._now = self._now, {}

    def parsed(self, file: Named, raw: bytes) -> Parsed:
        """The file's data, positions and findings."""
        for known in (self._sound, self._last):
            if file.path in known and known[file.path][0] == raw:
                found = known[file.path][1]
                break
        else:
            found = self._disk.parsed(file, raw)
        self._now[file.path] = (raw, found)
        return found

    def finished(self) -> None:
        """Writes down what was read for the first time."""
        self._disk.finished()

    def knows_picture(self, raw: bytes, name: str) -> bool:
        """Whether the picture was found to be one before."""
        return self._disk.knows_picture(raw, name)

    def saw_picture(self, raw: bytes, name: str) -> None:
        """Notes that."""
        self._disk.saw_picture(raw, name)

    def raw(self, path: str) -> bytes | None:
        """What a file of the last sound book said."""
        return self._sound[path][0] if path in self._sound else None

    def accept(self) -> None:
        """What the last loading read is sound."""
        self._sound = self._now


class _Tree(FolderTree):
    """A folder of which only what has changed is read again."""

    def __init__(self, folder: Path, memory: _Memory, now: Now) -> None:
        super().__init__(folder)
        self._memory, self._now = memory, now

    def entries(self) -> Iterator[Entry]:
        """Everything in the folder as it was found, in the order of a ``FolderTree``."""
        yield from self._in("", self._now.disk.inside(self._now.disk.folders))

    def _in(self, path: str, inside: Mapping[str, tuple[set[str], set[str]]]) -> Iterator[Entry]:
        files, folders = inside[path]
        prefix = f"{path}/" if path else ""
        for name in sorted(files | folders):
            if name not in folders:
                yield Entry(prefix + name, "file")
            else:
                yield Entry(prefix + name, "folder")
                yield from self._in(prefix + name, inside)

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes; see ``Tree``."""
        known = None if path in self._now.changed else self._memory.raw(path)
        return super().read(path, limit) if known is None else known
