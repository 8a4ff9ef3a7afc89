"""Translations of a book: texts and nothing else, found by the text itself, marked where they are missing."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import fields, replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from asfound.book import Book
from asfound.book.translated import in_language, progress
from asfound.car.settings import Choices
from asfound.car.values import with_unit
from asfound.cli import main
from asfound.pages import Pages, links
from asfound.pages.languages import language
from asfound.rules.run import check_folder
from asfound.source.loader import load
from asfound.source.translations import Said, Translation
from asfound.speech import Original, speaking
from asfound.trust.risk import risk, signal_word
from asfound.work.recipes import Hazard

ROOT = Path(__file__).resolve().parents[2]
LOADED = load(ROOT / "recipes")
BOOK = Book(LOADED)


@cache
def dutch() -> Book:
    return in_language(BOOK, "nl")


def with_texts(of: str, *pairs: tuple[str, str]) -> Book:
    """The demo with one Dutch file of these texts alone."""
    entries = tuple(Said(text, says) for text, says in pairs)
    return in_language(Book(replace(LOADED, translations={"nl": {of: Translation("nl", entries)}})), "nl")


def test_the_demo_has_files_whole_in_part_and_not_translated() -> None:
    stands = {len(one.missing) / len(one.texts) for one in progress(BOOK, "nl")}
    assert 0 in stands and 1 in stands and len(stands) > 2
    assert [one.stale for one in progress(BOOK, "nl") if one.stale] == []


def test_a_book_in_its_own_language_is_the_book_itself() -> None:
    assert in_language(BOOK, "en") is BOOK


def test_codes_are_those_of_the_original() -> None:
    assert {id: dutch().codes(id) for id in BOOK.recipes} == {id: BOOK.codes(id) for id in BOOK.recipes}


def test_edits_evidence_and_standing_are_those_of_the_original() -> None:
    for id in BOOK.recipes:
        for here, there in zip(dutch().edits(id), BOOK.edits(id), strict=True):
            names = {f.name for f in fields(here)} - {"fields"}
            assert all(getattr(here, name) == getattr(there, name) for name in names)
            assert [(f.setting, f.before_words, f.to_words) for f in here.fields] == [
                (f.setting, f.before_words, f.to_words) for f in there.fields
            ]
        cells = BOOK.cells(id)
        assert [dutch().standing(id, cell).label for cell in cells] == [
            BOOK.standing(id, cell).label for cell in cells
        ]


def rank(hazards: tuple[Hazard, ...]) -> list[Any]:
    return [(signal_word(h), risk(h), h.harm, h.certainty, h.likelihood, h.loss) for h in hazards]


def test_no_hazard_is_fewer_or_weaker_in_another_language() -> None:
    for id in BOOK.recipes:
        assert rank(dutch().hazards(id)) == rank(BOOK.hazards(id))
        assert all(h.hazard and h.consequence and h.avoid for h in dutch().recipes[id].hazards)


def test_a_text_that_changed_has_no_translation_until_somebody_looks() -> None:
    recipe = BOOK.recipes["softer-tick"]
    known = with_texts("changes/softer-tick", (recipe.title, "Zachtere tik")).recipes["softer-tick"]
    assert known.title == "Zachtere tik" and not isinstance(known.title, Original)
    stale = with_texts("changes/softer-tick", (f"{recipe.title}!", "Zachtere tik")).recipes["softer-tick"]
    assert stale.title == recipe.title and isinstance(stale.title, Original) and stale.title.tag == "en"
    book = Book(replace(LOADED, translations={"nl": {"changes/softer-tick": Translation(
        "nl", (Said(f"{recipe.title}!", "Zachtere tik"),)
    )}}))  # fmt: skip
    (one,) = (p for p in progress(book, "nl") if p.of == "changes/softer-tick")
    assert len(one.stale) == 1 and len(one.missing) == len(one.texts)


def test_a_value_keeps_its_name_and_is_called_something_else() -> None:
    setting = dutch().modules["entry-step"].records[0].settings[0]
    assert isinstance(setting.kind, Choices)
    assert [(c.means, c.shown) for c in setting.kind.choices][1] == ("stops", "stopt")
    assert with_unit(setting, "stops") == "stopt"
    alike = with_texts("modules/entry-step", ("stops", "stopt"), ("goes on", "stopt"))
    kind = alike.modules["entry-step"].records[0].settings[0].kind
    assert isinstance(kind, Choices) and not any(c.shown for c in kind.choices)  # two may not look the same


class Seen(HTMLParser):
    """The attributes of a page that hold markup, and the languages its elements name."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self.languages: set[str] = set()
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.wrong += [f"{tag} {name}" for name, value in attrs if value and "<" in value]
        self.languages |= {value or "" for name, value in attrs if name == "lang"}


@pytest.mark.parametrize(
    "key",
    [
        links.HOME, links.FIND, links.BOARD, links.vehicle("skerry"), links.module("living-area"),
        links.recipe("softer-tick"), links.recipe("trailer-cool-box"), links.recipe("map-card-0422"),
    ],
)  # fmt: skip
def test_pages_say_which_texts_are_not_translated(key: str) -> None:
    with speaking(language("nl")):
        html = Pages(BOOK, language="nl").html(key, links.linker(key)).html
    seen = Seen(html)
    assert seen.wrong == [] and seen.languages == {"en"}  # every page has something of reports or the rest
    untranslated = key == links.recipe("map-card-0422")
    assert ("Nog niet vertaald" if untranslated else "Wat niet vertaald is") in html
    assert ("Keurders tekenen het origineel" in html) == (key.startswith("recipes/") and not untranslated)
    assert not re.search(r"%\(\w+\)s|\{[a-z_]+\}", html), "a placeholder was not filled"


