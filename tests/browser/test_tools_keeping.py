"""What the tools keep: the log of a finished job, several cars, files out and in, the handover on paper."""

from __future__ import annotations

import json
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from playwright.sync_api import expect
from pypdf import PdfReader
from referencing import Registry, Resource

sys.path.insert(0, str(Path(__file__).parent))
from owners import LAMPS, LAMPS_TO, fill_car, say_car

ROOT = Path(__file__).parents[2]
WAYS = ("http", "file")
SHEET = "[aria-labelledby=worksheet]"
EVERYTHING_KEPT = """async () => ({
    local: Object.keys(localStorage), session: sessionStorage.length, cookies: document.cookie,
    bases: (await indexedDB.databases()).length, caches: self.caches ? (await caches.keys()).length : 0,
    workers: location.protocol === "file:" ? 0 : (await navigator.serviceWorker.getRegistrations()).length,
})"""


def holds(name: str, document: Any) -> None:
    """The document is right by its schema, which is what the files promise."""
    schemas = [json.loads(path.read_text("utf-8")) for path in (ROOT / "schema").glob("*.json")]
    registry: Any = Registry().with_resources((s["$id"], Resource.from_contents(s)) for s in schemas)
    (own,) = (s for s in schemas if s["$id"].endswith(f"{name}.schema.json"))
    Draft202012Validator(own, registry=registry).validate(document)


def saved(page: Any, button: str) -> Any:
    """The JSON file that a button gives."""
    with page.expect_download() as got:
        page.get_by_role("button", name=button).first.click()
    return json.loads(Path(got.value.path()).read_text("utf-8"))


def log_of(page: Any) -> Any:
    return page.evaluate("() => asfound.store.logFile()")


@pytest.mark.parametrize("way", WAYS)
def test_a_finished_worksheet_goes_into_the_log_by_one_press_and_only_once(opener: Any, way: str) -> None:
    with opener(way, width=360) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        sheet = page.locator(SHEET)
        offer = sheet.get_by_role("button", name="Keep it in the car's log")
        sheet.get_by_label("As found").fill(LAMPS)
        sheet.get_by_label("How many minutes").fill("7.5")
        assert offer.count() == 0
        sheet.get_by_role("button", name="Put this job into the car's log").click()
        assert "nothing was written and read back" in sheet.inner_text()
        assert log_of(page) is None
        sheet.get_by_label("As left").fill(LAMPS)
        assert offer.count() == 0, "what was read back is not what was to be written"
        sheet.get_by_label("As left").fill(LAMPS_TO)
        offer.click()
        assert page.evaluate("document.activeElement.textContent").startswith("In the log of “the blue one”")
        sheet.get_by_role("button", name="Put this job into the car's log").click()
        page.reload()
        expect(sheet.get_by_text("In the log of “the blue one”")).to_be_visible()
        assert offer.count() == 0
        log = log_of(page)
        (entry,) = log["entries"]
        wrote = entry["wrote"]
        assert (wrote["found"], wrote["written"], wrote["left"]) == (LAMPS, LAMPS_TO, LAMPS_TO)
        assert (wrote["software"], wrote["layout"]) == ("0310", "late")
        assert wrote["recipes"][0]["changes"] == [{"setting": "awning-time", "from": "20", "to": "7.5"}]
        holds("log", log)
        # Another value afterwards is another job, and from there the first value is a new one again.
        sheet.get_by_label("As found").fill(LAMPS_TO)
        sheet.get_by_label("How many minutes").fill("20")
        sheet.get_by_label("As left").fill(sheet.locator(".asf-write").inner_text())
        offer.click()
        sheet.get_by_label("As found").fill(LAMPS)
        sheet.get_by_label("How many minutes").fill("7.5")
        sheet.get_by_label("As left").fill(LAMPS_TO)
        offer.click()
        assert len(log_of(page)["entries"]) == 3


