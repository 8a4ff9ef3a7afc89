"""The drawings: what they show is what the page says, and names of any length fit."""

from __future__ import annotations

import timeit
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.book import Book
from asfound.car.bits import Part, Place
from asfound.car.records import Layout
from asfound.pages.figures.intervals import LEFT, SPAN, interval
from asfound.pages.figures.neighbours import Neighbour, neighbourhood
from asfound.pages.figures.riskmatrix import Scales, risk_matrix
from asfound.pages.figures.strips import Contents, Mark, change_strip
from asfound.pages.figures.svg import lines
from asfound.pages.figures.timeline import Bar, Lane, timeline
from asfound.pages.views.desk import Desk
from asfound.pages.views.drawn import course, risks
from asfound.rules.run import check_book
from asfound.work.operations import minutes
from asfound.work.recipes import Hazard

ROOT = Path(__file__).parents[2]
# MIL-STD-882E, 11 May 2012, Table III: a row for each probability A to F, columns severity 1 to 4.
TABLE_III = """
Frequent     High       High       Serious    Medium
Probable     High       High       Serious    Medium
Occasional   High       Serious    Medium     Low
Remote       Serious    Medium     Medium     Low
Improbable   Medium     Medium     Medium     Low
Eliminated   Eliminated Eliminated Eliminated Eliminated
"""
LEVELS = {row.split()[0]: row.split()[1:] for row in TABLE_III.strip().splitlines()}
SEVERITIES = ("Catastrophic", "Critical", "Marginal", "Negligible")
SCALES = Scales(
    SEVERITIES, tuple(LEVELS), tuple(LEVELS.values()), ("High", "Serious", "Medium", "Low", "Eliminated")
)
NAME = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), max_size=90)


@pytest.fixture(scope="module")
def book() -> Book:
    loaded = check_book(ROOT / "recipes")[2]
    assert loaded is not None
    return loaded


def drawn(markup: str) -> ElementTree.Element:
    """The drawing as XML, after what every drawing must be."""
    svg = ElementTree.fromstring(markup)
    assert svg.get("role") == "img" and svg.get("aria-label")
    for each in svg.iter():
        assert "style" not in each.attrib and "id" not in each.attrib
        for paint in ("fill", "stroke"):  # colours come from the style sheet
            assert each.get(paint, "none").startswith(("none", "url(#asf-"))
    _, _, width, height = (float(n) for n in svg.get("viewBox", "").split())
    for x, y, w, h in boxes(svg):
        assert x >= -0.1 and x + w <= width + 0.1 and y >= -0.1 and y + h <= height + 0.1
    return svg


def boxes(svg: ElementTree.Element, css: str = "") -> list[tuple[float, float, float, float]]:
    return [
        tuple(float(one.get(name, "")) for name in ("x", "y", "width", "height"))  # type: ignore[misc]
        for one in svg.iter("rect")
        if css in one.get("class", "")
    ]


def texts(svg: ElementTree.Element) -> list[tuple[float, float, str]]:
    return [(float(t.get("x", "")), float(t.get("y", "")), t.text or "") for t in svg.iter("text")]


def inside(box: tuple[float, float, float, float], x: float, y: float) -> bool:
    return box[0] <= x <= box[0] + box[2] and box[1] <= y <= box[1] + box[3]


HELD = st.dictionaries(
    st.tuples(st.integers(0, 5), st.integers(0, 3)), st.integers(1, 7), min_size=1, max_size=24
)


