"""The frame of a job and its state machine.

Every generated job of a legal recipe is accepted, no required operation can be left out or moved, and there
is one test for each illegal order an author can write.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from asfound.car.bits import Part, Place
from asfound.car.conditions import Vehicle
from asfound.car.origin import Origin
from asfound.car.records import Layout, Module, Record, SettingPath
from asfound.car.settings import Choice, Choices, Setting
from asfound.car.vehicles import Fitted, FittedPlace, Model, Phase, VehicleLine
from asfound.work.forms import forms
from asfound.work.frame import Job, frame, frame_of, minutes, place_names
from asfound.work.operations import Operation
from asfound.work.procedure import violations
from asfound.work.recipes import Ask, Change, Check, HistoryEntry, Media, Precheck, Recipe, Step

POWERS = ["key-off", "key-on", "engine-running"]
FILE = "changes/some/recipe.yml"


@dataclass(frozen=True)
class Times:
    faults: int = 3
    module: int = 2
    record: int = 5
    check: int = 1


def setting(raw: bool = True) -> Setting:
    kind = Choices(tuple(Choice(m, i if raw else None) for i, m in enumerate(("off", "on"))))
    return Setting("lamp", "Lamp", kind, ("comfort",), "club")


def record(id: str, access: bool = False, at_once: bool = False, names: bool = False) -> Record:
    layout = Layout("one", None, 2, {"lamp": Place((Part(1, 3, 3),))})
    return Record(
        id,
        id.capitalize(),
        (setting(not names),),
        () if names else (layout,),
        None if names else "0x3C21",
        names_only=names,
        access_code="ask the club" if access else None,
        takes_effect="at-once" if at_once else "after-restart",
    )


def module(id: str, *records: Record) -> Module:
    return Module(id, f"{id.capitalize()} controller", "Duty.", "Key off, count to ten.", 4, records, "0x3B")


def line(*fitted: Fitted) -> VehicleLine:
    phases = (Phase("1", "One", ("2019-01", None), "Look."),)
    return VehicleLine("skerry", "Skerry", "About.", phases, (Model("van", "Van", "Look."),), (), fitted)


def media(module: str) -> Media:
    return Media(
        module, "MAP.BIN", "2", 10, "0" * 64, "maker", "Ask.", "FAT32", 8, 32, ("Set-up", "Load"), 20,
        "Set-up > About", ("1",), "2",
    )  # fmt: skip


def recipe(changes=(), **more) -> Recipe:
    given_ = {
        "checks": (Check("Look at the lamp.", "It is lit.", "key-on", origin=Origin(FILE, ("checks", 0))),),
        "way_back": "automatic",
        **more,
    }
    return Recipe(
        "some", "Some", "tern", "Purpose.", "Annoyance.", Vehicle("skerry"), status="offered",
        history=(HistoryEntry("2026-01-01", "First."),), changes=tuple(changes), **given_,
    )  # fmt: skip


def change(module: str, record: str, place: str | None = None, to: str | Ask = "on") -> Change:
    return Change(SettingPath(module, record, "lamp"), "off", to, place, origin=Origin(FILE, ("changes", 0)))


def step(at: str, module: str | None = None, power: str | None = None) -> Step:
    return Step("Do it.", at, module, power, 1, origin=Origin(FILE, ("steps", 0)))


def job(one: Recipe, modules: list[Module], places: dict[str, tuple[str, ...]] | None = None):
    known = {m.id: m for m in modules}
    fitted = [
        Fitted(m.id, None, tuple(FittedPlace(p, f"{p} one", "0x51") for p in (places or {}).get(m.id, ())))
        for m in modules
    ]
    lines = {"skerry": line(*fitted)}
    (form,) = forms(one, known, lines)
    return frame(one, form, known, Times(), place_names(lines.values()))


@st.composite
def legal_jobs(draw):
    """The frame of a random recipe whose steps and checks stand where they may."""
    modules, changes, steps, places = [], [], [], {}
    power = st.sampled_from([None, *POWERS])
    in_session = st.sampled_from([None, "key-on"])
    for name in "abc"[: draw(st.integers(1, 3))]:
        records = [
            record(f"r{i}", draw(st.booleans()), draw(st.booleans()), draw(st.booleans()))
            for i in range(draw(st.integers(1, 2)))
        ]
        modules.append(module(name, *records))
        if draw(st.booleans()):
            places[name] = ("left", "right")
        changes += [change(name, r.id) for r in records]
        moments = {"opened": in_session, "written": power}
        if any(r.access_code for r in records):
            moments["unlocked"] = in_session
        if any(r.takes_effect == "after-restart" for r in records):
            moments["restarted"] = power
        for at, allowed in moments.items():
            steps += [step(at, name, draw(allowed)) for _ in range(draw(st.integers(0, 1)))]
    steps += [
        step(at, None, draw(power)) for at in draw(st.lists(st.sampled_from(["start", "noted", "end"])))
    ]
    more = {}
    if draw(st.booleans()):
        modules.append(module("m", record("r")))
        more["media"] = media("m")
        if draw(st.booleans()):
            changes.insert(0, change("m", "r"))
        steps += [step("written", "m", draw(power))] if draw(st.booleans()) else []
    before = [
        Precheck("Try.", "Good.", "Stop.", p) for p in draw(st.lists(st.sampled_from(POWERS), max_size=2))
    ]
    powers = draw(st.lists(st.sampled_from(POWERS), min_size=1, max_size=3))
    checks = tuple(Check("Look.", "Good.", p) for p in powers)
    changes = draw(st.permutations(changes))
    one = recipe(changes, steps=tuple(steps), before=tuple(before), checks=checks, ready=("A lamp",), **more)
    return job(one, modules, places)


FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(legal_jobs())
@FEW
def test_every_frame_of_a_legal_recipe_is_accepted(ops):
    assert violations(ops) == ()


REQUIRED = {
    "identify", "read-faults", "measure-voltage", "note", "note-version", "open", "unlock", "write",
    "load-file", "read-back", "read-version", "restart", "close", "key", "read-faults-last",
}  # fmt: skip


@given(legal_jobs())
@FEW
def test_no_required_operation_can_be_left_out(ops):
    for i, one in enumerate(ops):
        if one.kind in REQUIRED:
            assert violations(ops[:i] + ops[i + 1 :]), f"{one.kind} left out"


def test_a_job_without_any_check_is_refused():
    ops = [o for o in job(recipe([change("a", "r")]), [module("a", record("r"))]) if o.kind != "check"]
    assert [v.message for v in violations(ops)] == ["The job proves nothing."]


def first_and_second_reading(ops):
    """For each record the operations that read it back, in the job's order."""
    found = {}
    for one in ops:
        if one.kind == "read-back":
            found.setdefault(one.record, []).append(one)
    return found


