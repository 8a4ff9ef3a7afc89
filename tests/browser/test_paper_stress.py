"""Sheets that a demo does not need: long records and titles, many hazards, other scripts; and the command."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner
from playwright.sync_api import Page
from pypdf import PdfReader

from asfound.book import Book
from asfound.cli import main
from asfound.pages import links
from asfound.pages.environment import environment
from asfound.pages.policy import policy
from asfound.pages.sheets import PAPER, SheetPage, Sheets, css_text, margin_boxes
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker
from asfound.source.loader import load

from .printed import Stopped, blocks

ROOT = Path(__file__).parents[2]
LONG = "Every lamp of the living area goes out by itself a quarter of an hour after the last door shut " * 2
HEBREW = "המנורה בתא המגורים נכבית מעצמה אחרי רבע שעה"  # "The lamp in the living room goes out by itself"
WIDE = "居住区のランプは最後のドアが閉まってから十五分後に自動的に消えます" * 2
CHECK = {"check": "Shut the last door and wait", "expect": "Dark", "power": "key-off"}
HAZARD = {
    "hazard": "The lamp number {n} goes out while somebody is on the stairs",
    "consequence": "A fall", "avoid": "Carry a torch", "certainty": "could", "likelihood": "remote",
}  # fmt: skip


class Plain(yaml.SafeDumper):
    """Without anchors, which the strict reader refuses."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def write(path: Path, data: Any) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(yaml.dump(data, Dumper=Plain, sort_keys=False, allow_unicode=True, width=1000), "utf-8")


def recipe(id: str, setting: str, to: Any, title: str, hazards: int = 0, **more: Any) -> dict[str, Any]:
    some = []
    for n in range(hazards):
        harm = ("serious", "minor", "none")[n % 3]
        one = {**HAZARD, "hazard": str(HAZARD["hazard"]).format(n=n + 1), "harm": harm}
        some.append(one | ({"loss": "marginal"} if harm == "none" else {}))
    return {
        "recipe": id, "title": title, "by": "tern", "purpose": title, "annoyance": title,
        "changes": [{"setting": setting, "from": "any", "to": to}], "fits": {"line": "skerry"},
        "hazards": some, "checks": [CHECK], "way_back": "automatic", "status": "offered",
        "history": [{"date": "2026-01-01", "what": "First offered."}], **more,
    }  # fmt: skip


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The demo's vehicles with a module of odd records, and recipes for them."""
    folder = tmp_path_factory.mktemp("stress") / "recipes"
    for part in ("vehicles", "modules"):
        shutil.copytree(ROOT / "recipes" / part, folder / part)
    shutil.copy(ROOT / "recipes" / "club.yml", folder)
    choice = {"choices": [{"raw": 0, "means": "off"}, {"raw": 1, "means": "on"}]}
    of = {"functions": ["comfort"], "known_from": "club"}

    def record(id: str, length: int, place: Any, kind: dict[str, Any], **more: Any) -> dict[str, Any]:
        setting = {"setting": "what", "name": f"What the {id} record does", **kind, **of}
        layout = {"layout": "only", "length": length, "places": {"what": place}}
        return {
            "record": id, "name": f"Record of {length} bytes", "identifier": "0x1234", "settings": [setting],
            "layouts": [layout], **({} if "shown_as" in more else {"shown_as": "bytes"}), **more,
        }  # fmt: skip

    scale = {"number": {"factor": "2", "offset": "1", "unit": "s", "min": "5", "max": "41", "signed": False}}
    three = {"choices": [{"raw": n, "means": words} for n, words in enumerate(("off", "on", "blinks"))]}
    text = {"text": {"length": 40, "pad": "space"}}
    module = {
        "module": "odd", "name": "Odd module", "duty": "Keeps odd records.", "address": "0x7777",
        "restart": {"how": "Key out, key in.", "minutes": 1},
        "records": [
            record("sixty", 60, {"bytes": [10, 49]}, text),
            record("ten", 10, {"byte": 9, "bits": [2, 5]}, choice),
            record("share", 2, {"byte": 1, "bits": [3, 7]}, scale, shown_as={"number": 2, "order": "big"}),
            record("table", 2, {"byte": 0, "bits": [2, 3]}, three, shown_as={"number": 2, "order": "little"}),
            record("short", 2, {"byte": 0, "bit": 6}, choice, shown_as={"number": 2, "order": "big"}),
            {"record": "words", "name": "Words", "names_only": True,
             "settings": [{"setting": "what", "name": "What is shown", **of,
                           "choices": [{"means": "off"}, {"means": "on"}]}]},
        ],
    }  # fmt: skip
    write(folder / "modules" / "odd.yml", module)
    line = folder / "vehicles" / "skerry.yml"
    text_of = line.read_text("utf-8")
    assert "\nfitted:\n" in text_of
    line.write_text(text_of.replace("\nfitted:\n", "\nfitted:\n  - {module: odd}\n"), "utf-8")
    recipes = [
        recipe("sixty", "odd/sixty/what", "HARBOUR LIGHTS OF THE OUTER ISLANDS", LONG.strip(), 2),
        recipe("ten", "odd/ten/what", "on", "Ten bytes", 30),
        recipe("short", "odd/short/what", "on", HEBREW, 1),
        recipe("share", "odd/share/what", "21", "A share of a number", 1),
        recipe("table", "odd/table/what", "blinks", "A share of few values", 1),
        recipe("words", "odd/words/what", "on", WIDE, 1),
    ]
    for one in recipes:
        write(folder / "changes" / str(one["recipe"]) / "recipe.yml", one)
    loaded = load(folder)
    made = Book(loaded)
    assert set(made.recipes) == {one["recipe"] for one in recipes}, loaded.findings
    assert all(made.forms(id) for id in made.recipes), loaded.findings
    return made


