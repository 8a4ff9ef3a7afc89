"""States that must not be lost or mixed up: several windows, cars and jobs; odd files; where the focus is."""

from __future__ import annotations

import json
import sys
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

sys.path.insert(0, str(Path(__file__).parent))
from owners import LAMPS, LAMPS_TO, fill_car, say_car

SHEET = "[aria-labelledby=worksheet]"
TICK, TICK_TO = "30 8A 12 00", "30 5A 12 00"  # the recipe's own worked example
TEN = "12 40 0C 14 02 5A 08 00 25 B1"  # LAMPS with ten minutes


def sheet_of(page: Any) -> Any:
    return page.locator(SHEET)


def focused(page: Any) -> str:
    """What has the focus, by its words or its label."""
    return str(
        page.evaluate(
            "() => { const one = document.activeElement; const [label] = one.labels || [];"
            " return one === document.body ? '' : (label || one).textContent; }"
        )
    )


def wrote(recipe: str, record: str, change: tuple[str, str, str], *contents: str) -> dict[str, Any]:
    """An entry of a log: setting, from and to; layout, as found and written."""
    layout, found, written = contents
    setting, before, to = change
    did = {"recipe": recipe, "sheet_code": "D5MT9TSR"}
    changes = [{"setting": setting, "from": before, "to": to}]
    body = {"record": record, "layout": layout, "found": found, "written": written, "left": written}
    return {"date": "2026-04-30", "wrote": body | {"recipes": [did | {"changes": changes}]}}


def take_in(page: Any, data: Any) -> None:
    """A car or a log from a file."""
    page.get_by_role("button", name="Say what car you have").click()
    page.get_by_label("Take in a car or a log").set_input_files(
        {"name": "log.json", "mimeType": "application/json", "buffer": json.dumps(data).encode()}
    )


def log(*entries: Any, **car: Any) -> dict[str, Any]:
    car = {"asfound": "car", "version": 1, "name": "the blue one", "lines": ["skerry"]} | car
    return {"asfound": "log", "version": 1, "car": car, "entries": list(entries)}


