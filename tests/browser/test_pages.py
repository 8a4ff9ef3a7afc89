"""Every kind of page in a real browser, over HTTP and from its folder."""

from __future__ import annotations

from typing import Any

import pytest

WAYS = ("http", "file")
KINDS = {
    "home": "index.html",
    "find": "find.html",
    "recipe": "recipes/step-light-waits.html",
    "recipe with a banner": "recipes/step-goes-back-out.html",
    "recipe with a file to load": "recipes/map-card-0422.html",
    "withdrawn recipe": "recipes/awning-lamp-all-night.html",
    "list": "modules/index.html",
    "module": "modules/side-doors.html",
    "vehicle": "vehicles/skerry.html",
    "hand-written": "cautions.html",
}
TOO_WIDE = """() => {
    const width = document.documentElement.clientWidth;
    return document.documentElement.scrollWidth <= width ? [] : [
        `${document.documentElement.scrollWidth} px in ${width} px`,
        ...[...document.querySelectorAll("article *")]
            .filter(e => e.getBoundingClientRect().right > width + 1 && !e.closest(".asf-scroll"))
            .slice(0, 5).map(e => e.outerHTML.slice(0, 120)),
    ];
}"""


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("path", KINDS.values(), ids=KINDS)
def test_every_kind_of_page_opens_without_an_error_and_does_not_scroll_sideways(
    opener: Any, way: str, path: str
) -> None:
    with opener(way) as reader:
        page = reader.open(path)
        assert page.locator("h1").count() == 1
        assert page.locator("h1").is_visible()
        for width in (1280, 360):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate(TOO_WIDE) == [], f"{path} at {width} px"


def test_no_page_scrolls_sideways_on_a_phone(opener: Any, site: Any) -> None:
    with opener("file", width=360, javascript=False) as reader:
        every = sorted(set(site.rglob("*.html")) - {site / "404.html"})  # that one is for servers
        # Of other languages what is theirs: pages of the interface, and the recipes translated.
        theirs = [file for file in every if "nl" in file.relative_to(site).parts]
        few = {site / f"nl/recipes/{name}.html" for name in ("softer-tick", "awning-lamp-time-out")}
        for file in (f for f in every if f not in theirs or f.parent == site / "nl" or f in few):
            page = reader.open(file.relative_to(site).as_posix())
            assert page.evaluate(TOO_WIDE) == [], file.name


@pytest.mark.parametrize("way", WAYS)
def test_links_lead_from_find_to_a_recipe_to_a_module_and_back(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("index.html")
        page.locator(".md-tabs").get_by_role("link", name="Find").click()
        assert reader.path == "find.html"
        recipe = page.locator("[data-asf-items] a").first
        title = recipe.inner_text()
        recipe.click()
        assert reader.path.startswith("recipes/")
        assert page.locator("h1").inner_text() == title
        here = reader.path
        page.locator(".asf-glance a[href*='modules/']").first.click()
        assert reader.path.startswith("modules/")
        page.locator(".asf").get_by_role("link", name=title).first.click()
        assert reader.path == here
        page.go_back()
        assert reader.path.startswith("modules/")


@pytest.mark.parametrize("way", WAYS)
def test_find_is_complete_without_javascript(opener: Any, site: Any, way: str) -> None:
    with opener(way, javascript=False) as reader:
        page = reader.open("find.html")
        assert not page.get_by_label("Filter").is_visible()
        assert page.get_by_role("link", name="Search").get_attribute("href") == "find.html"
        listed = page.locator("[data-asf-items] > [data-recipe]:visible")
        titles = {link.inner_text() for link in listed.locator("a.asf-list__title").all()}
        recipes = list(site.glob("recipes/*.html"))
        assert len(titles) == listed.count() == len(recipes) > 16
        for group in ("functions", "modules", "vehicles"):
            assert page.locator(f"#{group}").is_visible()
        page.locator("a.asf-list__title").first.click()
        assert page.locator(".asf-status__label").is_visible()


def test_signal_word_and_status_come_first_in_words(opener: Any) -> None:
    with opener("http", width=360) as reader:
        page = reader.open(KINDS["recipe with a banner"])
        banner, status = page.locator(".asf-banner"), page.locator(".asf-status__label")
        first_section = page.locator(".asf h2").first.bounding_box()["y"]
        signal = banner.locator(".asf-signal")
        for seen in (signal, status):
            assert seen.is_visible()
            assert seen.bounding_box()["y"] < first_section
        assert signal.inner_text().strip() in ("DANGER", "WARNING", "CAUTION")
        assert status.inner_text().isupper()
        assert banner.locator("svg.asf-alert").is_visible()  # people can be hurt here


def test_a_withdrawn_recipe_says_so_first(opener: Any) -> None:
    with opener("http", width=360) as reader:
        page = reader.open(KINDS["withdrawn recipe"])
        assert page.locator(".asf-status__label").inner_text() == "WITHDRAWN"
        said = page.locator(".asf-status")
        assert "If you have done it:" in said.inner_text()
        said.locator("a").last.click()
        assert reader.path.startswith("recipes/")


@pytest.mark.parametrize(("scheme", "name"), [("light", "default"), ("dark", "slate")])
def test_text_keeps_its_contrast_in_light_and_dark(opener: Any, scheme: str, name: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5:1 for text; relative luminance as defined there."""
    with opener("http") as reader:
        reader.page.emulate_media(color_scheme=scheme)
        page = reader.open(KINDS["recipe with a banner"])
        assert page.locator("body").get_attribute("data-md-color-scheme") == name
        poor = page.evaluate("""() => {
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
            return [...document.querySelectorAll(".asf *:not(svg *)")].filter(e => e.checkVisibility()
                && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())).map(e => {
                    const [a, b] = [light(rgb(getComputedStyle(e).color)), light(ground(e))];
                    return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.outerHTML.slice(0, 100)];
                }).filter(([ratio]) => ratio < 4.5);
        }""")
        assert poor == []


@pytest.mark.parametrize("javascript", [True, False])
def test_on_a_phone_a_recipe_begins_with_what_stands_where(opener: Any, javascript: bool) -> None:
    with opener("file", width=360, javascript=javascript) as reader:
        page = reader.open("recipes/step-goes-back-out.html")
        contents = page.locator(".asf-contents")
        links = contents.get_by_role("link")
        assert contents.is_visible() and not links.first.is_visible()
        assert contents.bounding_box()["y"] < page.locator("#glance").bounding_box()["y"]
        contents.locator("summary").click()
        told = links.evaluate_all("links => links.map((link) => [link.hash.slice(1), link.innerText])")
        headings = page.locator(".asf h2:visible:not(#worksheet)")  # that one has a link of its own, above
        assert told == headings.evaluate_all("all => all.map((one) => [one.id, one.innerText])")
        assert len(told) > 10
        links.filter(has_text="The way back").click()
        page.wait_for_function(
            "Math.abs(document.querySelector('#way-back').getBoundingClientRect().top) < 200"
        )
        page.emulate_media(media="print")
        assert not contents.is_visible()
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": 1280, "height": 800})
        assert not contents.is_visible()  # the theme's own list stands beside the page
        assert page.locator(".md-sidebar--secondary a[href='#way-back']").is_visible()
