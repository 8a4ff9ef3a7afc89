"""Which reports count, for which variant and layout, and how it is worded."""

from __future__ import annotations

from dataclasses import replace

import pytest

from asfound.car.bits import Part, Place
from asfound.car.conditions import All, Any, Equipped, Holds, Not, Software, Vehicle
from asfound.car.records import Layout, Module, Record, SettingPath
from asfound.car.settings import Choice, Choices, Setting
from asfound.car.vehicles import Equipment, Fitted, Model, Phase, VehicleLine
from asfound.trust.codes import check_letter, codes
from asfound.trust.evidence import Count, reported_hazards, same_car, tally
from asfound.trust.reports import PastCode, Report, ReportedCar
from asfound.trust.risk import banner
from asfound.work.forms import forms
from asfound.work.recipes import Change, Check, Media, Recipe

ON_OFF = Choices((Choice("off", 0), Choice("on", 1)))
LAMP = Setting("lamp", "Lamp", ON_OFF, ("comfort",), "maker")
EARLY = Layout("early", Not(Equipped("tow-bar")), 2, {"lamp": Place((Part(0, 0, 0),))})
LATE = Layout("late", Equipped("tow-bar"), 2, {"lamp": Place((Part(1, 1, 1),))})
RECORD = Record("lamps", "Lamps", (LAMP,), (EARLY, LATE), "0x0101")
LIVING = Module("living", "Living area", "Lights.", "Key off", 1, (RECORD,), "0x3B")
TICK = Setting("tick", "Tick", Choices((Choice("soft", None), Choice("loud", None))), ("sound",), "club")
PANEL = Module("panel", "Panel", "Shows.", "Key off", 1, (Record("sounds", "S", (TICK,), names_only=True),))
MODULES = {m.id: m for m in (LIVING, PANEL)}
LINES = {
    "skerry": VehicleLine(
        "skerry", "Tarnwell Skerry", "A van.",
        (Phase("1", "First", (None, "2019-12"), "x"), Phase("2", "Second", ("2020-01", None), "x")),
        (Model("short", "Short", "x"), Model("long", "Long", "x")),
        (Equipment("tow-bar", "Tow bar", "x"), Equipment("awning", "Awning", "x")),
        (Fitted("living"), Fitted("panel")),
    )
}  # fmt: skip
LAMP_ON = Change(SettingPath("living", "lamps", "lamp"), "off", "on")
TICK_SOFT = Change(SettingPath("panel", "sounds", "tick"), "loud", "soft")
RECIPE = Recipe(
    "lamp", "Lamp", "author", "p", "a", Vehicle("skerry"), (Check("c", "e", "key-on"),), "automatic",
    "offered", (), changes=(LAMP_ON,),
)  # fmt: skip
EARLY_KEY, LATE_KEY, TICK_KEY = "living/lamps/early", "living/lamps/late", "panel/sounds"
NOW = codes(RECIPE, MODULES, LINES)
CELL = ("skerry", "short", "1")
SHORT = ReportedCar("skerry", "short", "1", without=("tow-bar",))
TOWING = ReportedCar("skerry", "short", "1", equipment=("tow-bar",))


def report(by="ann", outcome="worked", car=SHORT, code=NOW.sheet, **more):
    date = more.pop("date", "2026-03-01")
    return Report(more.pop("id", f"{by}-{date}"), "lamp", code, by, date, car, outcome, **more)


def past_of(recipe=RECIPE, modules=MODULES):
    """What ``codes.yml`` holds of an earlier state of the recipe and its modules."""
    then = codes(recipe, modules, LINES)
    return PastCode(then.sheet, "2026-01-01", then.work, fits=then.fits)


def with_layouts(*layouts):
    return {**MODULES, "living": replace(LIVING, records=(replace(RECORD, layouts=layouts),))}


def weigh(*reports, past=(), recipe=RECIPE, modules=MODULES):
    now = codes(recipe, modules, LINES)
    return tally(reports, now, past, forms(recipe, modules, LINES), LINES)


def weights(*reports, **state):
    return {one.report.by: one.weight for one in weigh(*reports, **state).weighed}


# ---- which reports count ----


def test_the_present_sheet_counts_a_mistyped_or_unknown_one_does_not():
    unknown = "ABCDEFG" + check_letter("ABCDEFG")
    wrong = NOW.sheet[:-1] + ("0" if NOW.sheet[-1] != "0" else "1")
    got = weights(report("ann"), report("bea", code=unknown), report("cid", code=wrong))
    assert got == {"ann": "counts", "bea": "unknown code", "cid": "mistyped"}