def must_precede(ops) -> set[tuple[int, int]]:
    """An independent account of the order: pairs of positions whose first must stay before the second."""
    writing = {"write", "load-file"}
    before_all = {"read-faults", "measure-voltage", "precheck", "note", "note-version"}
    after_all = {"check", "read-faults-last"}
    work = {"open", "unlock", "write", "load-file", "read-back", "read-version", "restart", "close"}
    readings = first_and_second_reading(ops)
    pairs = set()
    for i, a in enumerate(ops):
        for j, b in enumerate(ops):
            same = a.unit == b.unit
            if (
                (a.kind == "identify" and b.kind in {"note", "note-version", "open"} and same)
                or (a.kind in before_all and b.kind in writing)
                or (a.kind == "note" and b.kind == "open")
                or (a.kind == "note-version" and b.kind == "load-file" and same)
                or (a.kind == "open" and b.kind in {"unlock", "write", "restart", "close"} and same)
                or (a.kind == "unlock" and b.kind == "write" and b.access and same)
                or (a.kind == "write" and b.kind == "read-back" and a.record == b.record)
                or (a.kind == "write" and b.kind in {"restart", "close"} and same)
                or (a.kind == "load-file" and b.kind == "read-version" and same)
                or (a.kind in {"read-version"} and b.kind == "open")
                or (a.kind in work and b.kind in after_all)
                or (a.kind == "check" and b.kind == "read-faults-last")
                or (b.kind == "read-faults-last" and a.kind not in {"read-faults-last", "key"})
            ):
                pairs.add((i, j))
            if (
                a.kind == "read-back"
                and b.kind in {"restart", "close"}
                and same
                and readings[a.record][0] is a
            ):
                pairs.add((i, j))
            if a.kind == "restart" and b.kind == "read-back" and same:
                if len(readings[b.record]) > 1 and readings[b.record][1] is b:
                    pairs.add((i, j))
            if a.kind in {"restart", "close"} and b.kind == "open" and not same and i < j:
                pairs.add((i, j))
    return pairs


