"""Worked examples: they come out, and every flipped bit is found and named."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.bits import Part, Place, hex_pairs
from asfound.car.checksums import Checksum
from asfound.car.conditions import All, Not, Vehicle
from asfound.car.records import Layout, Module, Record, RecordPath, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Number, Setting
from asfound.car.vehicles import Fitted, Model, Phase, VehicleLine
from asfound.work.edits import touched
from asfound.work.examples import run_example
from asfound.work.forms import forms
from asfound.work.recipes import Alternative, Ask, Change, Check, HistoryEntry, Recipe, WorkedExample

LAMP = Setting("lamp", "Lamp", Choices((Choice("off", 0), Choice("on", 1), Choice("timed", 2))), (), "club")
VOLTS = Setting(
    "volts", "Volts", Number(Fraction("0.05"), Fraction(0), "V", Fraction(0), Fraction(15), False), (), "club"
)
PLACES = {"lamp": Place((Part(4, 2, 3),)), "volts": Place((Part(5), Part(6, 4, 7)))}
SUM = Checksum("crc8-j1850", 0, 6, 7)
PLAIN, SEALED = Layout("plain", None, 8, PLACES), Layout("sealed", None, 8, PLACES, SUM)
NAMES = Record(
    "names",
    "Names",
    (
        Setting("lamp", "Lamp", Choices((Choice("off", None), Choice("on", None))), (), "club"),
        Setting("step", "Step", Choices((Choice("in", None), Choice("out", None))), (), "club"),
    ),
    names_only=True,
)
COUNT = Record(
    "count",
    "Count",
    (
        Setting(
            "all",
            "All",
            Number(Fraction(1), Fraction(0), "mm", Fraction(0), Fraction(9999), False),
            (),
            "club",
        ),
    ),
    (Layout("only", None, 2, {"all": Place((Part(1), Part(0)))}),),
    "0x1234",
    ShownAsNumber(2, "little"),
)
BYTES = Record("rec", "Rec", (LAMP, VOLTS), (PLAIN, SEALED), "0x3C21")
MODULES = {"box": Module("box", "Box", "Duty.", "Key off.", 1, (BYTES, NAMES, COUNT))}


def change(record: str, id: str, before: str | None, to: str | Ask, fits=None) -> Change:
    return Change(SettingPath("box", record, id), before, to, fits=fits)


LAMP_ON = change("rec", "lamp", "off", "on")
VOLTS_DOWN = change("rec", "volts", None, "11.4")  # 228: 0E 4.


def recipe(*changes: Change, alternatives=()) -> Recipe:
    checks = (Check("Look.", "Lit.", "key-on"),)
    history = (HistoryEntry("2026-01-01", "First."),)
    return Recipe(
        "some", "Some", "tern", "Purpose.", "Annoyance.", Vehicle("skerry"), checks, "automatic", "offered",
        history, changes, alternatives=alternatives,
    )  # fmt: skip


def example(
    found: str, write: str, layout: str | None = "plain", record: str = "rec", **choose: str
) -> WorkedExample:
    chosen = tuple((SettingPath("box", record, id), words) for id, words in choose.items())
    return WorkedExample(RecordPath("box", record), layout, found, write, "made-up", chosen)


FOUND = "01 02 03 04 A2 11 1F 00"
WRITE = "01 02 03 04 A6 0E 4F 00"  # by hand: A2 | 04; 228 = 0E 4 in bytes 5 and 6 above


def sealed(text: str) -> str:
    return hex_pairs(SUM.applied(bytes.fromhex(text)))


def test_an_example_worked_by_hand():
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), example(FOUND, WRITE), MODULES)
    assert got.ok and got.got == WRITE and got.message == "" and got.differing == ()
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), example(sealed(FOUND), sealed(WRITE), "sealed"), MODULES)
    assert got.ok, got.message


@pytest.mark.parametrize("layout", ["plain", "sealed"])
@pytest.mark.parametrize("byte", range(8))
@pytest.mark.parametrize("bit", range(8))
def test_every_flipped_bit_is_named(layout, byte, bit):
    """Any bit of write, and any bit of found outside the mask."""
    found, write = (FOUND, WRITE) if layout == "plain" else (sealed(FOUND), sealed(WRITE))
    one = recipe(LAMP_ON, VOLTS_DOWN)
    edit = run_example(one, example(found, write, layout), MODULES).edit
    flipped = bytearray.fromhex(write)
    flipped[byte] ^= 1 << bit
    got = run_example(one, example(found, hex_pairs(bytes(flipped)), layout), MODULES)
    assert not got.ok
    now, right = flipped[byte], bytes.fromhex(write)[byte]
    checksum = layout == "sealed" and byte == 7
    where = f"checksum in byte {byte}" if checksum else f"byte {byte} bit {bit}"
    told = (f"{now:02X}", f"{right:02X}") if checksum else (now >> bit & 1, right >> bit & 1)
    assert got.differing == (f"{where}: {told[0]} in the example, {told[1]} worked out",)
    assert where in got.message and got.repair and "\n" not in got.message
    if not edit.mask[byte] >> bit & 1:
        flipped = bytearray.fromhex(found)
        flipped[byte] ^= 1 << bit
        got = run_example(one, example(hex_pairs(bytes(flipped)), write, layout), MODULES)
        assert not got.ok
        assert ("The checksum is" if checksum else where) in got.message
        assert touched(edit)[byte] >> bit & 1 or f"No change touches byte {byte} bit {bit}" in got.message


@given(st.binary(min_size=8, max_size=8), st.integers(0, 63))
def test_random_records_and_flips(held, at):
    """Whatever the record holds elsewhere, the right example passes and one wrong bit fails."""
    byte, bit = divmod(at, 8)
    found = bytearray(held)
    found[4] &= 0b11110011
    found[5], found[6] = 0, found[6] & 15
    write = bytearray(found)
    write[4] |= 4
    write[5], write[6] = 0x0E, 0x40 | found[6]
    one = recipe(LAMP_ON, VOLTS_DOWN)
    assert run_example(one, example(hex_pairs(bytes(found)), hex_pairs(bytes(write))), MODULES).ok
    write[byte] ^= 1 << bit
    got = run_example(one, example(hex_pairs(bytes(found)), hex_pairs(bytes(write))), MODULES)
    assert not got.ok and f"byte {byte} bit {bit}" in got.message


@pytest.mark.parametrize(
    ("found", "says"),
    [
        ("01 02 03 04 A6 0E 4F 00", "already done"),
        ("01 02 03 04 AE 11 1F 00", "'3', which has no known meaning"),
        ("01 02 03 04 AA 11 1F 00", "'Lamp' holds 'timed'"),
        ("01 02 03 04 A2 FF 1F 00", "which has no known meaning"),
    ],
)
def test_a_record_as_found_in_a_wrong_state(found, says):
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), example(found, WRITE), MODULES)
    assert not got.ok and says in got.message


def test_another_offered_value_and_one_change_already_done_are_no_faults():
    timed = "01 02 03 04 AA 11 1F 00"
    offered = (Alternative(SettingPath("box", "rec", "lamp"), "timed", "Ten minutes."),)
    assert run_example(recipe(LAMP_ON, VOLTS_DOWN, alternatives=offered), example(timed, WRITE), MODULES).ok
    half = "01 02 03 04 A6 11 1F 00"
    assert run_example(recipe(LAMP_ON, VOLTS_DOWN), example(half, WRITE), MODULES).ok


def test_an_asked_value_is_chosen():
    asked = change("rec", "volts", None, Ask("Which?", "11.4"))
    assert run_example(recipe(asked), example(FOUND, "01 02 03 04 A2 0E 4F 00"), MODULES).ok
    chosen = example(FOUND, "01 02 03 04 A2 0F 0F 00", volts="12")
    assert run_example(recipe(asked), chosen, MODULES).ok
    got = run_example(recipe(LAMP_ON), example(FOUND, WRITE, lamp="on"), MODULES)
    assert not got.ok and "not asked" in got.message
    got = run_example(recipe(asked), example(FOUND, WRITE, volts="99"), MODULES)
    assert not got.ok and "limits" in got.message


def test_a_made_up_record_is_told_with_its_checksum_right_and_a_read_one_is_not():
    """What was read on a car is read again; only what nobody read may be put right on paper."""
    wrong = example(FOUND, sealed(WRITE), "sealed")
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), wrong, MODULES)
    assert got.repair == f"Correct 'found'; if the other bytes are as you mean them, write {sealed(FOUND)}."
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), replace(wrong, read_on="tern-2026-01"), MODULES)
    assert not got.ok and sealed(FOUND) not in got.repair


def test_a_wrong_checksum_as_found():
    found = sealed(FOUND)[:-2] + "00"
    got = run_example(recipe(LAMP_ON, VOLTS_DOWN), example(found, sealed(WRITE), "sealed"), MODULES)
    assert not got.ok and "give 56" in got.message and not got.differing


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (example("01", WRITE), "'found'"),
        (example(FOUND, "zz"), "'write'"),
        (example(FOUND, WRITE, "zzz"), "no layout 'zzz'"),
        (example(FOUND, WRITE, None), "which layout"),
        (example(FOUND, WRITE, "plain", "zzz"), "no record"),
        (example("on", "off", "plain", "names"), "only names"),
        (example("on", "off", None, "names"), "changes nothing"),
    ],
)
def test_examples_that_cannot_be_run(bad, says):
    got = run_example(recipe(LAMP_ON), bad, MODULES)
    assert not got.ok and says in got.message and got.repair


def test_a_record_shown_as_a_number():
    one = recipe(change("count", "all", "2010", "2050"))
    assert run_example(one, example("2010", "2050", "only", "count"), MODULES).ok
    got = run_example(one, example("2010", "2051", "only", "count"), MODULES)
    assert not got.ok and got.got == "2050"
    assert got.differing == ("byte 0 bit 0: 1 in the example, 0 worked out",)
    assert "'found'" in run_example(one, example("DA 07", "2050", "only", "count"), MODULES).message


def test_names():
    one = recipe(change("names", "lamp", "off", "on"))
    assert run_example(one, example("off", "on", None, "names"), MODULES).ok
    got = run_example(one, example("off", "off", None, "names"), MODULES)
    assert not got.ok and got.differing == ("lamp: 'off' in the example, 'on' worked out",)
    assert "already done" in run_example(one, example("on", "on", None, "names"), MODULES).message
    assert "no known meaning" in run_example(one, example("dim", "on", None, "names"), MODULES).message
    two = recipe(change("names", "lamp", "off", "on"), change("names", "step", None, "out"))
    assert run_example(two, example("lamp: off; step: in", "lamp: on; step: out", None, "names"), MODULES).ok
    got = run_example(two, example("lamp: off; step: in", "lamp: on; step: in", None, "names"), MODULES)
    assert got.differing == ("step: 'in' in the example, 'out' worked out",)
    assert not run_example(two, example("off", "lamp: on; step: in", None, "names"), MODULES).ok


def test_with_forms_an_example_may_show_what_any_car_gets():
    early = Vehicle("skerry", phases=("1",))
    phases = tuple(Phase(p, p, (None, None), "Look.") for p in ("1", "2"))
    lines = {
        "skerry": VehicleLine("skerry", "S", "A.", phases, (Model("v", "V", "L."),), (), (Fitted("box"),))
    }
    layouts = (
        Layout("plain", early, 8, PLACES),
        Layout("late", All((Vehicle("skerry"), Not(early))), 8, PLACES),
    )
    modules = {
        "box": Module("box", "B", "D.", "K.", 1, (Record("rec", "Rec", (LAMP, VOLTS), layouts, "0x3C21"),))
    }
    one = recipe(LAMP_ON, change("rec", "volts", None, "11.4", early))
    found = forms(one, modules, lines)
    assert len(found) == 2
    only_lamp = "01 02 03 04 A6 11 1F 00"
    assert run_example(one, example(FOUND, WRITE, "plain"), modules, found).ok
    assert run_example(one, example(FOUND, only_lamp, "late"), modules, found).ok
    assert not run_example(one, example(FOUND, only_lamp, "plain"), modules, found).ok
    assert not run_example(one, example(FOUND, WRITE, "late"), modules, found).ok
    clash = recipe(LAMP_ON, change("rec", "lamp", "off", "timed"))
    got = run_example(clash, example(FOUND, WRITE), MODULES)
    assert not got.ok and "share byte 4 bit 3" in got.message
