"""From data to objects: each feature of the format, compared as a whole."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from asfound.car.bits import Part, Place
from asfound.car.checksums import Checksum
from asfound.car.conditions import (
    All,
    Any,
    Equipped,
    Holds,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
    leaves,
)
from asfound.car.origin import Origin
from asfound.car.records import RecordPath, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Number, Text
from asfound.car.vehicles import FittedPlace, Power
from asfound.source.build import BUILD, condition
from asfound.source.build_car import months, place
from asfound.source.reader import read
from asfound.work.recipes import Ask, Hazard, Step, Withdrawal

EXAMPLES = Path(__file__).resolve().parent.parent / "examples" / "positive"
FILE = "a.yml"


def built(kind: str, name: str):
    return BUILD[kind](read((EXAMPLES / kind / f"{name}.yml").read_bytes(), FILE).data, Origin(FILE))


@pytest.mark.parametrize(
    ("data", "parts"),
    [
        ({"byte": 4, "bit": 2}, [Part(4, 2, 2)]),
        ({"byte": 6, "bits": [4, 7]}, [Part(6, 4, 7)]),
        ({"byte": 5}, [Part(5, 0, 7)]),
        ({"bytes": [5, 7]}, [Part(5), Part(6), Part(7)]),
        ({"bytes": [6, 5]}, [Part(6), Part(5)]),  # least significant byte first in the record
        ({"bytes": [3, 3]}, [Part(3)]),
        ([{"byte": 5}, {"byte": 6, "bits": [4, 7]}], [Part(5), Part(6, 4, 7)]),
        ([{"byte": 0, "bit": 7}, {"bytes": [3, 2]}], [Part(0, 7, 7), Part(3), Part(2)]),
    ],
)
def test_places(data, parts):
    assert place(data) == Place(tuple(parts))


def test_places_of_both_byte_orders_against_int_from_bytes():
    """Outside check: Python's own ``int.from_bytes``."""
    record = bytes(range(1, 9))
    assert place({"bytes": [2, 5]}).gather(record) == int.from_bytes(record[2:6], "big")
    assert place({"bytes": [5, 2]}).gather(record) == int.from_bytes(record[2:6], "little")


@pytest.mark.parametrize(
    ("text", "interval"),
    [
        ("2019-03/2022-08", ("2019-03", "2022-08")),
        ("2019-03/..", ("2019-03", None)),
        ("../2022-08", (None, "2022-08")),
        (None, (None, None)),
    ],
)
def test_months(text, interval):
    assert months(text) == interval


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        ({"line": "skerry"}, Vehicle("skerry")),
        (
            {"line": "skerry", "models": ["a"], "phases": ["2"], "built": "2019-03/..", "markets": ["b"]},
            Vehicle("skerry", ("a",), ("2",), ("2019-03", None), ("b",)),
        ),
        ({"equipped": "awning"}, Equipped("awning")),
        ({"software": "a", "range": ">=0300"}, Software("a", ">=0300")),
        ({"part": "a", "is": ["X 1"]}, PartNumber("a", ("X 1",))),
        ({"setting": "a/b/c", "is": ["1", "2"]}, SettingIs("a/b/c", ("1", "2"))),
        ({"holds": {"record": "a/b", "byte": 3, "mask": "F0", "is": "A0"}}, Holds("a/b", 3, 0xA0, 0xF0)),
        ({"holds": {"byte": 0, "is": "03"}}, Holds("own/record", 0, 3, 0xFF)),
        ({"not": {"any": [{"equipped": "a"}, {"equipped": "b"}]}}, Not(Any((Equipped("a"), Equipped("b"))))),
        ({"all": [{"all": [{"equipped": "a"}]}]}, All((All((Equipped("a"),)),))),
    ],
)
def test_conditions(data, expected):
    assert condition(data, Origin(FILE), "own/record") == expected


def test_conditions_know_where_they_stand():
    found = condition(
        {"all": [{"equipped": "a"}, {"not": {"any": [{"line": "b"}]}}]}, Origin(FILE, ("fits",))
    )
    assert [leaf.origin.path for leaf in leaves(found)] == [
        ("fits", "all", 0),
        ("fits", "all", 1, "not", "any", 0),
    ]


def test_a_module():
    module = built("module", "every-form-of-place-and-record")
    wheel, welcome = module.records
    assert (module.id, module.restart_minutes, module.where, module.address) == (
        "instruments",
        1,
        "Behind the steering wheel.",
        None,
    )
    assert (wheel.identifier, wheel.shown_as, wheel.access_code, wheel.takes_effect) == (
        112,
        ShownAsNumber(2, "big"),
        "ask the club",
        "at-once",
    )
    assert wheel.settings[0].kind == Number(
        Fraction(1),
        Fraction(-40),
        "mm",
        Fraction(1800),
        Fraction(2400),
        True,
        (Choice("not learned", 0xFFFF),),
    )
    assert wheel.settings[0].functions == ("instruments", "tyres")
    assert wheel.settings[0].search_words == ("tyre", "wheel")
    assert wheel.layouts[0].fits is None
    assert wheel.layouts[0].places == {"circumference": Place((Part(0), Part(1)))}
    assert (welcome.identifier, welcome.shown_as, welcome.access_code) == ("0x2F01", None, "4711")
    assert welcome.takes_effect == "after-restart"
    assert welcome.settings[0].kind == Text(12, "space")
    early, late = welcome.layouts
    assert early.fits == Holds("instruments/welcome", 0, 3, 0x0F)  # the layout's own record, filled in
    assert early.checksum == Checksum("crc16-arc", 0, 13, 14, "little", "reader")
    assert early.places["words"].parts[0] == Part(12) and early.places["words"].width == 96
    assert isinstance(late.fits, Any) and len(late.fits.of) == 3
    assert early.origin == Origin(FILE, ("records", 1, "layouts", 0))
    assert welcome.settings[1].origin.path == ("records", 1, "settings", 1)