@given(legal_jobs())
@settings(parent=FEW, max_examples=15)
def test_no_required_operation_can_be_moved(ops):
    pairs = must_precede(ops)
    assert all(i < j for i, j in pairs), "the generated job itself keeps this order"
    for i, j in pairs:
        swapped = list(ops)
        swapped[i], swapped[j] = swapped[j], swapped[i]
        if swapped != list(ops):
            assert violations(swapped), f"{ops[i].kind} and {ops[j].kind} swapped"


@given(legal_jobs())
@FEW
def test_what_may_be_swapped_is_not_refused(ops):
    for kind in ("identify", "note", "have-ready", "precheck"):
        for i in range(len(ops) - 1):
            if ops[i].kind == ops[i + 1].kind == kind:
                swapped = [*ops[:i], ops[i + 1], ops[i], *ops[i + 2 :]]
                assert not violations(swapped) or ops[i].power != ops[i + 1].power


# One test for each illegal order an author can write


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (step("unlocked", "a"), "never unlocks"),
        (step("opened", "zzz"), "never opens"),
        (step("unlocked", "zzz"), "never unlocks"),
        (step("written", "zzz"), "never writes"),
        (step("restarted", "zzz"), "never restarts"),
        (step("restarted", "b"), "never restarts"),
        (step("opened", "a", "engine-running"), "turns the key while a is open"),
        (step("opened", "a", "key-off"), "turns the key while a is open"),
        (step("unlocked", "c", "key-off"), "turns the key while c is open"),
        (step("unlocked", "c", "engine-running"), "turns the key while c is open"),
        (step("opened", "m"), "never opens"),
        (step("restarted", "m"), "never restarts"),
    ],
)
def test_steps_that_cannot_be_done_there(bad, says):
    modules = [
        module("a", record("r")),
        module("b", record("r", at_once=True)),
        module("c", record("r", access=True)),
        module("m", record("r")),
    ]
    one = recipe([change(m, "r") for m in "abc"], steps=(bad,), media=media("m"))
    found = violations(job(one, modules))
    assert len(found) == 1
    assert says in found[0].message
    assert found[0].origin == Origin(FILE, ("steps", 0))
    assert found[0].repair


def good() -> tuple[Operation, ...]:
    modules = [
        module("a", record("r", access=True)),
        module("b", record("r", at_once=True)),
        module("m", record("r")),
    ]
    one = recipe(
        [change("a", "r"), change("b", "r")],
        media=media("m"),
        before=(Precheck("Try.", "Good.", "Stop.", "key-on"),),
        steps=(step("start"), step("noted"), step("end"), step("written", "a")),
        ready=("A lamp",),
    )
    return job(one, modules)


def moved(ops, kind, to, which=0, module=None):
    """The job with one operation of a kind moved before the first one of another kind, or to the end."""
    ops = list(ops)
    at = [i for i, o in enumerate(ops) if o.kind == kind and module in (None, o.module)][which]
    one = ops.pop(at)
    target = len(ops) if to == "end" else next(i for i, o in enumerate(ops) if o.kind == to)
    ops.insert(target, one)
    return ops


