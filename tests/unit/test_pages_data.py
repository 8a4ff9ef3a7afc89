"""Data for the tools in the page: complete, ASCII, one script each, small."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from asfound.book import Book
from asfound.pages import compiled, data
from asfound.source.loader import load

RECIPE_PAGE = 300_000  # bytes
PLANNER = 1_000_000


@pytest.fixture(scope="module")
def book() -> Book:
    return Book(load(Path(__file__).parents[2] / "recipes"))


@pytest.fixture(scope="module")
def scripts(book: Book) -> dict[str, bytes]:
    return dict(data.scripts(book))


def test_each_script_assigns_one_document_and_no_more(book: Book, scripts: dict[str, bytes]) -> None:
    assert len(scripts) == 2 + len(book.modules) + len(book.recipes)
    for key, content in scripts.items():
        assert key.startswith("assets/asfound/data/")
        name = key.removeprefix("assets/asfound/data/").removesuffix(".js")
        text = content.decode("ascii")
        start, document = text.split(f"asfound.data[{json.dumps(name)}]=", 1)
        assert start == "window.asfound=window.asfound||{};asfound.data=asfound.data||{};"
        assert isinstance(json.loads(document.removesuffix(";\n")), dict)


def test_what_pages_load_is_there(book: Book, scripts: dict[str, bytes]) -> None:
    keys = [
        "find",
        "planner",
        "index",
        *(f"recipes/{r}" for r in book.recipes),
        *(f"modules/{m}" for m in book.modules),
    ]
    for key in keys:
        for name in data.needed(book, key):
            assert f"{data.FOLDER}/{name}.js" in scripts, key


def test_a_recipe_page_loads_little(book: Book, scripts: dict[str, bytes]) -> None:
    for recipe in book.recipes:
        loaded = [scripts[f"{data.FOLDER}/{name}.js"] for name in data.needed(book, f"recipes/{recipe}")]
        assert sum(map(len, loaded)) < RECIPE_PAGE, recipe


def test_two_thousand_recipes_are_no_more_than_the_planner_may_load(book: Book) -> None:
    """The index of a club of that size, with room for a thousand conditions as long as the longest here."""
    some = list(book.recipes.values())
    many = {}
    for n in range(2000):
        one = some[n % len(some)]
        id_ = f"{one.id}-{n}"
        many[id_] = replace(one, id=id_, title=f"{one.title}, the {n}th of them")
    grown = SimpleNamespace(
        recipes=many, modules=book.modules, functions=lambda id: book.functions(id[: id.rindex("-")])
    )
    document = compiled.index(cast(Any, grown))
    assert len(document["recipes"]) == 2000
    world = len(json.dumps(compiled.world(book)))
    conditions = 1000 * max(len(json.dumps(one)) for one in document["conditions"])
    assert len(json.dumps(document, separators=(",", ":"))) + conditions + world < PLANNER
