"""Reads the cases of this folder; see ``tests/unit/test_review_cases.py``."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

from asfound.review.git import Item
from asfound.review.review import Commit, Review
from asfound.review.run import review_sides
from asfound.review.sides import FileChange, GitTree, Sides, blob_id

ROOT = Path(__file__).parent
CASES = sorted((ROOT / "cases").iterdir())


class Blobs:
    """Stands for a repository: contents by id."""

    def __init__(self) -> None:
        self.by_id: dict[str, bytes] = {}

    def keep(self, files: dict[str, bytes]) -> dict[str, Item]:
        ids = {path: blob_id(raw, "") for path, raw in files.items()}
        self.by_id |= {ids[path]: raw for path, raw in files.items()}
        return {path: Item("100644", id) for path, id in ids.items()}

    def contents(self, ids: Iterable[str], limit: int) -> dict[str, bytes]:
        return {id: self.by_id[id] for id in ids}


def files_of(folder: Path) -> dict[str, bytes]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def lines_of(file: Path) -> list[str]:
    return file.read_text("utf-8").splitlines() if file.exists() else []


def sides_of(case: Path) -> Sides:
    """Both sides of a case, without git."""
    before = files_of(ROOT / "base") | files_of(case / "before")
    after = before | files_of(case / "after")
    for path in lines_of(case / "removed.txt"):
        del after[path]
    blobs = Blobs()
    old, new = blobs.keep(before), blobs.keep(after)

    def differing(inside: bool) -> tuple[FileChange, ...]:
        return tuple(
            FileChange(
                path.removeprefix("recipes/" if inside else ""),
                "added" if path not in old else "removed" if path not in new else "changed",
            )
            for path in sorted({*old, *new})
            if old.get(path) != new.get(path) and path.startswith("recipes/") == inside
        )

    def book(items: dict[str, Item]) -> GitTree:
        below = {p.removeprefix("recipes/"): i for p, i in items.items() if p.startswith("recipes/")}
        return GitTree(blobs, below, {})  # type: ignore[arg-type]

    signed = {row.split("|")[0]: Commit(*row.split("|")[1:]) for row in lines_of(case / "committed.txt")}
    return Sides(
        before=book(old),
        after=book(new),
        folder="recipes",
        base="main",
        head="a branch",
        within=differing(True),
        outside=differing(False),
        notes=(),
        signed=signed,
    )


@cache
def reviewed(case: Path, whole: bool = False) -> Review:
    return review_sides(sides_of(case), whole=whole)
