"""Where the files of a book are read from: a folder now, a past version of it elsewhere."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from .guards import Unreadable, read_file
from .limits import FILE_BYTES

DEEPEST = 5  # folders below each other; no file of ours lies deeper than changes/<recipe>/reports/


@dataclass(frozen=True, slots=True)
class Entry:
    """Something in a tree; ``path`` is relative, with slashes.

    A folder that cannot be listed comes once more, as "closed".
    """

    path: str
    kind: Literal["file", "folder", "link", "other", "closed"]


class Tree(Protocol):
    """Files below ``recipes/``."""

    def entries(self) -> Iterator[Entry]:
        """Everything in the tree, in order of path; links are named, never followed."""
        ...

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes. Raises Unreadable when it is no regular file or longer than ``limit``."""
        ...


class FolderTree:
    """The files of a folder on disk."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def entries(self) -> Iterator[Entry]:
        """Everything in the folder, in order of path; see ``Tree``."""
        yield from self._below("", DEEPEST)

    def _below(self, prefix: str, depth: int) -> Iterator[Entry]:
        try:
            with os.scandir(self.folder / prefix) as found:
                items = sorted(found, key=lambda item: item.name)
        except OSError:
            if prefix:
                yield Entry(prefix.rstrip("/"), "closed")
            return
        for item in items:
            path = prefix + item.name
            if item.is_symlink():
                yield Entry(path, "link")
            elif item.is_dir(follow_symlinks=False):
                yield Entry(path, "folder")
                if depth:
                    yield from self._below(path + "/", depth - 1)
            else:
                yield Entry(path, "file" if item.is_file(follow_symlinks=False) else "other")

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes; see ``Tree``."""
        if path.startswith("/") or ".." in path.split("/"):
            raise Unreadable("file-unreadable", "the path leads out of the folder", "name a file inside it")
        return read_file(self.folder / path, limit)
