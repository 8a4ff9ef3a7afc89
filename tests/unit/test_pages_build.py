"""All pages of the demo book: well formed, linked, labelled, and right when followed by hand."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import pytest

from asfound.book import Book
from asfound.car.conditions import All, Equipped, Vehicle
from asfound.car.vehicles import FittedPlace
from asfound.pages import Pages, Rendered, links
from asfound.pages.build import headings
from asfound.pages.preview import write as write_preview
from asfound.pages.views.changes import RecordTable
from asfound.pages.views.desk import Desk
from asfound.pages.views.module import module_page
from asfound.pages.views.recipe import RecipePage, recipe_page
from asfound.source.loader import load
from asfound.trust import risk
from asfound.work.compiled import Edit
from asfound.work.edits import write
from asfound.work.held import parse_held

ROOT = Path(__file__).resolve().parents[2]

# HTML Living Standard 13.1.2: void elements.
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
SVG_ALONE = {"path", "rect", "circle"}


class Tree(HTMLParser):
    """Reads a fragment strictly: every tag closed in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text: list[str] = []
        self.inside: list[tuple[str, ...]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"attribute twice in {tag}"
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        self.inside.append(tuple(self.open))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in SVG_ALONE, f"{tag} closes itself"
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        self.inside.append(tuple(self.open))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, f"</{tag}> out of order"

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.tags if name == tag]


def tree(html: str) -> Tree:
    found = Tree()
    found.feed(html)
    found.close()
    assert not found.open
    return found


def words(html: str) -> str:
    return " ".join("".join(tree(html).text).split())


@pytest.fixture(scope="module")
def book() -> Book:
    return Book(load(ROOT / "recipes"))


@pytest.fixture(scope="module")
def rendered(book: Book) -> dict[str, Rendered]:
    pages = Pages(book, hand_written=frozenset({"cautions"}))
    return {out.key: pages.html(out.key, links.linker(out.key)) for out in pages.outlines()}


@pytest.fixture(scope="module")
def trees(rendered: dict[str, Rendered]) -> dict[str, Tree]:
    return {key: tree(page.html) for key, page in rendered.items()}


@pytest.fixture(scope="module")
def views(book: Book) -> dict[str, RecipePage]:
    desk = Desk(book)
    return {
        id: recipe_page(desk, recipe, links.linker(links.recipe(id))) for id, recipe in book.recipes.items()
    }


def test_as_many_pages_come_out_as_went_in(book: Book, rendered: dict[str, Rendered]) -> None:
    kinds = Counter(key.partition("/")[0] for key in rendered)
    assert kinds["recipes"] == len(book.recipes) > 16
    assert kinds["modules"] == len(book.modules) + 1
    assert kinds["vehicles"] == len(book.lines) + 1
    assert {links.HOME, links.FIND} <= set(rendered)


def test_outlines_are_plain_text_on_one_line(book: Book) -> None:
    for out in Pages(book).outlines():
        for text in (out.title, out.description, out.body, out.names):
            assert "\n" not in text and "**" not in text and "](" not in text
        assert out.title and len(out.description) <= 160
        if out.key.startswith("recipes/"):
            assert out.source == f"changes/{out.key.removeprefix('recipes/')}/recipe.yml"


def test_nothing_that_a_strict_policy_would_forbid(trees: dict[str, Tree]) -> None:
    for key, page in trees.items():
        for tag, attributes in page.tags:
            if tag == "script":  # the data of the reader's tools, and nothing else
                assert set(attributes) == {"src", "defer"}, key
                assert re.fullmatch(r"(\.\./)*assets/asfound/data/[a-z0-9/-]+\.js", attributes["src"]), key
                continue
            assert tag not in ("style", "iframe", "object", "embed", "base", "meta", "link"), key
            for name, value in attributes.items():
                assert name != "style" and not name.startswith("on"), (key, tag, name)
                assert not re.match(r"\s*(javascript|data|vbscript):", value, re.IGNORECASE), (key, value)
            if tag == "img":
                assert not attributes["src"].startswith(("http", "//")), key


def test_ids_are_unique_and_never_the_theme_s(trees: dict[str, Tree]) -> None:
    for key, page in trees.items():
        ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
        assert len(ids) == len(set(ids)), (key, [i for i, n in Counter(ids).items() if n > 1])
        assert not [i for i in ids if i.startswith("__")], key