def test_two_windows_do_not_write_over_what_the_other_keeps(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("recipes/softer-tick.html")
        other = page.context.new_page()
        other.goto(reader.base + "recipes/awning-lamp-time-out.html")
        say_car(other, software="0310", equipment=("awning",))
        expect(page.locator(".asf-car__name strong")).to_have_text("the blue one")
        expect(page.locator(".asf-verdict")).to_be_visible()
        sheet_of(page).get_by_label("As found").fill(TICK)
        sheet_of(other).get_by_label("As found").fill(LAMPS)
        page.reload()
        other.reload()
        assert sheet_of(page).get_by_label("As found").input_value() == TICK
        assert sheet_of(other).get_by_label("As found").input_value() == LAMPS
        # The same job in both: what the one says the other shows.
        other.goto(reader.base + "recipes/softer-tick.html")
        sheet_of(other).get_by_label("As found").fill(TICK_TO)
        expect(sheet_of(page).get_by_label("As found")).to_have_value(TICK_TO)
        other.get_by_role("button", name="Change").click()
        other.get_by_role("button", name="Forget everything").click()
        expect(sheet_of(page).get_by_label("As found")).to_have_value("")
        assert page.evaluate("Object.keys(localStorage).filter((one) => one.startsWith('asfound/'))") == []
        other.close()


def test_a_page_from_the_browsers_history_knows_what_was_kept_since(opener: Any) -> None:
    """As browsers keep it: the page's scripts stand still meanwhile, and hear of nothing but ``pageshow``."""
    with opener("http") as reader:
        page = reader.open("recipes/softer-tick.html")
        sheet_of(page).get_by_label("As found").fill(TICK)
        page.evaluate(
            """(lamps) => {
              const name = asfound.store.name();
              const kept = JSON.parse(localStorage.getItem(name));
              kept.notes["awning-lamp-time-out"] = { texts: { "living-area/lamps": lamps } };
              localStorage.setItem(name, JSON.stringify(kept));
              window.dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true }));
            }""",
            LAMPS,
        )
        sheet_of(page).get_by_label("As left").fill(TICK_TO)
        page.goto(reader.base + "recipes/awning-lamp-time-out.html")
        assert sheet_of(page).get_by_label("As found").input_value() == LAMPS


def test_two_cars_of_one_kind_have_a_worksheet_each(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        found = sheet_of(page).get_by_label("As found")
        found.fill(LAMPS)
        page.get_by_role("button", name="Change").click()
        page.get_by_role("button", name="Another car").click()
        fill_car(page, "2", "0310", ("awning",), "its twin")
        assert found.input_value() == ""
        found.fill("12 40")
        cars = page.locator(".asf-car__do select")
        cars.focus()
        cars.select_option(label="the blue one")
        assert found.input_value() == LAMPS
        assert cars.evaluate("one => one === document.activeElement")


def test_an_emptied_worksheet_is_one_as_any(opener: Any) -> None:
    """What is typed after that is logged and known to the way back; of what was emptied nothing is kept."""
    with opener("file") as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        found = sheet_of(page).get_by_label("As found")
        found.fill(LAMPS)
        page.get_by_role("button", name="Empty this worksheet").click()
        assert focused(page) == "Worksheet"
        assert found.input_value() == ""
        assert page.evaluate("localStorage.getItem(asfound.store.name())") is None
        page.reload()
        found.fill("12")
        found.fill("")
        assert page.evaluate("localStorage.getItem(asfound.store.name())") is None
        page.get_by_role("button", name="Empty this worksheet").click()
        say_car(page, software="0310", equipment=("awning",))
        page.get_by_role("button", name="Empty this worksheet").click()
        found.fill(LAMPS)
        sheet_of(page).get_by_label("How many minutes").fill("7.5")
        sheet_of(page).get_by_label("As left").fill(LAMPS_TO)
        sheet_of(page).get_by_role("button", name="Keep it in the car's log").click()
        assert found.input_value() == LAMPS
        assert page.locator(".asf-back").get_by_label("As it is now").count() == 1


def test_the_way_back_of_several_jobs_leads_to_what_was_found_first(opener: Any) -> None:
    """20 minutes became 7.5, then 10: the log puts 20 back, says so, and then nothing stands."""
    with opener("file") as reader:
        page = reader.open("planner.html")
        take_in(
            page,
            log(
                wrote(
                    "awning-lamp-time-out",
                    "living-area/lamps",
                    ("awning-time", "20", "7.5"),
                    "late",
                    LAMPS,
                    LAMPS_TO,
                ),
                wrote(
                    "awning-lamp-time-out",
                    "living-area/lamps",
                    ("awning-time", "7.5", "10"),
                    "late",
                    LAMPS_TO,
                    TEN,
                ),
                modules={"living-area": {"software": "0310"}},
            ),
        )
        page.get_by_role("heading", name="Handover").wait_for()
        handed = page.locator(".asf-handover").inner_text()
        assert "20 min" in handed and "10 min" in handed and f"lockers” as found: {LAMPS}" in handed
        back = page.locator("#back + div")
        assert back.get_by_label("As it is now").count() == 1
        back.get_by_label("As it is now").fill(TEN)
        assert back.locator(".asf-write").inner_text() == LAMPS
        back.get_by_label("As left").fill(LAMPS)
        back.get_by_role("button", name="Put it into the car's log").click()
        assert "20 min”" in page.locator(".asf-log li").last.inner_text()
        assert page.evaluate("asfound.logs.standing(asfound.store.logFile())") == []
        assert "nothing stands that was changed" in page.locator("#handover ~ div").inner_text()


def test_what_was_put_back_is_not_put_back_twice(opener: Any) -> None:
    """By a second press, after typing once more: that would make the log say that the change stands."""
    with opener("file") as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        sheet_of(page).get_by_label("As found").fill(LAMPS)
        sheet_of(page).get_by_label("How many minutes").fill("7.5")
        sheet_of(page).get_by_label("As left").fill(LAMPS_TO)
        sheet_of(page).get_by_role("button", name="Keep it in the car's log").click()
        back = page.locator(".asf-back")
        back.get_by_label("As it is now").fill(LAMPS_TO)
        for typed in (LAMPS, f"{LAMPS} "):
            back.get_by_label("As left").fill(typed)
            back.get_by_role("button", name="Put it into the car's log").click()
        assert len(page.evaluate("asfound.store.logFile().entries")) == 2
        assert page.evaluate("asfound.logs.standing(asfound.store.logFile())") == []


def test_of_a_record_already_as_wanted_the_log_knows_how_it_was(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        entry = wrote(
            "awning-lamp-time-out", "living-area/lamps", ("awning-time", "20", "7.5"), "late", LAMPS, LAMPS_TO
        )
        take_in(page, log(entry, modules={"living-area": {"software": "0310"}}, equipment={"awning": True}))
        page.get_by_text("Taken in").wait_for()
        sheet_of(page).get_by_label("How many minutes").fill("7.5")
        sheet_of(page).get_by_label("As found").fill(LAMPS_TO)
        assert "Already done" in sheet_of(page).inner_text()
        back = page.locator(".asf-back")
        back.get_by_label("As it is now").fill(LAMPS_TO)
        assert back.locator(".asf-write").inner_text() == LAMPS


def test_names_noted_in_part_are_no_stop_and_no_reading_back(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/farm-trailer-lamps-only.html")
        say_car(page, equipment=("tow bar",))
        found = sheet_of(page).get_by_role("group", name="As found")
        found.get_by_label("Permanent line").select_option("with the key")
        assert "Still to be noted: Socket" in sheet_of(page).inner_text()
        assert sheet_of(page).locator(".asf-stop").count() == 0
        found.get_by_label("What is watched").select_option("nothing")
        left = sheet_of(page).get_by_role("group", name="As left")
        left.get_by_label("Permanent line").select_option("never")
        put = sheet_of(page).get_by_role("button", name="Put this job into the car's log")
        put.click()
        assert "nothing was written and read back" in sheet_of(page).inner_text()
        left.get_by_label("What is watched").select_option("lamps and plug")
        assert "Every record is as it should be" in sheet_of(page).inner_text()
        left.get_by_label("Permanent line").select_option("")
        put.click()
        assert page.evaluate("asfound.store.logFile()") is None
        left.get_by_label("Permanent line").select_option("never")
        put.click()
        (entry,) = page.evaluate("asfound.store.logFile().entries")
        assert entry["wrote"]["left"] == {"feed": "never", "watch": "lamps and plug"}


ODD: list[Any] = [
    None,
    "wrote",
    {"date": "2026-04-30"},
    {"date": 1, "loaded": {}},
    {"date": "2026-04-30", "wrote": {}, "read": {}},
    {"date": "2026-04-30", "read": {"record": 3, "found": "00"}},
    {"date": "2026-04-30", "read": {"record": "living-area/lamps", "found": {}}},
    {"date": "2026-04-30", "loaded": {"module": "centre-screen"}},
]
SOUND = wrote(
    "awning-lamp-time-out", "living-area/lamps", ("awning-time", "20", "7.5"), "late", LAMPS, LAMPS_TO
)


def spoilt() -> list[Any]:
    """Sound entries with one thing wrong each."""
    out = []
    for key, value in (("record", "lamps"), ("found", "12 4"), ("left", []), ("layout", {}), ("recipes", [])):
        one = deepcopy(SOUND)
        one["wrote"][key] = value
        out.append(one)
    one = deepcopy(SOUND)
    one["wrote"]["recipes"][0]["changes"] = [{"setting": "awning-time"}]
    return [*out, one]


@pytest.mark.parametrize("entry", [*ODD, *spoilt()], ids=lambda one: json.dumps(one)[-40:])
def test_an_odd_log_is_not_taken_in_and_spoils_no_page(opener: Any, entry: Any) -> None:
    with opener("file") as reader:
        page = reader.open("planner.html")
        take_in(page, log(SOUND, entry))
        page.get_by_text("Entry 2 of this log is none that a log can have").wait_for()
        assert page.evaluate("asfound.store.cars()") == []
        page.get_by_label("Take in a car or a log").set_input_files(
            {"name": "log.json", "mimeType": "application/json", "buffer": json.dumps(log(SOUND)).encode()}
        )
        page.get_by_role("heading", name="Handover").wait_for()


def test_of_what_the_club_no_longer_describes_the_log_is_still_shown(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("planner.html")
        gone = deepcopy(SOUND)
        gone["wrote"]["recipes"][0]["changes"][0]["setting"] = "long-gone"
        take_in(page, log(gone, modules={"living-area": {"software": "0310"}}))
        back = page.locator("#back + div")
        back.get_by_label("As it is now").fill(LAMPS_TO)
        assert "no longer describes living-area/lamps/long-gone" in back.inner_text()


def test_a_record_already_done_is_none_that_is_being_written(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/trailer-cool-box.html")
        say_car(page, equipment=("tow bar",))
        sheet_of(page).get_by_role("group", name="As found").locator("select").select_option(
            "with the engine"
        )
        sheet_of(page).locator(".asf-bytes-in").first.fill("10 45 00 8C")
        where = page.get_by_label("While this was being written")
        assert "Already done" in sheet_of(page).inner_text()
        assert where.locator("option").count() == 2
        assert "Socket" not in where.inner_text()


def test_no_faults_are_said_by_the_word_for_it(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("nl/recipes/awning-lamp-time-out.html")
        sheet = sheet_of(page)
        for typed in ("geen", "None."):
            sheet.get_by_label("Na het werk").fill(typed)
            assert "geen foutcode" not in sheet.inner_text(), typed
            assert sheet.locator(".asf-after-work .asf-good").count() == 1


def test_where_the_report_goes_is_said_in_the_language_of_the_page(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("nl/recipes/awning-lamp-time-out.html")
        car = {"asfound": "car", "version": 1, "lines": ["skerry"], "models": ["loft"], "phases": ["2"]}
        page.evaluate("(car) => { asfound.store.add(car); }", car)
        page.get_by_text("Melding over").click()
        report = page.get_by_role("group", name="Melding over")
        report.locator("select").select_option("worked")
        with page.expect_download() as got:
            report.locator("button").click()
        said = report.locator("[role=status]").inner_text()
        assert said.startswith(f"Geef {got.value.suggested_filename} aan de club")


def test_a_vin_is_read_by_the_enter_key_and_what_it_says_is_read_out(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("find.html")
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("VIN", exact=True).fill("0twfb s0t0n-k020001")
        page.keyboard.press("Enter")
        assert focused(page).startswith("The VIN says: ")
        assert page.get_by_label("VIN", exact=True).input_value() == ""
        assert page.get_by_label("Model", exact=True).input_value() == "loft"
        page.get_by_role("button", name="Save car").click()
        assert page.get_by_text("Saved in this browser").is_visible()


def test_where_there_is_no_job_nothing_is_offered_that_only_a_job_has(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("planner.html")
        job = page.locator("[data-asf-planner]")
        only = [
            job.get_by_role("heading", name="The whole job"),
            job.get_by_role("heading", name="After the work"),
            job.get_by_role("link", name="The sheet of this job, for paper"),
            job.get_by_role("button", name="Put this job into the car's log"),
        ]
        page.locator("#asf-pick-pets-on-board").check()
        for one in only:
            expect(one).to_be_visible()
        page.locator("#asf-pick-wider-key-wake").check()
        expect(job.locator(".asf-stop").first).to_contain_text("must not be combined")
        for one in only:
            expect(one).to_be_hidden()


def test_beside_a_stop_nothing_is_ready_and_paper_is_to_be_filled_in(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        sheet = sheet_of(page)
        sheet.get_by_label("As found").fill(LAMPS.replace("A2 74", "A2 75"))
        expect(sheet.locator(".asf-stop").first).to_contain_text("The checksum is A2 75")
        expect(sheet.locator(".asf-state")).to_have_count(0)
        expect(sheet.get_by_text("becomes 10 min")).to_have_count(0)
        paper = sheet.locator(".asf-to-paper")
        expect(paper).to_have_text("The sheet for paper, to be filled in by hand")
        sheet.get_by_label("As found").fill(LAMPS)
        expect(sheet.locator(".asf-state")).to_have_text("ready")
        expect(paper).to_have_text("The sheet for paper, with these values")


def test_records_of_a_module_fitted_twice_are_told_apart_where_they_are_missing(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("recipes/step-goes-back-out.html")
        said = sheet_of(page).get_by_text("Still to be noted")
        expect(said).to_contain_text(
            "Movement of the tread (left step) and Movement of the tread (right step)"
        )


def test_recipes_to_pick_stand_in_the_order_of_their_titles(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("planner.html")
        titles = page.locator(".asf-pick label").all_inner_texts()
        assert len(titles) > 20
        assert titles == sorted(titles, key=str.casefold)


def test_signal_words_of_a_job_have_their_shape_and_speak_the_page_s_language(opener: Any) -> None:
    with opener("http") as reader:
        said = {"planner.html": ["CAUTION", "NOTICE"], "nl/planner.html": ["VOORZICHTIG", "LET OP"]}
        for address, words in said.items():
            page = reader.open(address)
            page.locator("#asf-pick-awning-lamp-time-out").check()
            signals = page.locator("[data-asf-planner] .asf-banner .asf-signal")
            expect(signals).to_have_text(words)
            assert [one.locator("svg").count() for one in signals.all()] == [1, 0]  # ANSI Z535.6