def test_book_json_is_as_it_was_written_and_sheets_bear_the_same_code() -> None:
    sheet = links.sheet("softer-tick")
    with speaking(language("nl")):
        pages = {one.key: one for one in Pages(BOOK, language="nl").documents(links.file_of)}
        ours, paper = pages[links.BOOK].content(), pages[sheet].content()
    there = {one.key: one for one in Pages(BOOK).documents(links.file_of)}
    assert ours == there[links.BOOK].content()
    assert BOOK.codes("softer-tick").sheet.encode() in paper


def test_the_command_says_what_is_left(tmp_path: Path) -> None:
    recipes = tmp_path / "recipes"
    shutil.copytree(ROOT / "tests/golden/minimal/in/recipes", recipes)
    module = next((recipes / "modules").glob("*.yml")).stem
    name = load(recipes).modules[module].name
    file = recipes / f"languages/nl/modules/{module}.yml"
    file.parent.mkdir(parents=True)
    first = (
        "# yaml-language-server: $schema=../../../../schema/translation.schema.json\nlanguage: nl\ntexts:\n"
    )
    file.write_text(f"{first}  - {{text: {name}, says: Lampen}}\n  - {{text: Gone, says: Weg}}\n", "utf-8")
    said = CliRunner().invoke(main, ["translations", "nl", "--book", str(recipes)])
    assert said.exit_code == 0
    assert f"modules/{module}: 1 of " in said.stdout
    assert f"languages/nl/modules/{module}.yml:5:5 the original says something else now" in said.stdout
    left = CliRunner().invoke(
        main, ["translations", "nl", "--book", str(recipes), "--missing", f"modules/{module}.yml"]
    )
    assert left.exit_code == 0 and f'"{name}"' not in left.stdout and "    says:\n" in left.stdout
    assert CliRunner().invoke(main, ["translations", "nl", "--book", "nowhere"]).exit_code == 2
    within = CliRunner().invoke(main, ["translations", "nl", "--book", str(recipes / "modules")])
    assert within.output == said.output  # as everywhere, from something inside the book too
    odd = CliRunner().invoke(main, ["translations", "../nl", "--book", str(recipes)])
    assert (odd.exit_code, odd.output.count("\n")) == (2, 1) and "such as nl" in odd.output


def test_a_whole_file_is_printed_where_none_is_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is printed and filled in is a sound file, however the original is named."""
    shutil.copytree(ROOT / "tests/golden/minimal/in/recipes", tmp_path / "recipes")
    monkeypatch.chdir(tmp_path)
    recipe = next(iter(load(Path("recipes")).recipes))
    said = [
        CliRunner().invoke(main, ["translations", "no", "--missing", name])
        for name in (
            f"recipes/changes/{recipe}/recipe.yml",
            f"changes/{recipe}/recipe.yml",
            f"changes/{recipe}",
        )
    ]
    assert {one.exit_code for one in said} == {0} and len({one.stdout for one in said}) == 1
    where = f"This belongs in languages/no/changes/{recipe}.yml of the book."
    assert said[0].stderr == f"{where} Take out what you leave untranslated.\n"
    file = Path(f"recipes/languages/no/changes/{recipe}.yml")
    file.parent.mkdir(parents=True)
    file.write_text(said[0].stdout, "utf-8")
    empty = check_folder(Path("recipes"))[1]
    assert {one.id for one in empty} == {"yaml-empty-value"}
    assert {one.repair for one in empty} == {
        "write the value: the same in the other language. It may have emphasis, lists and links only where"
        " the original may. Such as Luifellamp volgt de schuifdeur"
    }
    texts = [one["text"] for one in yaml.safe_load(said[0].stdout)["texts"]]
    filled = said[0].stdout
    for text in texts:
        filled = filled.replace("    says:\n", f"    says: {json.dumps(text + '*')}\n", 1)
    file.write_text(filled, "utf-8")
    assert check_folder(Path("recipes"))[1] == ()
    again = CliRunner().invoke(main, ["translations", "no", "--missing", f"changes/{recipe}"])
    assert (again.exit_code, again.stdout) == (0, "")
    assert again.stderr == f"Nothing of changes/{recipe} is left to translate.\n"


def test_a_file_with_findings_is_not_said_to_be_missing(tmp_path: Path) -> None:
    recipes = tmp_path / "recipes"
    shutil.copytree(ROOT / "tests/golden/minimal/in/recipes", recipes)
    module = next((recipes / "modules").glob("*.yml"))
    module.write_text(module.read_text("utf-8").replace("name:", "nmae:", 1), "utf-8")
    ended = CliRunner().invoke(main, ["translations", "nl", "--book", str(recipes), "--missing", str(module)])
    assert ended.exit_code == 2
    says = f"modules/{module.stem} has findings of its own; asfound check lists them."
    assert ended.stderr == f"asfound translations: {says}\n"


def test_an_unknown_file_is_refused_with_near_ones() -> None:
    ended = CliRunner().invoke(
        main, ["translations", "nl", "--book", str(ROOT / "recipes"), "--missing", "modules/heatr.yml"]
    )
    assert ended.exit_code == 2
    assert ended.stderr.startswith(
        "asfound translations: the book has no file modules/heatr; "
        "write it as in modules/lamps or changes/some-recipe. Near it: modules/heater"
    )