def test_cells_and_layouts_are_kept_apart():
    long = replace(SHORT, model="long")
    evidence = weigh(report("ann"), report("bea", "refused", TOWING), report("cid", "no-effect", long))
    assert [r.by for r in evidence.count(CELL).reports] == ["bea", "ann"]
    assert [r.by for r in evidence.count(CELL, EARLY_KEY).reports] == ["ann"]
    assert [r.by for r in evidence.count(CELL, LATE_KEY).reports] == ["bea"]
    assert evidence.count(("skerry", "long", "1")).worked == 0
    assert evidence.count(("skerry", "long", "2")).total == 0
    assert [r.by for r in evidence.count(layout=EARLY_KEY).reports] == ["cid", "ann"]
    assert evidence.count().total == 3


def test_a_car_that_may_have_either_layout_counts_for_its_variant_only():
    (one,) = weigh(report(car=ReportedCar("skerry", "short", "1"))).weighed
    assert (one.weight, one.layouts, one.sure) == ("counts", (EARLY_KEY, LATE_KEY), ())
    evidence = weigh(report(car=ReportedCar("skerry", "short", "1")))
    assert evidence.count(CELL).total == 1 and evidence.count(CELL, EARLY_KEY).total == 0


def test_what_the_record_held_tells_the_layout():
    modules = with_layouts(
        replace(EARLY, fits=Holds("living/lamps", 1, 3)), replace(LATE, fits=Not(Holds("living/lamps", 1, 3)))
    )
    now = codes(RECIPE, modules, LINES).sheet
    for found, key in (("00 03", EARLY_KEY), ("00 04", LATE_KEY)):
        held = report(code=now, car=ReportedCar("skerry", "short", "1"), found={"living/lamps": found})
        assert weigh(held, modules=modules).weighed[0].sure == (key,)
    garbled = report(code=now, found={"living/lamps": "zz"})
    assert weigh(garbled, modules=modules).weighed[0].sure == ()


def test_a_car_the_recipe_is_not_for():
    recipe = replace(RECIPE, fits=Vehicle("skerry", phases=("2",)))
    now = codes(recipe, MODULES, LINES).sheet
    assert weights(report(code=now), recipe=recipe) == {"ann": "other car"}
    modules = with_layouts(replace(EARLY, fits=All((EARLY.fits, Equipped("awning")))), LATE)
    now = codes(RECIPE, modules, LINES).sheet
    without = replace(SHORT, without=("tow-bar", "awning"))
    assert weights(report(code=now, car=without), modules=modules) == {"ann": "other car"}  # no layout known


def test_a_past_sheet_with_the_same_work_counts():
    past = past_of(replace(RECIPE, checks=(Check("Look", "Light", "key-on"),)))
    assert past.sheet_code != NOW.sheet
    assert weights(report(code=past.sheet_code), past=[past]) == {"ann": "counts"}


def test_only_the_layouts_concerned_must_be_the_same():
    moved = replace(EARLY, places={"lamp": Place((Part(0, 1, 1),))})
    past = past_of(modules=with_layouts(moved, LATE))
    got = weights(
        report("ann", code=past.sheet_code),
        report("bea", car=TOWING, code=past.sheet_code),
        report("cid", car=ReportedCar("skerry", "short", "1"), code=past.sheet_code),
        past=[past],
    )
    assert got == {"ann": "earlier", "bea": "counts", "cid": "earlier"}
    evidence = weigh(report("ann", code=past.sheet_code), past=[past])
    assert evidence.count().total == 0
    assert [(one.report.by, one.weight, one.cell) for one in evidence.weighed] == [("ann", "earlier", CELL)]


def test_a_new_layout_split_from_an_old_one_keeps_its_evidence():
    past = past_of()
    narrow = replace(LATE, fits=All((LATE.fits, Software("living", "<0400"))))
    newest = replace(LATE, id="newest", fits=All((LATE.fits, Software("living", ">=0400"))), length=3)
    modules = with_layouts(EARLY, narrow, newest)
    old, new = (replace(TOWING, software={"living": v}) for v in ("0310", "0405"))
    got = weights(
        report("ann", code=past.sheet_code),
        report("bea", car=old, code=past.sheet_code),
        report("cid", car=new, code=past.sheet_code),
        past=[past], modules=modules,
    )  # fmt: skip
    assert got == {"ann": "counts", "bea": "counts", "cid": "earlier"}


def test_layouts_that_trade_their_cars_lose_their_evidence():
    """The work codes are all the same; but each car now gets the other layout."""
    past = past_of()
    modules = with_layouts(replace(EARLY, fits=LATE.fits), replace(LATE, fits=EARLY.fits))
    assert codes(RECIPE, modules, LINES).work == past.work
    got = weights(
        report("ann", code=past.sheet_code), report("bea", car=TOWING, code=past.sheet_code),
        past=[past], modules=modules,
    )  # fmt: skip
    assert got == {"ann": "earlier", "bea": "earlier"}


