"""Everybody can use it: WCAG 2.2 AA by axe-core, focus, colours of the system's, the keyboard alone.

One visit to each kind of page in light, in each state that the readers' tools bring it into, asks everything;
dark is asked for its colours, a phone for what may be too small or out of reach there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from playwright.sync_api import Browser, Page

from asfound.book import Book
from asfound.pages.environment import environment
from asfound.pages.links import file_of
from asfound.pages.policy import policy
from asfound.pages.sheets import PAPER, SheetPage, Sheets
from asfound.pages.views.booklet import booklet
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet import Maker
from asfound.source.loader import load

from .kinds import KINDS, LAMPS
from .test_html import complaints

ROOT = Path(__file__).parents[2]

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
# The tags axe-core gives its rules: success criteria of levels A and AA up to WCAG 2.2, and good practice.
STANDARDS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
SCHEME = "body[data-md-color-scheme]"
COLOURS = ("color-contrast", "link-in-text-block")
ON_A_PHONE = ("target-size", "scrollable-region-focusable", "page-has-heading-one", "region")

FOCUS = """() => {
    const rgb = text => text.match(/[\\d.]+/g).map(Number);
    const light = ([r, g, b]) => [r, g, b].map(v => v / 255)
        .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const ground = e => {
        for (; e; e = e.parentElement) {
            const c = rgb(getComputedStyle(e).backgroundColor);
            if (c.length === 3 || c[3] === 1) { return c; }
        }
        return [255, 255, 255];
    };
    const poor = [];
    let seen = 0;
    const every = "a[href], button, input, select, textarea, summary, [tabindex='0']";
    for (const e of document.querySelectorAll(every)) {
        if (!e.checkVisibility({ checkVisibilityCSS: true, checkOpacity: true }) || e.disabled) { continue; }
        e.focus();
        if (document.activeElement !== e) { continue; }
        seen += 1;
        const s = getComputedStyle(e), r = e.getBoundingClientRect();
        const say = words => poor.push(`${words}: ${e.outerHTML.slice(0, 110)}`);
        if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 2) { say("no outline"); continue; }
        const [a, b] = [light(rgb(s.outlineColor)), light(ground(e.parentElement))];
        if ((Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) < 3) { say("faint outline"); }
        const [l, t] = [Math.max(r.left, 0), Math.max(r.top, 0)];
        const [w, d] = [Math.min(r.right, innerWidth) - l, Math.min(r.bottom, innerHeight) - t];
        const corners = [[.5, .5], [.05, .1], [.95, .1], [.05, .9], [.95, .9]].map(([x, y]) =>
            w > 0 && d > 0 && document.elementFromPoint(l + w * x, t + d * y));
        const own = found => e.contains(found) || found.contains(e) && found.closest("label");
        if (!corners.some(found => found && own(found))) {
            say(`hidden at ${Math.round(r.left)}, ${Math.round(r.top)}`);
        }
    }
    return [seen, poor];
}"""
DRAWINGS = """() => {
    const poor = [];
    for (const drawing of document.querySelectorAll("svg.asf-drawing, .asf-strip svg")) {
        if (!drawing.checkVisibility()) { continue; }
        const frame = drawing.getBoundingClientRect(), texts = [...drawing.querySelectorAll("text")];
        const boxes = texts.map(t => t.getBoundingClientRect());
        boxes.forEach((box, i) => {
            const out = box.left < frame.left - 2 || box.right > frame.right + 2
                || box.top < frame.top - 2 || box.bottom > frame.bottom + 2;
            const over = boxes.some((other, j) => j > i
                && box.left + 1 < other.right && other.left + 1 < box.right
                && box.top + 3 < other.bottom && other.top + 3 < box.bottom);
            if (out || over) { poor.push(`${out ? "outside" : "over another"}: ${texts[i].textContent}`); }
        });
    }
    return poor;
}"""
MOVING = """() => [...document.querySelectorAll("*")].filter(e => {
    const s = getComputedStyle(e), longest = text => Math.max(...text.split(",").map(parseFloat));
    const lasting = longest(s.transitionDuration) > 0.01 || longest(s.animationDuration) > 0.01;
    return lasting || s.scrollBehavior === "smooth";
}).map(e => e.outerHTML.slice(0, 90)).slice(0, 5)"""
# Where the system forces its colours, a strip of the ground lies behind every line of text: text must differ
# from that ground. What is exempt has its own.
UNSEEN = """() => {
    const probe = document.body.appendChild(document.createElement("p"));
    probe.style.cssText = "color: Canvas; position: absolute";
    const ground = getComputedStyle(probe).color;
    probe.remove();
    const words = e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
    return [...document.querySelectorAll("body *")].filter(e => words(e) && e.checkVisibility()).filter(e => {
        const s = getComputedStyle(e);
        return s.forcedColorAdjust === "none" ? s.color === s.backgroundColor : s.color === ground;
    }).map(e => e.outerHTML.slice(0, 110)).slice(0, 5);
}"""


@pytest.fixture(scope="module")
def page(browser: Browser, bases: dict[str, str]) -> Iterator[Page]:
    """A tab in which axe-core may run in spite of the pages' policy; it starts from the site's home."""
    context = browser.new_context(bypass_csp=True, base_url=bases["http"], locale="en-GB")
    context.set_default_timeout(20_000)
    yield context.new_page()
    context.close()


def at_rest(page: Page, kind: str, width: int = 1280, **media: Any) -> None:
    """Opens a kind of page in light, with its tools at work and nothing kept from before."""
    if page.url != "about:blank":
        page.evaluate("localStorage.clear()")
    page.goto("about:blank")
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(
        **{"color_scheme": "light", "reduced_motion": "reduce", "forced_colors": "none"} | media
    )
    path, work = KINDS[kind]
    page.goto(path)
    if work:
        work(page)


def axe(page: Page, what: dict[str, Any], again: bool = False) -> list[str]:
    """What axe-core finds wrong, a line each; ``again``: the page has it already."""
    if not again:
        page.evaluate(AXE)
    # The rule for the size of targets (2.5.8) is off in axe-core unless asked for by its name.
    options = {"runOnly": what, "rules": {"target-size": {"enabled": True}}, "resultTypes": ["violations"]}
    found = page.evaluate(f"axe.run(document, {json.dumps(options)})")
    assert found["testEngine"]["name"] == "axe-core"
    return [
        f"{each['id']}: {node['html'][:140]} {node.get('failureSummary', '')[:300]}"
        for each in found["violations"]
        for node in each["nodes"]
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_of_page(page: Page, kind: str) -> None:
    at_rest(page, kind)
    assert axe(page, {"type": "tag", "values": list(STANDARDS)}) == []
    if page.locator(SCHEME).count():  # sheets are paper, on a screen too
        page.evaluate(
            f"document.querySelector('{SCHEME}').dataset.mdColorScheme = 'slate'"
        )  # as the theme does
        assert axe(page, {"type": "rule", "values": list(COLOURS)}, again=True) == []
        page.evaluate(f"document.querySelector('{SCHEME}').dataset.mdColorScheme = 'default'")
    assert page.evaluate(DRAWINGS) == []
    assert page.evaluate(MOVING) == [], "whoever wants no motion sees none: WCAG 2.2, 2.3.3"
    page.keyboard.press("Tab")  # so that focus shows as it does for whoever uses the keyboard
    seen, poor = page.evaluate(FOCUS)
    assert poor == []
    assert seen > 1
    page.set_viewport_size({"width": 360, "height": 800})
    assert axe(page, {"type": "rule", "values": list(ON_A_PHONE)}, again=True) == []
    page.emulate_media(color_scheme="dark", forced_colors="active")  # axe-core reads what that replaces
    assert page.evaluate(UNSEEN) == []


def test_what_is_ticked_or_chosen_shows_in_forced_colours(page: Page) -> None:
    """Grounds are taken away there; so the difference must be one of lines."""
    at_rest(page, "step by step", 400, forced_colors="active", color_scheme="dark")
    box = page.get_by_role("checkbox").first
    page.keyboard.press("Tab")  # elsewhere
    ticked = box.screenshot()
    box.click()
    page.mouse.move(0, 0)
    assert box.get_attribute("aria-checked") == "false"
    assert box.screenshot() != ticked
    at_rest(page, "search", 700, forced_colors="active", color_scheme="dark")
    line = "e => [getComputedStyle(e).borderLeftColor, getComputedStyle(e).outlineStyle]"
    chosen, other = (page.locator(f".asf-search__list [aria-selected={v}]").first for v in ("true", "false"))
    first, second = chosen.evaluate(line), other.evaluate(line)
    assert first[0] != second[0] and first[1] == "solid"


def test_drawings_take_the_colours_the_system_forces(page: Page) -> None:
    """What is drawn must be seen on any ground: every text and line in the forced colour of text."""
    page.emulate_media(forced_colors="active", color_scheme="dark")
    page.goto("recipes/trailer-cool-box.html")
    seen = page.evaluate("""() => {
        const probe = document.body.appendChild(document.createElement("p"));
        probe.style.cssText = "color: CanvasText; background: Canvas";
        const { color, backgroundColor } = getComputedStyle(probe);
        const fills = selector => [...new Set(
            [...document.querySelectorAll(selector)].map(e => getComputedStyle(e).fill))];
        return [color, backgroundColor, fills("svg.asf-drawing text, .asf-strip text"),
            fills(".asf-node, .asf-seg, .asf-risk__cell--4")];
    }""")
    ink, ground, texts, grounds = seen
    page.emulate_media(forced_colors="none")
    assert (texts, grounds) == ([ink], [ground])
    assert ink != ground


def tab_to(page: Page, name: str, most: int = 80) -> None:
    """Presses Tab until what has the focus is called that, as a reader hears it."""
    heard = []
    for _ in range(most):
        page.keyboard.press("Tab")
        heard.append(
            page.evaluate("""() => {
                const e = document.activeElement, said = e.labels && e.labels[0] || e;
                return (said.textContent || e.getAttribute("aria-label") || "").trim();
            }""")
        )
        if heard[-1].startswith(name):
            return
    raise AssertionError(f"Tab does not lead to “{name}”, but to {heard}")


def test_a_worksheet_by_keyboard_alone(page: Page) -> None:
    page.goto("recipes/awning-lamp-time-out.html")
    page.evaluate("localStorage.clear()")
    page.reload()
    tab_to(page, "To the worksheet")
    page.keyboard.press("Enter")
    tab_to(page, "How many minutes", most=6)
    page.keyboard.press("Control+A")
    page.keyboard.type("7.5")
    tab_to(page, "As found", most=6)
    page.keyboard.type(LAMPS)
    write = page.locator(".asf-write")
    assert write.inner_text() == "12 40 0C 0F 02 5A 08 00 CD 14"
    tab_to(page, "As left", most=8)
    page.keyboard.type(write.inner_text())
    assert page.get_by_text("As left equals what was to be written").is_visible()
    tab_to(page, "Put this job into the car")
    page.keyboard.press("Enter")
    assert "log" in page.locator(".asf-said:visible").last.inner_text()


def test_a_plan_by_keyboard_alone(page: Page) -> None:
    page.set_viewport_size({"width": 1280, "height": 900})
    page.emulate_media(forced_colors="none")
    page.goto("planner.html")
    page.evaluate("localStorage.clear()")
    page.reload()
    tab_to(page, "Filter")
    page.keyboard.type("awning lamp")
    tab_to(page, "Awning lamp follows the sliding door", most=8)
    page.keyboard.press("Space")
    page.get_by_text("is in it too, because").wait_for()
    assert page.evaluate("document.activeElement.checked"), "the focus was lost when the job was made"
    tab_to(page, "As found")
    page.keyboard.type(LAMPS)
    assert page.locator(".asf-write").inner_text().startswith("12 40 0C")
    tab_to(page, "As left", most=8)


def test_the_booklet(page: Page, bases: dict[str, str], tmp_path: Path) -> None:
    """All sheets in one document, as it is before a browser prints it."""
    book = Book(load(ROOT / "recipes"))
    desk = Desk(book)
    bound = booklet(desk, Maker(desk, file_of), book.recipes.values())
    here = SheetPage(policy(), ("sheet.css",), (), "", "")
    html = Sheets(desk, environment()).booklet(bound, here)
    (tmp_path / "booklet.html").write_text(html, "utf-8")
    (tmp_path / "sheet.css").write_bytes((PAPER / "sheet.css").read_bytes())
    page.emulate_media(color_scheme="light", forced_colors="none")
    page.goto((tmp_path / "booklet.html").as_uri())
    found = axe(page, {"type": "tag", "values": list(STANDARDS)})
    assert [one for one in found if not one.startswith("target-size")] == []  # nobody presses paper
    assert complaints([tmp_path / "booklet.html"]) == []


def test_a_withdrawn_sheet_says_so_in_large_letters_and_is_not_offered(page: Page) -> None:
    """Whoever scans old paper lands there; nobody else is sent to print it."""
    page.goto("recipes/awning-lamp-all-night.html")
    assert page.get_by_role("link", name="Print the sheet").count() == 0
    page.get_by_role("link", name="Where the sheet was").click()
    page.wait_for_url("**/sheets/awning-lamp-all-night.html")
    for media in ("screen", "print"):
        page.emulate_media(media=media)  # type: ignore[arg-type]
        label = page.get_by_text("WITHDRAWN", exact=True)
        assert label.is_visible()
        assert label.evaluate("e => parseFloat(getComputedStyle(e).fontSize)") >= 48  # 36 pt
        assert page.locator(".step, .boxes").count() == 0
    page.emulate_media(media="screen")
