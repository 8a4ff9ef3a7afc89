"""Where books lie: the folder of a book that somebody names, or names something in."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath


class NoBook(Exception):
    """There is no book where one was asked for; one line, with what to do."""


@dataclass(frozen=True, slots=True)
class BookFolder:
    """A book's folder and what of it was asked for; ``shown`` is the folder as the user would type it."""

    folder: Path
    shown: Path
    asked_for: tuple[PurePosixPath, ...]  # below the folder; empty: all

    @classmethod
    def all_of(cls, paths: Iterable[Path]) -> tuple[BookFolder, ...]:
        """The books that ``paths`` lie in. NoBook when a path is missing or in no book."""
        asked: dict[Path, tuple[Path, list[PurePosixPath]]] = {}
        for path in paths:
            if not os.path.lexists(path):
                raise NoBook(
                    f"there is no folder or file {path}; go to your club's folder first, or name a book's "
                    "folder or something inside one"
                )
            here = Path(os.path.abspath(path))
            book = next((p for p in (here, *here.parents) if os.path.lexists(p / "club.yml")), None)
            if book is None:
                raise NoBook(f"{path} is in no book; a book's folder holds a file club.yml")
            shown = book if path.is_absolute() else Path(os.path.relpath(book))
            asked.setdefault(book, (shown, []))[1].append(PurePosixPath(*here.relative_to(book).parts))
        return tuple(
            cls(book, shown, () if PurePosixPath(".") in below else tuple(below))
            for book, (shown, below) in asked.items()
        )
