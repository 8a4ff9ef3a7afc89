"""Every number about evidence on a page follows from the reports listed on that page.

Each page is rendered and read as a reader would: the reports it lists, which of them it marks as not counted,
their outcomes, variants, layouts, members and times. From these alone every count, every interval and every
reason is worked out again and compared with the words. Wilson's interval comes from statsmodels.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from statsmodels.stats.proportion import proportion_confint

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.source.loader import load

ROOT = Path(__file__).parents[2]
FAILED = {"Had no effect", "The module refused", "Could not be put back"}
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
DAYS = {"day": 1.0, "week": 7.0, "month": 30.436875, "year": 365.2425}  # ISO 8601 units, mean Gregorian year
VOID = {"br", "hr", "img", "input", "link", "meta"}


@dataclass
class Element:
    """An element and what it holds."""

    tag: str
    attributes: dict[str, str | None]
    inside: list[Element | str] = field(default_factory=list)

    @property
    def classes(self) -> set[str]:
        return set((self.attributes.get("class") or "").split())

    @property
    def text(self) -> str:
        parts = (each if isinstance(each, str) else each.text for each in self.inside)
        return " ".join("".join(parts).split())

    def every(self, tag: str = "", css: str = "") -> list[Element]:
        """All elements below this one of that tag and class."""
        out: list[Element] = []
        for each in self.inside:
            if isinstance(each, Element):
                if tag in ("", each.tag) and (not css or css in each.classes):
                    out.append(each)
                out += each.every(tag, css)
        return out


class Tree(HTMLParser):
    """A page as elements."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.root = Element("", {})
        self.open = [self.root]
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        new = Element(tag, dict(attrs))
        self.open[-1].inside.append(new)
        if tag not in VOID:
            self.open.append(new)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


@dataclass(frozen=True)
class Listed:
    """A report as the page lists it."""

    outcome: str
    car: str
    by: str
    in_use: str
    counts: bool
    side_effects: bool


BOOK = Book(load(ROOT / "recipes"))
PAGES = Pages(BOOK)
RECIPES = sorted(BOOK.recipes)


@cache
def page(recipe: str) -> Element:
    key = links.recipe(recipe)
    return Tree(PAGES.html(key, links.linker(key)).html).root


@cache
def listed(recipe: str) -> tuple[Listed, ...]:
    out = []
    for item in page(recipe).every("li", "asf-report"):
        head, foot = item.every("p")[0], item.every("p")[-1].text
        (outcome,) = head.every("span", "asf-outcome")
        tags = head.every("span", "asf-tag")
        assert bool(tags) == ("asf-report--earlier" in item.classes)
        by, rest = foot.split(", ", 1)
        assert re.match(r"\d{4}-\d{2}-\d{2}", rest)
        in_use = rest.partition("in use for ")[2]
        quoted = any(p.text == "Side effects" for p in item.every("p"))
        car = head.text.removeprefix(outcome.text).strip()
        out.append(Listed(outcome.text, car, by, in_use, not tags, quoted))
    return tuple(out)


def variants(recipe: str) -> list[str]:
    """The variants that the page's matrices say it fits or may fit, longest name first."""
    out = []
    tables = page(recipe).every("table", "asf-matrix")
    for table in tables:
        phases = [cell.text for cell in table.every("thead")[0].every("th")[1:]]
        line = f"{table.every('caption')[0].text} " if len(BOOK.lines) > 1 else ""
        for row in table.every("tbody")[0].every("tr"):
            model = row.every("th")[0].text
            for phase, cell in zip(phases, row.every("td"), strict=True):
                if cell.classes & {"asf-cell--fits", "asf-cell--if"}:
                    out.append(f"{line}{model} {phase}")
    return sorted(out, key=len, reverse=True)


def on(variant: str, recipe: str) -> list[Listed]:
    """The listed reports that count for a variant."""
    return [r for r in listed(recipe) if r.counts and re.match(re.escape(variant) + r"\b", r.car)]


def said(reports: list[Listed]) -> str:
    """What the page must say of some reports that count."""
    worked, total = sum(r.outcome == "Worked" for r in reports), len(reports)
    low, high = proportion_confint(worked, total, alpha=0.05, method="wilson")
    if len({r.by for r in reports}) < total:
        who = "cars that members reported on"
    else:
        who = "member who reported" if total == 1 else "members who reported"
    sample = "were this a fair sample" if total == 1 else "were they a fair sample"
    words = f"{worked} of {total} {who}; {sample}, {low * 100:.0f}–{high * 100:.0f} %"
    times = [r.in_use for r in reports if r.in_use and r.outcome in ("Worked", "Worked partly")]
    if times:
        words += f"; longest in use {max(times, key=days)}"
    if bad := sum(r.outcome in FAILED for r in reports):
        words += f"; {bad} report{'s' if bad > 1 else ''} of failure"
    return words + "."


