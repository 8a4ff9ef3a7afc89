"""Prose that cannot be shown is a finding at its field, before any page is made."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.rules import prose
from asfound.source.loader import load

BAD = "See [this](javascript:alert(1))."


@pytest.fixture(scope="module")
def book() -> Book:
    return Book(load(Path(__file__).resolve().parents[2] / "recipes"))


def subjects(book: Book, kind: str) -> list[object]:
    return {
        "book": [book],
        "line": list(book.lines.values()),
        "module": list(book.modules.values()),
        "recipe": list(book.recipes.values()),
    }[kind]


def found(book: Book) -> list[tuple[str, str, str]]:
    return [
        (rule.id, problem.origin.file, "/".join(map(str, problem.origin.path)))
        for rule in prose.RULES
        for subject in subjects(book, rule.subject)
        for problem in rule.problems(book, subject)
    ]


def test_the_demo_has_none(book: Book) -> None:
    assert found(book) == []


def test_every_prose_field_is_looked_at(book: Book) -> None:
    """The fields of the schemas that are prose: all of them, once each."""
    loaded = book.loaded
    line = next(iter(loaded.lines.values()))
    module = next(iter(loaded.modules.values()))
    record = module.records[0]
    gone = next(r for r in loaded.recipes.values() if r.withdrawn and loaded.reports.get(r.id))
    media = next(r for r in loaded.recipes.values() if r.media and not r.withdrawn)
    steps = next(r for r in loaded.recipes.values() if r.steps and not r.withdrawn and not r.media)
    assert gone.withdrawn and media.media and loaded.club
    setting = replace(record.settings[0], about=BAD)
    record = replace(record, settings=(setting, *record.settings[1:]))
    report = replace(loaded.reports[gone.id][0], side_effects=BAD, note=BAD)
    spoilt = replace(
        loaded,
        club=replace(loaded.club, about=BAD),
        lines={**loaded.lines, line.id: replace(line, about=BAD)},
        modules={
            **loaded.modules,
            module.id: replace(module, duty=BAD, records=(record, *module.records[1:])),
        },
        recipes={
            **loaded.recipes,
            gone.id: replace(gone, purpose=BAD, withdrawn=replace(gone.withdrawn, because=BAD)),
            media.id: replace(media, media=replace(media.media, origin_how=BAD)),
            steps.id: replace(steps, steps=(replace(steps.steps[0], step=BAD), *steps.steps[1:])),
        },
        reports={**loaded.reports, gone.id: (report,)},
    )
    of = {
        gone.id: ["purpose", "because", "side_effects", "note"],
        media.id: ["how"],
        steps.id: ["step"],
    }
    wanted = ["about", "about", "duty", "about", *(path for id in loaded.recipes for path in of.get(id, []))]
    assert [path.rpartition("/")[2] for _, _, path in found(Book(spoilt))] == wanted


def test_a_link_to_a_recipe_that_is_not_there(book: Book) -> None:
    one = next(iter(book.recipes.values()))
    spoilt = replace(one, purpose="Do [it](recipe:nowhere-at-all) first.")
    loaded = replace(book.loaded, recipes={**book.loaded.recipes, one.id: spoilt})
    assert found(Book(loaded)) == [("prose-of-recipe", one.origin.file, "purpose")]
