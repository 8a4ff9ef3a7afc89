"""Checking what changed since a book was last found sound, without reading the rest.

After a check that found nothing, the cache keeps for each file how it lay on the disk, a digest of its
content, and which names stand in it. The next check looks at the disk, reads what changed and what that
concerns (as a review would, ``scope``), and asks the rules about that alone. A file whose time is too close
to the note's to tell a later change from it is compared by content.
"""

from __future__ import annotations

import json
import os
import re
import stat
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from ..book import Book
from ..rules.run import check_folder, only_below
from ..source.cache import CACHE, digest
from ..source.crew import Crew, cores
from ..source.findings import Finding
from ..source.guards import Unreadable
from ..source.limits import FILE_BYTES, PICTURE_BYTES
from ..source.loader import Loaded, load
from ..source.remembered import Remembered, data_of, key_of
from ..source.tree import DEEPEST, Entry, FolderTree, Tree
from .run import all_findings
from .scope import WHOLE, Part, Scope, names_in, narrow, without_unread
from .sides import FileChange, Sides

PAYS = 200  # recipes; a smaller book is checked whole as fast
_CLOSE = 2_000_000_000  # nanoseconds in which a file may change without its time telling
_MOST = 40  # changed files; more are checked with the whole book
_AT_ONCE = 64  # files of one answer of a crew
_Stat = list[int]  # size, times of content and of the file's entry, and number, as the system tells them


class _Odd(Exception):
    """Something lies there that only a check of the whole book can say anything about."""


@dataclass
class Sound:
    """A book in which nothing was found: its folders with what lay in them, its files, the names in them."""

    at: int  # nanoseconds since 1970
    folders: dict[str, tuple[_Stat, list[str], list[str]]]  # files and folders
    files: dict[str, tuple[_Stat, str]]  # and the digest of their content
    names: dict[str, str]

    @classmethod
    def read(cls, folder: Path) -> Sound | None:
        """What was noted of a book; None when nothing was."""
        kept, names = (CACHE.get(kind, _key(folder)) for kind in ("sound", "names"))
        if kept is None or names is None:
            return None
        try:
            found = json.loads(kept)
            return cls(found["at"], found["folders"], found["files"], json.loads(names))
        except (ValueError, KeyError, TypeError):
            return None

    def write(self, folder: Path) -> None:
        """Notes it."""
        said = {"at": self.at, "folders": self.folders, "files": self.files}
        CACHE.put("sound", _key(folder), json.dumps(said, separators=(",", ":")).encode())
        CACHE.put("names", _key(folder), json.dumps(self.names, separators=(",", ":")).encode())
        CACHE.flush()


def check(
    folder: Path, asked_for: Sequence[PurePosixPath] = (), whole: bool = False
) -> tuple[Sequence[Finding], Sequence[str]]:
    """The findings about what was asked for, and, where the book was checked whole, all its files."""
    started, large = time.time_ns(), _is_large(folder)
    if large and not whole and (since := check_since(folder, asked_for)) is not None:
        return since, ()
    loaded, found = check_folder(folder)
    if large and not found:
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
        folders, seen = _walk(folder, None)
    except (OSError, _Odd):
        return None
    if seen.keys() != set(loaded.files) or any(max(now[1:3]) >= started for now in seen.values()):
        return None
    paths = list(seen)
    turns = [paths[at : at + _AT_ONCE] for at in range(0, len(paths), _AT_ONCE)]
    crew = Crew((tree, known), cores())
    try:
        said = [one for turn in crew.each(_said, turns) for one in turn]
    except Unreadable:
        return None
    finally:
        crew.close()
    files = {path: (now, key) for (path, now), (key, _) in zip(seen.items(), said, strict=True)}
    names = {path: text for path, (_, text) in zip(paths, said, strict=True) if path.endswith(".yml")}
    sound = Sound(at, folders, files, names)
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