@pytest.mark.parametrize(
    ("ops", "says"),
    [
        (moved(good(), "write", "note"), "not open"),
        (moved(good(), "write", "unlock"), "unlocked before"),
        (moved(good(), "note", "end"), "Not noted yet: a/r"),
        (moved(good(), "precheck", "check"), "A precheck comes before anything is written"),
        (moved(good(), "read-faults", "check"), "The faults are read before"),
        (moved(good(), "measure-voltage", "check"), "The voltage is measured before"),
        (moved(good(), "check", "open"), "A check comes too early"),
        (moved(good(), "restart", "open"), "before anything was written"),
        (moved(good(), "restart", "read-back"), "written but not read back"),
        (moved(good(), "close", "open"), "left although it is not open"),
        (moved(good(), "open", "close", module="a"), "not open"),
        (moved(good(), "read-faults-last", "check"), "must come last"),
        (moved(good(), "load-file", "note-version"), "version shown must be noted"),
        (moved(good(), "read-version", "load-file"), "before the file was loaded"),
        (moved(good(), "read-version", "close"), "loaded version has not been read"),
        (moved(good(), "have-ready", "check"), "What must be ready"),
        (moved(good(), "step", "check", 0), "start comes before"),
        (moved(good(), "step", "check", 1), "between the noting and the writing"),
        (moved(good(), "step", "open", 2), "after a is written"),
        (moved(good(), "step", "open", 3), "A step at the end comes too early"),
        (moved(good(), "identify", "check", module="a"), "must be identified"),
    ],
)
def test_illegal_orders_are_named(ops, says):
    assert any(says in v.message for v in violations(ops)), [v.message for v in violations(ops)]
    assert all("\n" not in v.message + v.repair and v.repair for v in violations(ops))


def test_a_record_written_twice_is_refused():
    ops = list(good())
    at = next(i for i, o in enumerate(ops) if o.kind == "write")
    assert any("written twice" in v.message for v in violations([*ops[:at], ops[at], *ops[at:]]))


def test_two_modules_open_at_once_are_refused():
    ops = [o for o in good() if o.kind not in ("restart", "close")]
    assert any("still open" in v.message for v in violations(ops))


def test_a_needed_power_state_must_be_brought_about():
    ops = list(good())
    at = next(i for i, o in enumerate(ops) if o.kind == "note")
    ops[at] = replace(ops[at], power="engine-running")
    assert any("the engine running" in v.message for v in violations(ops))


def test_an_empty_job_is_refused():
    assert violations([])
    assert any(
        "writes nothing" in v.message for v in violations([o for o in good() if o.kind == "read-faults"])
    )


# The frame itself


def kinds(ops) -> list[str]:
    return [o.kind for o in ops]


def test_the_frame_in_order():
    assert kinds(good()) == [
        "have-ready", "have-ready", "have-ready", "have-ready", "have-ready", "step",
        "key", "identify", "identify", "identify", "read-faults", "measure-voltage", "precheck", "precheck",
        "note", "note", "note-version", "step", "load-file", "read-version",
        "open", "unlock", "write", "read-back", "step", "restart", "key", "read-back",
        "open", "write", "read-back", "close",
        "check", "step", "read-faults-last",
    ]  # fmt: skip


def test_a_place_that_lines_call_or_address_differently_bears_all_names_and_addresses():
    def fitted(*places: FittedPlace) -> VehicleLine:
        return line(Fitted("a", None, places))

    left = FittedPlace("left", "left step", "0x51")
    lines = [
        fitted(left, FittedPlace("right", "right step")),
        fitted(replace(left, address="0x61")),
        fitted(left),
    ]
    assert place_names(lines) == {
        ("a", "left"): ("left step", "0x51 or 0x61"),
        ("a", "right"): ("right step", None),
    }
    lines.append(fitted(FittedPlace("left", "near-side step")))
    assert place_names(lines)["a", "left"] == ("left step or near-side step", "0x51 or 0x61")


