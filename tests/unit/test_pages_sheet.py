"""Sheets before they are drawn: the steps of all ways of a job as one list."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.book import Book
from asfound.pages import links
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker
from asfound.pages.views.sheet_job import Parts
from asfound.rules.run import check_book

RECIPES = Path(__file__).parents[2] / "recipes"


@pytest.fixture(scope="module")
def jobs() -> dict[str, Parts]:
    book: Book | None = check_book(RECIPES)[2]
    assert book is not None
    maker = Maker(Desk(book), links.file_of)
    return {id: maker.recipe(one).job for id, one in book.recipes.items() if one.status != "withdrawn"}


def test_steps_are_counted_in_the_order_in_which_they_stand(jobs: dict[str, Parts]) -> None:
    for id, job in jobs.items():
        steps = [*job.first, *job.before, *job.noted, *job.work, *job.last]
        numbers = [step.number for step in steps if step.kind != "each"]
        assert numbers == [*range(1, len(numbers) + 1)], id


def test_ways_that_turn_the_key_alike_to_note_a_record_do_it_in_one_step(jobs: dict[str, Parts]) -> None:
    """The two ways differ in where the module is, which is said beside the record."""
    job = jobs["kerb-step-waits"]
    assert [unit.marks for unit in job.units] == ["A", "B"]
    (note,) = (step for step in job.noted if step.kind == "note")
    assert note.key and note.marks == ""
