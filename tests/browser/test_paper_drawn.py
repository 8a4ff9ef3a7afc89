"""Sheets drawn in the page say what Python's say; typed values, the planner, the phone, what a code means."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect

from asfound.book import Book
from asfound.book.translated import in_language
from asfound.car.bits import Part, Place
from asfound.car.known import Known
from asfound.car.records import RecordPath, ShownAsNumber
from asfound.pages import compiled, links
from asfound.pages.environment import environment
from asfound.pages.languages import language
from asfound.pages.policy import policy
from asfound.pages.sheets import SheetPage, Sheets
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker
from asfound.pages.words import UNITS, sentence
from asfound.rules.run import check_book
from asfound.speech import speaking
from asfound.work.byhand import DigitWork, NumberWork, Work, by_hand
from asfound.work.compiled import Edit
from asfound.work.plan import alone, plan
from asfound.work.worksheet import worksheet

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))

from side_by_side import side_by_side

ROOT = Path(__file__).parents[2]
FIVE = [
    "awning-lamp-with-door",
    "fridge-on-the-drive",
    "cabin-dims-slowly",
    "battery-replaced",
    "welcome-words",
]
OTHERS = ["farm-trailer-lamps-only", "work-lamp-out-when-rolling", "tank-gauge-true", "earlier-cut-off"]
SAID = """() => { const squeezed = (one) => one.textContent.replace(/\\s+/g, "");
return Object.fromEntries(Object.entries({
  steps: ".sheet .step", dangers: ".sheet .panel li", hand: ".sheet .hand, .sheet .lookup",
  boxes: ".sheet .boxes", ticks: ".sheet .ticks li",
  refusals: ".sheet .refusals h2, .sheet .refusals li",
  heads: ".sheet h2, .sheet h3, .sheet .when, .sheet .change",
}).map(([name, query]) => [name, Array.from(document.querySelectorAll(query), squeezed)])); }"""


@pytest.fixture(scope="module")
def book() -> Book:
    found = check_book(ROOT / "recipes")[2]
    assert found is not None
    return found


@pytest.fixture(scope="module")
def tab(browser: Any) -> Iterator[Page]:
    context = browser.new_context(locale="en-GB")
    page = context.new_page()
    page.trouble = []
    page.on("pageerror", lambda error: page.trouble.append(str(error)))
    page.on("console", lambda one: page.trouble.append(one.text) if one.type == "error" else None)
    yield page
    assert page.trouble == []
    context.close()


def drawn(tab: Page, base: str, said: dict[str, Any]) -> Page:
    """The sheet that an address asks for."""
    tab.goto("about:blank")
    tab.goto(f"{base}{links.PLAN_SHEET}#{quote(json.dumps(said))}")
    tab.locator("body[data-asf-drawn]").wait_for(state="attached")
    return tab


def plain(work: Work | None) -> Any:
    """What is to be done by hand, as the page's script has it."""
    if work is None:
        return None
    if isinstance(work, NumberWork):
        spans = lambda some: [[str(a), str(b)] for a, b in some]  # noqa: E731
        whole = None if work.whole is None else str(work.whole)
        shares = [[str(s.divide), str(s.modulo), str(s.to), spans(s.allowed)] for s in work.shares]
        return [whole, spans(work.allowed), shares]
    assert isinstance(work, DigitWork)
    sets = lambda some: [[None if s is None else sorted(s) for s in one] for one in some]  # noqa: E731
    return [
        [[list(one.cell), list(one.write)] for one in work.lookups],
        [[list(one.cell), one.digit] for one in work.fixed],
        [[one.setting.name, [list(c) for c in one.cells], sets(one.patterns)] for one in work.allowed],
        [[one.setting.name, one.first, one.last, one.pad] for one in work.texts],
    ]


ANSWER = """(text) => JSON.parse(text).map(([edit, record, alternatives]) => {
  const work = asfound.byhand.work(edit, record, alternatives);
  const spans = (some) => some.map((one) => one.map(String));
  if (!work) { return null; }
  if (work.shares) {
    return [work.whole === null ? null : String(work.whole), spans(work.allowed),
      work.shares.map((s) => [String(s.divide), String(s.modulo), String(s.to), spans(s.allowed)])];
  }
  return [work.lookups.map((one) => [one.cell, one.write]), work.fixed.map((one) => [one.cell, one.digit]),
    work.allowed.map((one) => [one.name, one.cells, one.patterns]),
    work.texts.map((one) => [one.name, one.first, one.last, one.pad])];
})"""


