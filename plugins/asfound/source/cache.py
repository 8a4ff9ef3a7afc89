"""What was worked out before, kept in the user's cache folder by the content it was worked out from.

One SQLite file for each version of the program: its name is a digest of all code and schemas and of the
versions of the libraries, so that nothing made by another version is ever read. It may be deleted at any
time, and several programs may use it at once. It holds JSON and pictures, nothing that could be executed, and
is used only where its folder belongs to the user and nobody else may enter. Whatever goes wrong with it, the
program works on without.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path

LARGEST = 1 << 30  # bytes of one version's file; then the older half is dropped
_STALE = 14 * 24 * 3600  # seconds after which the files of other versions go
_WAIT = 5.0  # seconds for another program's writing
_AT_ONCE = 200  # values written together


def digest(*parts: bytes) -> bytes:
    """A key made of several parts."""
    made = blake2b(digest_size=20)
    for part in parts:
        made.update(len(part).to_bytes(8, "big"))
        made.update(part)
    return made.digest()


def key_of(path: str, raw: bytes) -> bytes:
    """The key under which a file's data are kept; its path says of which kind it is."""
    return digest(path.encode("utf-8", "surrogateescape"), raw)


@cache
def program() -> str:
    """What tells this version of the program from any other."""
    package = Path(__file__).resolve().parent.parent
    from .schemas import schema_folder

    made = blake2b(f"{sys.version}\n".encode(), digest_size=16)
    for library in sorted(_libraries()):
        made.update(f"{library}\n".encode())
    for path in (*sorted(package.rglob("*.py")), *sorted(schema_folder().glob("*.json"))):
        content = path.read_bytes()
        made.update(f"{path.name} {len(content)}\n".encode())
        made.update(content)
    return made.hexdigest()


def _libraries() -> Iterator[str]:
    """Name and version of all that is installed, as installers note them; asking them one by one takes longer
    than a check of a book that has not changed."""
    for place in dict.fromkeys(sys.path):
        if os.path.basename(place) in ("site-packages", "dist-packages"):
            with suppress(OSError):
                yield from (n for n in os.listdir(place) if n.endswith((".dist-info", ".egg-info")))


def folder() -> Path | None:
    """The folder, made if need be; None where it is not the user's own or cannot be made."""
    base = os.environ.get("XDG_CACHE_HOME", "")
    home = Path(base) if base and os.path.isabs(base) else Path("~/.cache").expanduser()
    own = home / "asfound"
    try:
        own.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = own.lstat()
    except (OSError, RuntimeError):
        return None
    if not stat.S_ISDIR(found.st_mode):
        return None
    if hasattr(os, "getuid") and (found.st_uid != os.getuid() or found.st_mode & 0o077):
        return None
    return own


class Cache:
    """Values by kind and key. After a fork each process opens the file for itself."""

    def __init__(self) -> None:
        self._file: sqlite3.Connection | None = None
        self._opened_by = 0
        self._new: dict[tuple[str, bytes], bytes] = {}

    def get(self, kind: str, key: bytes) -> bytes | None:
        """What was put there, by whichever program; None when there is nothing."""
        known = self._new.get((kind, key))
        if known is not None:
            return known
        file = self._open()
        if file is None:
            return None
        try:
            row = file.execute("SELECT value FROM kept WHERE kind = ? AND key = ?", (kind, key)).fetchone()
        except sqlite3.Error:
            return None
        return row[0] if row and isinstance(row[0], bytes) else None

    def put(self, kind: str, key: bytes, value: bytes) -> None:
        """Keeps a value, in the file after a while or at ``flush``."""
        self._new[kind, key] = value
        if len(self._new) >= _AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Writes what is new, all of it or nothing."""
        new, self._new = self._new, {}
        file = self._open() if new else None
        if file is None:
            return
        try:
            with file:
                file.executemany(
                    "INSERT OR REPLACE INTO kept VALUES (?, ?, ?)",
                    ((*at, value) for at, value in new.items()),
                )
            _shrink(file)
        except sqlite3.Error:
            pass  # full, locked or damaged: then it is worked out again

    def _open(self) -> sqlite3.Connection | None:
        if self._opened_by != os.getpid():
            self._opened_by = os.getpid()
            self._file = _opened()
        return self._file


def _opened() -> sqlite3.Connection | None:
    place = folder()
    if place is None:
        return None
    path = place / f"{program()}.sqlite3"
    if not path.exists():
        _tidy(place.glob("*.sqlite3*"))
    for _ in range(2):
        try:
            file = sqlite3.connect(path, timeout=_WAIT)
            file.execute("PRAGMA journal_mode = WAL")
            file.execute("PRAGMA synchronous = OFF")
            with file:
                file.execute(
                    "CREATE TABLE IF NOT EXISTS kept"
                    " (kind TEXT, key BLOB, value BLOB, PRIMARY KEY (kind, key))"
                )
            return file
        except sqlite3.OperationalError:
            return None
        except sqlite3.DatabaseError:  # no database, or a damaged one
            path.unlink(missing_ok=True)
        except OSError:
            return None
    return None


def _shrink(file: sqlite3.Connection) -> None:
    pages, size = (file.execute(f"PRAGMA {what}").fetchone()[0] for what in ("page_count", "page_size"))
    if pages * size > LARGEST:
        with file:
            file.execute(
                "DELETE FROM kept WHERE rowid <= (SELECT rowid FROM kept ORDER BY rowid LIMIT 1"
                " OFFSET (SELECT count(*) / 2 FROM kept))"
            )
        file.execute("VACUUM")


def _tidy(files: Iterable[Path]) -> None:
    """Removes the files of versions that have not been used for a while."""
    for path in files:
        try:
            if time.time() - path.stat().st_mtime > _STALE:
                path.unlink()
        except OSError:
            continue


CACHE = Cache()
