"""The commands about a reader's car: plan, work, drift, handover; exit statuses and one-line errors."""

from __future__ import annotations

import json
import re
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from shutil import copytree, rmtree

import pytest
from click.testing import CliRunner, Result

sys.path.insert(0, str(Path(__file__).parent))
from car_files import car_text, log_text, reading_text

from asfound.book import Book
from asfound.car.known import Known
from asfound.car.records import RecordPath
from asfound.cli import main
from asfound.commands.cars import READING
from asfound.source.car_file import CarFile, ReadingFile, open_log, open_reading
from asfound.source.loader import load
from asfound.work.log import Log, log_job
from asfound.work.plan import plan
from asfound.work.worksheet import worksheet

RECIPES = Path(__file__).resolve().parents[2] / "recipes"
CAR = Known(
    frozenset(("skerry",)),
    frozenset(("loft",)),
    frozenset(("2",)),
    equipment={"awning": True, "lithium": False, "tow-bar": True},
    software={"living-area": "0310"},
)
LAMPS = RecordPath("living-area", "lamps")
FOUND = "0x01020314000000005" + "5B2"  # CRC-16/IBM-3740 over the first eight bytes, as a stop below says
TO_WRITE = "01 02 03 14 00 00 20 00 53 54"


@cache
def book() -> Book:
    return Book(load(RECIPES))


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments), "--book", str(RECIPES)])


@pytest.fixture
def car(tmp_path: Path) -> Path:
    path = tmp_path / "car.json"
    path.write_text(car_text(CarFile(CAR, "Puffin")), encoding="utf-8")
    return path


def reading(folder: Path, **records: str | dict[str, str]) -> Path:
    path = folder / "reading.json"
    parsed = {
        RecordPath.parse(name.replace("__", "/").replace("_", "-")): held for name, held in records.items()
    }
    path.write_text(reading_text(ReadingFile(parsed)), encoding="utf-8")
    return path


# work


def test_work_shows_what_to_write(car: Path) -> None:
    got = run("work", "awning-lamp-with-door", "--car", car, "--found", FOUND)
    assert got.exit_code == 0, got.output
    assert f"to write  {TO_WRITE}" in got.output
    assert "stays off -> follows  [ready]" in got.output
    assert "byte 6 bit 5" in got.output
    assert "Awning lamp time-out: 10 min" in got.output
    marks = next(line for line in got.output.splitlines() if set(line.strip()) == {"^", " "})
    written = next(line for line in got.output.splitlines() if "to write" in line)
    assert [written[i : i + 2] for i in range(12, 42, 3) if marks[i : i + 1] == "^"] == ["20", "53", "54"]


def test_work_already_done(car: Path) -> None:
    got = run("work", "awning-lamp-with-door", "--car", car, "--found", TO_WRITE)
    assert got.exit_code == 0 and "[already done]" in got.output and "Nothing changes" in got.output


@pytest.mark.parametrize(
    ("found", "says"),
    [
        ("0x01020314000000005354", "checksum is 53 54, but the bytes it covers give 55 B2"),
        ("0x0102", "2 bytes instead of 10"),
        ("hello", "no row of bytes"),
    ],
)
def test_work_stops(car: Path, found: str, says: str) -> None:
    got = run("work", "awning-lamp-with-door", "--car", car, "--found", found)
    assert got.exit_code == 1 and says in got.output and "to write" not in got.output


def test_work_with_a_value_chosen(car: Path) -> None:
    setting = "living-area/lamps/awning-time"
    asked = ("work", "awning-lamp-time-out", "--car", car, "--found", FOUND, "--choose")
    got = run(*asked, f"{setting}=12.3")
    assert got.exit_code == 0 and "10 min -> 12.5 min" in got.output, (
        "the nearest that can be stored is shown"
    )
    assert run(*asked, f"{setting}=900").exit_code == 1
    wrong = run(*asked, "living-area/lamps/no-such=1")
    assert wrong.exit_code == 2 and "write module/record/setting=value" in wrong.output


def test_work_with_several_records_needs_all(car: Path) -> None:
    half = run("work", "trailer-cool-box", "--car", car, "--found", "towing/socket=whatever")
    assert half.exit_code == 1
    assert "Not noted yet: power-manager/charging" in half.output and "to write  " not in half.output
    unnamed = run("work", "trailer-cool-box", "--car", car, "--found", "01 02")
    assert unnamed.exit_code == 2 and "write record=value" in unnamed.output