def days(said: str) -> float:
    number, unit = said.split()
    return int(number) * DAYS[unit.removesuffix("s")]


def rows(recipe: str) -> Iterator[tuple[str, Element]]:
    for of in page(recipe).every("dl", "asf-tallies"):
        for each in of.every("div"):
            yield each.every("dt")[0].text, each.every("dd")[0]


def reports_of(row: str, recipe: str) -> list[Listed]:
    """The listed reports that a row is about."""
    counting = [r for r in listed(recipe) if r.counts]
    if row == "All together, which says nothing of any one variant":
        return counting
    if row.startswith("Layout "):
        name = row[:1].lower() + row[1:]
        return [r for r in counting if name in r.car.rpartition(" (")[2]]
    return on(row, recipe)


@pytest.mark.parametrize("recipe", RECIPES)
def test_every_tally_follows_from_the_reports_on_the_page(recipe):
    for row, words in rows(recipe):
        reports = reports_of(row, recipe)
        assert reports, f"no listed report is about {row}"
        assert words.text == said(reports)
        # The drawing says the same: its scale goes from 4 to 204 units.
        (drawn,) = words.every("path", "asf-plot__range")
        low, high = proportion_confint(
            sum(r.outcome == "Worked" for r in reports), len(reports), alpha=0.05, method="wilson"
        )
        ends = re.match(r"M([\d.]+) 10H([\d.]+)", drawn.attributes["d"]).groups()
        assert [float(x) for x in ends] == pytest.approx([4 + 200 * low, 4 + 200 * high], abs=0.051)


@pytest.mark.parametrize("recipe", [r for r in RECIPES if BOOK.recipes[r].status != "withdrawn"])
def test_every_variant_has_its_tally_or_is_named_as_silent(recipe):
    told = {row for row, _ in rows(recipe)}
    silence = page(recipe).every("p", "asf-silent")
    silent = re.sub(r"^Nobody has reported on | ?That is no sign.*$", "", silence[0].text) if silence else ""
    assert {row for row in told if not row.startswith(("Layout ", "All together"))} <= set(variants(recipe))
    for variant in variants(recipe):
        assert (variant in told) == bool(on(variant, recipe))
        assert (variant in re.split(r", | and |\.", silent)) == (not on(variant, recipe))
    # Evidence for one variant is never shown as evidence for another: each report is in one variant's row.
    counted = [r for r in listed(recipe) if r.counts]
    assert sum(len(on(variant, recipe)) for variant in variants(recipe)) == len(counted)


@pytest.mark.parametrize("recipe", RECIPES)
def test_the_reasons_for_not_vouching_follow_from_the_reports_on_the_page(recipe):
    (status,) = page(recipe).every("section", "asf-status")
    for reason in status.every("li"):
        names, _, because = reason.text.partition(", not vetted: ")
        for variant in re.split(r", | and ", names):
            assert variant in variants(recipe)
            reports = on(variant, recipe)
            if found := re.search(r"(\w+) (?:members? says?|says?) that it worked on this variant", because):
                worked = len({r.by for r in reports if r.outcome == "Worked"})
                assert found[1] == {0: "nobody", 1: "one"}.get(worked, NUMBERS[worked])
            if "nobody has reported on this variant" in because:
                assert reports == []
            bad = sum(r.outcome in FAILED for r in reports)
            if found := re.search(r"(\w+) reports? says? that it failed on this variant", because):
                assert found[1] == NUMBERS[bad]
            else:
                assert bad == 0  # the demo club allows none


@pytest.mark.parametrize("recipe", RECIPES)
def test_hazards_from_reports_follow_from_the_reports_on_the_page(recipe):
    counted = [r for r in listed(recipe) if r.counts]
    kinds = {
        "that it could not be put back": [r for r in counted if r.outcome == "Could not be put back"],
        "side effects": [r for r in counted if r.side_effects],
        "that it worked only partly": [r for r in counted if r.outcome == "Worked partly"],
    }
    told = " ".join(table.text for table in page(recipe).every("table"))
    for words, reports in kinds.items():
        found = re.findall(rf"(One|\d+) members? reports? {words}", told)
        expected = [] if not reports else ["One"] if len(reports) == 1 else [str(len(reports))]
        assert found == expected


def test_the_demo_has_what_these_tests_look_for():
    # Else the tests above could pass by finding nothing.
    pages = [(row, words.text) for recipe in RECIPES for row, words in rows(recipe)]
    assert len(pages) > 60
    assert any(row.startswith("Layout ") for row, _ in pages)
    assert any("reported again later" in page(recipe).text for recipe in RECIPES)
    assert any("of failure" in words for _, words in pages)
    assert any(not r.counts for recipe in RECIPES for r in listed(recipe))
    assert any("All together" in row for row, _ in pages)
