"""What is noted of a book in which nothing was found, and what has changed on the disk since.

Of each file and folder it is noted how it lay there, of each file a digest of its content, and which names
stand in it. A file whose time is too close to the note's to tell a later change from it is compared by
content. Few modules are needed for this, so that a check of a book that has not changed answers at once.
"""

from __future__ import annotations

import json
import os
import stat
import sys
import time
from array import array
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path, PurePosixPath

from ..source.cache import CACHE, digest, key_of
from ..source.guards import Unreadable
from ..source.limits import FILE_BYTES, PICTURE_BYTES
from ..source.tree import DEEPEST, FolderTree

_CLOSE = 2_000_000_000  # nanoseconds in which a file may change without its time telling
_EACH = 5  # numbers of one file or folder: size, times of content and of its entry, number, kind
_GONE = array("q", [0] * _EACH)
_KEY = 20  # bytes of a digest
_SIGNED = (1 << 63) - 1  # what of an unsigned number fits into a signed one
_MANY = 20  # folders that differ; of more all are walked through


class Odd(Exception):
    """Something lies there that only a check of the whole book can say anything about."""


@dataclass
class Disk:
    """The folders ("" is the book's own, parents first) and files of a book, and how they lie on the disk.

    ``stats`` has ``_EACH`` numbers for each, folders before files; as an array, since a large book has some
    two hundred thousand, which as objects take longer to read, send and compare than the disk to tell.
    """

    folders: list[str]
    files: list[str]
    stats: array[int]

    @classmethod
    def walk(cls, folder: Path) -> Disk:
        """All there is below a folder. OSError, or Odd when that is more than folders and files."""
        folders, files, waiting = [], [], [("", 0)]
        while waiting:
            path, depth = waiting.pop()
            if depth > DEEPEST:
                raise Odd
            folders.append(path)
            own, below = _listed(os.path.join(folder, path))
            prefix = f"{path}/" if path else ""
            files += [prefix + name for name in sorted(own)]
            waiting += [(prefix + name, depth + 1) for name in sorted(below, reverse=True)]
        found = cls(folders, files, _stats(folder, [*folders, *files]))
        if not all(map(stat.S_ISREG, found.stats[_EACH * len(folders) + 4 :: _EACH])):
            raise Odd
        return found

    def by_path(self) -> dict[str, array[int]]:
        """The numbers of each file."""
        return {path: self.of(n) for n, path in enumerate(self.files, len(self.folders))}

    def of(self, n: int) -> array[int]:
        """The numbers of one folder or file."""
        return self.stats[_EACH * n : _EACH * (n + 1)]

    def inside(self, some: Collection[str]) -> dict[str, tuple[set[str], set[str]]]:
        """The names of the files and of the folders in some folders."""
        out: dict[str, tuple[set[str], set[str]]] = {path: (set(), set()) for path in some}
        for at, paths in enumerate((self.files, self.folders[1:])):
            for path in paths:
                parent, _, name = path.rpartition("/")
                if parent in out:
                    out[parent][at].add(name)
        return out


class Sound:
    """A book in which nothing was found; ``digests`` of its files' content, ``at`` in ns since 1970."""

    def __init__(self, at: int, disk: Disk, folder: Path) -> None:
        self.at, self.disk, self._folder = at, disk, folder
        self._keys = b""

    @cached_property
    def digests(self) -> dict[str, str]:
        """Of each file, in hexadecimal digits."""
        keys = (self._keys[at : at + _KEY].hex() for at in range(0, len(self._keys), _KEY))
        return dict(zip(self.disk.files, keys, strict=True))

    @cached_property
    def names(self) -> dict[str, str]:
        """The names in each file, read when somebody asks; empty where they are of another note."""
        try:
            kept = json.loads(CACHE.get("names", _key(self._folder)) or b"{}")
            found: dict[str, str] = kept["names"] if kept["at"] == self.at else {}
        except (ValueError, KeyError, TypeError):
            return {}
        return found

    @classmethod
    def read(cls, folder: Path) -> Sound | None:
        """What was noted of a book; None when nothing was, by a machine like this one."""
        head, _, rest = (CACHE.get("sound", _key(folder)) or b"").partition(b"\n")
        try:
            order, at, stats, keys = json.loads(head)
            if order != sys.byteorder:
                return None
            numbers = array("q", rest[:stats])
            folders, files = (part.split("\n") for part in os.fsdecode(rest[stats + keys :]).split("\n\n"))
            found = cls(at, Disk(folders, files, numbers), folder)
        except (ValueError, TypeError):
            return None
        found._keys = rest[stats : stats + keys]
        whole = len(numbers) == _EACH * (len(folders) + len(files)) and keys == _KEY * len(files)
        return found if whole else None

    def write(self, folder: Path) -> None:
        """Notes it; nothing where a name holds a line's end, which no sound book has."""
        paths = [*self.disk.folders, *self.disk.files]
        if any("\n" in path for path in paths):
            return
        stats, keys = self.disk.stats.tobytes(), bytes.fromhex("".join(self.digests.values()))
        head = json.dumps([sys.byteorder, self.at, len(stats), len(keys)]).encode()
        named = "\n\n".join(("\n".join(self.disk.folders), "\n".join(self.disk.files)))
        CACHE.put("sound", _key(folder), b"".join((head, b"\n", stats, keys, os.fsencode(named))))
        names = {"at": self.at, "names": self.names}
        CACHE.put("names", _key(folder), json.dumps(names, separators=(",", ":")).encode())
        CACHE.flush()