def test_work_as_json(car: Path) -> None:
    got = run("work", "awning-lamp-with-door", "--car", car, "--found", FOUND, "--format", "json")
    data = json.loads(got.output)
    row = data["worksheet"]["rows"][0]
    assert row["write"] == TO_WRITE and row["layout"] == "late" and data["worksheet"]["ready"]


def test_work_needs_no_needed_recipe(car: Path) -> None:
    got = run("work", "awning-lamp-with-door", "--car", car, "--found", FOUND)
    assert "awning-lamp-time-out" not in got.output


# plan


def test_plan_pulls_in_and_merges(car: Path) -> None:
    got = run("plan", "awning-lamp-with-door", "--car", car, "--format", "json")
    assert got.exit_code == 0, got.output
    data = json.loads(got.output)
    assert [r["id"] for r in data["recipes"]] == ["awning-lamp-time-out", "awning-lamp-with-door"]
    assert data["visits"] == [["living-area/lamps"]] and data["fits"] == "fits"
    assert sum(one["do"] == "write" for one in data["job"]) == 1


def test_plan_in_words(car: Path) -> None:
    text = run("plan", "awning-lamp-with-door", "--car", car).output
    assert "needed by awning-lamp-with-door" in text and "The car fits." in text
    assert "Ah out of the battery" in text and "sheet code" in text and "NOTICE" in text


def test_plan_with_found(car: Path, tmp_path: Path) -> None:
    found = reading(tmp_path, living_area__lamps=FOUND)
    got = run("plan", "awning-lamp-with-door", "--car", car, "--found", found)
    assert got.exit_code == 0 and f"to write  {TO_WRITE}" in got.output, got.output
    empty = reading(tmp_path, towing__socket="x")
    got = run("plan", "awning-lamp-with-door", "--car", car, "--found", empty)
    assert got.exit_code == 1 and "Not noted yet: living-area/lamps" in got.output


def test_a_module_in_two_places_is_named_with_its_place_as_pages_name_it(tmp_path: Path) -> None:
    path = tmp_path / "car.json"
    known = replace(CAR, markets=frozenset(("islands",)), equipment={"powered-steps": True})
    path.write_text(car_text(CarFile(known)), encoding="utf-8")
    lines = run("plan", "kerb-step-waits", "--car", path).output.splitlines()
    assert "1 visit: Movement of the tread of Entry-step unit (left step)." in lines


def test_plan_without_a_car_says_what_it_hangs_on() -> None:
    got = run("plan", "awning-lamp-with-door")
    assert got.exit_code == 0 and "Fits if" in got.output and "How to tell an awning" in got.output


def test_a_plan_in_words_says_what_the_pages_say() -> None:
    said = run("plan", "awning-lamp-time-out", "awning-lamp-with-door").output.splitlines()
    labels = [line.rpartition(", ")[2] for line in said if "sheet code" in line]
    assert labels == ["VETTED IN PART", "VETTED IN PART"]  # as on the home page and the recipes' own
    job = said[said.index("The job:") + 1 :]
    assert job[0] == "  1. Have at hand: The minutes your household agreed on, written on the sheet."
    assert len(job) > 20 and all(line.endswith((".", "”.", ".”")) for line in job)


def test_a_plan_that_must_know_more_says_how_to_tell_it() -> None:
    got = run("plan", "earlier-cut-off")
    assert got.exit_code == 1
    said = got.output.splitlines()
    assert said[0] == "No job" and said[2].startswith("    earlier-cut-off, sheet code ")
    first = next(
        n for n, line in enumerate(said) if line.startswith("Must be known first: earlier-cut-off is ")
    )
    assert said[first + 1] == "  Say so with --car FILE, as the pages export it."


def test_a_plan_of_a_withdrawn_recipe_says_only_what_to_do_instead() -> None:
    got = run("plan", "map-from-a-stick")
    assert got.exit_code == 1 and "How to tell" not in got.output


@pytest.mark.parametrize(
    ("recipes", "says"),
    [
        (("kerb-step-waits", "step-goes-back-out"), "must not be combined"),
        (("heater-runs-longer", "softer-tick"), "must be done alone"),
        (("map-from-a-stick",), "withdrawn"),
    ],
)
def test_plan_refuses(recipes: tuple[str, ...], says: str) -> None:
    got = run("plan", *recipes)
    assert got.exit_code == 1 and says in got.output and "The job:" not in got.output


