"""Any bit of any ``write``, and any bit outside the mask of any ``found``, flipped: the check names it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.source.loader import load
from asfound.work.compiled import Edit, position
from asfound.work.examples import run_example
from asfound.work.held import parse_held, show_held
from asfound.work.recipes import Recipe, WorkedExample

sys.path.insert(0, str(Path(__file__).parent))

from overlay import Bench

DEMO = Path(__file__).resolve().parents[2] / "recipes"
BOOK = Book(load(DEMO))
EXAMPLES = [
    pytest.param(recipe, example, id=f"{recipe.id}-{number}")
    for recipe in BOOK.recipes.values()
    for number, example in enumerate(recipe.worked_examples, 1)
    if example.layout is not None
]
Flip = tuple[str, str, str]  # found or write, the text with the bit flipped, the bit's name


def flips(recipe: Recipe, example: WorkedExample) -> Iterator[Flip]:
    """Every flip that must be found."""
    record = BOOK.record(example.record)
    assert record is not None and example.layout is not None
    layout = record.layout(example.layout)
    edit = run_example(recipe, example, BOOK.modules, BOOK.forms(recipe.id)).edit
    assert layout is not None and isinstance(edit, Edit)
    for key, text in (("found", example.found), ("write", example.write)):
        held = parse_held(record, layout.length, text)
        for byte in range(layout.length):
            for bit in range(8):
                if key == "write" or not edit.mask[byte] >> bit & 1:
                    flipped = bytearray(held)
                    flipped[byte] ^= 1 << bit
                    yield key, show_held(record, bytes(flipped)), position(byte, bit)


def named(bit: str, message: str) -> bool:
    """Whether a message says which bit is wrong; of a checksum it says what it is and what it should be."""
    return bit in message or "checksum" in message


@pytest.mark.parametrize(("recipe", "example"), EXAMPLES)
def test_every_flip_is_named(recipe: Recipe, example: WorkedExample) -> None:
    forms = BOOK.forms(recipe.id)
    assert run_example(recipe, example, BOOK.modules, forms).ok
    tried = 0
    for key, text, bit in flips(recipe, example):
        changed = replace(example, found=text) if key == "found" else replace(example, write=text)
        result = run_example(recipe, changed, BOOK.modules, forms)
        assert not result.ok, (key, bit)
        assert named(bit, result.message), (key, bit, result.message)
        tried += 1
    assert tried >= 8  # at least every bit of one byte written


def test_the_whole_check_names_the_bit_and_the_line() -> None:
    """Every twenty-third flip, in the text of the recipe's file."""
    bench = Bench(DEMO)
    every = [
        (recipe, example, flip)
        for recipe, example in (param.values for param in EXAMPLES)
        for flip in flips(recipe, example)
    ]
    assert len(every) > 3000
    for recipe, example, (key, text, bit) in every[::23][:140]:
        file = recipe.origin.file
        lines = bench.tree.files[file].decode().split("\n")
        line, _ = bench.loaded.locate(example.origin.at(key))
        before = f'"{example.found if key == "found" else example.write}"'
        at = lines[line - 1].rindex(before) if key == "write" else lines[line - 1].index(before)
        lines[line - 1] = f'{lines[line - 1][:at]}"{text}"{lines[line - 1][at + len(before) :]}'
        found = bench.check(file, "\n".join(lines).encode())
        first = found[0]
        places = {(first.file, first.line), *(place[:2] for place in first.also)}
        assert (file, line) in places, (file, line, first)
        assert named(bit, first.message), (file, line, bit, first)
