"""What a club publishes, and how what it does not vouch for is marked wherever it is shown."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.pages.published import published
from asfound.source.loader import Loaded, load

ROOT = Path(__file__).parents[2]
LOADED = load(ROOT / "recipes")
PAGES = Pages(Book(LOADED))
assert LOADED.club is not None
STRICT: Loaded = replace(LOADED, club=replace(LOADED.club, publish_unvetted=False))


@cache
def label(pages: Pages, recipe: str) -> str:
    html = pages.html(links.recipe(recipe), links.file_of).html
    return html.partition('asf-status__label">')[2].partition("<")[0]


def test_a_club_may_publish_only_what_it_vouches_for():
    every, pages = PAGES, Pages(Book(STRICT))
    shown = set(pages.book.recipes)
    labels = {recipe: label(every, recipe) for recipe in LOADED.recipes}
    withdrawn = {recipe for recipe, words in labels.items() if words == "WITHDRAWN"}
    vouched = {recipe for recipe, words in labels.items() if words.startswith("VETTED")}
    assert withdrawn <= shown <= withdrawn | vouched
    assert 0 < len(shown - withdrawn) < len(LOADED.recipes)
    for recipe in vouched - shown:  # left out only for want of what it needs
        assert not shown.issuperset(LOADED.recipes[recipe].needs)
    for recipe in shown - withdrawn:
        assert shown.issuperset(LOADED.recipes[recipe].needs)


def test_what_is_not_published_leaves_no_trace_and_no_dead_link():
    pages = Pages(Book(STRICT))
    gone = LOADED.recipes.keys() - pages.book.recipes.keys()
    made = dict(pages.documents(links.file_of))
    keys = {out.key for out in pages.outlines()} | {key for key, _ in pages.pictures()} | made.keys()
    asked: set[str] = set()

    def link(key: str) -> str:
        asked.add(key)
        return f"#to:{key}"

    for out in pages.outlines():
        html = pages.html(out.key, link).html
        for recipe in gone:
            assert f"#to:recipes/{recipe}" not in html
    assert asked <= keys
    for content in made.values():
        assert not any(f"/{recipe}".encode() in content for recipe in gone)
    board = pages.html(links.BOARD, link).html
    assert f"{len(gone)} more are not published here" in board


def test_prose_that_links_to_what_is_not_published_leads_to_the_list():
    recipe = next(id for id in Book(STRICT).recipes if id not in published(Book(STRICT)).recipes)
    assert STRICT.club is not None
    club = replace(STRICT.club, about=f"See [this](recipe:{recipe}).")
    html = Pages(Book(replace(STRICT, club=club))).html(links.HOME, links.file_of).html
    assert '<a href="find.html">this</a>' in html


def test_where_all_is_published_or_nobody_vouches_the_book_is_the_same():
    book = Book(LOADED)
    assert published(book) is book
    assert STRICT.club is not None
    notes = Book(replace(STRICT, club=replace(STRICT.club, reviewers=())))
    assert published(notes) is notes


@pytest.mark.parametrize("key", [links.HOME, links.FIND, *(f"recipes/{r}" for r in sorted(LOADED.recipes))])
def test_every_list_marks_what_the_club_does_not_vouch_for(key):
    pages = PAGES
    html = pages.html(key, lambda to: f"#to:{to}").html
    lists = re.findall(r"<li data-recipe=.*?</li>|<dd><a href=\"#to:recipes/.*?</dd>", html, re.DOTALL)
    assert lists or key.startswith("recipes/")
    for item in lists:
        recipe = re.search(r"#to:recipes/([a-z0-9-]+)", item)[1]
        words = label(pages, recipe)
        stamp = re.search(r'<span class="asf-stamp[^>]*>([^<]*)<', item)
        if words == "VETTED":
            assert stamp is None or stamp[1] == words
        else:
            assert stamp is not None and stamp[1].startswith(words)


def test_a_withdrawn_recipe_says_what_to_do_wherever_it_is_named():
    pages = PAGES
    home = pages.html(links.HOME, links.file_of).html
    find = pages.html(links.FIND, links.file_of).html
    says = {
        "keep": ("WITHDRAWN", "You may keep it."),
        "put-back": ("WITHDRAWN: PUT IT BACK", "Put it back: the way back"),
        "do-not-drive": ("WITHDRAWN: DO NOT DRIVE", "Do not drive the car before it is put back."),
    }
    seen = set()
    for recipe in LOADED.recipes.values():
        if recipe.withdrawn is None:
            continue
        seen.add(recipe.withdrawn.if_done)
        stamp, words = says[recipe.withdrawn.if_done]
        own = pages.html(links.recipe(recipe.id), links.file_of).html
        assert f"<strong>If you have done it:</strong> {words}" in own
        assert "Do not do this any more." in own
        assert 'id="job' not in own and 'class="asf-matrix' not in own  # nothing that invites to do it
        gone = home.partition('id="withdrawn"')[2].partition("<h2")[0]
        assert f'href="recipes/{recipe.id}.html"' in gone and words in gone
        item = find.partition(f'<li data-recipe="{recipe.id}"')[2].partition("</li>")[0]
        assert f">{stamp}</span>" in item
    assert seen == set(says)


def test_search_finds_a_recipe_with_its_label():
    script = dict(PAGES.documents(links.file_of))["assets/asfound/data/index.js"].decode()
    index = json.loads(script.partition('asfound.data["index"]=')[2].removesuffix(";\n"))
    assert len(index["recipes"]) == len(PAGES.book.recipes)
    for id, _, number, *_ in index["recipes"]:
        assert index["labels"][number][1].startswith(label(PAGES, id))
