"""What readers load when a book grows: bytes, the time of a slow telephone, and that nothing is out of reach.

A book of a few hundred recipes is built; what a page of a far larger one would load beside itself is then put
in the place of its data. Limits are the project's own. Full sizes: ``make bench``.
"""

from __future__ import annotations

import functools
import http.server
import json
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from asfound.pages import data
from asfound.pages.search import Entry, documents

GENERATE = Path(__file__).parents[1] / "benchmarks" / "generate.py"

MANY = 202  # in three parts
LARGE = 10_000
SLOW = 4  # times slower than this machine
CONFIG = """\
site_name: Large
docs_dir: docs
use_directory_urls: false
theme: {name: material, font: false, palette: {primary: custom, accent: custom}}
plugins: [{asfound: {recipes: recipes}}]
nav: [index.md, find.md, planner.md]
"""


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a site of so many recipes."""
    folder = tmp_path_factory.mktemp("large")
    subprocess.run([sys.executable, str(GENERATE), str(folder / "recipes"), str(MANY)], check=True)
    (folder / "docs").mkdir()
    (folder / "mkdocs.yml").write_text(CONFIG, "utf-8")
    built = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q"], cwd=folder, capture_output=True, text=True
    )
    if built.returncode:
        pytest.fail(f"the site was not built:\n{built.stdout}{built.stderr}", pytrace=False)
    return folder / "site"


def assigned(site: Path, name: str) -> Any:
    """What a script of data assigns."""
    text = (site / data.FOLDER / f"{name}.js").read_text("ascii")
    return json.loads(text.partition(f"asfound.data[{json.dumps(name)}]=")[2].removesuffix(";\n"))


def test_no_page_of_a_recipe_is_heavy(large: Path, site: Path) -> None:
    for folder in (large, site):
        pages = list(folder.glob("recipes/*.html"))
        heavy = {page.name: size for page in pages if (size := page.stat().st_size) >= 150_000}
        assert not heavy
        assert pages
    for script in (large / data.FOLDER).rglob("*.js"):
        assert script.stat().st_size < 300_000, script.name


def test_pages_that_list_what_waits_or_is_gone_stay_short(large: Path) -> None:
    for name in ("index", "board", "find"):
        assert (large / f"{name}.html").stat().st_size < 200_000, name
    board = (large / "board.html").read_text("utf-8")
    assert board.count('<li><p><a class="asf-list__title"') <= 5 * 100
    assert "more, less pressing." in board


def test_the_index_has_few_bytes_a_recipe_and_the_planner_loads_little(large: Path) -> None:
    index = (large / data.FOLDER / "index.js").stat().st_size
    assert index <= 150 * MANY
    world = (large / data.FOLDER / "world.js").stat().st_size
    page = (large / "planner.html").stat().st_size
    assert 2000 / MANY * (index + world) + page < 1_000_000
    shards = list((large / data.FOLDER / "words").iterdir())
    assert shards and all(shard.stat().st_size < 50_000 for shard in shards)


def test_without_scripts_every_recipe_is_in_some_part_of_the_lists(large: Path) -> None:
    """From the find page by links alone, and of each function too."""
    index = assigned(large, "index")
    ids = {row[0] for row in index["recipes"]}
    assert len(ids) == MANY
    first = (large / "find.html").read_text("utf-8")
    assert len(first) < 150_000
    parts = re.findall(r'<a href="(find/\d+\.html)">', first)
    assert len(parts) == 2

    def listed(html: str) -> list[str]:
        return re.findall(r'<li data-recipe="([^"]+)"', html)

    found = listed(first)
    for part in parts:
        found += listed((large / part).read_text("utf-8"))
    assert sorted(found) == sorted(ids)
    names = [name for name, _ in index["functions"]]
    withdrawn = {row[0] for row in index["recipes"] if index["labels"][row[2]][0] == "withdrawn"}
    for number, name in enumerate(names):
        acting = {row[0] for row in index["recipes"] if number in row[5]} - withdrawn
        if not acting:
            continue
        assert f'href="find/{name}.html"' in first
        pages = [large / "find" / f"{name}.html", *(large / "find").glob(f"{name}-[0-9]*.html")]
        assert {id for page in pages for id in listed(page.read_text("utf-8"))} == acting, name
    touched = {index["modules"][n][0] for row in index["recipes"] if row[0] not in withdrawn for n in row[4]}
    assert touched
    for module in touched:
        assert f'href="modules/{module}.html"' in first


def test_every_matrix_is_cut_into_parts_that_links_reach(large: Path) -> None:
    found, fitting = [], set()
    for recipe in (large / "recipes").glob("*.html"):
        page = recipe.read_text("utf-8")
        if "asf-status--withdrawn" not in page and re.search("asf-cell--(fits|if)", page):
            fitting.add(recipe.stem)
    for line in (large / "vehicles").glob("*.html"):
        first = line.read_text("utf-8")
        parts = re.findall(rf'<a href="({line.stem}/\d+\.html)">(\d+), from “([^<]+)”</a>', first)
        assert parts or line.stem != "skerry"
        titles = []
        for number, (part, named, title) in enumerate(parts, 2):
            assert (part, named) == (f"{line.stem}/{number}.html", str(number))
            text = (line.parent / part).read_text("utf-8")
            here = re.findall(r'<th scope="row"><a href="../../recipes/([^"]+).html">([^<]+)</a>', text)
            assert here[0][1] == title and f'href="../{line.name}"' in text
            found += [id for id, _ in here]
            titles += [title for _, title in here]
            assert len(text) < 150_000
        assert len(first) < 150_000
        here = re.findall(r'<th scope="row"><a href="../recipes/([^"]+).html">([^<]+)</a>', first)
        titles = [title for _, title in here] + titles
        assert titles == sorted(titles, key=str.casefold)
        found += [id for id, _ in here]
    assert sorted(found) == sorted(fitting)


def test_every_code_is_on_the_page_of_its_letter(large: Path) -> None:
    first = (large / "code.html").read_text("utf-8")
    assert "data-code>" not in first and len(first) < 20_000
    assert (large / "sheet.html").stat().st_size < 20_000
    parts = re.findall(r'<li><a href="(code/[^"]+)">', first)
    assert len(parts) == 32
    found = []
    for part in parts:
        codes = re.findall(r'id="([0-9A-Z]{8})" data-code>', (large / part).read_text("utf-8"))
        assert all(part == f"code/{code[0]}.html" for code in codes)
        found += codes
    for recipe in (large / "recipes").glob("*.html"):
        stated = re.search(r'asf-code__letters">([0-9A-Z]{8})<', recipe.read_text("utf-8"))
        assert stated and stated[1] in found, recipe.name


@pytest.mark.parametrize("scripts", [True, False])
def test_a_symbol_leads_to_the_row_of_its_code(opener: Any, large: Path, scripts: bool) -> None:
    """By itself, and without scripts by one more link."""
    row = re.search(r'id="([0-9A-Z]{8})" data-code>', (large / "code/A.html").read_text("utf-8"))
    assert row
    with opener("file", width=360, javascript=scripts) as reader:
        reader.base = large.as_uri() + "/"
        page = reader.open(f"code.html#{row[1]}")
        if not scripts:
            page.get_by_role("link", name="A", exact=True).click()
            assert page.locator(f"#{row[1]}").is_visible()
            return
        page.wait_for_url(f"**/code/A.html#{row[1]}")
        assert page.locator(".code:visible").count() == 1
        page.get_by_label("Code on the paper").fill("00000000")
        page.wait_for_url("**/code/0.html#00000000")
        assert "No such code" in page.locator(".code:visible").inner_text()


def test_more_of_a_list_comes_behind_what_is_there_and_says_what_its_own_page_says(
    opener: Any, large: Path
) -> None:
    with opener("file") as reader:
        reader.base = large.as_uri() + "/"
        page = reader.open("find/2.html")
        there = page.locator("[data-asf-items] > li").first
        link = there.locator("a").get_attribute("href")
        said = there.locator("p.asf-soft").first.inner_text()
        assert link and said
        page = reader.open("find.html")
        page.get_by_label("Sorted by").select_option("title")
        rows = page.locator("[data-asf-found] li")
        expect(rows).to_have_count(100)
        for button, count in (("Show 100 more", 200), (f"Show the other {MANY - 200}", MANY)):
            before = rows.count()
            page.get_by_role("button", name=button).press("Enter")
            expect(rows).to_have_count(count)
            assert rows.nth(before).locator("a").evaluate("one => one === document.activeElement")
        assert page.get_by_role("button", name="Show").count() == 0
        titles = rows.locator(".asf-list__title").all_text_contents()
        assert titles == page.evaluate("(all) => all.sort(new Intl.Collator('en').compare)", titles)
        mine = rows.filter(has=page.locator(f'a[href="{link.removeprefix("../")}"]'))
        assert mine.locator("p.asf-soft").first.text_content() == said


@pytest.fixture(scope="module")
def telephone(browser: Any, large: Path) -> Iterator[Any]:
    """A small screen, pages over HTTP, and in the place of the site's data those of LARGE recipes."""
    index = assigned(large, "index")
    rows = index["recipes"]
    grown = [[f"{row[0]}-{n}", *row[1:]] for n in range(-(-LARGE // MANY)) for row in rows][:LARGE]
    said = [
        (f"{row[1]} {n} if the lamp is dark and nobody has the key", row[0]) for n, row in enumerate(grown)
    ]
    scripts = dict([data.script("index", index | {"recipes": grown})])
    scripts |= dict(
        data.script(name, one)
        for name, one in documents(said, [Entry("planner.html", "Planner", "page", "")])
    )
    for key, content in scripts.items():
        (large / key).write_bytes(content)

    class Silent(http.server.SimpleHTTPRequestHandler):
        def log_message(self, format: str, *args: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(Silent, directory=str(large))
    ) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        context = browser.new_context(
            viewport={"width": 360, "height": 800}, base_url=f"http://127.0.0.1:{server.server_address[1]}/"
        )
        yield context
        context.close()
        server.shutdown()


def watched(context: Any) -> tuple[Any, Any]:
    """A fresh page, and the way to ask how many seconds a SLOW processor would have been busy for it.

    Counted is the processor time of the page's main thread, which other work on the machine hardly changes,
    times SLOW; a browser held back by so much takes as long where nothing else runs.
    """
    page = context.new_page()
    tools = context.new_cdp_session(page)
    tools.send("Performance.enable", {"timeDomain": "threadTicks"})

    def busy() -> float:
        told = tools.send("Performance.getMetrics")["metrics"]
        return SLOW * next(float(one["value"]) for one in told if one["name"] == "TaskDuration")

    return page, busy


def least(context: Any, visit: Any) -> float:
    """The least of some visits' seconds, since a full machine makes the same work longer."""
    took = []
    while len(took) < 6 and (not took or min(took) >= 1):
        page, busy = watched(context)
        took.append(visit(page, busy))
        page.close()
    return min(took)


def test_the_find_page_is_at_hand_within_a_second_on_a_slow_telephone(telephone: Any) -> None:
    def visit(page: Any, busy: Any) -> float:
        page.goto("find.html")
        expect(page.locator("[data-asf-filter]")).to_be_visible()
        return float(busy())

    assert least(telephone, visit) < 1


def test_ten_thousand_are_filtered_and_searched_while_one_types(telephone: Any) -> None:
    def visit(page: Any, busy: Any) -> float:
        page.goto("find.html")
        box = page.get_by_label("Filter", exact=True)
        expect(box).to_be_visible()
        begun = busy()
        box.fill("awning lamp dark")
        expect(page.locator("#asf-filter-count")).to_contain_text(f"of {LARGE} recipes")
        took = float(busy() - begun)
        assert page.locator("[data-asf-found] li").count() == 100
        page.get_by_role("button", name="Search").click()
        page.get_by_role("combobox", name="Search").fill("awning lamp")
        expect(page.locator(".asf-search__said")).to_contain_text("The first 20 of")
        return took

    assert least(telephone, visit) < 1