def test_recipes_that_ask_too_much_together_are_no_job_until_more_is_known(tmp_path: Path) -> None:
    """Twenty-four things a car may have, half of which each of two recipes asks about."""
    things = [f"crate-{number}" for number in range(24)]
    book = tmp_path / "recipes"
    copytree(RECIPES, book)
    line = book / "vehicles" / "skerry.yml"
    more = "".join(f"  - {{item: {one}, name: a {one}, look: A {one} on the roof.}}\n" for one in things)
    line.write_text(line.read_text("utf-8").replace("equipment:\n", f"equipment:\n{more}", 1), "utf-8")
    asked = ("softer-tick", "step-light-waits")
    for at, name in enumerate(asked):
        for folder in ("reports", "vetted"):  # they were of other work
            rmtree(book / "changes" / name / folder, ignore_errors=True)
        recipe = book / "changes" / name / "recipe.yml"
        items = ", ".join(f"{{equipped: {one}}}" for one in things[at::2])
        fits = f"fits: {{all: [{{line: skerry}}, {{any: [{items}]}}]}}\n"
        text = re.sub(r"read_on: [\w-]+", "read_on: made-up", recipe.read_text("utf-8"))
        recipe.write_text(text.replace("fits: {line: skerry}\n", fits, 1), "utf-8")
    got = CliRunner().invoke(main, ["plan", *asked, "--book", str(book)])
    assert got.exit_code == 1, got.output
    assert got.output.splitlines() == [
        "No job",
        "",
        "Together these recipes ask more about the car than can be weighed at once.",
        "  Say more of the car, or make several jobs of them.",
    ]
    car = tmp_path / "car.json"
    known = replace(CAR, equipment={**CAR.equipment, **dict.fromkeys(things[:4], True)})
    car.write_text(car_text(CarFile(known)), encoding="utf-8")
    got = CliRunner().invoke(main, ["plan", *asked, "--book", str(book), "--car", str(car)])
    assert got.exit_code == 0 and "2 recipes in one job" in got.output, got.output


def test_plan_that_does_not_fit_says_why(tmp_path: Path) -> None:
    path = tmp_path / "car.json"
    path.write_text(car_text(CarFile(Known(equipment={"awning": False}))), encoding="utf-8")
    got = run("plan", "awning-lamp-with-door", "--car", path)
    assert got.exit_code == 1 and "does not fit the car: it does not have an awning" in got.output, got.output


# drift and handover


def logged(folder: Path) -> Path:
    one = plan(("awning-lamp-with-door",), book().shop, CAR)
    sheet = worksheet(one, {LAMPS: FOUND}, book().world, CAR)
    found = {row.path: row.found for row in sheet.rows if row.found is not None}
    to = {row.path: row.write for row in sheet.rows if row.write is not None}
    codes = {job.recipe.id: book().codes(job.recipe.id).sheet for job in one.jobs}
    log = Log(log_job(one, "2026-05-01", found, to, to, {LAMPS: "late"}, codes, CAR), CAR, "Puffin")
    path = folder / "log.json"
    path.write_text(log_text(log), encoding="utf-8")
    assert open_log(path.read_bytes(), "log.json").value == log
    return path


def test_drift(tmp_path: Path) -> None:
    log = logged(tmp_path)
    left = json.loads(log.read_text("utf-8"))["entries"][0]["wrote"]["left"]
    stands = run("drift", log, "--read", reading(tmp_path, living_area__lamps=left))
    assert stands.exit_code == 0 and "stands: Awning lamp and the sliding door is follows" in stands.output
    lost = run("drift", log, "--read", reading(tmp_path, living_area__lamps=FOUND))
    assert lost.exit_code == 1
    assert "LOST: Awning lamp and the sliding door is stays off, no longer follows" in lost.output
    assert f"to put back, write {left}" in lost.output
    data = json.loads(
        run("drift", log, "--read", reading(tmp_path, living_area__lamps=FOUND), "--format", "json").output
    )
    assert data["records"][0]["restore"]["write"] == left
    nothing = run("drift", log, "--read", reading(tmp_path, towing__socket="x"))
    assert nothing.exit_code == 2 and "no record that" in nothing.output


