"""Which forms a job takes, which records and layouts it reaches, and which cars are left over."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.car.bits import Part, Place
from asfound.car.conditions import All, Any, Equipped, Holds, Not, Software, Vehicle
from asfound.car.fitting import truth
from asfound.car.known import Known
from asfound.car.records import Layout, Module, Record, RecordPath, SettingPath
from asfound.car.settings import Choice, Choices, Setting
from asfound.car.vehicles import Equipment, Fitted, FittedPlace, Model, Phase, VehicleLine
from asfound.work.forms import forms, reached, variants
from asfound.work.recipes import Change, Check, HistoryEntry, Media, Recipe

LAMP = Setting("lamp", "Lamp", Choices((Choice("off", 0), Choice("on", 1))), ("comfort",), "club")
SKERRY, HOLM = Vehicle("skerry"), Vehicle("holm")
BAR, AWNING = Equipped("tow-bar"), Equipped("awning")


def layout(id: str, fits=None) -> Layout:
    return Layout(id, fits, 2, {"lamp": Place((Part(0, 0, 0),))})


def module(id: str, *layouts: Layout, records=("r",), names: bool = False) -> Module:
    made = tuple(
        Record(r, r, (LAMP,), () if names else layouts or (layout("only"),), names_only=names)
        for r in records
    )
    return Module(id, id, "Duty.", "Key off.", 1, made)


def line(id: str, *fitted: Fitted) -> VehicleLine:
    phases = tuple(Phase(p, p, (None, None), "Look.") for p in ("1", "2"))
    equipment = tuple(Equipment(e, e, "Look.") for e in ("tow-bar", "awning"))
    return VehicleLine(id, id, "About.", phases, (Model("van", "Van", "Look."),), equipment, fitted)


def change(module: str, record: str = "r", fits=None, place: str | None = None, to: str = "on") -> Change:
    return Change(SettingPath(module, record, "lamp"), None, to, place, fits)


def recipe(fits, *changes: Change, media: Media | None = None) -> Recipe:
    return Recipe(
        "some", "Some", "tern", "Purpose.", "Annoyance.", fits, (Check("Look.", "Lit.", "key-on"),),
        "automatic", "offered", (HistoryEntry("2026-01-01", "First."),), changes, media,
    )  # fmt: skip


def run(one: Recipe, modules: list[Module], *lines: VehicleLine):
    return forms(one, {m.id: m for m in modules}, {x.id: x for x in lines})


def shape(found) -> list[list[tuple[str, list[str], int]]]:
    return [
        [(str(r.path), [x.id for x in r.layouts], len(r.changes)) for r in form.records] for form in found
    ]


def test_a_plain_recipe_has_one_form_with_its_own_condition():
    one = recipe(All((SKERRY, AWNING)), change("a"))
    found = run(one, [module("a")], line("skerry", Fitted("a")), line("holm", Fitted("a")))
    assert shape(found) == [[("a/r", ["only"], 1)]]
    assert found[0].condition == one.fits
    assert found[0].changes == one.changes


def test_a_wish_that_moves_to_another_module_has_two_forms():
    phase2 = Vehicle("skerry", phases=("2",))
    one = recipe(SKERRY, change("a", fits=Not(phase2)), change("b", fits=phase2))
    found = run(one, [module("a"), module("b")], line("skerry", Fitted("a"), Fitted("b")))
    assert shape(found) == [[("a/r", ["only"], 1)], [("b/r", ["only"], 1)]]
    lines = {"skerry": line("skerry")}
    for phase, form in (("1", found[0]), ("2", found[1])):
        car = Known.of_variant("skerry", "van", phase)
        assert [truth(f.condition, car, lines) for f in found] == [f is form for f in found]


def test_forms_that_do_the_same_are_one():
    one = recipe(Any((SKERRY, HOLM)), change("a"))
    early, late = layout("early", SKERRY), layout("late", HOLM)
    found = run(one, [module("a", early, late)], line("skerry", Fitted("a")), line("holm", Fitted("a")))
    assert shape(found) == [[("a/r", ["early", "late"], 1)]]


def test_only_layouts_some_fitting_car_can_have_are_reached():
    layouts = [layout("bar", BAR), layout("plain", Not(BAR)), layout("other", HOLM)]
    one = recipe(All((SKERRY, Not(BAR))), change("a"))
    found = run(one, [module("a", *layouts)], line("skerry", Fitted("a")), line("holm", Fitted("a")))
    assert shape(found) == [[("a/r", ["plain"], 1)]]


def test_a_layout_told_by_the_record_itself_or_by_software():
    layouts = [layout("three", Holds("a/r", 0, 3)), layout("else", Not(Holds("a/r", 0, 3)))]
    found = run(recipe(SKERRY, change("a")), [module("a", *layouts)], line("skerry", Fitted("a")))
    assert shape(found) == [[("a/r", ["three", "else"], 1)]]
    layouts = [layout("old", Software("a", "<0300")), layout("new", Software("a", ">=0300"))]
    one = recipe(All((SKERRY, Software("a", ">=0400"))), change("a"))
    assert shape(run(one, [module("a", *layouts)], line("skerry", Fitted("a")))) == [[("a/r", ["new"], 1)]]


def test_a_module_fitted_twice_gives_one_record_for_each_place():
    places = (FittedPlace("left", "left step"), FittedPlace("right", "right step"))
    one = recipe(SKERRY, change("a", "r"), change("a", "s", place="right"))
    found = run(one, [module("a", records=("r", "s"))], line("skerry", Fitted("a", None, places)))
    assert shape(found) == [
        [("a@left/r", ["only"], 1), ("a@right/r", ["only"], 1), ("a@right/s", ["only"], 1)]
    ]


def test_a_module_fitted_in_other_places_on_other_cars():
    two = (FittedPlace("left", "left"), FittedPlace("right", "right"))
    fitted = (Fitted("a", Not(BAR)), Fitted("a", BAR, two))
    found = run(recipe(SKERRY, change("a")), [module("a")], line("skerry", *fitted))
    assert shape(found) == [[("a/r", ["only"], 1)], [("a@left/r", ["only"], 1), ("a@right/r", ["only"], 1)]]


def test_a_recipe_that_only_loads_a_file_has_a_form_without_records():
    file = Media(
        "m",
        "MAP.BIN",
        "2",
        10,
        "0" * 64,
        "maker",
        "Ask.",
        "FAT32",
        8,
        None,
        ("Load",),
        20,
        "About",
        ("1",),
        "2",
    )
    found = run(recipe(SKERRY, media=file), [module("m")], line("skerry", Fitted("m")))
    assert shape(found) == [[]]
    assert run(recipe(SKERRY, media=file), [module("m")], line("skerry")) == ()


def test_unknown_modules_records_and_places_are_passed_over():
    lines = line("skerry", Fitted("a"))
    assert run(recipe(SKERRY, change("zzz")), [module("a")], lines) == ()
    assert run(recipe(SKERRY, change("a", "zzz")), [module("a")], lines) == ()
    assert run(recipe(SKERRY, change("a", place="left")), [module("a")], lines) == ()
    assert shape(run(recipe(SKERRY, change("a"), change("zzz")), [module("a")], lines)) == [
        [("a/r", ["only"], 1)]
    ]


def test_reached_names_each_record_and_layout_once():
    places = (FittedPlace("left", "left"), FittedPlace("right", "right"))
    layouts = (layout("bar", BAR), layout("plain", Not(BAR)))
    modules = {"a": module("a", *layouts), "n": module("n", names=True)}
    lines = {"skerry": line("skerry", Fitted("a", None, places), Fitted("n"))}
    one = recipe(SKERRY, change("a"), change("n"))
    found = [(str(path), x and x.id) for path, x in reached(forms(one, modules, lines))]
    assert found == [("a/r", "bar"), ("a/r", "plain"), ("n/r", None)]


def test_variants_are_the_sets_of_changes_a_layout_can_get():
    both, only_bar = change("a"), change("a", "s", fits=BAR)
    layouts = (layout("bar", BAR), layout("plain", Not(BAR)))
    one = recipe(SKERRY, both, only_bar, change("a", to="off", fits=BAR))
    found = run(one, [module("a", *layouts, records=("r", "s"))], line("skerry", Fitted("a")))
    assert variants(found, RecordPath("a", "r"), "plain") == ((both,),)
    assert variants(found, RecordPath("a", "r"), "bar") == ((both, one.changes[2]),)
    assert variants(found, RecordPath("a", "s"), "plain") == ()
    assert variants(found, RecordPath("a", "r"), "zzz") == ()


LEAVES = [BAR, AWNING, Vehicle("skerry", phases=("1",)), Vehicle("skerry", phases=("2",))]


@given(
    st.lists(st.tuples(st.sampled_from([None, *LEAVES]), st.booleans()), min_size=1, max_size=4),
    st.sampled_from(LEAVES),
)
@settings(max_examples=60, deadline=None)
def test_against_every_car(items, fits):
    """Brute force: each car that fits has exactly the form with the changes and layouts it should have."""
    changes = [
        change("a", f"r{i}", Not(leaf) if negated and leaf else leaf)
        for i, (leaf, negated) in enumerate(items)
    ]
    layouts = (layout("bar", BAR), layout("plain", Not(BAR)))
    modules = {"a": module("a", *layouts, records=tuple(f"r{i}" for i in range(len(items))))}
    lines = {"skerry": line("skerry", Fitted("a"))}
    one = recipe(All((SKERRY, fits)), *changes)
    found = forms(one, modules, lines)
    for phase, bar, awning in product(("1", "2"), (True, False), (True, False)):
        car = Known(
            frozenset(("skerry",)), frozenset(("van",)), frozenset((phase,)), None, None,
            {"tow-bar": bar, "awning": awning},
        )  # fmt: skip
        if not truth(one.fits, car, lines):
            assert not any(truth(f.condition, car, lines) for f in found)
            continue
        mine = tuple(c for c in changes if c.fits is None or truth(c.fits, car, lines))
        having = [f for f in found if truth(f.condition, car, lines)]
        assert [f.changes for f in having] == ([mine] if mine else [])
        for form in having:
            for record in form.records:
                assert ("bar" if bar else "plain") in [x.id for x in record.layouts]
    assert len({f.changes for f in found}) == len(found)


@pytest.mark.parametrize("count", [12])
def test_many_conditional_changes_stay_quick(count):
    """Only combinations some car can have are followed up, not all 2^n."""
    phases = tuple(Phase(str(p), str(p), (None, None), "Look.") for p in range(count))
    one_line = VehicleLine(
        "skerry", "Skerry", "About.", phases, (Model("van", "Van", "Look."),), (), (Fitted("a"),)
    )
    changes = [change("a", f"r{i}", Vehicle("skerry", phases=(str(i),))) for i in range(count)]
    modules = {"a": module("a", records=tuple(f"r{i}" for i in range(count)))}
    assert len(forms(recipe(SKERRY, *changes), modules, {"skerry": one_line})) == count
