"""Sheets on paper: sizes, sides, order, fonts, QR symbols; doing what they say gives the right bytes."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page
from pypdf import PageObject, PdfReader

from asfound.book import Book
from asfound.book.translated import in_language
from asfound.car.bits import hex_pairs
from asfound.car.known import Known
from asfound.pages import links
from asfound.pages.environment import environment
from asfound.pages.policy import policy
from asfound.pages.printing import printer
from asfound.pages.sheets import PAPER, SheetPage, Sheets, margin_boxes
from asfound.pages.views.booklet import booklet
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker, Sheet
from asfound.rules.run import check_book
from asfound.speech import Original
from asfound.work.compiled import Edit
from asfound.work.held import parse_held, parse_names
from asfound.work.plan import alone, plan
from asfound.work.recipes import WorkedExample
from asfound.work.worksheet import worksheet

from .printed import Hand, Stopped, blocks, texts

ROOT = Path(__file__).parents[2]
POINT = 72 / 25.4
SIZES = {"A4": (210 * POINT, 297 * POINT), "letter": (8.5 * 72, 11 * 72)}  # ISO 216; ANSI/ASME Y14.1
FIVE = (
    *("awning-lamp-with-door", "fridge-on-the-drive", "cabin-dims-slowly", "battery-replaced"),
    "welcome-words",
)
PLACES = """() => {
  const kinds = ".sheet .step, .sheet .panel li, .sheet .lookup, .refusals li, .back";
  const units = Array.from(document.querySelectorAll(kinds));
  const small = [];
  const walker = document.createTreeWalker(document.querySelector(".sheet"), NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const style = getComputedStyle(node.parentElement);
    if (node.data.trim() && parseFloat(style.fontSize) < 11 / 72 * 96 - 0.01) { small.push(node.data); }
  }
  return {
    units: units.filter((one) => getComputedStyle(one).display !== "none").map((one) => one.innerText),
    headings: Array.from(document.querySelectorAll(".sheet h1, .sheet h2")).map((one) => one.innerText),
    wide: document.documentElement.scrollWidth - document.documentElement.clientWidth,
    small,
  };
}"""


class Paper:
    """One printed document: what its page said of itself, and the PDF."""

    def __init__(self, page: Page, size: str) -> None:
        page.emulate_media(media="print")
        page.evaluate(
            "(size) => { const s = new CSSStyleSheet(); s.replaceSync(`@page { size: ${size}; }`);"
            " document.adoptedStyleSheets = [s]; }",
            size,
        )
        self.size = size
        self.said: dict[str, Any] = page.evaluate(PLACES)
        self.pdf = page.pdf(prefer_css_page_size=True, print_background=True)
        self.reader = PdfReader(io.BytesIO(self.pdf))
        self.texts = texts(self.pdf)

    def head(self, dpi: int) -> Image.Image:
        """The upper five inches of the first side in grey, where the QR symbols are."""
        return self.images(dpi, "-l", "1", "-x", "0", "-y", "0", "-W", str(9 * dpi), "-H", str(5 * dpi))[0]

    def images(self, dpi: int, *more: str) -> list[Image.Image]:
        """Every side in grey."""
        ran = subprocess.run(
            ["pdftoppm", "-r", str(dpi), "-gray", *more, "-"], input=self.pdf, capture_output=True, check=True
        )
        out, rest = [], ran.stdout
        while rest:
            head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", rest)
            assert head
            width, height = int(head[1]), int(head[2])
            end = head.end() + width * height
            out.append(Image.frombytes("L", (width, height), rest[head.end() : end]))
            rest = rest[end:]
        return out


def squeezed(text: str) -> str:
    """Letters and digits only: a PDF keeps places and not spaces, and boxes are drawn."""
    return "".join(c for c in text if c.isalnum()).casefold()


@pytest.fixture(scope="module")
def book() -> Book:
    found = check_book(ROOT / "recipes")[2]
    assert found is not None
    return found


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(java_script_enabled=True)
    yield context.new_page()
    context.close()


@pytest.fixture(scope="module")
def sheets(site: Path, tab: Page, book: Book) -> dict[str, Paper]:
    """Every recipe's sheet as the site has it, on A4; printed once."""
    out = {}
    for id in book.recipes:
        tab.goto((site / links.sheet(id)).as_uri())
        out[id] = Paper(tab, "A4")
    return out