Drawn = Callable[[str], tuple[list[str], Page]]


@pytest.fixture(scope="module")
def draw(browser: Any, book: Book, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Drawn]:
    folder = tmp_path_factory.mktemp("stress-paper")
    (folder / "sheet.css").write_bytes((PAPER / "sheet.css").read_bytes())
    desk = Desk(book)
    maker, sheets = Maker(desk, links.file_of), Sheets(desk, environment())
    context = browser.new_context()
    tab = context.new_page()

    def drawn(id: str) -> tuple[list[str], Page]:
        sheet = maker.recipe(book.recipes[id])
        (folder / "margins.css").write_text(margin_boxes(sheet), "utf-8")
        here = SheetPage(policy(), ("sheet.css", "margins.css"), (), "", "")
        (folder / "sheet.html").write_text(sheets.html(sheet, here), "utf-8")
        tab.goto((folder / "sheet.html").as_uri())
        tab.emulate_media(media="print")
        pdf = tab.pdf(prefer_css_page_size=True, print_background=True)
        return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages], tab

    yield drawn
    context.close()


OUTSIDE = """() => {
  const edge = document.querySelector(".sheet").getBoundingClientRect();
  return Array.from(document.querySelectorAll(".sheet *")).filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width && (box.right > edge.right + 1 || box.left < edge.left - 1);
  }).map((one) => one.className || one.tagName);
}"""


@pytest.mark.parametrize("id", ["sixty", "ten", "short", "words"])
def test_the_layout_holds(draw: Drawn, book: Book, id: str) -> None:
    texts, tab = draw(id)
    for width in (718, 360):  # A4 between its margins at 96 dpi, and a phone
        tab.emulate_media(media="print" if width > 400 else "screen")
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width, width
        if width > 400:
            assert tab.evaluate(OUTSIDE) == []
    whole = "".join("".join(texts).split())
    for hazard in book.recipes[id].hazards:
        assert "".join(hazard.hazard.split()) in whole
    assert len("".join(texts[-1].split())) > 150
    for text in texts:
        assert book.codes(id).sheet in text


def test_sixty_bytes_by_hand(draw: Drawn) -> None:
    texts, _ = draw("sixty")
    found = " ".join(["00"] * 10 + ["41"] * 40 + ["07"] * 10)
    (hand,) = blocks("\n".join(texts))
    words = b"HARBOUR LIGHTS OF THE OUTER ISLANDS".ljust(40)
    assert hand.pairs(found) == " ".join(["00"] * 10 + [f"{b:02X}" for b in words] + ["07"] * 10)
    assert hand.used == ["text", "fixed"]


def test_shares_of_a_number_by_hand(draw: Drawn) -> None:
    """21 s is stored as 10, in the bits 3 to 7: 80 of the number; worked out on paper."""
    (hand,) = blocks("\n".join(draw("share")[0]))
    assert hand.number(str(0x1200 + 4 * 8 + 5)) == str(0x1200 + 80 + 5)
    assert hand.used == ["share"]
    for raw in (1, 21):  # 3 s and 43 s are outside 5 to 41
        with pytest.raises(Stopped):
            hand.number(str(0x1200 + raw * 8))
    (hand,) = blocks("\n".join(draw("table")[0]))  # little: the first byte counts ones
    for raw in (0, 1, 2):
        assert hand.number(str(0x3403 + raw * 4)) == str(0x3403 + 2 * 4)
    with pytest.raises(Stopped):
        hand.number(str(0x3403 + 3 * 4))
    assert "table" in hand.used


