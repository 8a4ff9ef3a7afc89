"""Plans: what is merged, what is refused, what must be known, and what the battery gives."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.car.conditions import Software
from asfound.car.known import Known
from asfound.car.records import RecordPath, SettingPath
from asfound.car.vehicles import Power
from asfound.source.loader import load
from asfound.work.compiled import Edit, compile_edit
from asfound.work.edits import write
from asfound.work.operations import minutes
from asfound.work.plan import Charge, Plan, charge_of, plan, worst
from asfound.work.procedure import violations

CLUB = Path(__file__).parents[1] / "vectors" / "club"
VAN = Known.of_variant("knot", "van", "1")
BUS = Known(
    frozenset(("knot",)),
    frozenset(("bus",)),
    frozenset(("2",)),
    equipment={"hook": True, "screen": True},
    software={"lamps": "0210"},
    records={"doors/catch": bytes.fromhex("010000")},
)
BAY, OUTSIDE, CATCH = (RecordPath.parse(p) for p in ("lamps/bay", "lamps/outside", "doors/catch"))


@cache
def book() -> Book:
    return Book(load(CLUB))


def planned(*asked: str, known: Known = BUS, **choose: str) -> Plan:
    chosen = {SettingPath.parse(f"lamps/bay/{name}"): words for name, words in choose.items()}
    return plan(asked, book().shop, known, chosen)


def kinds(one: Plan) -> list[str]:
    return [trouble.kind for trouble in one.troubles]


def test_needs_are_pulled_in_first_and_named() -> None:
    one = planned("strip-with-door")
    assert [job.recipe.id for job in one.jobs] == ["bay-time", "strip-with-door"]
    assert one.needed_by == {"bay-time": ("strip-with-door",)}
    assert not one.troubles
    order = [path for visit in one.visits for path in visit]
    assert order.index(BAY) < order.index(RecordPath("doors", "lock")) < order.index(OUTSIDE)
    assert len(one.visits) == 3 == one.at_least  # lamps, doors, lamps again: the order leaves no other way


def test_edits_of_one_record_become_one_write() -> None:
    one = planned("bay-fades", "chime-then-lamp", "bay-time", time="30.5")
    bay = next(r for r in one.records if r.path == BAY)
    assert bay.recipes == ("bay-fades", "chime-then-lamp", "bay-time")
    assert [x.id for x in bay.layouts] == ["late"]
    (edit,) = bay.edits
    assert isinstance(edit, Edit)
    assert {f.setting.setting: f.to_words for f in edit.fields} == {
        "after-door": "fades",
        "dimmer": "on",
        "time": "30.5",
    }
    writes = [o.record for o in one.operations if o.kind == "write"]
    assert len(writes) == len(set(writes)) == 2
    assert [o.module for o in one.operations if o.kind == "restart"] == ["lamps", "doors"]
    found = bytes.fromhex("00 00 05 00") + b"\0\0"
    found = edit.checksum.applied(found) if edit.checksum else found
    at_once = write(edit, found)
    record = book().record(BAY)
    assert record is not None
    for job in one.jobs:  # and one after the other gives the same
        changes = [c for c in job.recipe.changes if c.setting.record_path == BAY]
        found = write(compile_edit(record, BAY, record.layouts[1], changes, job.choose), found)
    assert found == at_once


def test_clashes_are_refused() -> None:
    assert kinds(planned("bay-fades", "bay-stays")) == ["clash"]  # by bits
    assert "after-door" in planned("bay-fades", "bay-stays").troubles[0].reason
    assert kinds(planned("watch-on", "watch-quick")) == ["clash"]  # by name
    assert kinds(planned("watch-quick", "heater-greets")) == ["stated"]
    assert kinds(planned("watch-quick", "tone-high")) == []  # the same name, the same way
    assert kinds(planned("heater-alone", "bay-time")) == ["alone"]
    assert kinds(planned("heater-alone")) == []
    assert kinds(planned("facelift-theme", "bay-stays")) == ["replaced"]
    assert kinds(planned("old-way")) == ["withdrawn"]
    assert "bay-time" in planned("old-way").troubles[0].repair
    assert kinds(planned("bay-tyme")) == ["unknown"]
    assert "bay-time" in planned("bay-tyme").troubles[0].repair
    assert kinds(planned("bay-time", "lamp-after-chime")) == []  # 10 by both
    assert kinds(planned("bay-time", "lamp-after-chime", time="20")) == ["clash"]


def test_orders_that_contradict_each_other_are_refused() -> None:
    one = planned("chime-then-lamp", "lamp-after-chime")
    assert kinds(one) == ["order"]
    assert "chime-then-lamp writes lamps/bay before doors/catch" in one.troubles[0].reason
    assert kinds(planned("map-needs-writing")) == ["order"]


def test_a_need_that_would_go_round_in_a_circle_is_done_together() -> None:
    one = planned("stays-lit-too")
    assert one.together == (("chime-then-lamp", "stays-lit-too"),)
    assert not one.troubles and len(one.visits) == 2


def test_what_does_not_fit() -> None:
    one = planned("heater-greets", known=VAN)
    assert kinds(one) == ["fit"] and one.troubles[0].because
    assert one.fits.kind == "no" and not one.operations
    assert kinds(planned("watch-on", known=Known(equipment={"hook": False}))) == ["fit"]


def test_layouts_are_narrowed_and_never_guessed() -> None:
    both = planned("bay-fades", known=VAN).records[0]
    assert [x.id for x in both.layouts] == ["early", "late"] and len(both.edits) == 2
    strange = Known(frozenset(("knot",)), records={"doors/catch": b"\x03\0\0"})
    one = planned("chime-then-lamp", known=strange)
    assert kinds(one) == ["layout"] and "never guess" in one.troubles[0].repair


def test_which_form_must_be_known() -> None:
    one = planned("facelift-theme", known=Known(frozenset(("knot",))))
    assert not one.troubles and not one.operations
    assert [question.recipe for question in one.questions] == ["facelift-theme"]
    assert [str(r.path) for r in planned("facelift-theme").records] == ["screen/look"]
    assert [str(r.path) for r in planned("facelift-theme", known=VAN).records] == ["lamps/bay"]


def test_fits_if() -> None:
    one = planned("watch-on", known=Known(frozenset(("knot",))))
    assert one.fits.kind == "if" and one.fits.residual is not None
    assert one.operations, "one form is possible, so the job can be shown"
    assert not isinstance(one.fits.residual, Software)


def test_every_pair_makes_a_legal_job_or_says_why_not() -> None:
    for pair in combinations(sorted(book().recipes), 2):
        one = planned(*pair)
        assert "procedure" not in kinds(one), (pair, one.troubles)
        assert bool(one.operations) is not bool(one.troubles)
        assert violations(one.operations) == () or not one.operations
        assert sorted(map(str, (p for v in one.visits for p in v))) == sorted(
            str(r.path) for r in one.records
        )
        assert one.proven


def test_merging_never_takes_longer() -> None:
    apart = [planned(name) for name in ("bay-fades", "chime-then-lamp", "heater-greets")]
    together = planned("bay-fades", "chime-then-lamp", "heater-greets")
    assert together.minutes < sum(one.minutes for one in apart)
    assert (together.minutes, together.key_on_minutes) == minutes(together.operations)


@pytest.mark.parametrize(
    ("amps", "key_on", "spare", "needed", "enough"),
    [
        ("8.6", 15, "14", "2.15", True),  # 8.6 A for a quarter of an hour
        ("7.5", 28, "3.5", "3.5", True),  # just enough
        ("7.5", 29, "3.5", "3.625", False),
        ("0.1", 20, "14", "1/30", True),  # exact, though it has no decimal form
    ],
)
def test_ampere_hours(amps: str, key_on: int, spare: str, needed: str, enough: bool) -> None:
    charge = charge_of(Power(Fraction(amps), Fraction(spare), ""), key_on)
    assert charge.needed == Fraction(needed)
    assert charge.enough is enough


def test_the_worst_of_several_batteries_is_enough_only_where_all_are() -> None:
    pairs = ((3, 5), ("0.5", 0), (9, 14), (4, 4))
    of = [Charge(Fraction(needed), Fraction(spare)) for needed, spare in pairs]
    assert worst(of) == Charge(Fraction(1, 2), Fraction(0))  # three fifths of five Ah are no worse than that
    for some in (combo for n in (1, 2, 3, 4) for combo in combinations(of, n)):
        assert worst(some).enough is all(one.enough for one in some)


def test_a_supply_is_advised_for_each_reason() -> None:
    assert planned("bay-fades").supply == ()
    many = ("bay-fades", "chime-then-lamp", "heater-greets", "steps-wait", "facelift-theme", "tone-high")
    long = planned(*many)
    assert long.charge is not None and not long.charge.enough and long.key_on_minutes >= 30
    assert len(long.supply) == 2
    assert "file" in planned("new-map").supply[0]


def test_forty_recipes_over_twelve_modules_are_ordered_exactly() -> None:
    """The largest jobs there are; see LIMIT in work/order.py."""
    from random import Random

    from asfound.work.order import fewest_visits

    draw = Random(40)
    classes: list[int] = []
    before = []
    for _ in range(40):
        row = draw.sample(range(12), draw.choices([1, 2, 3], [60, 30, 10])[0])
        before += [(len(classes) + at, len(classes) + at + 1) for at in range(len(row) - 1)]
        classes += row
    assert fewest_visits(classes, before).proven