def test_every_link_leads_to_a_page_and_an_anchor(trees: dict[str, Tree]) -> None:
    ids = {
        links.file_of(key): {attributes.get("id") for _, attributes in page.tags}
        for key, page in trees.items()
    } | {"cautions.html": set(), links.FEED: set()}
    ids |= {links.sheet(key.partition("/")[2]): set() for key in trees if key.startswith("recipes/")}
    ids[links.PLAN_SHEET] = set()
    count = 0
    for key, page in trees.items():
        for attributes in page.all("a"):
            href = attributes["href"]
            if href.startswith("https://"):
                continue
            path, _, anchor = href.partition("#")
            base = Path("/site", links.file_of(key))
            target = str((base.parent / path).resolve().relative_to("/site")) if path else links.file_of(key)
            assert target in ids, (key, href)
            assert not anchor or anchor in ids[target], (key, href)
            count += 1
    assert count > 500


def test_pictures_have_words_and_a_size_and_exist(book: Book, trees: dict[str, Tree]) -> None:
    there = {key for key, _ in Pages(book).pictures()}
    shown = [(key, attributes) for key, page in trees.items() for attributes in page.all("img")]
    assert shown
    for key, attributes in shown:
        assert len(attributes["alt"]) > 20
        assert int(attributes["width"]) > 0 and int(attributes["height"]) > 0
        assert str((Path("/", key).parent / attributes["src"]).resolve()).lstrip("/") in there


def test_tables_have_captions_and_headers(trees: dict[str, Tree]) -> None:
    for key, page in trees.items():
        tables, captions = page.all("table"), page.all("caption")
        assert len(tables) == len(captions), key
        for at, (tag, attributes) in enumerate(page.tags):
            if tag == "th":
                assert attributes.get("scope") in ("col", "row"), key
            if tag == "table":
                assert page.tags[at + 1][0] == "caption", key


def test_headings_step_down_one_at_a_time(rendered: dict[str, Rendered]) -> None:
    for key, page in rendered.items():
        levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", page.html)]
        assert levels[0] == 1 and levels.count(1) == 1, key
        assert all(b - a <= 1 for a, b in pairwise(levels)), (key, levels)
        assert page.toc == headings(page.html)
        assert page.toc[0].level == 1


def test_no_two_records_or_examples_of_a_page_are_headed_alike(views: dict[str, RecipePage]) -> None:
    for id, view in views.items():
        for titles in ([one.title for one in view.changes], [one.title for one in view.examples]):
            assert len(titles) == len(set(titles)), (id, titles)
    places = [one.title for one in views["kerb-step-waits"].changes]
    assert "Entry-step unit (left step): Movement of the tread (layout older)" in places
    assert all("Written in" not in one.when for one in views["kerb-step-waits"].changes)  # the title says it


def test_only_the_filter_is_hidden(trees: dict[str, Tree]) -> None:
    hidden = [
        (key, tag) for key, page in trees.items() for tag, attributes in page.tags if "hidden" in attributes
    ]
    assert hidden == [(links.FIND, "form")]


def test_every_recipe_page_says_how_far_to_trust_it(book: Book, rendered: dict[str, Rendered]) -> None:
    labels = {"VETTED", "VETTED IN PART", "NOT VETTED", "DRAFT", "WITHDRAWN"}
    seen = Counter()
    for id, recipe in book.recipes.items():
        html = rendered[links.recipe(id)].html
        label = re.search(r'class="asf-status__label">([^<]+)<', html)
        assert label and label[1] in labels
        seen[label[1]] += 1
        vetted = [book.standing(id, cell).vetted for cell, a in book.cells(id).items() if a.kind != "no"]
        if recipe.status == "offered":
            assert label[1] == (
                "VETTED" if all(vetted) else "VETTED IN PART" if any(vetted) else "NOT VETTED"
            )
        hazards = book.hazards(id)
        word = risk.banner(hazards)
        banner = re.search(
            r'aria-label="Safety message">\s*<span class="asf-signal asf-signal--(\w+)">(.*?)</span>', html
        )
        assert (banner is None) == (word is None)
        if banner and word:
            assert banner[2].endswith(word) and banner[1] == word.lower()
            assert ("<svg" in banner[2]) == risk.alert_symbol(word)
        said = words(html)
        for hazard in hazards:
            for text in (hazard.hazard, hazard.consequence, hazard.avoid):
                assert " ".join(text.split())[1:] in said
        assert book.codes(id).sheet in html
        assert "law of the place" in html and "workshop information" in html
    assert seen["NOT VETTED"] and seen["VETTED IN PART"] and seen["WITHDRAWN"]