@pytest.fixture(scope="module")
def letters(book: Book) -> dict[str, list[tuple[PageObject, str]]]:
    """Every recipe's sides on Letter, and their texts, from the booklet: all at once is faster by far."""
    desk = Desk(book)
    with printer(Sheets(desk, environment()), "letter") as press:
        pages = booklet(desk, Maker(desk, links.file_of), book.recipes.values())
        pdf, numbers = press.booklet(pages)
    reader = PdfReader(io.BytesIO(pdf))
    order = [one.id for one in pages.sheets]
    said = texts(pdf)
    index = next(n for n, text in enumerate(said) if n >= numbers[order[-1]] and "Index" in text[:80])
    ends = [*(numbers[id] - 1 for id in order[1:]), index]
    assert list(numbers) == order
    sides = list(zip(reader.pages, said, strict=True))
    return {id: sides[numbers[id] - 1 : end] for id, end in zip(order, ends, strict=True)}


Draw = Callable[[Sheets, Sheet], Paper]


@pytest.fixture(scope="module")
def draw(tab: Page, tmp_path_factory: pytest.TempPathFactory) -> Draw:
    """Prints a sheet that is not in the site."""
    folder = tmp_path_factory.mktemp("paper")
    (folder / "sheet.css").write_bytes((PAPER / "sheet.css").read_bytes())

    def drawn(sheets: Sheets, sheet: Sheet, size: str = "A4") -> Paper:
        (folder / "margins.css").write_text(margin_boxes(sheet), "utf-8")
        here = SheetPage(policy(), ("sheet.css", "margins.css"), (), "", "")
        (folder / "sheet.html").write_text(sheets.html(sheet, here), "utf-8")
        tab.goto((folder / "sheet.html").as_uri())
        return Paper(tab, size)

    return drawn


def test_two_sides_at_most_of_the_right_size(
    sheets: dict[str, Paper], letters: dict[str, list[tuple[PageObject, str]]]
) -> None:
    both = [
        ("A4", {id: list(paper.reader.pages) for id, paper in sheets.items()}),
        ("letter", {id: [side for side, _ in sides] for id, sides in letters.items()}),
    ]
    for size, printed in both:
        assert len(printed) == 32
        for id, sides in printed.items():
            assert 1 <= len(sides) <= 2, (id, size)
            for side in sides:
                found = (float(side.mediabox.width), float(side.mediabox.height))
                assert found == pytest.approx(SIZES[size], abs=1), (id, size)


def test_where_the_picture_of_a_step_is_to_be_seen(sheets: dict[str, Paper], book: Book) -> None:
    """Paper has no room for it: whoever reads "as drawn" there is told where."""
    words = squeezed("The picture is on the recipe's page.")
    for id, paper in sheets.items():
        steps = () if book.recipes[id].status == "withdrawn" else book.recipes[id].steps
        assert squeezed(" ".join(paper.texts)).count(words) == sum(bool(s.picture) for s in steps), id
    assert any(step.picture for recipe in book.recipes.values() for step in recipe.steps)


# Those with the most on them in Dutch, in closed lines and not; words of the sheets' own, by their boxes.
@pytest.mark.parametrize("size", ["A4", "letter"])
@pytest.mark.parametrize("id", ["step-goes-back-out", "kerb-step-waits", "earlier-cut-off"])
def test_a_sheet_in_another_language(site: Path, tab: Page, book: Book, id: str, size: str) -> None:
    tab.goto((site / "nl" / links.sheet(id)).as_uri())
    assert tab.evaluate("document.documentElement.lang") == "nl"
    paper = Paper(tab, size)
    assert len(paper.reader.pages) <= 2 and paper.said["small"] == [] and paper.said["wide"] == 0
    text = squeezed(" ".join(paper.texts))
    for words in ("Is het de juiste auto?", "aangetroffen", "te schrijven", "De weg terug", "pagina 1 van"):
        assert squeezed(words) in text
    assert squeezed(book.codes(id).sheet) in text and "thewayback" not in text
    # Whether its own words are in Dutch too stands on the first side, in closed lines as well.
    untranslated = isinstance(in_language(book, "nl", "nl").recipes[id].title, Original)
    assert untranslated is (id != "step-goes-back-out")
    assert (squeezed("Nog niet vertaald") in squeezed(paper.texts[0])) is untranslated
    # No label lies over the box beside it, no signal word over its message.
    assert (
        tab.evaluate("""() => Array.from(document.querySelectorAll(".boxes th, .lookup th, .panel__word"))
      .filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.innerText)""")
        == []
    )


