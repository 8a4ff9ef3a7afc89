"""Zoomed in, on a narrow phone, on a slow line: everything is in reach, and nothing moves under the eyes.

WCAG 2.2: 1.4.4 (text at 200 %), 1.4.10 (reflow at 320 CSS pixels, which is 1280 at 400 %), 1.4.12 (wider
spacing), 2.4.11 (what has the focus is not hidden). Layout Instability, as browsers measure it.
"""

from __future__ import annotations

import functools
import http.server
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar

import pytest
from playwright.sync_api import Browser, Page

from .kinds import KINDS
from .test_access import DRAWINGS, FOCUS, at_rest

# A page must not need scrolling in two directions; a table or a record of pairs may, in a region of its own
# that has a name and can have the focus, so that arrow keys scroll it. `pre` are examples of files.
REGION = ".asf-scroll, .pairs, pre[tabindex]"
SIDEWAYS = f"""() => {{
    const width = document.documentElement.clientWidth, poor = [];
    const say = (words, e) => poor.push(words + ": " + e.outerHTML.slice(0, 110));
    if (document.documentElement.scrollWidth > width) {{
        poor.push(`${{document.documentElement.scrollWidth}} px in ${{width}} px`);
        [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > width + 1
            && !e.closest("{REGION}, [hidden]")).slice(0, 5).forEach(e => say("too wide", e));
    }}
    for (const e of document.querySelectorAll("main *, .md-container *")) {{
        const s = getComputedStyle(e);
        if (e.scrollWidth <= e.clientWidth + 1 || !e.checkVisibility() || e.closest(".md-sidebar, .md-tabs")
            || !["auto", "scroll"].includes(s.overflowX) || e.matches("textarea")) {{ continue; }}
        const named = e.getAttribute("aria-label") || e.matches("pre");
        if (!e.matches("{REGION}") || e.tabIndex < 0 || !named) {{ say("scrolls by itself", e); }}
    }}
    return poor;
}}"""
# What clubs write may hold words of sixty letters and more, as German makes them; what the interface says,
# codes and digits do not.
LONG = """() => {
    const fixed = ".asf-signal, .asf-stamp, .asf-status__label, .asf-state, .asf-key, .asf-mark, .asf-bin,"
        + " .asf-hex, .asf-outcome, .asf-handover td:nth-child(4), button, option, svg, script, style, thead,"
        + " .boxes, .lookup, .refusals, .form--car, .form--sign, .form--units th:not(:first-child),"
        + " .form .soft, .number, .ref, .of, .mark, .stepper, .bar";
    const walk = document.createTreeWalker(document.querySelector(".asf, main"), NodeFilter.SHOW_TEXT);
    const found = [];
    while (walk.nextNode()) {
        const node = walk.currentNode;
        if (node.data.trim().length > 1 && !node.parentElement.closest(fixed)) { found.push(node); }
    }
    const word = " Doppelkupplungsgetriebesteuergerätesoftwarestandsabfragegerätehalter";
    for (const node of found) { node.data += word; }
    return found.length;
}"""
# As WCAG 1.4.12 puts it: line height 1.5, paragraphs 2, letters 0.12, words 0.16 times the size of the font.
SPACED = "* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }"
SHIFTS = """() => new Promise(done => {
    const seen = [];
    new PerformanceObserver(list => {
        for (const entry of list.getEntries()) {
            seen.push([entry.value, entry.sources.map(s => s.node && (s.node.outerHTML || "").slice(0, 90))]);
        }
    }).observe({ type: "layout-shift", buffered: true });
    setTimeout(() => done(seen), 100);
})"""
CODES = ("code.html#Z9CWPRTG", "code.html#RVJRJWGM", "code.html#00000000")


@pytest.fixture(scope="module")
def page(browser: Browser, bases: dict[str, str]) -> Iterator[Page]:
    context = browser.new_context(bypass_csp=True, base_url=bases["http"], locale="en-GB")
    context.set_default_timeout(20_000)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_of_page_zoomed_in(page: Page, kind: str) -> None:
    """1280 by 1024 pixels at 200 and 400 %, and a phone."""
    at_rest(page, kind)
    for width, height in ((640, 512), (360, 800), (320, 256)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(SIDEWAYS) == [], f"at {width} px"
        assert page.evaluate(DRAWINGS) == [], f"at {width} px"
    page.keyboard.press("Tab")
    seen, poor = page.evaluate(FOCUS)
    assert (seen > 1, poor) == (True, [])
    page.set_viewport_size({"width": 360, "height": 800})
    spaced = page.add_style_tag(content=SPACED)
    assert page.evaluate(SIDEWAYS) == [], "with wider spacing"
    spaced.evaluate("e => e.remove()")
    if not kind.startswith("hand-written"):
        assert page.evaluate(LONG) > 0
        for width in (1280, 768, 360, 320):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate(SIDEWAYS) == [], f"at {width} px, with words of sixty letters"


def test_the_drawer_holds_its_links_while_the_theme_still_measures_the_wide_page(page: Page) -> None:
    """A tablet turned round: for some frames the theme's script leaves the side list as high as it was."""
    at_rest(page, "planner", 320)
    page.set_viewport_size({"width": 320, "height": 256})
    page.evaluate("""() => {
        const list = document.querySelector(".md-sidebar--primary");
        list.style.top = "50px";
        list.querySelector(".md-sidebar__scrollwrap").style.height = "763px";
    }""")
    page.keyboard.press("Tab")
    assert page.evaluate(FOCUS)[1] == []


class Late(http.server.SimpleHTTPRequestHandler):
    """A slow line: scripts come half a second after their page, when it has long been seen."""

    asked: ClassVar[float] = 0.0

    def log_message(self, format: str, *args: object) -> None:
        pass

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def do_GET(self) -> None:
        path = self.path.partition("?")[0]
        if path.endswith(".html"):
            Late.asked = time.monotonic()
        elif path.endswith(".js"):
            time.sleep(max(0.0, Late.asked + 0.5 - time.monotonic()))
        super().do_GET()


@pytest.fixture(scope="module")
def late(site: Path, browser: Browser) -> Iterator[Page]:
    handler: Any = functools.partial(Late, directory=str(site))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        context = browser.new_context(base_url=f"http://127.0.0.1:{server.server_address[1]}/")
        yield context.new_page()
        context.close()
        server.shutdown()


@pytest.mark.parametrize("width", [1280, 360])
@pytest.mark.parametrize(
    "path", [*dict.fromkeys(path for path, _ in KINDS.values()), *CODES], ids=lambda p: p[:40]
)
def test_nothing_moves_when_the_tools_arrive(late: Page, path: str, width: int) -> None:
    late.set_viewport_size({"width": width, "height": 900})
    late.goto("about:blank")
    late.goto(path)
    if late.locator("[data-asf-room]").count():
        late.locator(".asf-car").wait_for()
    elif path.startswith("sheets/"):
        late.locator("[data-sheet-bar] button").first.wait_for()
    shifts = late.evaluate(SHIFTS)
    assert sum(value for value, _ in shifts) < 0.01, shifts