@dataclass(frozen=True)
class Now:
    """How a book lies on the disk. ``changed``: digests of what is not as ``sound`` says; "" if gone."""

    sound: Sound
    at: int
    disk: Disk
    changed: Mapping[str, str]


def looked(folder: Path, asked_for: Sequence[PurePosixPath] = ()) -> Now | None:
    """What has changed since something was noted of a book; None when that cannot be told.

    Where one of the files asked for has changed, the rules will be needed: they are loaded meanwhile.
    """
    sound = Sound.read(folder)
    if sound is None:
        return None
    for path in asked_for:
        n = sound.disk.files.index(str(path)) if str(path) in sound.digests else -1
        if n >= 0 and _stats(folder, [str(path)]) != sound.disk.of(len(sound.disk.folders) + n):
            return look(folder, sound, _load_the_rules)
    return look(folder, sound)


def _load_the_rules() -> None:
    from . import since  # noqa: F401


def look(folder: Path, sound: Sound, meanwhile: Callable[[], None] | None = None) -> Now | None:
    """What has changed on the disk; None when that cannot be told from the files alone.

    ``meanwhile`` is done while other cores look.
    """
    at, was = time.time_ns(), sound.disk
    known = [*was.folders, *was.files]
    late = sound.at - _CLOSE
    try:
        stats = _stats_by_others(folder, known, meanwhile) if meanwhile else _stats(folder, known)
        now = Disk(was.folders, was.files, stats)
        if now.stats == was.stats and max(now.stats[1::_EACH]) < late:
            return Now(sound, at, was, {})
        differ = [n for n in range(len(known)) if now.of(n) != was.of(n) or now.of(n)[1] >= late]
        folders = [known[n] for n in differ if n < len(was.folders)]
        files = [n for n in differ if n >= len(was.folders)]
        if any(now.of(n) == _GONE for n in differ) or _listed_otherwise(folder, folders, was):
            return _walked(folder, sound, at)
        if not all(stat.S_ISREG(now.of(n)[4]) for n in files):
            return None
        keys = _keys(folder, [known[n] for n in files])
        return Now(sound, at, now, {path: key for path, key in keys.items() if key != sound.digests[path]})
    except (OSError, Unreadable, Odd):
        return None


def _walked(folder: Path, sound: Sound, at: int) -> Now:
    """As ``look``, where folders hold other files or folders than they did."""
    disk = Disk.walk(folder)
    parents = {str(parent) for path in disk.files for parent in PurePosixPath(path).parents}
    if set(disk.folders) - set(sound.disk.folders) - parents - {""}:
        raise Odd  # an empty folder that was not there
    now, was, late = disk.by_path(), sound.disk.by_path(), sound.at - _CLOSE
    keys = _keys(folder, [path for path in now if was.get(path) != now[path] or now[path][1] >= late])
    changed = {path: key for path, key in keys.items() if key != sound.digests.get(path)}
    changed.update((path, "") for path in was if path not in now)
    return Now(sound, at, disk, changed)


def _stats(folder: Path, paths: Iterable[str]) -> array[int]:
    out = array("q")
    prefix, lstat, add = os.path.join(folder, ""), os.lstat, out.extend
    for path in paths:
        try:
            one = lstat(prefix + path)
        except FileNotFoundError:
            add(_GONE)
        else:
            add((one.st_size, one.st_mtime_ns, one.st_ctime_ns, one.st_ino & _SIGNED, one.st_mode))
    return out


def _stats_by_others(folder: Path, paths: Sequence[str], meanwhile: Callable[[], None]) -> array[int]:
    from ..source.crew import Crew, cores

    size = cores()
    others = max(size - 1, 1)
    shares = [(len(paths) * turn // others, len(paths) * (turn + 1) // others) for turn in range(others)]
    crew = Crew((folder, paths), size)
    try:
        coming = crew.each(_share_of_stats, shares, lambda share: shares.index(share) + 1)  # 0 is this one
        meanwhile()
        return sum(coming, array("q"))
    finally:
        crew.close()


def _share_of_stats(state: tuple[Path, Sequence[str]], share: tuple[int, int]) -> array[int]:
    folder, paths = state
    return _stats(folder, paths[share[0] : share[1]])


def _listed_otherwise(folder: Path, paths: Sequence[str], was: Disk) -> bool:
    """Whether one of these folders holds other files or folders than it did."""
    if not paths:
        return False
    if len(paths) > _MANY:
        return True
    inside = was.inside(paths)
    for path in paths:
        own, below = _listed(os.path.join(folder, path))
        if (set(own), set(below)) != inside[path]:
            return True
    return False


def _listed(folder: str) -> tuple[list[str], list[str]]:
    """The names of what lies in a folder: all but folders, and folders."""
    own: list[str] = []
    below: list[str] = []
    with os.scandir(folder) as inside:
        for item in inside:
            if item.is_symlink():
                raise Odd
            (below if item.is_dir(follow_symlinks=False) else own).append(item.name)
    return own, below


def _keys(folder: Path, paths: Iterable[str]) -> dict[str, str]:
    tree = FolderTree(folder)
    return {
        path: key_of(path, tree.read(path, FILE_BYTES if path.endswith(".yml") else PICTURE_BYTES)).hex()
        for path in paths
    }


def _key(folder: Path) -> bytes:
    return digest(os.fsencode(os.path.abspath(folder)))