def test_title_code_and_page_number_on_each_side(sheets: dict[str, Paper], book: Book) -> None:
    desk = Desk(book)
    words = {"not-vetted": "NOT VETTED", "draft": "DRAFT", "withdrawn": "WITHDRAWN"}
    for id, paper in sheets.items():
        label = words.get(desk.kind(book.recipes[id]), "")
        for number, text in enumerate(paper.texts, 1):
            assert book.codes(id).sheet in text and label in text, id
            assert f"page {number} of {len(paper.texts)}" in " ".join(text.split()), id
            assert squeezed(book.recipes[id].title)[:40] in squeezed(text), id
        assert len(squeezed(paper.texts[-1])) > 150, "a last side with nothing on it"


def test_the_order_of_the_frame_and_nothing_torn(
    sheets: dict[str, Paper], letters: dict[str, list[tuple[PageObject, str]]], book: Book
) -> None:
    for id, paper in sheets.items():
        whole, place = squeezed(" ".join(paper.texts)), 0
        for heading in paper.said["headings"]:
            place = whole.index(squeezed(heading), place)
        live = book.recipes[id].status != "withdrawn"
        order = ["isittherightcar", "thecarasitcame", "ifamodulerefuses", "provethatitworked"] if live else []
        at = [whole.index(one) for one in (*order, "thewayback", "doneby", "whatmaybechanged")]
        assert at == sorted(at), id
        assert not live or ("thewayback" in squeezed(paper.texts[1])), "the way back is on the second side"
        for size in (paper.texts, [text for _, text in letters[id]]):
            sides = [squeezed(text) for text in size]
            torn = [unit for unit in paper.said["units"] if not any(squeezed(unit) in side for side in sides)]
            assert torn == [], id


def test_eleven_points_or_larger_and_nothing_too_wide(sheets: dict[str, Paper]) -> None:
    for key, paper in sheets.items():
        assert paper.said["small"] == [], key
        assert paper.said["wide"] <= 0, key


def test_fonts_are_embedded_and_text_can_be_selected(sheets: dict[str, Paper]) -> None:
    seen = 0
    for key, paper in sheets.items():
        for side in paper.reader.pages:
            for font in side["/Resources"]["/Font"].values():  # type: ignore[index]
                one = font.get_object()
                inner = one["/DescendantFonts"][0].get_object() if "/DescendantFonts" in one else one
                if inner["/Subtype"] == "/Type3":
                    continue  # its outlines are in the file by nature
                descriptor = inner["/FontDescriptor"].get_object()
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor), key
                seen += 1
    assert seen > 200


def test_nothing_outside_the_margins(sheets: dict[str, Paper]) -> None:
    """Four millimetres at the sides and three above and below stay white: what a printer cannot reach."""
    for id, paper in sheets.items():
        for image in paper.images(30):
            assert white_edges(image, 30), id


def white_edges(image: Image.Image, dpi: int) -> bool:
    side, end = round(4 / 25.4 * dpi), round(3 / 25.4 * dpi)
    ink = image.point(lambda value: 255 if value < 160 else 0).getbbox()
    assert ink is not None
    width, height = image.size
    return ink[0] >= side and ink[2] <= width - side and ink[1] >= end and ink[3] <= height - end


