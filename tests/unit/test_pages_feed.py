"""The feed: an Atom document by RFC 4287, with ids by RFC 4151, that says what a reader must not miss.

The rules are those of RFC 4287's grammar (appendix B, RELAX NG) and text, with the section named beside each.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit
from xml.etree import ElementTree as xml

import pytest

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.pages.feed import MOST
from asfound.source.loader import Loaded, load
from asfound.work.recipes import HistoryEntry, Recipe

ROOT = Path(__file__).parents[2]
ATOM = "{http://www.w3.org/2005/Atom}"
LOADED = load(ROOT / "recipes")

# Appendix B: what may stand in an element, and how often ("1", "?" at most once, "*").
CHILDREN = {
    "feed": {
        "author": "*", "category": "*", "contributor": "*", "generator": "?", "icon": "?", "id": "1",
        "link": "*", "logo": "?", "rights": "?", "subtitle": "?", "title": "1", "updated": "1", "entry": "*",
    },
    "entry": {
        "author": "*", "category": "*", "content": "?", "contributor": "*", "id": "1", "link": "*",
        "published": "?", "rights": "?", "source": "?", "summary": "?", "title": "1", "updated": "1",
    },
    "author": {"name": "1", "uri": "?", "email": "?"},
}  # fmt: skip
ATTRIBUTES = {
    "feed": {"{http://www.w3.org/XML/1998/namespace}lang"},
    "link": {"href", "rel", "type", "hreflang", "title", "length"},
    "category": {"term", "scheme", "label"},
    "generator": {"uri", "version"},
}
# RFC 3339 section 5.6, with the capitals that RFC 4287 section 3.3 asks for.
DATE = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?(Z|[+-]\d{2}:\d{2})\Z")
# RFC 4151 section 2.1: "tag:" authorityName "," date ":" specific.
TAG = re.compile(
    r"tag:[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*,(\d{4}-\d{2}-\d{2}):"
    r"(?:[A-Za-z0-9._~!$&'()*+,;=:@/?-]|%[0-9A-Fa-f]{2})*\Z"
)


def feed(loaded: Loaded = LOADED, url: Callable[[str], str] = links.file_of) -> bytes | None:
    return dict(Pages(Book(loaded)).documents(url)).get(links.FEED)


def parsed(content: bytes | None) -> xml.Element:
    assert content is not None
    return xml.fromstring(content)


def with_recipe(id: str, **changes: object) -> Loaded:
    changed: Recipe = replace(LOADED.recipes[id], **changes)  # type: ignore[arg-type]
    return replace(LOADED, recipes={**LOADED.recipes, id: changed})


def said(root: xml.Element) -> dict[str, tuple[str, str]]:
    """Title and summary by id."""
    return {
        entry.findtext(f"{ATOM}id"): (entry.findtext(f"{ATOM}title"), entry.findtext(f"{ATOM}summary"))
        for entry in root.iter(f"{ATOM}entry")
    }


def test_elements_and_attributes_are_those_of_the_grammar():
    content = feed()
    assert content is not None and content.startswith(b"<?xml version='1.0' encoding='utf-8'?>")
    root = parsed(content)
    assert root.tag == f"{ATOM}feed"  # section 2
    for element in root.iter():
        assert element.tag.startswith(ATOM)
        name = element.tag.removeprefix(ATOM)
        assert set(element.attrib) <= ATTRIBUTES.get(name, set())
        found = Counter(child.tag.removeprefix(ATOM) for child in element)
        allowed = CHILDREN.get(name, {})
        assert set(found) <= set(allowed)
        for child, often in allowed.items():
            assert often == "*" or found[child] == 1 or (often == "?" and found[child] == 0), (name, child)
        if name in CHILDREN:
            assert not (element.text or "").strip()


def test_feed_and_entries_hold_what_they_must():
    root = parsed(feed())
    entries = root.findall(f"{ATOM}entry")
    assert entries
    for element in (root, *entries):
        assert element.find(f"{ATOM}author/{ATOM}name").text  # sections 4.1.1, 4.1.2, 3.2.1
        of_kind = Counter(
            (link.get("type"), link.get("hreflang"))
            for link in element.findall(f"{ATOM}link")
            if link.get("rel") == "alternate"
        )
        assert max(of_kind.values()) == 1  # sections 4.1.1, 4.1.2: not two alike
        assert element.findtext(f"{ATOM}title").strip()
    own = [link.get("href") for link in root.findall(f"{ATOM}link") if link.get("rel") == "self"]
    assert own == ["https://skerry-circle.example/changes/feed.xml"]  # section 4.1.1, should
    for entry in entries:
        # Section 4.1.2: an entry without content has an alternate link; a summary makes it accessible.
        assert [link.get("rel") for link in entry.findall(f"{ATOM}link")] == ["alternate"]
        assert entry.findtext(f"{ATOM}summary")
        assert entry.find(f"{ATOM}category").get("term")  # section 4.2.2.1


def test_dates_are_those_of_rfc_3339():
    root = parsed(feed())
    dates = [e for e in root.iter() if e.tag in (f"{ATOM}updated", f"{ATOM}published")]
    assert len(dates) > 2
    for date in dates:
        assert DATE.match(date.text)  # section 3.3
        assert datetime.fromisoformat(date.text).tzinfo is not None
    updated = [entry.findtext(f"{ATOM}updated") for entry in root.findall(f"{ATOM}entry")]
    assert updated == sorted(updated, reverse=True)
    assert root.findtext(f"{ATOM}updated") == updated[0]


def test_ids_are_whole_and_each_occurs_once():
    root = parsed(feed())
    ids = [element.text for element in root.iter(f"{ATOM}id")]
    assert len(set(ids)) == len(ids)  # section 4.1.1: entries with one id would have to differ in updated
    for id in ids:
        assert urlsplit(id).scheme  # section 4.2.6: an IRI, never relative
    days = {day for recipe in LOADED.recipes.values() for day in (entry.on for entry in recipe.history)}
    days |= {recipe.withdrawn.on for recipe in LOADED.recipes.values() if recipe.withdrawn}
    for entry in root.findall(f"{ATOM}entry"):
        found = TAG.match(entry.findtext(f"{ATOM}id"))
        assert found and found[4] in days


def test_addresses_are_whole():
    for link in parsed(feed()).iter(f"{ATOM}link"):
        parts = urlsplit(link.get("href"))
        assert (parts.scheme, parts.hostname) == ("https", "skerry-circle.example")  # section 4.2.7.1
        assert parts.path.startswith("/changes/")


def test_ids_outlive_titles_addresses_and_later_days():
    id = "welcome-words"
    before = set(said(parsed(feed())))
    recipe = LOADED.recipes[id]
    assert set(said(parsed(feed(with_recipe(id, title="Another title"))))) == before
    assert set(said(parsed(feed(url=lambda key: f"elsewhere/{key}/")))) == before
    later = (HistoryEntry("2026-01-01", "Tried again."), *recipe.history)
    added = set(said(parsed(feed(with_recipe(id, history=later)))))
    assert added - before == {f"tag:skerry-circle.example,2026-01-01:skerry-camper-circle/{id}"}
    # The feed is no longer than it was, so the oldest entry may have gone.
    assert len(before - added) <= 1


def test_the_same_book_gives_the_same_bytes():
    again = load(ROOT / "recipes")
    assert feed() == feed(again)
    assert feed(replace(again, recipes=dict(reversed(again.recipes.items())))) == feed()


def test_titles_say_how_far_the_club_stands_behind_a_recipe():
    root = said(parsed(feed()))
    pages = Pages(Book(LOADED))
    told = 0
    for id, (title, summary) in root.items():
        recipe = LOADED.recipes[id.rpartition(":")[2].split("/")[1]]
        html = pages.html(links.recipe(recipe.id), links.linker(links.recipe(recipe.id))).html
        label = html.partition('asf-status__label">')[2].partition("<")[0]
        if label == "VETTED":
            assert title == recipe.title
        else:
            told += 1
            assert title.startswith(label) and title.endswith(recipe.title)
        assert label in summary or id.endswith("/withdrawn")
    assert told > 10
    assert not any(
        LOADED.recipes[r].status == "draft" and f"/{r}" in id for r in LOADED.recipes for id in root
    )


@pytest.mark.parametrize(
    ("if_done", "title", "summary"),
    [
        ("keep", "WITHDRAWN, you may keep it: ", "You may keep it."),
        ("put-back", "WITHDRAWN, put it back: ", "Put it back"),
        ("do-not-drive", "WITHDRAWN, do not drive: ", "Do not drive the car before it is put back."),
    ],
)
def test_a_withdrawal_is_an_entry_of_its_own_and_is_never_left_out(if_done, title, summary):
    gone = [r for r in LOADED.recipes.values() if r.withdrawn and r.withdrawn.if_done == if_done]
    assert gone, "the demo shows each kind"
    busy = tuple(HistoryEntry(f"2026-{1 + n // 28:02}-{1 + n % 28:02}", "Again.") for n in range(2 * MOST))
    found = said(parsed(feed(with_recipe("welcome-words", history=busy))))
    assert len([id for id in found if not id.endswith("/withdrawn")]) == MOST
    for recipe in gone:
        id = f"tag:skerry-circle.example,{recipe.withdrawn.on}:skerry-camper-circle/{recipe.id}/withdrawn"
        assert found[id][0] == title + recipe.title
        assert "Do not do this any more." in found[id][1] and summary in found[id][1]


def test_what_members_write_stays_text():
    nasty = '</title><script>alert(1)</script> & "quotes" ]]>'
    id = next(recipe.id for recipe in LOADED.recipes.values() if recipe.status == "offered")
    recipe = LOADED.recipes[id]
    later = (HistoryEntry("2026-01-01", nasty), *recipe.history)
    found = said(parsed(feed(with_recipe(id, title=nasty, history=later))))
    title, summary = found[f"tag:skerry-circle.example,2026-01-01:skerry-camper-circle/{id}"]
    assert title.endswith(nasty)
    assert nasty in summary


def test_without_a_site_there_is_no_feed():
    assert LOADED.club is not None
    assert feed(replace(LOADED, club=replace(LOADED.club, site=None))) is None
    assert feed(replace(LOADED, recipes={})) is None


def test_the_home_page_names_the_feed_only_where_there_is_one():
    assert LOADED.club is not None
    home = Pages(Book(LOADED)).html(links.HOME, links.file_of).html
    assert 'href="feed.xml"' in home
    without = replace(LOADED, club=replace(LOADED.club, site=None))
    assert "feed.xml" not in Pages(Book(without)).html(links.HOME, links.file_of).html