def test_withdrawn_recipes_say_why_and_what_to_do_and_cannot_be_followed(
    book: Book, rendered: dict[str, Rendered], views: dict[str, RecipePage]
) -> None:
    gone = [recipe for recipe in book.recipes.values() if recipe.status == "withdrawn"]
    assert {recipe.withdrawn.if_done for recipe in gone if recipe.withdrawn} == {
        "keep",
        "put-back",
        "do-not-drive",
    }
    home = words(rendered[links.HOME].html)
    for recipe in gone:
        assert recipe.withdrawn
        page = words(rendered[links.recipe(recipe.id)].html)
        for text in (page, home):
            assert recipe.withdrawn.because.rstrip(".") in text
            assert "If you have done it:" in text
        view = views[recipe.id]
        assert not view.jobs and not view.examples and not view.fit.matrices
        assert view.withdrawal and (view.withdrawal.instead is None) == (recipe.withdrawn.instead is None)
        for key in ("vehicles/skerry",):
            assert recipe.title not in rendered[key].html


def test_matrices_tell_unknown_from_no(book: Book, views: dict[str, RecipePage]) -> None:
    kinds: Counter[str] = Counter()
    for id, view in views.items():
        cells = book.cells(id)
        for matrix in view.fit.matrices:
            line = next(line for line in book.lines.values() if line.name == matrix.caption)
            for model, row in zip(line.models, matrix.rows, strict=True):
                for phase, cell in zip(line.phases, row.cells, strict=True):
                    answer = cells.get((line.id, model.id, phase.id))
                    expected = {None: "not made", "fits": "fits", "no": "does not fit", "if": "fits if"}
                    assert cell.words == expected[answer.kind if answer else None]
                    assert bool(cell.mark) == (cell.kind in ("if", "no"))
                    kinds[cell.kind] += 1
        notes = {note.mark: note for note in view.fit.notes}
        for note in notes.values():
            assert note.words.startswith(("Fits if ", "Does not fit: "))
            assert note.look or note.words.startswith("Does not fit")
    assert set(kinds) == {"fits", "if", "no", "not-made"}


def by_hand(table: RecordTable, found: bytes) -> bytes:
    """What a reader writes who follows the page's hexadecimal column digit by digit."""
    out = [list(f"{byte:02X}") for byte in found]
    for row in table.bytes:
        at = int(re.match(r"byte (\d+)", row.where)[1])  # type: ignore[index]
        for line in row.hex:
            which, _, pairs = line.rpartition(": ")
            if not which:
                out[at] = list(pairs.rpartition(" → ")[2])
                continue
            digit = 0 if which == "first digit" else 1
            if " → " in pairs and "," not in pairs and "\u2009" not in pairs:
                out[at][digit] = pairs.rpartition(" → ")[2]
            else:
                steps = dict(pair.split("\u2009→\u2009") for pair in pairs.split(", "))
                out[at][digit] = steps.get(out[at][digit], out[at][digit])
    return bytes.fromhex("".join("".join(pair) for pair in out))


def test_whoever_follows_the_page_by_hand_writes_what_the_edit_writes(
    book: Book, views: dict[str, RecipePage]
) -> None:
    random = Random(4)
    tried = 0
    for id, view in views.items():
        edits = [edit for edit in book.edits(id) if isinstance(edit, Edit)]
        tables = [table for table in view.changes if table.bytes]
        assert len(edits) == len(tables)
        for edit, table in zip(edits, tables, strict=True):
            assert [row.where for row in table.bytes] and len(table.bytes) == sum(1 for m in edit.mask if m)
            for _ in range(20):
                found = random.randbytes(edit.length)
                for one in edit.fields:
                    if one.before_raw is not None:
                        found = one.place.scatter(found, one.before_raw)
                if edit.checksum:
                    found = edit.checksum.applied(found)
                by_page = by_hand(table, found)
                if edit.checksum:
                    by_page = edit.checksum.applied(by_page)
                assert by_page == write(edit, found), (id, table.title)
                tried += 1
    assert tried > 400


