"""The site in Firefox, over HTTP and from its folder, where Firefox gives every page a storage of its own."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from marionette_driver.keys import Keys

sys.path.insert(0, str(Path(__file__).parent))
from firefox import Firefox

VECTORS = Path(__file__).parents[1] / "vectors"
RUNNER = Path(__file__).with_name("vectors.js")
WAYS = ("http", "file")
LAMPS = "12 40 0C 28 02 5A 08 00 A2 74"  # the recipe's own worked example, layout late
LAMPS_TO = "12 40 0C 0F 02 5A 08 00 CD 14"
SHEET = "[aria-labelledby=worksheet]"


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Firefox]:
    try:
        firefox = Firefox(tmp_path_factory.mktemp("firefox"))
    except FileNotFoundError as missing:
        pytest.fail(str(missing), pytrace=False)
    yield firefox
    firefox.close()


@pytest.fixture(params=WAYS)
def firefox(started: Firefox, bases: dict[str, str], request: pytest.FixtureRequest) -> Iterator[Firefox]:
    """Firefox at the site; afterwards nothing untoward may have happened."""
    started.base = bases[request.param]
    started.trouble()
    yield started
    assert started.trouble() == []


def say_car(firefox: Firefox) -> None:
    firefox.press("Say what car you have")
    firefox.type(firefox.field("What you call it"), "the blue one")
    firefox.choose(firefox.field("Model"), "loft")
    firefox.choose(firefox.field("Phase"), "2")
    firefox.press("Equipment", ".asf-car")
    firefox.choose(firefox.field("awning"), "yes")
    firefox.press("What its control modules say of themselves")
    firefox.js(
        """const group = Array.from(document.querySelectorAll(".asf-car fieldset"))
            .find(one => one.querySelector("legend").textContent === "Living-area controller");
        group.querySelector("input").value = "0310";"""
    )
    firefox.press("Save car")
    firefox.says(".asf-car .asf-said", "Saved in this browser")


def test_the_search_finds_a_recipe_by_keyboard(firefox: Firefox) -> None:
    firefox.open("cautions.html")
    firefox.one("a.asf-search").send_keys(Keys.ENTER)
    firefox.one(".asf-search__room input").send_keys("KEYHÖ")
    firefox.says(".asf-search__said", "1 found")
    firefox.one(".asf-search__room input").send_keys(Keys.ARROW_DOWN, Keys.ENTER)
    firefox.until(
        lambda: firefox.driver.get_url() == firefox.base + "recipes/step-light-waits.html", "the page"
    )
    firefox.open("find.html")
    firefox.field("Filter").send_keys("sill waits")
    firefox.says("#asf-filter-count", "1 of ")


def test_a_whole_worksheet_with_a_car_kept_and_forgotten(firefox: Firefox) -> None:
    firefox.size(500)  # the narrowest that Firefox lets a window be
    firefox.open("recipes/awning-lamp-time-out.html")
    say_car(firefox)
    assert "Fits your car" in firefox.text(".asf-verdict")
    found = firefox.field("As found", SHEET)
    firefox.type(found, LAMPS.replace("A2 74", "A2 75"))
    firefox.says(SHEET, "Write nothing at all")
    assert firefox.all(".asf-write") == []
    firefox.type(found, LAMPS.lower().replace(" ", ""))
    firefox.says(SHEET, "checksum right")
    firefox.type(firefox.field("How many minutes", SHEET), "7.3")
    firefox.says(SHEET, "nearest the module can hold is 7.5 min")
    assert firefox.text(f"{SHEET} .asf-write") == LAMPS_TO
    left = firefox.field("As left", SHEET)
    firefox.type(left, LAMPS)
    firefox.says(SHEET, "As left is not what was to be written")
    firefox.type(left, LAMPS_TO)
    firefox.says(SHEET, "As left equals what was to be written")
    width = firefox.js("return [document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width[0] <= width[1]
    firefox.driver.refresh()
    assert firefox.field("As found", SHEET).get_property("value") == LAMPS.lower().replace(" ", "")
    assert "the blue one" in firefox.text(".asf-car__head")
    firefox.press("Change")
    firefox.press("Forget everything")
    firefox.driver.refresh()
    assert "the blue one" not in firefox.text(".asf-car__head")
    assert firefox.js("return Object.keys(localStorage).filter(one => one.startsWith('asfound/'))") == []
    firefox.size(1280)


def test_the_planner_makes_one_write_of_two_recipes_and_keeps_the_log(firefox: Firefox) -> None:
    firefox.open("planner.html")
    say_car(firefox)
    firefox.field("Filter").send_keys("awning lamp")
    firefox.field("Awning lamp follows the sliding door").click()
    firefox.says("[data-asf-planner]", "is in it too, because")
    firefox.type(firefox.field("As found", "[data-asf-planner]"), LAMPS)
    assert firefox.text(".asf-write") == "12 40 0C 14 02 5A 28 00 23 57"
    firefox.type(firefox.field("As left", "[data-asf-planner]"), "12 40 0C 14 02 5A 28 00 23 57")
    firefox.press("Keep it in the car's log")
    firefox.says("[data-asf-planner]", "Handover")
    assert len(firefox.all(".asf-log li")) == 1
    firefox.driver.refresh()
    assert len(firefox.all(".asf-log li")) == 1
    # From a folder this page alone knows the car; it says so, and offers the file that another page takes in.
    firefox.press("Change")
    firefox.press("What is kept in this browser")
    from_folder = firefox.base.startswith("file:")
    assert ("Opened from a folder" in firefox.text(".asf-car")) == from_folder
    file = firefox.downloads / "car.json"
    file.unlink(missing_ok=True)
    firefox.press("Export this car")
    firefox.until(lambda: file.is_file() and file.stat().st_size, "the car's file")
    firefox.open("recipes/awning-lamp-time-out.html")
    assert ("the blue one" in firefox.text(".asf-car__head")) != from_folder
    if from_folder:
        firefox.press("Say what car you have")
        firefox.field("Take in a car or a log from a file").send_keys(str(file))
        firefox.says(".asf-car .asf-said", "Taken in as a car of its own")
        assert "the blue one" in firefox.text(".asf-car__head")
        assert "Fits your car" in firefox.text(".asf-verdict")
    firefox.press("Change")
    firefox.press("Forget everything")
    firefox.open("planner.html")
    assert ("the blue one" in firefox.text(".asf-car__head")) == from_folder
    if from_folder:
        firefox.press("Change")
        firefox.press("Forget everything")


def test_requests_of_a_page_are_noticed(started: Firefox) -> None:
    started.base = "about:"
    started.open("blank")
    started.trouble()
    started.base = "data:text/html,"
    started.open("<img src=http://other.example/x>")
    assert "asked for http://other.example/x" in started.trouble()


def test_an_injected_script_does_not_run(started: Firefox, bases: dict[str, str]) -> None:
    started.base = bases["file"]
    started.open("find.html")
    started.trouble()
    started.js("""const one = document.createElement("script");
        one.textContent = "window.ran = 1";
        document.body.append(one);""")
    assert started.js("return window.ran === undefined")
    assert any("Content-Security-Policy" in one for one in started.trouble())


def test_firefox_answers_the_vectors_as_python_does(started: Firefox, bases: dict[str, str]) -> None:
    started.base = bases["file"]
    started.open("planner.html")
    runner = RUNNER.read_text("utf-8")
    for file in sorted(VECTORS.glob("*.json")):
        text = file.read_text("utf-8")
        assert json.loads(text)["vectors"]
        wrong: Any = started.js(f"{runner}\nreturn asfoundVectors(JSON.parse(arguments[0]))", text)
        assert wrong == [], file.name