def test_half_a_job_logs_what_was_read_back_and_no_more(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/trailer-cool-box.html")
        say_car(page, equipment=("tow bar",))
        sheet = page.locator(SHEET)
        sheet.get_by_role("group", name="As found").locator("select").first.select_option("with the key")
        sheet.locator(".asf-bytes-in").first.fill("10 45 00 8C")
        sheet.get_by_role("group", name="As left").locator("select").first.select_option("with the engine")
        sheet.get_by_role("button", name="Put this job into the car's log").click()
        log = log_of(page)
        holds("log", log)
        (entry,) = log["entries"]
        assert entry["wrote"]["left"] == entry["wrote"]["written"]
        assert "with the engine" in entry["wrote"]["left"].values()


@pytest.mark.parametrize("way", WAYS)
def test_several_cars_each_with_its_own_notes_log_and_file(opener: Any, way: str, tmp_path: Path) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        sheet = page.locator(SHEET)
        sheet.get_by_label("As found").fill(LAMPS)
        page.get_by_role("button", name="Change").click()
        car = saved(page, "Export this car")
        holds("car", car)
        assert car["name"] == "the blue one"
        page.get_by_role("button", name="Another car").click()
        fill_car(page, "2", "0210", ("awning",), "the old one")
        assert sheet.get_by_label("As found").input_value() == ""
        sheet.get_by_label("As found").fill("11 40 0C 02 01 28 FF 3F")
        assert "layout early" in sheet.inner_text()
        page.locator(".asf-car__do select").select_option(label="the blue one")
        assert sheet.get_by_label("As found").input_value() == LAMPS
        page.locator(".asf-car__do select").select_option(label="the old one")
        assert sheet.get_by_label("As found").input_value() == "11 40 0C 02 01 28 FF 3F"
        page.get_by_role("button", name="Change").click()
        page.get_by_role("button", name="Remove this car").click()
        assert "the old one" not in page.locator(".asf-car").inner_text()
        kept = page.evaluate(EVERYTHING_KEPT)
        assert "the old one" not in page.evaluate("JSON.stringify(localStorage)")
        page.get_by_role("button", name="Change").click()
        page.get_by_text("What is kept in this browser").click()
        assert sorted(page.locator(".asf-car__more tbody th").all_inner_texts()) == sorted(kept.pop("local"))
        assert kept == {"session": 0, "cookies": "", "bases": 0, "caches": 0, "workers": 0}
        for bad, why in (("{", "no JSON"), ('{"asfound": "car", "version": 2}', "neither a car nor")):
            file = tmp_path / "bad.json"
            file.write_text(bad, "utf-8")
            page.get_by_label("Take in a car or a log").set_input_files(file)
            page.get_by_text(why).wait_for()
        file = tmp_path / "car.json"
        file.write_text(json.dumps(car | {"name": "<b>back</b>", "models": ["loft", "weekender"]}), "utf-8")
        page.get_by_label("Take in a car or a log").set_input_files(file)
        page.get_by_text("Taken in as a car of its own").wait_for()
        assert page.locator(".asf-car__name strong").inner_text() == "<b>back</b>"
        assert " or " in page.locator(".asf-car__name").inner_text()


def test_the_handover_on_paper_holds_what_stands_and_nothing_else(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("planner.html")
        say_car(page, software="0310", equipment=("awning",))
        page.get_by_label("Filter", exact=True).fill("awning lamp")
        page.get_by_label("Awning lamp follows the sliding door").check()
        page.get_by_text("is in it too, because").wait_for()
        job = page.locator("[data-asf-planner]")
        job.get_by_label("As found").fill(LAMPS)
        job.get_by_label("As left").fill(job.locator(".asf-write").inner_text())
        page.get_by_role("button", name="Keep it in the car's log").click()
        page.get_by_role("heading", name="Handover").wait_for()
        page.evaluate("window.print = () => { window.printed = true; }")
        page.get_by_role("button", name="Print this page").click()
        assert page.evaluate("window.printed")
        pdf = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
        text = " ".join("\n".join(sheet.extract_text() for sheet in pdf.pages).split())
        assert len(pdf.pages) == 1
        for words in ("the blue one", "Handover", "Awning lamp time-out", "20 min", "10 min", LAMPS, "0310"):
            assert words in text, words
        for words in ("Pick recipes", "If the module refuses", "Export", "Say what car", "Put it back"):
            assert words not in text, words
        page.evaluate("window.dispatchEvent(new Event('afterprint'))")
        assert page.get_by_role("heading", name="Pick recipes").is_visible()