def test_every_module_is_visited_once_and_each_place_on_its_own():
    modules = [module("a", record("r"), record("s")), module("b", record("r"))]
    changes = [change("a", "r"), change("b", "r"), change("a", "s")]
    ops = job(recipe(changes), modules, {"b": ("left", "right")})
    assert [o.unit for o in ops if o.kind == "open"] == [("a", None), ("b", "left"), ("b", "right")]
    assert [str(o.record) for o in ops if o.kind == "note"] == ["a/r", "a/s", "b@left/r", "b@right/r"]
    assert any("B controller (left one), diagnostic address 0x51" in o.text for o in ops)
    one_side = job(recipe([change("b", "r", "left")]), [modules[1]], {"b": ("left", "right")})
    assert [str(o.record) for o in one_side if o.kind == "note"] == ["b@left/r"]


def test_records_with_codes_of_their_own_are_each_written_under_theirs():
    codes = {"r": "A1B2", "s": None, "t": "A1B2", "u": "C3D4"}
    records = [replace(record(id), access_code=code) for id, code in codes.items()]
    ops = job(recipe([change("a", id) for id in codes]), [module("a", *records)])
    assert violations(ops) == ()
    done = [
        o.text.split()[-1] if o.kind == "unlock" else str(o.record)
        for o in ops
        if o.kind in ("unlock", "write")
    ]
    assert done == ["A1B2.", "a/r", "a/s", "a/t", "C3D4.", "a/u"]


def test_minutes_and_minutes_with_the_key_on():
    one = recipe(
        [change("a", "r")],
        steps=(step("start"), step("written", "a")),
        checks=(Check("Look.", "Lit.", "engine-running"), Check("Look.", "Lit.", "key-on")),
    )
    ops = job(one, [module("a", record("r"))])
    # faults twice 3, voltage 1, module 2, record 5, restart 4, two checks 1, two steps 1
    assert minutes(ops) == (3 + 3 + 1 + 2 + 5 + 4 + 2 + 2, 3 + 3 + 1 + 2 + 5 + 1 + 1)


def test_sentences_leave_nothing_to_guess():
    (note,) = [o for o in job(recipe([change("a", "r")]), [module("a", record("r"))]) if o.kind == "note"]
    assert note.text == "Read record R (identifier 0x3C21) of A controller and note all 2 bytes."
    assert note.expect == "Lamp: off."
    names = job(recipe([change("a", "r")]), [module("a", record("r", names=True))])
    (write,) = [o for o in names if o.kind == "write"]
    assert write.text == "In record R of A controller, set Lamp to “on”."


@given(legal_jobs())
@FEW
def test_every_operation_says_what_to_do(ops):
    for one in ops:
        assert (
            one.text and one.text == one.text.strip() and "None" not in one.text + one.expect + one.otherwise
        )
        assert "\n" not in one.text


def test_two_recipes_make_one_job():
    known = {m.id: m for m in [module("a", record("r"), record("s")), module("b", record("r"))]}
    lines = {"skerry": line(Fitted("a"), Fitted("b"))}
    first = recipe([change("a", "r"), change("b", "r")])
    second = replace(recipe([change("a", "s"), change("a", "r")]), id="other")
    jobs = [Job(r, forms(r, known, lines)[0]) for r in (first, second)]
    ops = frame_of(jobs, known, Times())
    assert violations(ops) == ()
    assert [str(o.record) for o in ops if o.kind == "write"] == ["a/r", "a/s", "b/r"]
    assert [o.module for o in ops if o.kind == "restart"] == ["a", "b"]
    assert [o.recipe for o in ops if o.kind == "check"] == ["some", "other"]


def test_a_chosen_value_stands_in_the_sentence():
    known = {"a": module("a", record("r", names=True))}
    lines = {"skerry": line(Fitted("a"))}
    one = recipe([change("a", "r", to=Ask("Which?", "on"))])
    ops = frame(
        one, forms(one, known, lines)[0], known, Times(), choose={SettingPath("a", "r", "lamp"): "off"}
    )
    assert any("set Lamp to “off”" in o.text for o in ops)
