"""Reading only what may matter gives the same review as reading everything, whatever is changed."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest

from asfound.review.data import as_json
from asfound.review.markdown import as_markdown
from asfound.review.run import review_sides
from asfound.review.scope import WHOLE, narrow
from asfound.review.sides import FileChange, GitTree, Sides
from asfound.review.text import as_text
from asfound.review.web import as_html
from asfound.source.loader import Kept
from asfound.source.reader import read

sys.path.insert(0, str(Path(__file__).parents[1] / "review"))
from review_cases import ROOT, Blobs, files_of

DEMO = files_of(Path(__file__).parents[2] / "recipes")
Files = dict[str, bytes]


def sides_of(before: Files, after: Files) -> Sides:
    blobs = Blobs()
    old, new = blobs.keep(before), blobs.keep(after)
    within = tuple(
        FileChange(path, "added" if path not in old else "removed" if path not in new else "changed")
        for path in sorted({*old, *new})
        if old.get(path) != new.get(path)
    )
    trees = [GitTree(blobs, items, {}) for items in (old, new)]  # type: ignore[arg-type]
    return Sides(*trees, "recipes", "main", "a branch", within, (), (), {})


def text(path: str, old: str, new: str, count: int = 1) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        assert old.encode() in files[path], (path, old)
        files[path] = files[path].replace(old.encode(), new.encode(), count)

    return change


def gone(*paths: str) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        for path in paths:
            del files[path]

    return change


def renamed(old: str, new: str) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        for path in [p for p in files if p.startswith(f"changes/{old}/")]:
            raw = files.pop(path)
            files[path.replace(old, new)] = raw.replace(
                f"recipe: {old}\n".encode(), f"recipe: {new}\n".encode()
            )

    return change


LINE, MODULE = "vehicles/skerry.yml", "modules/living-area.yml"
CHANGES = {
    "a place": text(MODULE, "{byte: 4, bit: 2}", "{byte: 4, bit: 3}"),
    "a layout's cars": text(MODULE, '"<0300"', '"<0290"'),
    "a setting's functions": text("modules/side-doors.yml", "functions: [", "functions: [maintenance, "),
    "a module gone": gone("modules/heater.yml"),
    "a module broken": text("modules/heater.yml", "module: heater", "module: [heater]"),
    "a recipe renamed": renamed("awning-lamp-time-out", "awning-lamp-minutes"),
    "a report": text("changes/step-light-waits/reports/marram-2025-03.yml", "worked", "refused"),
    "a signature gone": gone("changes/step-light-waits/vetted/dunlin.yml"),
    "an equipment item": text(LINE, "models: [loft, longshore]", "models: [loft]"),
    "a module's cars": text(LINE, "for: {equipped: tow-bar}", "for: {equipped: awning}"),
    "a phase's months": text(LINE, "2017-03/2021-08", "2017-03/2021-07"),
    "how to tell": text(LINE, "Round rear lamps", "Round tail lamps"),
    "a reviewer": text(
        "club.yml", "{handle: dunlin, since: 2023-03-05}", "{handle: dunlin, since: 2025-03-05}"
    ),
    "demands": text("club.yml", "most_bad: 0", "most_bad: 1"),
    "a name spelt otherwise": text(
        "changes/awning-lamp-with-door/recipe.yml",
        "needs: [awning-lamp-time-out]",
        'needs: ["awning-lamp-time\\x2Dout"]',
    ),
}


ALL = ("a phase's months", "demands")  # these concern every recipe


@pytest.mark.parametrize("what", [what for what in CHANGES if what not in ALL])
def test_reading_less_changes_no_word(what: str) -> None:
    after = dict(DEMO)
    CHANGES[what](after)
    sides = sides_of(DEMO, after)
    assert review_sides(sides) == review_sides(sides, whole=True)


def test_an_unchanged_file_that_spells_names_otherwise_is_read() -> None:
    """What hangs on a recipe by a name in escapes is found all the same."""
    before = dict(DEMO)
    CHANGES["a name spelt otherwise"](before)
    after = before | {}
    gone(*(p for p in before if p.startswith("changes/awning-lamp-time-out/")))(after)
    sides = sides_of(before, after)
    found = {f.finding.file for f in review_sides(sides).findings}
    assert "changes/awning-lamp-with-door/recipe.yml" in found


@pytest.mark.parametrize(
    ("what", "most"),
    [
        ("a report", 40),
        ("a signature gone", 40),
        ("a place", 110),
        ("a module's cars", 110),
        ("how to tell", 10),
    ],
)
def test_little_is_read_for_little(what: str, most: int) -> None:
    after = dict(DEMO)
    CHANGES[what](after)
    scope = narrow(sides_of(DEMO, after), Kept())
    assert scope.paths is not None
    assert len(scope.paths) <= most, sorted(scope.paths)


@pytest.mark.parametrize("what", ALL)
def test_all_is_read_where_all_may_change(what: str) -> None:
    after = dict(DEMO)
    CHANGES[what](after)
    assert narrow(sides_of(DEMO, after), Kept()) is WHOLE


BASE = {
    path.removeprefix("recipes/"): raw
    for path, raw in files_of(ROOT / "base").items()
    if path.startswith("recipes/")
}
ODD = ("x", "", "any", "none", 0, -1, 999999, True, [], {}, ["x"], "cabin/lamps/door-lamp", "../x", "cove")


def anything_else(raw: bytes, path: str, random: Random) -> bytes:
    """The file with one of its keys or values gone, doubled, or something else."""
    data: Any = read(raw, path)[0]
    places = [place for place in _places(data) if place]
    *way, last = random.choice(places)
    inside = data
    for step in way:
        inside = inside[step]
    match random.choice(("gone", "odd", "twice")):
        case "gone":
            del inside[last]
        case "twice" if isinstance(inside, list):
            inside.append(inside[last])
        case _:
            inside[last] = random.choice(ODD)
    first = raw.decode("utf-8").splitlines()[0]
    return f"{first}\n{json.dumps(data, ensure_ascii=False)}\n".encode()


def _places(data: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield way
    below = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in below:
        yield from _places(value, (*way, step))


@pytest.mark.parametrize("seed", range(30))
def test_whatever_is_written_is_reviewed(seed: int) -> None:
    """Files that make no sense, on either side: no error, and reading less still changes no word."""
    random = Random(seed)
    before, after = dict(BASE), dict(BASE)
    files = sorted(path for path in BASE if path.endswith(".yml") and path != "club.yml")
    for side in random.choices((before, after, after), k=2):
        path = random.choice(files)
        side[path] = anything_else(side[path], path, random)
    sides = sides_of(before, after)
    review = review_sides(sides)
    assert review == review_sides(sides, whole=True)
    assert as_text(review) and as_markdown(review) and as_html(review) and as_json(review)
