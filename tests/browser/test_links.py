"""Every address in the built site leads somewhere, and no page needs another host."""

from __future__ import annotations

import re
from collections import Counter
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import pytest

ADDRESSES = {"href", "src", "xlink:href", "action", "poster", "data", "cite", "formaction", "srcset"}
IDS = {"for", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "headers", "list"}
IN_PRESENTATION = {"style", "fill", "stroke", "mask", "clip-path", "marker", "filter"}
IN_STYLE = re.compile(r"""url\(\s*["']?([^"')]+)""")
SITE = "http://site.test/"


class Seen(HTMLParser):
    """What a page holds: its ids, and its addresses with the element and attribute that bear them."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: Counter[str] = Counter()
        self.addresses: list[tuple[str, str, str]] = []
        self.versions: dict[str, str] = {}  # addresses of the page in other languages, by their tags
        self.switch: dict[str, str] = {}  # the same as readers see it
        self.lang = ""
        self.named: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        if "id" in values:
            self.ids[values["id"]] += 1
        if tag == "html":
            self.lang = values.get("lang", "")
        if "hreflang" in values:
            (self.versions if tag == "link" else self.switch)[values["hreflang"]] = values["href"]
        if tag == "link" and values.get("rel") in ("prev", "next", "canonical"):
            tag = "a"  # names a page, fetches nothing
        for name, value in values.items():
            if name in ADDRESSES:
                self.addresses.append((tag, name, value))
            elif name in IDS:
                # "__toc" and the like are the theme's switches; it may leave one out and keep its label
                self.named += [id for id in value.split() if not id.startswith("__")]
            if name in IN_PRESENTATION:
                self.addresses += [("style", name, inner) for inner in IN_STYLE.findall(value)]


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[str, Seen]:
    """Every page of the site by its path."""
    return {f.relative_to(site).as_posix(): Seen(f.read_text("utf-8")) for f in sorted(site.rglob("*.html"))}


def target(page: str, address: str) -> tuple[str, str, str]:
    """Host ("" for the site itself), path below the site and anchor that an address on a page leads to."""
    parts = urlsplit(urljoin(SITE + page, address))
    host = "" if (parts.scheme, parts.netloc) == ("http", "site.test") else f"{parts.scheme}:{parts.netloc}"
    path = unquote(parts.path).lstrip("/")
    return host, path + "index.html" if path.endswith("/") or not path else path, unquote(parts.fragment)


def test_no_id_stands_twice_on_a_page(pages: dict[str, Seen]) -> None:
    assert [(page, id) for page, seen in pages.items() for id, n in seen.ids.items() if n > 1 or not id] == []


def test_every_address_inside_the_site_leads_somewhere(pages: dict[str, Seen], site: Path) -> None:
    dead, followed = [], 0
    for page, seen in pages.items():
        for tag, name, address in seen.addresses:
            host, path, anchor = target(page, address)
            if host:
                continue
            followed += 1
            if not (site / path).is_file():
                dead.append(f"{page}: {tag} {name}={address}: no such file")
            elif anchor and anchor not in pages[path].ids:
                dead.append(f"{page}: {tag} {name}={address}: no such place on that page")
        dead += [f"{page}: no element has the id {id}" for id in seen.named if id not in seen.ids]
    assert dead == []
    assert followed > 20 * len(pages)


def test_nothing_is_fetched_from_another_host(pages: dict[str, Seen], site: Path) -> None:
    outside = []
    for page, seen in pages.items():
        for tag, name, address in seen.addresses:
            host, _, _ = target(page, address)
            if host and not (tag == "a" and host.startswith(("https:", "mailto:"))) and host != "data:":
                outside.append(f"{page}: {tag} {name}={address}")
    assert outside == []
    for style in site.rglob("*.css"):
        text = style.read_text("utf-8")
        assert "@import" not in text
        for address in IN_STYLE.findall(text):
            if not address.startswith(("data:", "#")):
                assert (style.parent / address).is_file(), f"{style.name}: {address}"


def test_every_page_can_be_reached_from_home(pages: dict[str, Seen]) -> None:
    reached, waiting = {"index.html"}, ["index.html"]
    while waiting:
        page = waiting.pop()
        for tag, _, address in pages[page].addresses:
            host, path, _ = target(page, address)
            if tag == "a" and not host and path in pages and path not in reached:
                reached.add(path)
                waiting.append(path)
    assert set(pages) - reached == {"404.html"}


def test_a_page_in_several_languages_names_all_of_them_and_itself(pages: dict[str, Seen]) -> None:
    """By the HTML standard's rel=alternate with hreflang; tags by RFC 5646, 2.1, ``x-default`` among them."""
    tagged = re.compile(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-[A-Z]{2}|-[0-9]{3})?|x(-[a-z0-9]{1,8})+")
    seen = {
        page: {tag: target(page, href)[1] for tag, href in s.versions.items()} for page, s in pages.items()
    }
    for page, versions in seen.items():
        if not versions:
            continue
        assert all(tagged.fullmatch(tag) for tag in versions), page
        assert versions[pages[page].lang] == page, "it is among them itself"
        for tag, other in versions.items():
            assert seen[other] == versions, f"{page} and {other} say the same of each other"
            assert tag == "x-default" or pages[other].lang == tag
        assert versions["x-default"] == page.removeprefix("nl/")
    alone = {page for page, versions in seen.items() if not versions}
    there = {page.removeprefix("nl/") for page in alone}
    english = ("contribute.html", "review.html", "promises.html", "ci.html", "findings.html", "404.html")
    assert all(page.startswith(("fields/", "tour/")) or page in english for page in there), there


def test_the_switch_of_languages_keeps_the_page(pages: dict[str, Seen]) -> None:
    for page, seen in pages.items():
        if page != "404.html":
            ((tag, address),) = seen.switch.items()
            assert tag != seen.lang
            assert target(page, address)[1].removeprefix("nl/") == page.removeprefix("nl/")


def test_every_entry_of_the_feed_leads_to_a_page(pages: dict[str, Seen], site: Path) -> None:
    feed = (site / "feed.xml").read_text("utf-8")
    root = re.search(r'rel="self"[^>]*href="([^"]+)feed.xml"', feed)
    assert root
    named = [unescape(one) for one in re.findall(r'<link [^>]*href="([^"]+)"', feed)]
    inside = [one.removeprefix(root[1]).partition("#") for one in named if one.startswith(root[1])]
    assert len(inside) > 20
    for path, _, anchor in inside:
        assert (site / path).is_file() and (not anchor or anchor in pages[path].ids), path + anchor