def test_the_qr_symbol_leads_to_the_code(sheets: dict[str, Paper], book: Book) -> None:
    """Read back from paper at 100 dpi by a decoder of another house."""
    assert book.club.site is not None
    for id, paper in sheets.items():
        found = zxingcpp.read_barcodes(paper.head(100))
        assert [one.text for one in found] == [f"{book.club.site}code.html#{book.codes(id).sheet}"], id
        assert found[0].format == zxingcpp.BarcodeFormat.QRCode
        assert found[0].ec_level == "M"


def test_a_plan_of_five(book: Book, draw: Draw) -> None:
    desk = Desk(book)
    made = plan(FIVE, book.shop)
    assert made.operations
    sheet = Maker(desk, links.file_of).plan(made, Known(), {}, {})
    paper = draw(Sheets(desk, environment()), sheet)
    whole, sides = squeezed(" ".join(paper.texts)), [squeezed(text) for text in paper.texts]
    for id in (*FIVE, "awning-lamp-time-out"):  # the sixth is needed by the first
        assert squeezed(book.recipes[id].title) in whole
        for hazard in book.hazards(id):
            assert squeezed(hazard.hazard) in whole, hazard
        for text in paper.texts:
            assert book.codes(id).sheet in text
    assert [unit for unit in paper.said["units"] if not any(squeezed(unit) in side for side in sides)] == []
    assert len(squeezed(paper.texts[-1])) > 150 and paper.said["small"] == [] and paper.said["wide"] <= 0
    found = zxingcpp.read_barcodes(paper.head(100))
    assert {one.text.rpartition("#")[2] for one in found} == set(sheet.codes)
    assert all(white_edges(image, 30) for image in paper.images(30))


def test_a_club_without_a_site(book: Book, draw: Draw) -> None:
    bare = Book(replace(book.loaded, club=replace(book.club, site=None)))
    sheet = Maker(Desk(bare), links.file_of).recipe(bare.recipes["softer-tick"])
    found = zxingcpp.read_barcodes(draw(Sheets(Desk(bare), environment()), sheet).head(100))
    assert [one.text for one in found] == [f"{sheet.title}\n{sheet.codes[0]}"]


def test_doing_what_the_sheet_says_gives_the_examples(
    book: Book, sheets: dict[str, Paper], draw: Draw
) -> None:
    """For each worked example: from the printed text alone, what was found becomes what is to be written."""
    desk, used, by_tool, typed = Desk(book), set[str](), 0, 0
    maker, drawer = Maker(desk, links.file_of), Sheets(desk, environment())
    for recipe in book.recipes.values():
        if recipe.status == "withdrawn":
            continue
        for example in recipe.worked_examples:
            chosen = dict(example.choose)
            sheet = maker.recipe(recipe, chosen)
            same = sheet == maker.recipe(recipe)
            paper = sheets[recipe.id] if same else draw(drawer, sheet)
            layouts = [(b.layout, b.kind, b.sum) for r in sheet.records for b in r.blocks]
            refs = [str(i) for i, r in enumerate(sheet.records) for _ in r.blocks]
            hands = blocks("\n".join(paper.texts))
            assert len(hands) == len(layouts) == len(refs), recipe.id
            at = _which(book, sheet, example, layouts)
            hand, (_, kind, sum) = hands[at], layouts[at]
            if kind == "worksheet":
                assert "Not by hand" in hand.text and "whatever was found" not in hand.text
                assert "found 0 1 2" not in hand.text
                typed += _typed(book, maker, drawer, draw, recipe.id, example)
                continue
            got = _by_hand(book, hand, example, kind)
            expected = example.write
            if sum == "tool":
                by_tool += 1
                got, expected = (_without_sum(book, recipe.id, example, w) for w in (got, expected))
            assert got == expected, (recipe.id, example.layout)
            used |= set(hand.used)
    assert used >= {"lookup", "fixed", "only", "text", "whole", "switch", "names"}
    assert by_tool >= 8 and typed >= 5


def _which(book: Book, sheet: Sheet, example: WorkedExample, layouts: list[tuple[str, str, str]]) -> int:
    record = book.record(example.record)
    assert record is not None
    at = 0
    for ref in sheet.records:
        for block in ref.blocks:
            if ref.name == record.name and block.layout == (example.layout or ""):
                return at
            at += 1
    raise AssertionError(example)