SHORT_ONLY, LONG_ONLY = (Vehicle("skerry", models=(m,)) for m in ("short", "long"))


@pytest.mark.parametrize(
    ("then", "now", "short", "long"),
    [
        # what the recipe changed then and changes now, and what becomes of reports on a short and a long car
        ((LAMP_ON,), (LAMP_ON,), "counts", "counts"),
        ((LAMP_ON,), (LAMP_ON, TICK_SOFT), "earlier", "earlier"),
        ((LAMP_ON, TICK_SOFT), (LAMP_ON,), "earlier", "earlier"),
        ((LAMP_ON, TICK_SOFT), (TICK_SOFT, LAMP_ON), "earlier", "earlier"),
        # the wish moves to another module on some cars, as after a facelift
        (
            (LAMP_ON,), (replace(LAMP_ON, fits=SHORT_ONLY), replace(TICK_SOFT, fits=LONG_ONLY)),
            "counts", "earlier",
        ),
        # a second change, for long cars only
        ((LAMP_ON,), (LAMP_ON, replace(TICK_SOFT, fits=LONG_ONLY)), "counts", "earlier"),
        # a change moves from short cars to long ones
        (
            (LAMP_ON, replace(TICK_SOFT, fits=SHORT_ONLY)), (LAMP_ON, replace(TICK_SOFT, fits=LONG_ONLY)),
            "earlier", "earlier",
        ),
        # another value on some cars
        (
            (replace(LAMP_ON, fits=SHORT_ONLY), replace(LAMP_ON, before="on", to="off", fits=LONG_ONLY)),
            (replace(LAMP_ON, fits=LONG_ONLY), replace(LAMP_ON, before="on", to="off", fits=SHORT_ONLY)),
            "earlier", "earlier",
        ),
    ],
)  # fmt: skip
def test_changes_that_come_go_or_move_to_other_cars(then, now, short, long):
    past = past_of(replace(RECIPE, changes=then))
    recipe = replace(RECIPE, changes=now)
    got = weights(
        report("ann", code=past.sheet_code),
        report("bea", car=replace(SHORT, model="long"), code=past.sheet_code),
        past=[past], recipe=recipe,
    )  # fmt: skip
    assert got == {"ann": short, "bea": long}


def test_narrowing_what_the_recipe_fits_voids_no_evidence():
    past = past_of(replace(RECIPE, changes=(LAMP_ON, replace(TICK_SOFT, fits=LONG_ONLY))))
    recipe = replace(RECIPE, changes=(LAMP_ON, replace(TICK_SOFT, fits=LONG_ONLY)))
    for fits in (SHORT_ONLY, Any((SHORT_ONLY, Vehicle("skerry", phases=("2",))))):
        narrow = replace(recipe, fits=fits)
        assert weights(report(code=past.sheet_code), past=[past], recipe=narrow) == {"ann": "counts"}


def test_a_past_code_without_conditions_is_taken_at_its_work_codes():
    past = replace(past_of(replace(RECIPE, alone=True)), fits={})
    assert weights(report(code=past.sheet_code), past=[past]) == {"ann": "counts"}
    more = replace(past_of(replace(RECIPE, changes=(LAMP_ON, TICK_SOFT))), fits={})
    assert weights(report(code=more.sheet_code), past=[more]) == {"ann": "earlier"}


def test_files_count_by_their_own_code():
    media = Media(
        "panel", "A.BIN", "1", 1, "00" * 32, "maker", "", "FAT32", 1, None, ("Load",), 5, "About", ("0",), "1"
    )
    recipe = replace(RECIPE, changes=(), media=media)
    past, other = past_of(replace(recipe, alone=True)), past_of(replace(recipe, media=replace(media, size=2)))
    got = weights(
        report("ann", code=codes(recipe, MODULES, LINES).sheet), report("bea", code=past.sheet_code),
        report("cid", code=other.sheet_code), past=[past, other], recipe=recipe,
    )  # fmt: skip
    assert got == {"ann": "counts", "bea": "counts", "cid": "earlier"}
    both = past_of(replace(recipe, changes=(LAMP_ON,)))
    assert weights(report(code=both.sheet_code), past=[both]) == {"ann": "earlier"}  # no file any more


# ---- one member, one car, once ----


