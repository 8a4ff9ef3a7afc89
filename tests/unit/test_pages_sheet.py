"""Sheets before they are drawn: the steps of all ways of a job as one list."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.book import Book
from asfound.book.translated import in_language
from asfound.car.known import Known
from asfound.pages import links
from asfound.pages.build import Pages
from asfound.pages.environment import environment
from asfound.pages.languages import language
from asfound.pages.planned import facts, planned
from asfound.pages.policy import policy
from asfound.pages.sheets import SheetPage, Sheets
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker
from asfound.pages.views.sheet_job import Parts
from asfound.pages.words import minutes_words
from asfound.rules.run import check_book
from asfound.speech import Original, speaking
from asfound.trust.standing import key_on
from asfound.work.plan import plan

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


def test_what_a_plan_takes_out_of_the_battery_is_said_in_the_sheet_s_language() -> None:
    book = check_book(RECIPES)[2]
    assert book is not None
    made = plan(["awning-lamp-time-out", "softer-tick"], book.shop)
    assert made.charge is not None and made.supply
    needed, spare = (f"{float(amount):.1f}" for amount in (made.charge.needed, made.charge.spare))
    maker = Maker(Desk(book), links.file_of)
    assert maker.plan(made, Known(), {}, {}).facts == (
        f"takes {needed} Ah out of the battery, which can spare {spare} Ah",
        "connect a battery supply",
    )
    with speaking(language("nl")):
        needed, spare = needed.replace(".", ","), spare.replace(".", ",")
        assert maker.plan(made, Known(), {}, {}).facts == (
            f"haalt {needed} Ah uit de accu, die {spare} Ah kan missen",
            "sluit een voeding op de accu aan",
        )


def test_a_plan_says_one_time_with_the_key_on_and_no_recipe_its_own() -> None:
    """The plan's own, in the words of the head; also where none of its recipes is long enough by itself."""
    book = check_book(RECIPES)[2]
    assert book is not None
    ids = ["awning-lamp-time-out", "softer-tick"]
    made = plan(ids, book.shop)
    apart = {minutes_words(book.minutes(id)[1]) for id in ids}
    sheet = Maker(Desk(book), links.file_of).plan(made, Known(), {}, {})
    (panel,) = sheet.panels["voltage"]
    (danger,) = panel.dangers
    assert sheet.key_on == minutes_words(made.key_on_minutes) and sheet.key_on not in apart
    assert (danger.hazard, danger.of) == (key_on(made.key_on_minutes).hazard, "")
    assert f"about {sheet.key_on}," in danger.hazard
    said = "\n".join(w.hazard for w in planned(book, made, None, Known()).warnings)
    assert danger.hazard in said and not any(f"about {time}," in said for time in apart)
    assert f"{sheet.key_on} of them with the key on" in " ".join(facts(book, made))
    short = book.job_hazards(ids, book.club.long_key_on - 1)
    assert all(hazard.arises != "voltage" for hazard in short)


@pytest.mark.parametrize("tag", ["", "nl"])
def test_what_a_screen_shows_is_quoted_letter_by_letter(tag: str) -> None:
    """No capital is put where the screen has none, on the sheet and on the page."""
    book = check_book(RECIPES)[2]
    assert book is not None
    with speaking(language(tag) if tag else None):
        there = in_language(book, tag, tag) if tag else book
        job = Maker(Desk(there), links.file_of).recipe(there.recipes["night-map-colours"]).job
        (noted,) = (step for step in job.noted if step.kind == "note-version")
        (left,) = (step for step in job.work if step.kind == "read-version")
        assert (noted.expect, left.expect) == ("“maker 1”.", "“browns 3”.")
        html = Pages(there).html(links.recipe("night-map-colours"), links.file_of).html
        assert "“maker 1”" in html and "Maker 1" not in html


@pytest.mark.parametrize(("id", "alone"), [("kerb-step-waits", True), ("awning-lamp-time-out", False)])
def test_a_recipe_that_nobody_translated_says_so_at_its_head(id: str, alone: bool) -> None:
    book = check_book(RECIPES)[2]
    assert book is not None
    words = "Nog niet vertaald: de eigen woorden van het recept zijn in het Engels."
    with speaking(language("nl")):
        there = in_language(book, "nl", "nl")
        assert isinstance(there.recipes[id].title, Original) is alone
        sheet = Maker(Desk(there), links.file_of).recipe(there.recipes[id])
        html = Sheets(Desk(there), environment()).html(sheet, SheetPage(policy(), (), (), "", ""))
        page = Pages(book, language="nl", below="nl").html(links.recipe(id), links.file_of).html
    for said in (html, page):
        assert (words in said) is alone
        assert not alone or said.index(words) < said.index("<h2")
    assert ("Dit is een vertaling" in page) is not alone
    assert Maker(Desk(book), links.file_of).recipe(book.recipes[id]).parts[0].untranslated == ""