def _by_hand(book: Book, hand: Hand, example: WorkedExample, kind: str) -> str:
    record = book.record(example.record)
    assert record is not None
    if kind == "names":
        names = {s.id: s.name for s in record.settings if f"{s.id}: " in example.found}
        found = parse_names(tuple(names), example.found) if names else {}
        if not names:  # one setting, its words alone
            (only,) = [s for s in record.settings if s.name in hand.text]
            names, found = {only.id: only.name}, {only.id: example.found}
        hand.names({names[id]: words for id, words in found.items()})
        row = hand.text.partition("As left ")[2].partition("“")[0]
        (first, *others) = names
        written = parse_names(tuple(names), example.write) if others else {first: example.write}
        for id, words in written.items():
            assert squeezed(names[id] + words) in squeezed(row), row
        return example.write
    return hand.number(example.found) if kind == "number" else hand.pairs(example.found)


def _without_sum(book: Book, recipe: str, example: WorkedExample, written: str) -> str:
    edit = next(e for e in book.edits(recipe) if isinstance(e, Edit) and e.layout == example.layout)
    assert edit.checksum is not None
    pairs = written.split()
    return " ".join(pairs[: edit.checksum.at] + pairs[edit.checksum.at + edit.checksum.size :])


def _typed(book: Book, maker: Maker, drawer: Sheets, draw: Draw, recipe: str, example: WorkedExample) -> int:
    """With as found typed, the value to write stands in its boxes, checksum and all."""
    record = book.record(example.record)
    assert record is not None
    layout = record.layout(example.layout or "")
    assert layout is not None
    found = hex_pairs(parse_held(record, layout.length, example.found))
    for known in (Known(), Known(equipment={"lithium": False})):
        one = alone(recipe, book.shop, known, dict(example.choose))
        if not one.operations:
            continue
        sheet = worksheet(one, {r.path: found for r in one.records}, book.world, known)
        if sheet.ready:
            rows = {row.path: row for row in sheet.rows}
            text = " ".join(draw(drawer, maker.plan(one, known, dict(example.choose), rows)).texts)
            assert example.write.replace(" ", "") in "".join(text.split()), recipe
            assert found.replace(" ", "") in "".join(text.split())
            assert "Any box not the same: STOP" in " ".join(text.split())
            return 1
    raise AssertionError(f"{recipe}: no car has {example.layout}")


@pytest.mark.parametrize("found", ["11 40 0C 02 01 79 FF 3F", "11 40 0C 02 01 FE FF 3F"])
def test_a_printed_rule_stops_what_has_no_meaning(sheets: dict[str, Paper], found: str) -> None:
    hand = blocks("\n".join(sheets["awning-lamp-time-out"].texts))[0]
    with pytest.raises(Stopped):
        hand.pairs(found)


CONTRAST = """() => {
  const light = (text) => {
    const [r, g, b] = text.match(/[\\d.]+/g).map(Number);
    const bent = (v) => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    const line = [r, g, b].map((v) => bent(v / 255));
    return 0.2126 * line[0] + 0.7152 * line[1] + 0.0722 * line[2];
  };
  const behind = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) { return colour; }
    }
    return "rgb(255, 255, 255)";
  };
  let least = 21;
  for (const one of document.querySelectorAll(".sheet *")) {
    if (Array.from(one.childNodes).some((node) => node.nodeType === 3 && node.data.trim())) {
      const [a, b] = [light(getComputedStyle(one).color), light(behind(one))].sort((x, y) => y - x);
      least = Math.min(least, (a + 0.05) / (b + 0.05));
    }
  }
  return least;
}"""


def test_contrast(site: Path, tab: Page) -> None:
    """WCAG 2.2, 1.4.3; luminance alone decides, so it holds in grey as well."""
    for id in ("step-goes-back-out", "heater-runs-longer", "night-map-colours", "map-from-a-stick"):
        tab.goto((site / links.sheet(id)).as_uri())
        tab.emulate_media(media="print")
        assert tab.evaluate(CONTRAST) >= 4.5, id