def test_by_hand_as_python_says(book: Book, tab: Page, bases: dict[str, str]) -> None:
    """On every demo edit, on its settings moved anywhere in random records, and on choices in a row."""
    turn, asked, expected = Random(11), [], []
    for recipe in book.recipes.values():
        for edit in book.edits(recipe.id):
            record = book.record(edit.record)
            assert record is not None
            if not isinstance(edit, Edit):
                continue
            others = [{"setting": str(a.setting), "to": a.to, "does": a.does} for a in recipe.alternatives]
            asked.append([compiled.edit(edit), compiled.record(record), others])
            expected.append(plain(by_hand(edit, record, recipe.alternatives)))
            for _ in range(12):
                field = turn.choice(edit.fields)
                width, length = field.place.width, turn.randint(2, 6)
                if width >= 8 * length:
                    continue
                start = turn.randrange(8 * length - width + 1)
                bits = list(range(start, start + width))
                if turn.random() < 0.15:
                    turn.shuffle(bits)
                place = Place(tuple(Part(b // 8, 7 - b % 8, 7 - b % 8) for b in bits))
                before = None if turn.random() < 0.4 else field.before_raw
                words = None if before is None else field.before_words
                moved = replace(field, place=place, before_raw=before, before_words=words)
                one = replace(
                    edit, length=length, fields=(moved,), checksum=None,
                    mask=place.mask(length), bits=place.scatter(bytes(length), field.to_raw),
                )  # fmt: skip
                shown = None if turn.random() < 0.6 else ShownAsNumber(length, turn.choice(("big", "little")))
                other = replace(record, shown_as=shown)
                asked.append([compiled.edit(one), compiled.record(other), []])
                expected.append(plain(by_hand(one, other)))
    for _ in range(100):
        edit, record = side_by_side(turn)
        asked.append([compiled.edit(edit), compiled.record(record), []])
        expected.append(plain(by_hand(edit, record)))
    tab.goto(bases["file"] + links.PLAN_SHEET)
    assert tab.evaluate(ANSWER, json.dumps(asked)) == expected
    assert len(expected) > 300 and sum(one is None for one in expected) > 5


@pytest.fixture(scope="module")
def maker(book: Book) -> Maker:
    return Maker(Desk(book), links.file_of)


def by_python(tab: Page, folder: Path, book: Book, sheet: Any) -> Any:
    here = SheetPage(policy(), (), (), "", "")
    html = Sheets(Desk(book), environment()).html(sheet, here)
    html = re.sub('<img class="picture"[^>]*>', "", html)  # which is not in this folder
    (folder / "sheet.html").write_text(html, "utf-8")
    tab.goto((folder / "sheet.html").as_uri())
    return tab.evaluate(SAID)


@pytest.mark.parametrize(
    "asked",
    [FIVE, OTHERS[:3], ["map-card-0422"], ["battery-replaced"], ["awning-lamp-time-out"]],
    ids=lambda a: str(len(a)),
)
def test_the_page_draws_what_python_draws(
    book: Book, maker: Maker, tab: Page, bases: dict[str, str], tmp_path: Path, asked: list[str]
) -> None:
    made = plan(asked, book.shop)
    expected = by_python(tab, tmp_path, book, maker.plan(made, Known(), {}, {}))
    found = drawn(tab, bases["file"], {"recipes": asked}).evaluate(SAID)
    if len(asked) == 1 and not made.records:
        assert expected["boxes"] == found["boxes"] == []
    for part in ("steps", "dangers", "hand", "boxes", "ticks", "refusals"):
        assert found[part] == expected[part], part
    assert set(found["heads"]) >= {
        h for h in expected["heads"] if "Thecarasitcame" not in h and "→" not in h
    } - {""}


@pytest.mark.parametrize("asked", [FIVE, OTHERS[:3], ["map-card-0422"]], ids=lambda a: str(len(a)))
def test_the_page_draws_what_python_draws_in_another_language(
    book: Book, tab: Page, bases: dict[str, str], tmp_path: Path, asked: list[str]
) -> None:
    """Word for word, down to the digits that may be found; the browser has its words from the catalogue."""
    with speaking(language("nl")):
        there = in_language(book, "nl", "nl")
        made = plan(asked, there.shop)
        sheet = Maker(Desk(there), links.file_of).plan(made, Known(), {}, {})
        expected = by_python(tab, tmp_path, there, sheet)
    found = drawn(tab, f"{bases['file']}nl/", {"recipes": asked}).evaluate(SAID)
    assert tab.evaluate("document.documentElement.lang") == "nl"
    for part in ("steps", "dangers", "hand", "boxes", "ticks", "refusals"):
        assert found[part] == expected[part], part


def test_typed_values_come_to_paper(
    book: Book, maker: Maker, tab: Page, bases: dict[str, str], tmp_path: Path
) -> None:
    """From a worksheet, by its link, over HTTP and from a folder; what to write is worked out again there."""
    for way in ("file", "http"):
        tab.goto(bases[way] + "recipes/heater-runs-longer.html")
        tab.get_by_role("textbox", name="As found").fill("06 64 A0 10 00 00 77 E1 36")
        tab.get_by_role("textbox", name="Longest run in minutes").fill("60")
        tab.get_by_role("link", name="The sheet for paper, with these values").click()
        tab.locator("body[data-asf-drawn]").wait_for(state="attached")
        found = tab.evaluate(SAID)
        (boxes,) = found["boxes"]
        assert "0664A010000077E136" in boxes and "06C4A010000077C9D7" in boxes  # the worked example
        tab.evaluate("localStorage.clear()")
    typed = {"heater/run": "06 64 A0 10 00 00 77 E1 36"}
    path = RecordPath("heater", "run")
    choose = {next(iter(book.recipes["heater-runs-longer"].changes)).setting: "60"}
    made = alone("heater-runs-longer", book.shop, Known(), choose)
    rows = {row.path: row for row in worksheet(made, {path: typed["heater/run"]}, book.world, Known()).rows}
    expected = by_python(tab, tmp_path, book, maker.plan(made, Known(), choose, rows))
    for part in ("steps", "dangers", "hand", "boxes"):
        assert found[part] == expected[part], part


def test_an_address_cannot_forge_what_is_written(tab: Page, bases: dict[str, str]) -> None:
    """A link may bring what was found; it cannot bring what to write, nor markup, nor unknown recipes."""
    said = {
        "recipes": ["heater-runs-longer", "<img src=x onerror=alert(1)>"],
        "texts": {"heater/run": "06 64 A0 10 00 00 77 E1 37"},  # its checksum is wrong
        "write": {"heater/run": "FF FF FF FF FF FF FF FF FF"},
        "known": {"lines": ["<b>x</b>"]},
    }
    page = drawn(tab, bases["file"], {**said, "known": {}})
    assert page.locator(".sheet img").count() == 0
    boxes = page.evaluate(SAID)["boxes"]
    assert all("FFFF" not in one and "0664" not in one for one in boxes), (
        "nothing is printed of a wrong reading"
    )
    tab.goto("about:blank")
    tab.goto(f"{bases['file']}{links.PLAN_SHEET}#%7Bbroken")
    assert "Sheets for the garage" in tab.inner_text("h1")


def test_the_planner_repeats_the_hazards_and_leads_to_paper(
    book: Book, tab: Page, bases: dict[str, str]
) -> None:
    tab.goto(bases["file"] + "planner.html")
    for title in ("Parking heater runs as long as you say, up to an hour",):
        tab.get_by_label(title).check()
    banner = tab.locator(".asf-banner")
    banner.first.wait_for()
    said = "".join(banner.all_inner_texts())
    for hazard in book.hazards("heater-runs-longer"):
        assert hazard.hazard.rstrip(".") in said
    assert "This job changes something that keeps people safe" in said  # comes by rule
    tab.get_by_role("link", name="The sheet of this job, for paper").click()
    tab.locator("body[data-asf-drawn]").wait_for(state="attached")
    dangers = "".join(tab.evaluate(SAID)["dangers"])
    for hazard in book.hazards("heater-runs-longer"):
        assert "".join(hazard.hazard.split()).rstrip(".") in dangers
    tab.go_back()
    tab.evaluate("localStorage.clear()")


AWAKE = """() => {
  window.held = [];
  Object.defineProperty(navigator, "wakeLock", {
    value: { request: async (kind) => { held.push(kind); return { release: () => held.pop() }; } },
  });
}"""


def test_step_by_step_on_a_phone(tab: Page, bases: dict[str, str]) -> None:
    tab.set_viewport_size({"width": 360, "height": 720})
    tab.goto(bases["file"] + "sheets/step-goes-back-out.html")
    tab.evaluate(AWAKE)
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360
    tab.get_by_role("button", name="One step at a time").click()
    assert tab.evaluate("held") == ["screen"]
    onward, seen = tab.get_by_role("button", name="Done, next"), []
    while True:
        shown = tab.locator(".sheet .now")
        seen.append(shown.all_inner_texts())
        assert tab.evaluate("document.documentElement.scrollWidth") <= 360, seen[-1]
        assert (
            float(tab.evaluate("parseFloat(getComputedStyle(document.querySelector('.now')).fontSize)")) >= 22
        )
        size = onward.bounding_box()
        assert size is not None and size["height"] >= 44  # WCAG 2.2, 2.5.5
        if onward.is_disabled():
            break
        onward.press("Enter")
    assert len(seen) > 25
    assert tab.evaluate("document.activeElement.textContent") == "Back", (
        "the other one takes no press any more"
    )
    at = tab.locator(".stepper__count").inner_text()
    tab.keyboard.press("Alt+ArrowLeft")  # the browser's own key
    assert tab.locator(".stepper__count").inner_text() == at
    assert sum("DANGER" in "".join(one) for one in seen) == 1
    write = next(one for one in seen if any("Write R1" in text for text in one))
    assert any("as found" in text for text in write), "the record stands beside the step that writes it"
    tab.get_by_role("button", name="It refuses or is silent").click()
    assert "If a module refuses" in tab.locator(".sheet .now").inner_text()
    tab.get_by_role("button", name="Back to the step").click()
    tab.get_by_role("button", name="The whole sheet").click()
    assert tab.evaluate("held") == []
    assert tab.evaluate("document.activeElement.textContent") == "One step at a time"
    tab.set_viewport_size({"width": 1280, "height": 900})


def test_the_screen_may_sleep_once_the_sheet_is_whole_again(tab: Page, bases: dict[str, str]) -> None:
    """Also where the browser takes its time to keep it awake."""
    tab.goto(bases["file"] + "sheets/step-goes-back-out.html")
    tab.evaluate(
        """() => {
          window.held = [];
          const lock = { release: () => held.pop() };
          const granted = new Promise((done) => {
            window.grant = () => { held.push("screen"); done(lock); };
          });
          Object.defineProperty(navigator, "wakeLock", { value: { request: () => granted } });
        }"""
    )
    tab.get_by_role("button", name="One step at a time").click()
    tab.get_by_role("button", name="The whole sheet").click()
    tab.evaluate("grant()")
    assert tab.evaluate("held") == []


ENDS = [
    "",
    "one",
    "Yes.",
    "is it?",
    "and so on …",
    "it says “Stop.”",
    "it says “stop”",
    'it says "no!"',
    " x ",
    "élan",
]


def test_sentences_end_alike_on_both_sides(tab: Page, bases: dict[str, str]) -> None:
    tab.goto(bases["file"] + "find.html")
    assert tab.evaluate("(all) => all.map(asfound.words.sentence)", ENDS) == [sentence(one) for one in ENDS]


TORN = re.compile(r"[0-9] (?:V|Ah|min|h|s|%)\b(?![/\w])")


def test_no_number_is_parted_from_its_unit(tab: Page, bases: dict[str, str]) -> None:
    """On sheets, made and drawn, and on pages (ISO 80000-1, 7.2.2)."""
    whole = "() => document.querySelector('main').textContent"
    asked = ["map-card-0422", "awning-lamp-time-out"]
    said = [drawn(tab, bases["file"], {"recipes": asked}).evaluate(whole)]
    for page in ("sheets/map-card-0422.html", "recipes/awning-lamp-time-out.html"):
        tab.goto(bases["file"] + page)
        part = "main" if page.startswith("sheets") else ".asf-recipe :is(.asf-steps, .asf-facts, .asf-table)"
        said.append("\n".join(tab.locator(part).evaluate_all("all => all.map((one) => one.textContent)")))
    assert [TORN.findall(one) for one in said] == [[], [], []]
    assert all("12.2\u00a0V" in one for one in said)
    assert tab.evaluate("asfound.words.UNITS") == list(UNITS)


def test_without_javascript_the_sheet_is_there(opener: Any) -> None:
    with opener("file", width=360, javascript=False) as reader:
        page = reader.open("sheets/step-goes-back-out.html")
        assert page.locator(".step:visible").count() >= 15
        assert page.locator("button").count() == 0
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page = reader.open("code.html#Z9CWPRTG")
        assert page.locator("#Z9CWPRTG").is_visible()
        every = page.locator(".code:not(.code--none)").count()
        assert page.locator(".code:visible").count() == every > 20


def test_every_code_waits_in_a_list_until_one_is_typed_or_the_list_is_wanted(
    tab: Page, bases: dict[str, str]
) -> None:
    tab.goto(bases["file"] + links.CODE)
    rows, every = tab.locator(".code:visible"), tab.get_by_text("All codes of the club")
    count = tab.locator(".code:not(.code--none)").count()
    expect(rows).to_have_count(0)
    every.click()
    expect(rows).to_have_count(count)
    tab.get_by_label("Code on the paper").fill("Z9CWPRTG")
    expect(rows).to_have_count(1)
    expect(every).to_be_hidden()
    tab.get_by_label("Code on the paper").fill("")
    expect(rows).to_have_count(0)
    expect(every).to_be_visible()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("d5mt-9tsr", "current"),
        ("Z9CWPRTG", "outdated: here is what changed since"),
        ("RVJRJWGM", "withdrawn: what to do"),
        ("Z9CWPRTH", "No such code: check the typing"),
        ("00000000", "No such code: check the typing"),
    ],
)
def test_what_a_code_stands_for(tab: Page, bases: dict[str, str], typed: str, says: str) -> None:
    tab.goto(bases["file"] + "find.html")
    tab.goto(f"{bases['file']}{links.CODE}#{typed}")
    shown = tab.locator(".code:visible")
    assert shown.count() == 1
    assert says in shown.inner_text()
    if says.startswith("outdated"):
        assert "2025-05-02" in shown.inner_text() and "D5MT9TSR" in shown.inner_text()
    if says.startswith("withdrawn"):
        assert "Put it back" in shown.inner_text()
    if typed == "00000000":  # rightly formed: nought is in the code, whatever the weights
        assert "rightly formed" in shown.inner_text()


def test_the_switch_of_languages_keeps_what_was_typed(tab: Page, bases: dict[str, str]) -> None:
    drawn(tab, bases["file"], {"recipes": FIVE[:2]})
    codes = tab.locator(".part .code b").all_inner_texts()
    tab.get_by_role("link", name="Nederlands").click()
    tab.wait_for_url("**/nl/sheet.html#*")
    tab.locator("body[data-asf-drawn]").wait_for(state="attached")
    assert tab.locator(".part .code b").all_inner_texts() == codes
    tab.goto(bases["file"] + links.CODE)
    tab.get_by_label("Code on the paper").fill("Z9CWPRTG")
    tab.get_by_role("link", name="Nederlands").click()
    tab.wait_for_url("**/nl/code.html#Z9CWPRTG")
    assert tab.locator(".code:visible").get_attribute("id") == "Z9CWPRTG"


MARKED = """() => {
    const squeezed = (one) => one.textContent.replace(/\\s+/g, "");
    return Array.from(document.querySelectorAll(".sheet [lang]"), (one) => [one.lang, squeezed(one)]);
}"""


@pytest.mark.parametrize(
    "asked", [FIVE, ["heater-runs-longer"], ["map-card-0422"]], ids=lambda a: str(len(a))
)
def test_what_is_not_translated_is_marked_as_python_marks_it(
    book: Book, tab: Page, bases: dict[str, str], tmp_path: Path, asked: list[str]
) -> None:
    """WCAG 2.2, 3.1.2: a voice must know in which language to read a part."""
    with speaking(language("nl")):
        there = in_language(book, "nl", "nl")
        sheet = Maker(Desk(there), links.file_of).plan(plan(asked, there.shop), Known(), {}, {})
        here = SheetPage(policy(), (), (), "", "")
        made = Sheets(Desk(there), environment(marks=True)).html(sheet, here)
    (tmp_path / "sheet.html").write_text(made, "utf-8")
    tab.goto((tmp_path / "sheet.html").as_uri())
    expected = tab.evaluate(MARKED)
    assert len(expected) > 10 and {tag for tag, _ in expected} == {"en"}
    found = drawn(tab, f"{bases['file']}nl/", {"recipes": asked}).evaluate(MARKED)
    assert {tag for tag, _ in found} == {"en"}
    said = "\n".join(words for _, words in found)
    assert [words for _, words in expected if words not in said] == []
    whole = "\n".join(words for _, words in expected)
    assert len([words for _, words in found if words not in whole]) <= len(found) // 5