def test_the_later_of_two_reports_on_one_car_counts():
    evidence = weigh(
        report("ann", "worked", date="2026-01-01"), report("ann", "could-not-put-back", date="2026-02-01"),
        report("bea", "worked", date="2026-01-01"),
    )  # fmt: skip
    count = evidence.count(CELL)
    assert (count.worked, count.total, count.bad, count.members) == (1, 2, 1, 2)
    assert [one.weight for one in evidence.weighed if one.report.by == "ann"] == ["counts", "superseded"]


def test_on_one_day_the_later_file_name_counts():
    evidence = weigh(report("ann", "worked", id="a"), report("ann", "refused", id="b"))
    assert [r.outcome for r in evidence.count().reports] == ["refused"]


def test_an_earlier_sheet_supersedes_nothing():
    moved = replace(EARLY, places={"lamp": Place((Part(0, 1, 1),))})
    past = past_of(modules=with_layouts(moved, LATE))
    evidence = weigh(report(date="2026-01-01"), report(code=past.sheet_code, date="2026-02-01"), past=[past])
    assert [one.weight for one in evidence.weighed] == ["earlier", "counts"]


@pytest.mark.parametrize(
    ("new", "same"),
    [
        ({}, True),
        ({"software": {"living": "0400"}}, True),  # a workshop may have updated it
        ({"parts": {"living": "1"}}, True),
        ({"equipment": ("awning",)}, True),
        ({"without": ()}, True),
        ({"built": "2019-02"}, False),
        ({"market": "north"}, False),
        ({"built": None, "market": None}, True),
        ({"equipment": ("tow-bar",), "without": ()}, False),
        ({"model": "long"}, False),
        ({"phase": "2"}, False),
        ({"line": "other"}, False),
    ],
)
def test_same_car(new, same):
    car = replace(SHORT, built="2019-01", market="south")
    assert same_car(car, replace(car, **new)) is same_car(replace(car, **new), car) is same


def test_two_cars_of_one_member_count_twice_but_are_one_member():
    count = weigh(report("ann"), report("ann", car=TOWING, id="second")).count()
    assert (count.total, count.members, count.members_worked) == (2, 1, 1)
    assert count.words.startswith("2 of 2 cars that members reported on; ")


# ---- wording ----


def some(worked, refused):
    ok = [report(f"w{i}") for i in range(worked)]
    return Count((*ok, *(report(f"r{i}", "refused") for i in range(refused))))


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (some(7, 1), "7 of 8 members who reported; were they a fair sample, 53–98 %"),
        (some(0, 0), "nobody has reported"),
        (some(1, 0), "1 of 1 member who reported; were this a fair sample, 21–100 %"),
        (some(0, 2), "0 of 2 members who reported; were they a fair sample, 0–66 %"),
    ],
)
def test_words(count, words):
    assert count.words == words


def test_trouble_is_told_whatever_it_weighs():
    evidence = weigh(
        report("ann", "partly", note="Only at night."),
        report("bea", side_effects="The radio is silent."),
        report("cid"),
        report("dan", "could-not-put-back", date="2026-01-01"),
        report("dan", "worked", date="2026-02-01"),
        report("eve", "refused", code="00000001"),
    )
    assert {(one.report.by, one.weight): one.trouble for one in evidence.weighed} == {
        ("ann", "counts"): True,
        ("bea", "counts"): True,
        ("cid", "counts"): False,
        ("dan", "superseded"): True,
        ("dan", "counts"): False,
        ("eve", "mistyped"): True,
    }


@pytest.mark.parametrize(
    ("outcome", "worked", "bad", "trouble"),
    [
        ("worked", 1, 0, False), ("partly", 0, 0, True), ("no-effect", 0, 1, True), ("refused", 0, 1, True),
        ("put-back", 0, 0, True), ("could-not-put-back", 0, 1, True),
    ],
)  # fmt: skip
def test_outcomes(outcome, worked, bad, trouble):
    evidence = weigh(report("ann", outcome))
    count = evidence.count(CELL)
    assert (count.worked, count.bad, evidence.weighed[0].trouble) == (worked, bad, trouble)


def test_bad_news_raises_the_banner():
    assert reported_hazards(Count((report(),))) == () and banner(()) is None
    bad = Count((report("a", "partly"), report("b", "could-not-put-back"), report("c", side_effects="Hums.")))
    found = reported_hazards(bad)
    assert len(found) == 3 and banner(found) == "NOTICE"
    assert any("“Hums.”" in h.hazard for h in found)


def test_the_longest_time_in_use():
    lived = [
        report("a", in_use="P3M"), report("b", in_use="P100D"), report("c", "refused", in_use="P9Y"),
        report("d"),
    ]  # fmt: skip
    assert Count(tuple(lived)).longest_in_use == "P100D"
    assert Count((report(),)).longest_in_use is None
