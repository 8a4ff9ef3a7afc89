"""The book as plain data: complete, lean, and small enough for two thousand recipes."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from asfound.book import Book
from asfound.pages import compiled
from asfound.source.loader import load
from asfound.work.compiled import EditProblem

TESTS = Path(__file__).parents[1]
sys.path.insert(0, str(TESTS / "vectors"))

import objects  # noqa: E402

FOLDERS = {"demo": TESTS.parent / "recipes", "vectors": TESTS / "vectors" / "club"}


@cache
def book(name: str) -> Book:
    return Book(load(FOLDERS[name]))


def every(value: Any) -> Iterator[Any]:
    yield value
    below = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for one in below:
        yield from every(one)


def documents(one: Book) -> Iterator[Any]:
    yield compiled.world(one)
    yield from (compiled.module(one, name) for name in one.modules)
    yield from (compiled.recipe(one, name) for name in one.recipes)


@pytest.mark.parametrize("name", FOLDERS)
def test_only_plain_data_and_nothing_empty(name: str) -> None:
    for document in (*documents(book(name)), compiled.index(book(name))):
        assert json.loads(json.dumps(document)) == document
        for value in every(document):
            if isinstance(value, dict):
                assert not [k for k, v in value.items() if v in ("", {}) or v is None or v is False]


@pytest.mark.parametrize("name", FOLDERS)
def test_modules_and_lines_come_back_the_same(name: str) -> None:
    """Nothing that computes is lost on the way to the browser and back; only names of authors' files are."""
    one = book(name)
    for module in one.modules.values():
        back = objects.module(compiled.of_module(module))
        for record, again in zip(module.records, back.records, strict=True):
            assert again.layouts == record.layouts
            assert [(s.id, s.name, s.kind) for s in again.settings] == [
                (s.id, s.name, s.kind) for s in record.settings
            ]
            bare = replace(record, settings=(), access_code=None)
            assert replace(again, settings=(), access_code=None) == bare
    for line in one.lines.values():
        assert objects.line(compiled.line(line)) == replace(line, about="", vin=line.vin)


@pytest.mark.parametrize("name", FOLDERS)
def test_edits_and_forms_come_back_the_same(name: str) -> None:
    one = book(name)
    for recipe in one.recipes.values():
        data = compiled.recipe(one, recipe.id)
        expected = one.edits(recipe.id)
        settings = {
            (m["id"], r["id"]): r["settings"]
            for m in map(compiled.of_module, one.modules.values())
            for r in m["records"]
        }
        got = {
            objects.edit(edit, settings[tuple(edit["record"].split("/"))]) for edit in data.get("edits", ())
        }
        assert {replace(e, record=replace(e.record, place=None)) for e in expected} == got
        assert objects.condition(data["fits"]) == recipe.fits
        for form, way in zip(data["forms"], one.forms(recipe.id), strict=True):
            assert objects.condition(form["for"]) == way.condition
            assert [r["record"] for r in form["records"]] == [str(r.path) for r in way.records]
            assert sum(o.get("minutes", 0) for o in form["job"]) <= one.minutes(recipe.id)[0]
            for record in form["records"]:
                assert any(
                    edit["record"] == record["record"].split("@")[0] + "/" + record["record"].split("/")[1]
                    if "@" in record["record"]
                    else edit["record"] == record["record"]
                    for edit in data["edits"]
                )


def test_a_recipe_that_cannot_be_compiled_says_so() -> None:
    one = Book(load(FOLDERS["vectors"]))
    broken = replace(
        one.recipes["bay-fades"],
        changes=(replace(one.recipes["bay-fades"].changes[0], to="no such value"),),
    )
    one.recipes = {**one.recipes, "bay-fades": broken}
    with pytest.raises(EditProblem):
        one.codes("bay-fades")
    data = compiled.recipe(one, "bay-fades")
    assert data["broken"] is True and "edits" not in data and "code" not in data


def test_small_enough() -> None:
    """Bars: 300 kB for what a recipe page loads, 1 MB for the planner's list of two thousand recipes."""
    one = book("demo")
    world = len(json.dumps(compiled.world(one)))
    modules = {name: len(json.dumps(compiled.module(one, name))) for name in one.modules}
    for name in one.recipes:
        data = compiled.recipe(one, name)
        assert world + len(json.dumps(data)) + sum(modules[m] for m in data["modules"]) < 100_000
    index = compiled.index(one)
    per_recipe = (len(json.dumps(index["recipes"])) + len(json.dumps(index["conditions"]))) / len(one.recipes)
    assert per_recipe * 2000 < 600_000
