"""The club's board names what waits, and nothing else; worked out again here from signatures and reports."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.source.loader import Loaded, load
from asfound.trust.reports import Signature

ROOT = Path(__file__).parents[2]
LOADED = load(ROOT / "recipes")
BOOK = Book(LOADED)
OFFERED = {id for id, recipe in LOADED.recipes.items() if recipe.status == "offered"}


def board(loaded: Loaded = LOADED) -> dict[str, list[tuple[str, str, str]]]:
    """By part: recipe, anchor and words of each row."""
    html = Pages(Book(loaded)).html(links.BOARD, links.file_of).html
    out = {}
    for part in re.split(r"<h2 ", html)[1:]:
        id = re.match(r'id="([a-z]+)"', part)[1]
        out[id] = [
            (found[1], found[2] or "", unescape(re.sub(r"<[^>]*>", " ", found[3])))
            for found in re.finditer(
                r'<li><p><a class="asf-list__title" href="recipes/([a-z0-9-]+)\.html(#[^"]*)?">(.*?)</li>',
                part,
                re.DOTALL,
            )
        ]
    return out


def signed(recipe: str) -> list[Signature]:
    return [one.signature for one in BOOK.examined(recipe) if one.validity == "counts"]


def test_recipes_with_too_few_signatures_wait():
    rows = board()["waiting"]
    assert {recipe for recipe, _, _ in rows} == {id for id in OFFERED if len(signed(id)) < 2}
    lacking = [2 - len(signed(recipe)) for recipe, _, _ in rows]
    assert lacking == sorted(lacking)
    for recipe, _, words in rows:
        assert all(one.by in words for one in signed(recipe))
        assert f"written by {LOADED.recipes[recipe].by}" in words


def test_every_signature_that_does_not_count_is_named_with_its_reviewer():
    rows = board()["voided"]
    void = {
        (id, one.signature.by, one.signature.on)
        for id in OFFERED
        for one in BOOK.examined(id)
        if one.validity != "counts"
    }
    named = {
        (recipe, by, day)
        for recipe, _, words in rows
        for by, day in re.findall(r"Signed by ([a-z0-9-]+) on (\d{4}-\d{2}-\d{2})", words)
    }
    assert named == void
    assert any("The instructions have changed since" in words for _, _, words in rows)


def test_a_change_of_instructions_voids_signatures_and_the_board_says_whose():
    id = next(id for id in sorted(OFFERED) if len(signed(id)) >= 2 and not BOOK.past_codes(id))
    recipe = LOADED.recipes[id]
    changed = replace(
        recipe, checks=(replace(recipe.checks[0], expect="Something else."), *recipe.checks[1:])
    )
    after = board(replace(LOADED, recipes={**LOADED.recipes, id: changed}))
    (words,) = [words for name, _, words in after["voided"] if name == id]
    assert all(f"Signed by {one.by} on {one.on}" in words for one in signed(id))
    assert id in {name for name, _, _ in after["waiting"]}
    assert id not in {name for name, _, _ in board()["waiting"]}


def test_reports_of_trouble_with_what_was_signed():
    rows = board()["contradictions"]
    expected = {
        (id, f"#report-{one.report.id}")
        for id in OFFERED
        if len(signed(id)) >= 2
        for one in BOOK.evidence(id).weighed
        if one.weight == "counts" and (one.report.outcome != "worked" or one.report.side_effects)
    }
    assert {(recipe, anchor) for recipe, anchor, _ in rows} == expected and expected


def test_variants_that_nobody_has_tried():
    rows = {recipe: words for recipe, _, words in board()["untried"]}
    names = BOOK.names
    for id in OFFERED:
        silent = [
            f"{names.models[line, model]} {names.phases[line, phase]}"
            for (line, model, phase), answer in BOOK.cells(id).items()
            if answer.kind != "no" and not BOOK.evidence(id).count((line, model, phase)).total
        ]
        assert (id in rows) == bool(silent)
        if silent and "every variant it fits" not in rows[id].lower():
            assert all(name in rows[id] for name in silent)
            assert len(re.findall(r"Phase \d", rows[id])) == len(silent)


def test_the_oldest_confirmations_come_first():
    days = [re.search(r"on (\d{4}-\d{2}-\d{2})", words)[1] for _, _, words in board()["oldest"]]
    assert days == sorted(days) and days
    for recipe, anchor, words in board()["oldest"]:
        worked = [r for r in BOOK.evidence(recipe).count().reports if r.outcome == "worked"]
        assert max(report.date for report in worked) in words
        assert anchor in {f"#report-{report.id}" for report in worked}


def test_a_book_without_reviewers_has_no_signatures_to_wait_for():
    assert LOADED.club is not None
    notes = replace(LOADED, club=replace(LOADED.club, reviewers=()))
    assert set(board(notes)) == {"untried", "oldest"}


@pytest.mark.parametrize("part", ["waiting", "voided", "contradictions", "untried", "oldest"])
def test_where_nothing_waits_the_board_says_so(part):
    html = Pages(Book(replace(LOADED, recipes={}))).html(links.BOARD, links.file_of).html
    after = html.partition(f'<h2 id="{part}">')[2].partition("<h2")[0]
    assert re.search(r"</h2>\s*<p>(Every|No) [^<]+\.</p>", after)
