"""Whatever a file says otherwise, a review tells: no change passes for a file that was only rearranged.

For each field one mutation that still loads and says something else. ``ASFOUND_SOAK=1`` tries three of each,
of recipes too.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent))

from demo import every_mutation, general
from mutate import Mutation
from overlay import Bench, MemoryTree

from asfound.book import Book
from asfound.review.compare import compare
from asfound.source.loader import Loaded, load

SOAK = os.environ.get("ASFOUND_SOAK") == "1"
KINDS = {"club", "line", "module", *(("recipe",) if SOAK else ())}


def otherwise(bench: Bench, mutation: Mutation) -> Loaded | None:
    """What the book with the mutation says, where it says something else and can be compared."""
    tree = MemoryTree({**bench.tree.files, mutation.file: mutation.raw}, bench.tree.found)
    loaded = load(tree, replace(bench.kept, _by_path=dict(bench.kept._by_path)))
    if loaded.club is None or loaded.broken:
        return None
    book = bench.book
    before = (book.club, book.lines, book.modules, book.recipes)
    same = (loaded.club, loaded.lines, loaded.modules, loaded.recipes) == before
    return None if same else loaded


def some() -> Iterator[tuple[Bench, Mutation, Loaded]]:
    tried: Counter[str] = Counter()
    every = [(bench, m) for bench, m in every_mutation() if m.kind in KINDS]
    Random(1).shuffle(every)
    for bench, mutation in every:
        field = general(mutation.field)
        if tried[field] < (3 if SOAK else 1) and (loaded := otherwise(bench, mutation)):
            tried[field] += 1
            yield bench, mutation, loaded
    assert len(tried) > 80, sorted(tried)


def test_every_field_that_says_something_else_is_told() -> None:
    for bench, mutation, loaded in some():
        changes = compare(bench.book, Book(loaded), {mutation.file: "changed"}, {})
        assert {one.kind for one in changes} - {"says-the-same"}, str(mutation)
