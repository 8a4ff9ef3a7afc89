"""Readers at work in the page: whole stories, over HTTP and from the folder."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from owners import LAMPS, LAMPS_TO, say_car

ROOT = Path(__file__).parents[2]
WAYS = ("http", "file")


def record(page: Any, name: str) -> Any:
    return page.locator("section.asf-sheet__record", has=page.get_by_role("heading", name=name)).first


@pytest.mark.parametrize("way", WAYS)
def test_a_phase_1_car_hears_that_it_does_not_fit_and_why(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/gas-locker-with-doors.html")
        assert page.locator(".asf-verdict").is_hidden()
        say_car(page, phase="1")
        page.get_by_role("button", name="Change").click()
        page.get_by_label("Model", exact=True).select_option("weekender")
        page.get_by_role("button", name="Save car").click()
        verdict = page.locator(".asf-verdict")
        assert "Does not fit your car: it is not Phase 2" in verdict.inner_text()
        assert (
            page.locator("[aria-labelledby=worksheet] .asf-stop").first.inner_text().endswith("of the car.")
        )
        assert page.locator("[aria-labelledby=worksheet]").get_by_label("As found").count() == 0


@pytest.mark.parametrize("way", WAYS)
def test_as_found_to_write_as_left(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        assert "Fits your car" in page.locator(".asf-verdict").inner_text()
        sheet = page.locator("[aria-labelledby=worksheet]")
        found = sheet.get_by_label("As found")
        found.fill("12400c28 025a")
        assert "6 bytes instead of" in sheet.inner_text()
        found.fill(LAMPS.lower().replace(" ", ""))
        assert "checksum right" in sheet.inner_text()
        assert "20 min" in sheet.inner_text()
        wish = sheet.get_by_label("How many minutes")
        wish.fill("7.3")
        assert "nearest the module can hold is 7.5 min" in sheet.inner_text()
        assert sheet.locator(".asf-write").inner_text() == LAMPS_TO
        assert sheet.locator(".asf-write mark").all_inner_texts() == ["0F", "CD", "14"]
        wish.fill("90")
        assert sheet.locator(".asf-write").count() == 0
        assert "outside the limits" in sheet.inner_text()
        wish.fill("7.5")
        left = sheet.get_by_label("As left")
        left.fill(LAMPS)
        assert "As left is not what was to be written" in sheet.inner_text()
        left.fill("0x" + LAMPS_TO.replace(" ", " 0x"))
        assert "As left equals what was to be written" in sheet.inner_text()
        page.reload()
        assert sheet.get_by_label("As found").input_value() == LAMPS.lower().replace(" ", "")


@pytest.mark.parametrize("way", WAYS)
def test_a_wrong_checksum_and_an_unexpected_value_stop_before_anything_is_shown(
    opener: Any, way: str
) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        sheet = page.locator("[aria-labelledby=worksheet]")
        sheet.get_by_label("As found").fill(LAMPS.replace("A2 74", "A2 75"))
        assert "The checksum is A2 75, but the bytes it covers give A2 74" in sheet.inner_text()
        assert "Write nothing at all" in sheet.inner_text()
        assert sheet.locator(".asf-write").count() == 0
        page.goto(reader.base + "recipes/trailer-cool-box.html")
        sheet = page.locator("[aria-labelledby=worksheet]")
        page.get_by_role("button", name="Change").click()
        page.get_by_text("Equipment", exact=True).click() if not page.get_by_label(
            "tow bar"
        ).is_visible() else None
        page.get_by_label("tow bar").select_option("yes")
        page.get_by_label("Month of building").fill("2022-03")
        page.get_by_role("button", name="Save car").click()
        sheet.get_by_role("group", name="As found").locator("select").first.select_option("something else")
        assert "was expected" in sheet.inner_text()
        record(page, "Charging").get_by_label("As found").fill("10 45 00 8C")
        assert "Write nothing at all" in sheet.inner_text()
        assert sheet.locator(".asf-write").count() == 0


@pytest.mark.parametrize("way", WAYS)
def test_a_refusal_in_the_middle_of_two_modules(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/trailer-cool-box.html")
        say_car(page, equipment=("tow bar",))
        sheet = page.locator("[aria-labelledby=worksheet]")
        sheet.get_by_role("group", name="As found").locator("select").first.select_option("with the key")
        assert "Still to be noted" in sheet.inner_text()
        assert sheet.get_by_role("heading", name="To write").count() == 0
        charging = sheet.locator("section").filter(has_text="0x").last
        sheet.locator(".asf-bytes-in").first.fill("10 45 00 8C")
        assert sheet.get_by_role("heading", name="To write").count() == 2
        assert charging.locator(".asf-write").inner_text() == "10 4C 00 8C"
        sheet.get_by_role("group", name="As left").locator("select").first.select_option("with the engine")
        what = page.get_by_role("region", name="What the module answered")
        what.get_by_label("The module answered").select_option(label="0x31 request out of range")
        what.get_by_label("While this was being written").select_option(index=2)
        said = what.get_by_role("status").inner_text()
        assert "perhaps the wrong layout" in said
        assert "Write nothing further, and put back" in said
        assert "read it back: “with the key”" in said
        assert "Then restart: " in said


@pytest.mark.parametrize("way", WAYS)
def test_two_recipes_on_one_record_in_one_write_and_the_log_afterwards(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("planner.html")
        say_car(page, software="0310", equipment=("awning",))
        page.get_by_label("Filter", exact=True).fill("awning lamp")
        page.get_by_label("Awning lamp follows the sliding door").check()
        page.get_by_text("is in it too, because").wait_for()
        job = page.locator("[data-asf-planner]")
        assert "1, each written once" in job.inner_text()
        page.get_by_label("As found").fill(LAMPS)
        assert (
            page.locator(".asf-write").inner_text() == "12 40 0C 14 02 5A 28 00 23 57"
        )  # by hand and by Python
        page.get_by_label("As left").fill("12 40 0C 14 02 5A 28 00 23 57")
        page.get_by_role("button", name="Put this job into the car's log").click()
        page.get_by_role("heading", name="Handover").wait_for()
        with page.expect_download() as got:
            page.get_by_role("button", name="Export the log").first.click()
        log = json.loads(Path(got.value.path()).read_text())
        assert [one["recipe"] for one in log["entries"][0]["wrote"]["recipes"]] == [
            "awning-lamp-time-out",
            "awning-lamp-with-door",
        ]
        path = got.value.path()
        done = subprocess.run(
            [sys.executable, "-m", "asfound.cli", "handover", str(path)],
            capture_output=True,
            text=True,
            cwd=ROOT,
        )
        assert done.returncode == 0, done.stderr
        assert "Awning lamp time-out" in done.stdout


@pytest.mark.parametrize("way", WAYS)
def test_after_a_workshops_update_what_was_lost_is_put_back_and_handed_over(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("planner.html")
        log = {
            "asfound": "log",
            "version": 1,
            "car": {"asfound": "car", "version": 1, "name": "the blue one", "lines": ["skerry"]}
            | {"modules": {"living-area": {"software": "0210"}}},
            "entries": [
                {
                    "date": "2025-05-01",
                    "wrote": {
                        "record": "living-area/lamps",
                        "layout": "early",
                        "software": "0210",
                        "found": "11 40 0C 02 01 28 FF 3F",
                        "written": "11 40 0C 02 01 14 FF 89",
                        "left": "11 40 0C 02 01 14 FF 89",
                        "recipes": [
                            {
                                "recipe": "awning-lamp-time-out",
                                "sheet_code": "D5MT9TSR",
                                "changes": [{"setting": "awning-time", "from": "20", "to": "10"}],
                            }
                        ],
                    },
                }
            ],
        }
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("Take in a car or a log").set_input_files(
            {"name": "log.json", "mimeType": "application/json", "buffer": json.dumps(log).encode()}
        )
        page.get_by_role("heading", name="Handover").wait_for()
        later = page.locator("#drift ~ div").first
        later.get_by_label("Software version of the module now").fill("0310")
        later.get_by_label("As it is now").fill(LAMPS)
        assert "lost, now “20 min” instead of “10 min”" in later.inner_text()
        assert "another layout now" in later.inner_text()
        assert later.locator(".asf-write").inner_text().startswith("12 40 0C 14 02 5A 08 00")
        later.get_by_label("As left").fill(later.locator(".asf-write").inner_text())
        later.get_by_role("button", name="Put it into the car's log").click()
        assert page.locator(".asf-log li").count() == 2
        page.evaluate("window.print = () => document.body.classList.add('asf-print-handover')")
        page.get_by_role("button", name="Print this page").click()
        page.emulate_media(media="print")
        assert page.locator(".asf-handover-page").is_visible()
        assert "10 min" in page.locator(".asf-handover-page").inner_text()
        assert not page.locator("h1").is_visible()
        assert not page.locator(".asf-log").is_visible()


@pytest.mark.parametrize("way", WAYS)
def test_the_way_back_from_the_saved_note_goes_by_value_in_another_layout(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0210", equipment=("awning",))
        sheet = page.locator("[aria-labelledby=worksheet]")
        sheet.get_by_label("As found").fill("11 40 0C 02 01 28 FF 3F")
        assert sheet.locator(".asf-write").inner_text() == "11 40 0C 02 01 14 FF 89"
        back = page.locator(".asf-back")
        back.get_by_label("As it is now").fill("11 40 0C 02 05 14 FF 8F")  # the lamp now follows the door
        assert back.locator(".asf-write").inner_text().startswith("11 40 0C 02 05 28 FF")
        back.get_by_label("Software version of the module now").fill("0310")
        back.get_by_label("As it is now").fill("12 40 0C 14 02 5A 08 00 25 B1".replace("25 B1", "00 00"))
        assert "Read it again" in back.inner_text()
        back.get_by_label("As it is now").fill("12 40 0C 14 02 5A 08 00 25 B1")
        assert back.locator(".asf-write").inner_text() == LAMPS
        back.get_by_label("As it is now").fill(LAMPS)
        assert "something else has changed it" in back.inner_text()


@pytest.mark.parametrize("way", WAYS)
def test_the_downloaded_report_passes_the_checks(opener: Any, way: str, tmp_path: Path) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310", equipment=("awning",))
        sheet = page.locator("[aria-labelledby=worksheet]")
        sheet.get_by_label("As found").fill(LAMPS)
        sheet.get_by_label("As left").fill(sheet.locator(".asf-write").inner_text())
        sheet.get_by_label("Before the work").fill("p0133")
        sheet.get_by_label("After the work").fill("P0133, U0140 nonsense")
        assert "NONSENSE is no fault code" in sheet.inner_text()
        assert "U0140" in sheet.inner_text()
        assert not sheet.get_by_label("How it went").is_visible()  # it comes last, and many never report
        sheet.get_by_text("Report on").click()
        sheet.get_by_role("button", name="Make the report").click()
        assert "Pick how it went" in sheet.inner_text()
        report = sheet.get_by_role("group", name="Report on")
        report.get_by_label("How it went").select_option("worked")
        report.get_by_label("Done on").fill("2026-04-30")
        report.get_by_label("What others should know").fill(
            'Sea\u00a0air: "fine", \u2014 #1\nand: no\u200b soft\u00adened \u202eword\u2066s\ufeff \U000e0041'
        )
        with page.expect_download() as got:
            report.get_by_role("button", name="Make the report").click()
        assert got.value.suggested_filename == "anonymous-2026-04.yml"
        folder = tmp_path / "recipes"
        shutil.copytree(ROOT / "recipes", folder)
        to = folder / "changes" / "awning-lamp-time-out" / "reports" / got.value.suggested_filename
        shutil.copyfile(got.value.path(), to)
        checked = subprocess.run(
            [sys.executable, "-m", "asfound.cli", "check", str(folder)],
            capture_output=True,
            text=True,
            cwd=ROOT,
        )
        assert checked.returncode == 0, checked.stdout + checked.stderr
        assert "the blue one" not in to.read_text()


def test_a_vin_fills_the_form_and_is_forgotten(opener: Any) -> None:
    with opener("http") as reader:
        page = reader.open("find.html")
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("VIN", exact=True).fill("0twfb s0t0n-k020001")
        page.get_by_role("button", name="Read the VIN").click()
        assert "Loft · Phase 2" in page.locator("[data-asf-vin]").inner_text()
        assert page.get_by_label("Model", exact=True).input_value() == "loft"
        page.get_by_role("button", name="Save car").click()
        kept = page.evaluate("JSON.stringify(localStorage)")
        assert "0TW" not in kept.upper()
        assert "tow-bar" in kept
        marks = page.locator(".asf-answer")
        marks.nth(10).wait_for()  # the list is filled from data that comes later
        assert marks.count() > 10
        assert {one.split(" ")[0] for one in marks.all_inner_texts()} == {"fits", "does"}


@pytest.mark.parametrize("way", WAYS)
def test_nothing_is_kept_that_the_page_does_not_list_and_one_button_forgets_all(
    opener: Any, way: str
) -> None:
    with opener(way) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        say_car(page, software="0310")
        page.locator("[aria-labelledby=worksheet]").get_by_label("As found").fill("12 40")
        page.get_by_role("button", name="Change").click()
        page.get_by_text("What is kept in this browser").click()
        listed = page.locator(".asf-car__more tbody th").all_inner_texts()
        kept = page.evaluate("() => Object.keys(localStorage)")
        assert sorted(listed) == sorted(kept)
        assert any(name.startswith("asfound/") for name in kept)
        assert page.context.cookies() == []
        assert page.evaluate("() => sessionStorage.length + document.cookie.length") == 0
        with page.expect_download() as got:
            page.get_by_role("button", name="Export this car").click()
        assert json.loads(Path(got.value.path()).read_text())["modules"] == {
            "living-area": {"software": "0310"}
        }
        page.get_by_role("button", name="Forget everything").click()
        assert not any(
            name.startswith("asfound/") for name in page.evaluate("() => Object.keys(localStorage)")
        )
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("Take in a car or a log").set_input_files(got.value.path())
        page.get_by_text("Taken in as a car of its own").wait_for()
        assert page.locator(".asf-car__head").inner_text().startswith("the blue one")


def test_a_downloaded_file_is_checked_in_the_page(opener: Any, tmp_path: Path) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/map-card-0422.html")
        small = tmp_path / "other.bin"
        small.write_bytes(b"abc")
        box = page.get_by_label("Pick the file you downloaded")
        box.set_input_files(small)
        page.get_by_text("Do not load this file").wait_for()
        assert (
            "must be exactly SKY-MAP-0422.BIN"
            in page.locator("section[aria-label='The downloaded file']").inner_text()
        )
        # The first example of FIPS 180-4 as if a recipe meant it.
        sha = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        media = {"name": "other.bin", "size": "3", "sha256": sha, "file_system": "FAT32"}
        page.evaluate(
            "media => document.querySelector('.asf').replaceChildren(asfound.media.start(media))", media
        )
        page.get_by_label("Pick the file you downloaded").set_input_files(small)
        page.get_by_text("it is the file the recipe means").wait_for()
        faults = page.evaluate("() => asfound.media.cardFaults('a:b. ', 4294967296, 'FAT32').length")
        assert faults == 3


def test_on_a_phone_by_keyboard_alone(opener: Any) -> None:
    with opener("file", width=360) as reader:
        page = reader.open("recipes/awning-lamp-time-out.html")
        page.get_by_role("button", name="Say what car you have").focus()
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.labels[0].textContent") == "What you call it"
        page.keyboard.type("Möwe")
        page.keyboard.press("Enter")
        assert page.locator(".asf-car__name strong").inner_text() == "Möwe"
        assert page.evaluate("document.activeElement.getAttribute('aria-expanded')") == "false"
        page.locator("[aria-labelledby=worksheet]").get_by_label("As found").focus()
        page.keyboard.type(LAMPS)
        assert page.locator(".asf-write").is_visible()
        wide = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert wide[0] <= wide[1]


def test_without_javascript_nothing_of_the_tools_shows(opener: Any) -> None:
    with opener("file", javascript=False) as reader:
        page = reader.page
        page.goto(reader.base + "recipes/awning-lamp-time-out.html")
        assert page.locator(".asf-car, .asf-sheet, .asf-mishap").count() == 0
        page.goto(reader.base + "planner.html")
        assert page.get_by_text("needs JavaScript").is_visible()


@pytest.mark.parametrize("way", WAYS)
def test_a_record_is_typed_as_the_tool_shows_it_and_what_is_unclear_is_asked(opener: Any, way: str) -> None:
    """The recipe's own worked example, 30 8A 12 00 to 30 5A 12 00, in four spellings."""
    with opener(way) as reader:
        page = reader.open("recipes/softer-tick.html")
        sheet = page.locator("[aria-labelledby=worksheet]")
        found, write = sheet.get_by_label("As found"), sheet.locator(".asf-write")
        for typed in (
            "308a1200",
            "0x30,0x8A,0x12,0x00",
            "48 138 18 0",
            "00110000 10001010 00010010 00000000",
        ):
            found.fill(typed)
            assert write.inner_text() == "30 5A 12 00", typed
        sheet.get_by_label("is to become").select_option("30")
        assert write.inner_text() != "30 5A 12 00"
        sheet.get_by_label("is to become").select_option("50")
        found.fill("10 20 30 40")  # hexadecimal, or decimal
        assert "more than one way" in sheet.inner_text()
        assert write.count() == 0
        sheet.get_by_label("Read as hexadecimal").press("Space")
        assert found.evaluate("box => box === document.activeElement")
        assert "Loudness of the turn-signal tick" in sheet.locator(".asf-told").inner_text()
        found.fill("30 8G")
        assert write.count() == 0
        page.goto(reader.base + "recipes/other-tyres-true-speed.html")
        sheet = page.locator("[aria-labelledby=worksheet]")
        sheet.get_by_label("As found").fill("2092")
        assert sheet.locator(".asf-write").inner_text() == "2115"
        sheet.get_by_label("As left").fill("2115")
        assert "As left equals" in sheet.inner_text()


def test_what_the_form_says_the_form_takes_back(opener: Any) -> None:
    """A VIN with a wrong check digit is a warning; a car of no line leaves every page as it is."""
    with opener("http") as reader:
        page = reader.open("find.html")
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("VIN", exact=True).fill("WRONG-VIN")
        page.get_by_role("button", name="Read the VIN").click()
        assert page.locator("[data-asf-vin] .asf-warn").count() > 0
        page.get_by_label("Vehicle line").select_option("")
        page.get_by_role("button", name="Save car").click()
        assert page.get_by_text("Saved in this browser").is_visible()
        assert page.locator(".asf-answer").count() == 0
        assert page.locator("[data-asf-items] > li").count() > 16