def test_decimals_are_exact():
    number = built("module", "plain").records[0].settings[1].kind
    assert (number.factor, number.min, number.max) == (Fraction(1, 20), Fraction(21, 2), Fraction(62, 5))


def test_a_record_of_which_only_names_are_known():
    record = built("module", "names-only").records[0]
    assert record.names_only and not record.layouts and record.identifier is None
    assert record.settings[0].kind == Choices((Choice("at once", None), Choice("after ten seconds", None)))


def test_a_vehicle_line():
    line = built("line", "every-key")
    assert [(p.id, p.built) for p in line.phases] == [("1", ("2016-03", "2021-08")), ("2", ("2021-09", None))]
    assert line.models[0].phases == ("1", "2")
    assert [m.id for m in line.markets] == ["islands"]
    assert line.equipment[0].models == ("weekender",)
    assert line.equipment[0].standard == ((None, "2"), ("weekender", "1"))
    assert [f.module for f in line.fitted] == ["living-area", "towing", "entry-step"]
    assert line.fitted[1].fits == Equipped("tow-bar")
    assert line.fitted[2].places == (
        FittedPlace("left", "left step", "0x51"),
        FittedPlace("right", "right step", "0x52"),
    )
    assert line.power == Power(Fraction(19, 2), Fraction(12), "Clamp meter, three cars, May 2025.")


def test_a_recipe():
    recipe = built("recipe", "withdrawn-with-every-key")
    first, second = recipe.changes
    assert first.setting == SettingPath("entry-step", "motion", "rolling-limit")
    assert (first.before, first.to, first.place, first.fits) == (None, Ask("How fast", "3"), "left", None)
    assert (second.before, second.to, second.fits) == ("goes on", "stops", Equipped("step"))
    assert recipe.purpose == "The step stays out while the car creeps.\n*Do not* use it on the road.\n"
    assert recipe.hazards == (
        Hazard("The step meets a kerb", "It is torn off", "Look first", "serious", "will", "remote"),
    )
    assert recipe.before[0].otherwise == "Do not go on" and recipe.before[0].proves == "entry"
    assert recipe.steps[0] == Step("Open the door.", "start")
    assert recipe.steps[1] == Step("Wait.", "restarted", "entry-step", "key-off", 2, "step.png")
    assert recipe.way_back == ("Fit the old fuse",)
    example = recipe.worked_examples[0]
    assert example.record == RecordPath("entry-step", "motion") and example.layout == "older"
    assert example.choose == ((SettingPath("entry-step", "motion", "rolling-limit"), "3"),)
    assert recipe.withdrawn == Withdrawal(
        "2025-06-01", "Two steps were torn off.", "put-back", "kerb-step-waits"
    )
    assert (recipe.needs, recipe.replaces, recipe.alone) == (
        ("awning-lamp-with-door",),
        ("older-step",),
        False,
    )
    assert recipe.clashes[0].recipe == "kerb-step-waits"
    assert recipe.clashes[0].origin == Origin(FILE, ("clashes", 0))
    assert recipe.media is None


def test_a_file_to_load():
    recipe = built("recipe", "file-to-load")
    media = recipe.media
    assert media is not None and recipe.changes == () and recipe.way_back == "none" and recipe.alone
    assert (media.file_system, media.smallest_gb, media.largest_gb, media.size) == ("FAT32", 8, 32, 3 * 2**30)
    assert media.menu == ("Settings", "Map", "Load from card")
    assert media.reading_before == ("Islands 22.1", "Islands 23.2")
    assert media.origin == Origin(FILE, ("media",))


def test_reports_and_the_rest():
    report = built("report", "plain")
    assert report.car.software == {"living-area": "0310"}
    assert report.car.parts == {"living-area": "7K0 919 214 B"}
    assert (report.car.equipment, report.car.without) == (("awning",), ("tow-bar",))
    assert report.found == {"living-area/lamps": "01 40 00 7F 00 C0 00 1D"}
    bad = built("report", "places-and-what-went-wrong")
    assert set(bad.found) == {"entry-step@left/motion", "entry-step@right/motion"}
    assert (bad.car.market, bad.car.built, bad.left, bad.in_use) == ("islands", "2022-04", {}, None)
    assert built("signature", "with-note").note == "Compared the bytes on two cars: both right."
    assert built("codes", "plain")[0].work == {"living-area/lamps/early": "7Z0K2Q4M"}
    club = built("club", "plain")
    assert (club.vetting.signatures, club.times.module, club.access_codes) == (2, 2, "ask")
    assert club.reviewers[1].handle == "dunlin" and club.reviewers[1].until is None