def test_handover(tmp_path: Path) -> None:
    got = run("handover", logged(tmp_path))
    assert got.exit_code == 0
    assert "Changes that stand in Puffin" in got.output and "software 0310" in got.output
    assert "Awning lamp and the sliding door: follows (found: stays off)" in got.output
    assert "An update or another module may lose these" in got.output
    assert json.loads(run("handover", logged(tmp_path), "--format", "json").output)["recipes"]


# what could not run


@pytest.mark.parametrize(
    "arguments",
    [
        ("plan", "awning-lamp-wiht-door"),
        ("work", "no-such-recipe", "--found", "00"),
        ("work", "map-card-0422", "--found", "00"),
        ("plan", "awning-lamp-with-door", "--car", "no-such-file.json"),
        ("plan", "awning-lamp-with-door", "--car", str(RECIPES / "club.yml")),
        ("drift", "no-such-file.json", "--read", "no-such-file.json"),
        ("handover", str(RECIPES)),
        ("plan", "../../etc/passwd"),
        ("plan", "softer-tick", "--choose", "x"),
        (
            "plan",
            "softer-tick",
            "--choose",
            "instruments/sounds/tick-volume=soft",
            "--choose",
            "instruments/sounds/tick-volume=loud",
        ),
        ("work", "softer-tick", "--found", "00", "--found", "01"),
        ("sheet", "-o", "x.pdf", "--booklet", "--plan"),
        ("sheet", "-o", "x.pdf", "--booklet", "--car", "a-car.json"),
    ],
)
def test_errors_are_one_line_and_say_what_to_do(arguments: tuple[str, ...]) -> None:
    got = run(*arguments)
    assert got.exit_code == 2
    assert len(got.output.splitlines()) == 1 and got.output.startswith(f"asfound {arguments[0]}: "), (
        got.output
    )
    assert "Traceback" not in got.output


def test_a_misspelt_recipe_is_guessed() -> None:
    assert "Write awning-lamp-with-door or" in run("plan", "awning-lamp-wiht-door").output


def test_a_car_file_with_findings_names_line_and_repair(tmp_path: Path) -> None:
    path = tmp_path / "car.json"
    path.write_text('{"asfound": "car",\n "version": 1,\n "phases": [2]}', encoding="utf-8")
    got = run("plan", "softer-tick", "--car", path)
    assert (
        got.exit_code == 2 and "car.json:3:13 phases[0]" in got.output and len(got.output.splitlines()) == 1
    )


@pytest.mark.parametrize(
    "car", [Known(frozenset(("nowhere",))), Known(frozenset(("skerry",)), built="1899-12")]
)
def test_a_car_that_was_never_made_is_said_to_be_none(tmp_path: Path, car: Known) -> None:
    path = tmp_path / "car.json"
    path.write_text(car_text(CarFile(car)), encoding="utf-8")
    for words in (("plan",), ("work", "--found", "00"), ("sheet", "-o", tmp_path / "x.pdf")):
        got = run(words[0], "softer-tick", "--car", path, *words[1:])
        assert got.exit_code == 2 and "no car that this book knows" in got.output, got.output


def test_a_file_that_is_not_there_is_not_said_to_be_unreadable() -> None:
    got = run("plan", "softer-tick", "--car", "no-such-file.json")
    assert got.output == (
        "asfound plan: no-such-file.json: there is no such file; look how it is called and where it lies\n"
    )


def test_what_the_schema_says_of_a_missing_key_ends_before_the_repair(tmp_path: Path) -> None:
    path = tmp_path / "car.json"
    path.write_text('{"asfound": "car"}', encoding="utf-8")
    got = run("plan", "softer-tick", "--car", path)
    assert "car.json:1:1 the key version is missing: " in got.output and ".;" not in got.output, got.output


def test_help_shows_a_reading_that_can_be_read() -> None:
    shown = READING[READING.index("{") : READING.rindex("}") + 1].replace("MODULE/RECORD", "a/b")
    opened = open_reading(shown.encode(), "reading.json")
    assert opened.findings == () and opened.value == ReadingFile({RecordPath("a", "b"): "00 04"})
    for command in ("plan", "sheet", "drift"):
        assert " ".join(READING.split()) in " ".join(run(command, "--help").output.split())