@given(HELD)
def test_every_hazard_lies_in_the_cell_of_its_row_and_column_and_every_cell_says_its_level(
    counts: dict[tuple[int, int], int],
) -> None:
    numbers, held = iter(range(1, 200)), {}
    for spot, count in counts.items():
        held[spot] = [next(numbers) for _ in range(count)]
    markup = risk_matrix(SCALES, held, "in words")
    if sum(counts.values()) < 2:
        assert markup == ""
        return
    svg = drawn(markup)
    words = texts(svg)
    columns = {text: x for x, _, text in words if text in SEVERITIES}
    rows = {text: y for x, y, text in words if text in LEVELS and x == 0}
    assert (list(columns), list(rows)) == (list(SEVERITIES), list(LEVELS))
    chips = [(x, y, int(text)) for x, y, text in words if text.isdigit()]
    assert sorted(n for _, _, n in chips) == sorted(n for of in held.values() for n in of)
    width = (columns["Critical"] - columns["Catastrophic"]) / 2
    for cell in boxes(svg, "asf-risk__cell"):
        (row,) = [name for name, y in rows.items() if cell[1] <= y <= cell[1] + cell[3]]
        (level,) = [t for x, y, t in words if x and t in SCALES.ranks and inside(cell, x, y)]
        for at, (_name, middle) in enumerate(columns.items()):
            if not inside(cell, middle, cell[1] + 1):
                continue
            assert level == LEVELS[row][at]
            here = [n for x, y, n in chips if inside(cell, x, y) and abs(x - middle) < width]
            assert sorted(here) == sorted(held.get((list(rows).index(row), at), []))


def test_the_recipes_hazards_are_drawn_by_severity_and_likelihood() -> None:
    one = Hazard("h", "c", "a", "serious", "could", "remote", None)
    other = Hazard("h", "c", "a", "none", "could", "occasional", "marginal")
    svg = drawn(risks([one, other]))
    assert "hazard 1 critical and remote, Medium; hazard 2 marginal and occasional, Medium" in svg.get(
        "aria-label", ""
    )
    assert risks([one]) == "" and risks([]) == ""


def test_a_job_drawn_over_time_lasts_as_long_as_the_page_says(book: Book) -> None:
    desk, seen = Desk(book), 0
    for recipe in book.recipes:
        for operations in book.frames(recipe):
            drawing = course(desk, operations)
            if not drawing.figure:
                continue
            seen += 1
            svg = drawn(drawing.figure)
            total, key_on = minutes(operations)
            assert f"{total} min" in [text for _, _, text in texts(svg)]
            end = max(x + w for x, _, w, _ in boxes(svg, "asf-bar"))
            scale = (end - min(x for x, *_ in boxes(svg, "asf-bar"))) / total
            for css, expected in (
                ("asf-bar--on", key_on),
                ("asf-bar--restart", sum(o.minutes for o in operations if o.kind == "restart")),
                ("asf-bar--write", sum(o.minutes for o in operations if o.kind in ("write", "load-file"))),
            ):
                # Numbers in the drawing have one decimal.
                assert sum(w for _, _, w, _ in boxes(svg, css)) / scale == pytest.approx(expected, abs=0.3)
            others = [
                w for css in ("--open", "--write", "--restart", "--work") for _, _, w, _ in boxes(svg, css)
            ]
            assert sum(others) / scale == pytest.approx(total, abs=0.4)
            names = {text for _, _, text in texts(svg)}
            for one in operations:
                if one.kind in ("write", "load-file"):
                    assert lines(desk.unit(one.module, one.place), 328, 1)[0] in names
    assert seen > 20


RECORDS = ["Lamps", "Charging of the battery behind the seats", "x" * 80]
NEIGHBOURS = st.lists(
    st.builds(
        Neighbour,
        NAME,
        st.sampled_from(["clash", "needs", "near"]),
        NAME,
        st.lists(st.sampled_from(RECORDS), unique=True).map(tuple),
    ),
    max_size=14,
)  # fmt: skip


@given(NEIGHBOURS)
def test_neighbours_never_cover_each_other_however_long_their_names(found: list[Neighbour]) -> None:
    markup = neighbourhood("This recipe", found, "in words")
    if len(found) < 2:
        assert markup == ""
        return
    svg = drawn(markup)
    every = boxes(svg, "asf-node")
    for at, one in enumerate(every):
        for other in every[at + 1 :]:
            apart = (
                one[0] + one[2] <= other[0] or other[0] + other[2] <= one[0]
                or one[1] + one[3] <= other[1] + 0.01 or other[1] + other[3] <= one[1] + 0.01
            )  # fmt: skip
            assert apart
    assert len(every) == 1 + min(len(found), 10) + len({r for one in found[:10] for r in one.records})
    assert len(boxes(svg, "asf-node--clash")) == sum(one.tie == "clash" for one in found[:10])