def check_since(
    folder: Path, asked_for: Sequence[PurePosixPath] = (), sound: Sound | None = None
) -> tuple[Finding, ...] | None:
    """The findings about what was asked for, everything if nothing was; None when the whole must be checked.

    A finding about everything is told only when there is none at all.
    """
    sound = sound or Sound.read(folder)
    if sound is None:
        return None
    now = look(folder, sound)
    if now is None:
        return None
    if not now.changed:
        return ()
    if len(now.changed) > _MOST:
        return None
    told = findings(FolderTree(folder), sound, now, _as_cached(sound))
    if told is None or (told[0] and not asked_for):
        return None
    return tuple(only_below(told[0], asked_for))


@dataclass(frozen=True)
class Now:
    """How a book lies on the disk; ``changed``: digests of what is not as it was, "" of what is gone."""

    at: int
    folders: dict[str, tuple[_Stat, list[str], list[str]]]
    files: dict[str, _Stat]
    changed: dict[str, str]


def look(folder: Path, sound: Sound) -> Now | None:
    """What has changed on the disk; None when that cannot be told from the files alone."""
    at = time.time_ns()
    try:
        folders, files = _walk(folder, sound)
        return Now(at, folders, files, _changed(folder, sound, files))
    except (OSError, Unreadable, _Odd):
        return None


def findings(
    tree: Tree, sound: Sound, now: Now, old: Callable[[str], bytes | None]
) -> tuple[tuple[Finding, ...], Scope] | None:
    """The findings about what has changed and what that concerns; None when that may be everything.

    ``old`` gives what a changed file said when the book was sound, if that is known.
    """
    changed = now.changed
    if _concerns_translations(changed, (*sound.files, *now.files)):
        return None  # a text and its translations are weighed against each other
    before = _Side(tree, {path: at for path, (_, at) in sound.files.items()}, changed, old)
    is_ = {path: changed.get(path) or sound.files[path][1] for path in now.files}
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
    return lambda path: data_of(path, bytes.fromhex(sound.files[path][1]))


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


def _key(folder: Path) -> bytes:
    return digest(os.fsencode(os.path.abspath(folder)))


def _stat(found: os.stat_result) -> _Stat:
    return [found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino]


def _walk(
    folder: Path, sound: Sound | None
) -> tuple[dict[str, tuple[_Stat, list[str], list[str]]], dict[str, _Stat]]:
    """All folders and files below a book's folder; a folder that has not changed is not listed again."""
    folders: dict[str, tuple[_Stat, list[str], list[str]]] = {}
    files: dict[str, _Stat] = {}
    waiting = [("", 0)]
    while waiting:
        path, depth = waiting.pop()
        if depth > DEEPEST:
            raise _Odd
        here = os.path.join(folder, path)
        found = os.lstat(here)
        if not stat.S_ISDIR(found.st_mode) and path:
            raise _Odd
        now = _stat(found)
        was = sound.folders.get(path) if sound else None
        if sound and was and was[0] == now and now[1] < sound.at - _CLOSE:
            own, below = was[1], was[2]
        else:
            own, below = [], []
            with os.scandir(here) as inside:
                for item in inside:
                    if item.is_symlink():
                        raise _Odd
                    (below if item.is_dir(follow_symlinks=False) else own).append(item.name)
        folders[path] = (now, own, below)
        prefix = f"{path}/" if path else ""
        for name in own:
            status = os.lstat(f"{here}/{name}")
            if not stat.S_ISREG(status.st_mode):
                raise _Odd
            files[prefix + name] = _stat(status)
        waiting += ((prefix + name, depth + 1) for name in below)
    if sound and folders.keys() - sound.folders.keys() - _parents(files):
        raise _Odd  # an empty folder that was not there
    return folders, files


def _parents(files: Iterable[str]) -> set[str]:
    return {str(parent) for path in files for parent in PurePosixPath(path).parents}


def _changed(folder: Path, sound: Sound, seen: Mapping[str, _Stat]) -> dict[str, str]:
    """The files that are no longer what they were, with the digest of what they are now, "" when gone."""
    tree, out = FolderTree(folder), {path: "" for path in sound.files if path not in seen}
    for path, now in seen.items():
        was = sound.files.get(path)
        if was is not None and was[0] == now and now[1] < sound.at - _CLOSE:
            continue
        raw = tree.read(path, FILE_BYTES if path.endswith(".yml") else PICTURE_BYTES)
        key = key_of(path, raw).hex()
        if was is None or was[1] != key:
            out[path] = key
    return out