def test_a_title_cannot_leave_its_string() -> None:
    """A title is written into a style sheet, letter by letter by number (CSS Syntax 3, 4.3.7)."""
    title = '"; } body { display: none } @import "x'
    said = css_text(title)
    assert said[0] == said[-1] == '"' and '"' not in said[1:-1] and "}" not in said
    letters = re.findall(r"\\[0-9a-f]+ |.", said[1:-1])
    assert "".join(chr(int(c[1:], 16)) if c.startswith("\\") else c for c in letters) == title


def test_the_command_prints_titles_and_bookmarks(tmp_path: Path) -> None:
    out, found = tmp_path / "a.pdf", tmp_path / "found.json"
    reading: dict[str, Any] = {"asfound": "reading", "version": 1}
    reading["records"] = {"living-area/lamps": "11 40 0C 02 01 28 FF 3F"}
    found.write_text(json.dumps(reading), "utf-8")
    where = ["--book", str(ROOT / "recipes"), "-o", str(out)]
    ran = CliRunner().invoke(main, ["sheet", "awning-lamp-time-out", "--found", str(found), *where])
    assert ran.exit_code == 0, ran.output
    reader = PdfReader(out)
    assert ran.output == f"{out}: {len(reader.pages)} pages\n"
    assert reader.metadata is not None
    assert reader.metadata.title == "Awning lamp goes out by itself after the minutes you choose (D5MT9TSR)"
    assert reader.metadata.author == "Skerry Camper Circle"
    assert [one.title for one in reader.outline] == [reader.metadata.title]  # type: ignore[union-attr]
    text = "".join("".join(page.extract_text().split()) for page in reader.pages)
    assert "11400C020128FF3F" in text and "11400C020114FF89" in text  # the worked example
    reading["records"] = {"living-area/lamps": "11 40 0C 02 01 28 FF 3E"}
    found.write_text(json.dumps(reading), "utf-8")
    ran = CliRunner().invoke(main, ["sheet", "awning-lamp-time-out", "--found", str(found), *where])
    assert ran.exit_code == 1 and "checksum" in ran.output and len(ran.output.splitlines()) == 1


def test_the_command_says_what_it_lacks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    where = ["--book", str(ROOT / "recipes"), "-o", str(tmp_path / "a.pdf")]
    for words, says in (
        (["softer-tick"], "ASFOUND_BROWSER names no-such-program, which is not there"),
        (["no-such-recipe"], "there is no recipe 'no-such-recipe'"),
        (["softr-tick"], "there is no recipe 'softr-tick'. Near it: softer-tick"),
        ([], "name recipes, or ask for the --booklet"),
    ):
        monkeypatch.setenv("ASFOUND_BROWSER", "no-such-program")
        ran = CliRunner().invoke(main, ["sheet", *words, *where])
        assert ran.exit_code == 2 and says in ran.output and len(ran.output.splitlines()) == 1
    assert not (tmp_path / "a.pdf").exists()


def test_the_command_prints_in_the_language_asked_for(tmp_path: Path) -> None:
    """The same code and the same boxes; what nobody has translated stays as it was written."""
    out = tmp_path / "sheet.pdf"

    def text(*words: str) -> str:
        ran = CliRunner().invoke(main, ["sheet", *words, "-o", str(out), "--book", str(ROOT / "recipes")])
        assert ran.exit_code == 0, ran.output
        return " ".join("\n".join(page.extract_text() for page in PdfReader(out).pages).split())

    english, dutch = text("awning-lamp-time-out"), text("awning-lamp-time-out", "--language", "nl")
    code = Book(load(ROOT / "recipes")).codes("awning-lamp-time-out").sheet
    assert "Sheet code" in english and "Bladcode" not in english
    assert "Bladcode" in dutch and "Sheet code" not in dutch and "Luifellamp" in dutch
    assert code in english and code in dutch
    assert "/code.html#" in dutch and "/nl/" not in dutch  # a page that every club's site has
    assert "The exhaust gathers under the car" in text("heater-runs-longer", "--language", "nl")
    told = CliRunner().invoke(main, ["sheet", "softer-tick", "-o", str(out), "--language", "tlh"])
    assert told.exit_code == 2 and "'en', 'nl'" in told.output