def test_the_sum_for_a_record_shown_as_a_number(book: Book, views: dict[str, RecipePage]) -> None:
    tried = 0
    for id, view in views.items():
        edits = [edit for edit in book.edits(id) if isinstance(edit, Edit)]
        for edit, table in zip(edits, (t for t in view.changes if t.bytes), strict=True):
            record = book.record(edit.record)
            said = " ".join(table.remarks)
            if record is None or record.shown_as is None:
                assert "decimal number" not in said
                continue
            found = bytes(edit.length)
            for one in edit.fields:
                found = one.place.scatter(found, one.before_raw or 0)
            after = int.from_bytes(write(edit, found), record.shown_as.order)
            if whole := re.search(r"number to write is (\d+)", said):
                assert int(whole[1]) == after
            elif delta := re.search(r"number found ([+−]) (\d+)", said):
                change = int(delta[2]) * (1 if delta[1] == "+" else -1)
                assert int.from_bytes(found, record.shown_as.order) + change == after
            tried += 1
    assert tried >= 2


def test_worked_examples_end_in_what_their_author_wrote(book: Book, views: dict[str, RecipePage]) -> None:
    tried = 0
    for id, view in views.items():
        authored = book.recipes[id].worked_examples if view.jobs else ()
        assert len(view.examples) == len(authored)
        for shown, example in zip(view.examples, authored, strict=True):
            record = book.record(example.record)
            assert record and shown.steps[0].term == "As found" and shown.steps[-1].term == "To write"
            assert ("Made up" in shown.read_on) == (example.read_on == "made-up")
            for step, text in ((shown.steps[0], example.found), (shown.steps[-1], example.write)):
                line = re.sub(r"<[^>]+>", "", " ".join(map(str, step.lines)))
                if record.names_only:
                    assert text.rpartition(": ")[2] in line
                    continue
                pairs = re.sub(r".*which is ", "", line).replace("[", "").replace("]", "")
                assert bytes.fromhex(pairs) == parse_held(record, None, text)
                if record.shown_as is not None:
                    assert line.startswith(f"{text}, which is ")
            tried += 1
    assert tried > 20


def test_job_steps_are_numbered_through(views: dict[str, RecipePage]) -> None:
    for view in views.values():
        for job in view.jobs:
            number = 1
            for group in job.groups:
                assert group.first == number and group.steps
                number += len(group.steps)


def test_a_module_fitted_otherwise_on_another_line_is_counted_line_by_line(book: Book) -> None:
    line = book.lines["skerry"]
    fitted = next(one for one in line.fitted if one.module == "entry-step")
    rear = replace(fitted, places=(*fitted.places, FittedPlace("rear", "rear step", "0x2D53")))
    other = replace(line, id="other", name="Other", fitted=(rear,))
    both = Book(replace(book.loaded, lines={**book.lines, "other": other}))
    facts = {
        id: dict((fact.term, fact.lines) for fact in module_page(Desk(one), one.modules[id], str).facts)
        for id, one in (("entry-step", both), ("heater", both))
    }
    assert facts["entry-step"]["Fitted"] == (
        "Tarnwell Skerry, 2 times: left step and right step. Each is read and written on its own.",
        "Other, 3 times: left step, right step and rear step. Each is read and written on its own.",
    )
    assert "Fitted" not in facts["heater"]


