"""Checking what changed since a book was last found sound, without reading the rest.

After a check that found nothing something is noted (``noted``). The next check looks at the disk, reads what
changed and what that concerns (as a review would, ``scope``), and asks the rules about that alone.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from pathlib import Path, PurePosixPath

from ..book import Book
from ..rules.run import check_folder, only_below
from ..source.cache import key_of
from ..source.crew import Crew, cores
from ..source.findings import Finding
from ..source.guards import Unreadable
from ..source.limits import FILE_BYTES, PICTURE_BYTES
from ..source.loader import Loaded, load
from ..source.remembered import Remembered, data_of
from ..source.tree import Entry, FolderTree, Tree
from .asked import all_findings
from .noted import Disk, Now, Odd, Sound, looked
from .scope import WHOLE, Part, Scope, names_in, narrow, without_unread
from .sides import FileChange, Sides

PAYS = 200  # recipes; a smaller book is checked whole as fast
_MOST = 40  # changed files; more are checked with the whole book
_AT_ONCE = 64  # files of one answer of a crew


def check(
    folder: Path, asked_for: Sequence[PurePosixPath] = (), now: Now | None = None
) -> tuple[Sequence[Finding], Sequence[str]]:
    """The findings about what was asked for, and, where the book was checked whole, all its files.

    ``now``: how it lies on the disk, if something was noted of it; otherwise it is checked whole.
    """
    started = time.time_ns()
    if now and (told := _told(folder, asked_for, now)) is not None:
        return told, ()
    loaded, found = check_folder(folder)
    if not found and _is_large(folder):
        note_sound(folder, loaded, started)
    return only_below(found, asked_for), loaded.files


def _is_large(folder: Path) -> bool:
    try:
        with os.scandir(folder / "changes") as inside:
            return sum(1 for _ in inside) >= PAYS
    except OSError:
        return False


def note_sound(folder: Path, loaded: Loaded, started: int) -> Sound | None:
    """Notes that a check that ``started`` then has found nothing; None when the book has changed since."""
    tree, at, known = FolderTree(folder), time.time_ns(), names_of(loaded)
    try:
        disk = Disk.walk(folder)
    except (OSError, Odd):
        return None
    paths, stats = disk.files, disk.by_path()
    if set(paths) != set(loaded.files) or any(max(now[1:3]) >= started for now in stats.values()):
        return None
    turns = [paths[at : at + _AT_ONCE] for at in range(0, len(paths), _AT_ONCE)]
    crew = Crew((tree, known), cores())
    try:
        said = [one for turn in crew.each(_said, turns) for one in turn]
    except Unreadable:
        return None
    finally:
        crew.close()
    digests = {path: key for path, (key, _) in zip(paths, said, strict=True)}
    names = {path: text for path, (_, text) in zip(paths, said, strict=True) if path.endswith(".yml")}
    sound = Sound(at, disk, folder)
    sound.digests, sound.names = digests, names
    sound.write(folder)
    return sound


def _said(state: tuple[Tree, frozenset[bytes]], paths: Sequence[str]) -> list[tuple[str, str]]:
    """Of each file a digest of its content and the names in it."""
    tree, known = state
    out = []
    for path in paths:
        ours = path.endswith(".yml")
        raw = tree.read(path, FILE_BYTES if ours else PICTURE_BYTES)
        out.append((key_of(path, raw).hex(), names_in(raw, known).decode() if ours else ""))
    return out


def names_of(loaded: Loaded) -> frozenset[bytes]:
    """Every name that a file of another kind may name."""
    equipment = (item.id for line in loaded.lines.values() for item in line.equipment)
    return frozenset(name.encode() for name in (*loaded.modules, *loaded.recipes, *equipment))


def check_since(folder: Path, asked_for: Sequence[PurePosixPath] = ()) -> tuple[Finding, ...] | None:
    """The findings about what was asked for, everything if nothing was; None when the whole must be checked.

    A finding about everything is told only when there is none at all.
    """
    now = looked(folder)
    return _told(folder, asked_for, now) if now else None


def _told(folder: Path, asked_for: Sequence[PurePosixPath], now: Now) -> tuple[Finding, ...] | None:
    if not now.changed:
        return ()
    if len(now.changed) > _MOST:
        return None
    told = findings(FolderTree(folder), now, _as_cached(now.sound))
    if told is None or (told[0] and not asked_for):
        return None
    return tuple(only_below(told[0], asked_for))


def findings(
    tree: Tree, now: Now, old: Callable[[str], bytes | None]
) -> tuple[tuple[Finding, ...], Scope] | None:
    """The findings about what has changed and what that concerns; None when that may be everything.

    ``old`` gives what a changed file said when the book was sound, if that is known.
    """
    sound, changed = now.sound, now.changed
    if _concerns_translations(changed, (*sound.digests, *now.disk.files)):
        return None  # a text and its translations are weighed against each other
    before = _Side(tree, sound.digests, changed, old)
    is_ = {path: changed.get(path) or sound.digests[path] for path in now.disk.files}
    after = _Side(tree, is_, {}, old)
    within = tuple(FileChange(path, "changed") for path in sorted(changed))
    kept = Remembered()
    names = {path: said.encode() for path, said in sound.names.items() if path not in changed}
    try:
        scope = narrow(Sides(before, after, "", "", "", within, (), (), {}), kept, names)
    except Unreadable:
        return None
    if scope is WHOLE or scope.paths is None:
        return None
    loaded = load(Part(after, scope.paths), kept, scope.wanted)
    if loaded.club is None:
        return None
    return all_findings(Book(without_unread(loaded, after.files, scope)), scope), scope


def _concerns_translations(changed: Iterable[str], files: Iterable[str]) -> bool:
    """Whether a translation has changed, or something that has one."""
    translated = {path.split("/", 2)[-1] for path in files if path.startswith("languages/")}
    return any(
        path.startswith("languages/") or re.sub(r"^(changes/[^/]+)/.*", r"\1.yml", path) in translated
        for path in changed
    )


def _as_cached(sound: Sound) -> Callable[[str], bytes | None]:
    return lambda path: data_of(path, bytes.fromhex(sound.digests[path]))


class _Side:
    """A side of a review: the folder as it is, or as it was when it was sound."""

    def __init__(
        self,
        tree: Tree,
        files: Mapping[str, str],
        changed: Mapping[str, str],
        old: Callable[[str], bytes | None],
    ) -> None:
        self.tree, self.files, self.changed, self.old = tree, files, changed, old

    def entries(self) -> Iterator[Entry]:
        """Every file; see ``Tree``."""
        return (Entry(path, "file") for path in sorted(self.files))

    def some(self, paths: Set[str]) -> Iterator[Entry]:
        """Of the entries, those with these paths."""
        return (Entry(path, "file") for path in sorted(paths & self.files.keys()))

    def prefetch(self, paths: Iterable[str]) -> None:
        """Nothing is gained by reading many at once."""

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """The bytes; of a file that has changed, what is known of it as it was."""
        if path not in self.changed:
            return self.tree.read(path, limit)
        data = self.old(path) if path in self.files else None
        if data is None:
            raise Unreadable("file-unreadable", "what it said is no longer known", "check the whole book")
        return data