@given(
    st.lists(st.tuples(NAME, st.lists(st.integers(1, 300), max_size=6)), min_size=1, max_size=6),
)
def test_the_scale_of_minutes_fits_any_job(found: list[tuple[str, list[int]]]) -> None:
    now, lanes = 0, []
    for name, lengths in found:
        bars = []
        for length in lengths:
            bars.append(Bar("open", now, now + length))
            now += length
        lanes.append(Lane(name or "x", tuple(bars)))
    markup = timeline(lanes, now, "in words")
    if not now:
        assert markup == ""
        return
    svg = drawn(markup)
    ticks = [x for x, _, text in texts(svg) if text.isdigit()]
    assert ticks == sorted(ticks) and len(ticks) <= 9
    assert all(b - a > 20 for a, b in pairwise(ticks)), "numbers of the scale touch"


RECORD = st.integers(1, 5).flatmap(lambda n: st.tuples(*[st.binary(min_size=n, max_size=n)] * 3))


@given(RECORD, st.data())
def test_both_bars_of_a_strip_hold_the_bits_of_the_edit(
    record: tuple[bytes, ...], data: st.DataObject
) -> None:
    found, known, write = record
    spot = data.draw(st.tuples(st.integers(0, len(found) - 1), st.integers(0, 7), st.integers(0, 7)))
    byte, low, high = spot[0], min(spot[1:]), max(spot[1:])
    layout = Layout("one", None, len(found), {"a": Place((Part(byte, low, high),))}, None)
    mask = bytes((0xFF >> (7 - high)) & (0xFF << low) & 0xFF if at == byte else 0 for at in range(len(found)))
    html = change_strip(
        layout,
        {"a": Mark("1", "written")},
        Contents(found, known, write, mask),
        "both",
        ("as found", "to write"),
    )
    root = ElementTree.fromstring(html)
    assert root.get("role") == "img"
    labels = [t.text or "" for t in root.iter("text") if t.get("class", "").startswith("asf-label")]
    labels = [text for text in labels if text != "…"]
    before = "".join(
        format(found[byte], "08b")[7 - bit] if known[byte] >> bit & 1 else "·"
        for bit in range(high, low - 1, -1)
    )
    after = format(write[byte], "08b")[7 - high : 8 - low]
    if high - low == 7:
        after = format(write[byte], "02X")
        if known[byte] in (0, 0xFF):
            before = format(found[byte], "02X") if known[byte] else "··"
    assert labels == [before, after]


def test_an_interval_lies_on_its_scale() -> None:
    plot = ElementTree.fromstring(interval(0.0, 0.5, 1.0))
    assert plot.find("circle").get("cx") == f"{LEFT + SPAN / 2:.1f}"  # type: ignore[union-attr]
    assert plot.get("aria-hidden") == "true"


@given(NAME, st.integers(30, 320), st.integers(1, 4))
def test_lines_are_short_enough_and_lose_nothing_silently(text: str, width: int, most: int) -> None:
    out = lines(text, width, most)
    assert len(out) <= most and all(len(line) * 6.0 <= max(width, 24) for line in out)
    kept = "".join("".join(out).split())
    assert kept == "".join(text.split()) or kept.endswith("…")


def timings(book: Book) -> dict[str, Callable[[], object]]:
    desk, recipe = Desk(book), "step-goes-back-out"
    (operations,) = book.frames(recipe)
    hazards = book.hazards(recipe)
    near = [Neighbour(f"Recipe {n}", "near", "Same record", (f"Record {n % 3}",)) for n in range(10)]
    return {
        "timeline": lambda: course(desk, operations),
        "risk matrix": lambda: risks(hazards),
        "neighbours": lambda: neighbourhood("This recipe", near, "in words"),
    }


def test_a_drawing_costs_next_to_nothing(book: Book) -> None:
    """Thousands of pages have them: 0.3 ms each on the machine they were written on, 2 ms on any."""
    for name, draw in timings(book).items():
        assert min(timeit.repeat(draw, number=50, repeat=5)) / 50 < 0.002, name