def test_cars_of_one_line_that_have_a_module_in_other_places_are_told_apart(book: Book) -> None:
    line = book.lines["skerry"]
    fitted = next(one for one in line.fitted if one.module == "entry-step")
    old, new = (Vehicle("skerry", phases=(phase,)) for phase in ("1", "2"))
    rear = (*fitted.places, FittedPlace("rear", "rear step", "0x2D53"))
    split = (replace(fitted, fits=old), replace(fitted, fits=All((new, Equipped("tow-bar"))), places=rear))
    one = Book(replace(book.loaded, lines={"skerry": replace(line, fitted=split)}))
    other = replace(line, id="other", name="Other", fitted=split[:1])
    two = Book(replace(book.loaded, lines={"skerry": replace(line, fitted=split), "other": other}))
    said = [
        dict(
            (fact.term, fact.lines) for fact in module_page(Desk(each), each.modules["entry-step"], str).facts
        )
        for each in (one, two)
    ]
    twice = "2 times: left step and right step. Each is read and written on its own."
    thrice = "3 times: left step, right step and rear step. Each is read and written on its own."
    assert said[0]["Fitted"] == (f"Phase 1, {twice}", f"Phase 2 with a tow bar, {thrice}")
    assert said[1]["Fitted"] == (
        f"Tarnwell Skerry, Phase 1, and Other, {twice}",
        f"Tarnwell Skerry, Phase 2, with a tow bar, {thrice}",
    )


def test_module_pages_show_who_writes_what(book: Book, rendered: dict[str, Rendered]) -> None:
    for id, module in book.modules.items():
        html = rendered[links.module(id)].html
        assert html.count('class="asf-strip"') == sum(len(record.layouts) for record in module.records)
        for recipe in book.by_module.get(id, ()):
            assert f"recipes/{recipe}.html" in html
        for record in module.records:
            for setting in record.settings:
                assert setting.name in words(html)
        if module.address:
            assert html.index(module.address) > html.index('id="detail"')
    assert "asf-seg--several" in "".join(page.html for page in rendered.values())


HOSTILE = "<script>alert(1)</script><div hidden>{{ 7*7 }}</section>\"'`--> [x](javascript:alert(1))"


def test_hostile_lines_are_only_words(book: Book) -> None:
    """One-line fields take text from strangers; the banner and the label must stay visible."""
    recipe = next(r for r in book.recipes.values() if r.hazards and r.may_show and r.status == "offered")

    def spoil(value: Any) -> Any:
        return replace(
            value,
            **{
                name: HOSTILE
                for name in (
                    "hazard",
                    "consequence",
                    "avoid",
                    "message",
                    "means",
                    "check",
                    "expect",
                    "what",
                    "does",
                )
                if hasattr(value, name)
            },
        )

    spoiled = replace(
        recipe,
        title=HOSTILE,
        annoyance=HOSTILE,
        by=HOSTILE,
        ready=(HOSTILE,),
        hazards=tuple(map(spoil, recipe.hazards)),
        may_show=tuple(map(spoil, recipe.may_show)),
        checks=tuple(map(spoil, recipe.checks)),
        history=tuple(map(spoil, recipe.history)),
    )
    loaded = replace(book.loaded, recipes={**book.loaded.recipes, recipe.id: spoiled})
    pages = Pages(Book(loaded))
    for key in (links.recipe(recipe.id), links.HOME, links.FIND, "vehicles/skerry", "modules/living-area"):
        html = pages.html(key, links.linker(key)).html
        page = tree(html)
        assert all("/data/" in attributes["src"] for attributes in page.all("script"))
        assert [t for t, attributes in page.tags if "hidden" in attributes] == ["form"] * (key == links.FIND)
        assert "{{ 7*7 }}" in "".join(page.text)  # never read as a template again
    page = tree(pages.html(links.recipe(recipe.id), links.linker(links.recipe(recipe.id))).html)
    sections = [
        (attributes.get("aria-label"), within)
        for (tag, attributes), within in zip(page.tags, page.inside, strict=True)
        if tag == "section"
    ]
    assert ("Status", ("div",)) in sections and ("Safety message", ("div",)) in sections
    assert "".join(page.text).count("<script>alert(1)</script>") > 8


def test_the_whole_book_without_any_host(book: Book, tmp_path: Path) -> None:
    written = write_preview(book, tmp_path)
    names = {str(path.relative_to(tmp_path)) for path in written}
    assert {"index.html", "find.html", "assets/asfound/asfound.css", "recipes/pets-on-board.html"} <= names
    assert len(names) == len(written)
    page = (tmp_path / "recipes/pets-on-board.html").read_text("utf-8")
    assert page.startswith("<!doctype html>") and 'href="../assets/asfound/asfound.css"' in page
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)
