"""Applicability against brute force over every car, written here without the code under test.

A car is a plain dictionary. The brute force knows months, versions and bytes only as themselves: each month
of a few years, versions named and between, all values of the bits in use.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from asfound.car.completions import TooManyFacts
from asfound.car.conditions import (
    FALSE,
    TRUE,
    All,
    Any,
    Condition,
    Equipped,
    Holds,
    Leaf,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
    leaves,
)
from asfound.car.fitting import (
    Answer,
    answer,
    exclude,
    has_module,
    implies,
    possible,
    same,
    satisfiable,
    truth,
)
from asfound.car.known import Known
from asfound.car.vehicles import Equipment, Fitted, Market, Model, Phase, VehicleLine
from asfound.car.versions import key
from asfound.car.world import World

SKERRY = VehicleLine(
    "skerry",
    "Tarnwell Skerry",
    "",
    (Phase("1", "Phase 1", ("2019-03", "2019-08"), ""), Phase("2", "Phase 2", ("2019-09", None), "")),
    (Model("weekender", "Weekender", ""), Model("tourer", "Tourer", ""), Model("van", "Van", "", ("2",))),
    (
        Equipment("awning", "an awning", ""),
        Equipment("heater", "a heater", "", ("weekender", "van")),
        Equipment("tow-bar", "a tow bar", "", (), ("2",), (("van", None), ("tourer", "2"))),
    ),
    (Fitted("living-area"), Fitted("step", Equipped("awning"))),
    (Market("islands", "Islands", ""), Market("mainland", "Mainland", "")),
)
HOLM = VehicleLine(
    "holm",
    "Tarnwell Holm",
    "",
    (Phase("2", "Phase 2", (None, "2019-06"), ""),),
    (Model("weekender", "Weekender", ""),),
    (Equipment("awning", "an awning", "", (), (), ((None, "2"),)),),
    (Fitted("living-area"),),
)
LINES = {"skerry": SKERRY, "holm": HOLM}
WORLD = World(LINES)
MONTHS = [f"{y}-{m:02d}" for y, m in product((2018, 2019, 2020), range(1, 13))]
ITEMS = ("awning", "heater", "tow-bar", "nowhere-offered")
VERSIONS = ("0100", "0200", "0200A", "0210", "0220", "0300", "0400")  # bounds in use: 0200 0210 0300
PARTS = ("A", "B", "C")  # C stands for any other
BYTES = range(8)  # conditions use the lowest three bits
WORDS = ("follows", "stays off", "blinks")  # blinks stands for any other

Car = dict[str, object]


def holds(condition: Condition, car: Car) -> bool:
    match condition:
        case All(of):
            return all(holds(part, car) for part in of)
        case Any(of):
            return any(holds(part, car) for part in of)
        case Not(of):
            return not holds(of, car)
        case Vehicle(line, models, phases, (first, last), markets):
            return (
                car["line"] == line
                and (not models or car["model"] in models)
                and (not phases or car["phase"] in phases)
                and (not markets or car["market"] in markets)
                and (first or "0000-01") <= str(car["month"]) <= (last or "9999-12")
            )
        case Equipped(item):
            return car[item] is True
        case Software(_, text):
            return all(compare(str(car["software"]), part) for part in text.split(","))
        case PartNumber(_, numbers):
            return car["part"] in numbers
        case Holds(_, byte, value, mask):
            held = car[f"byte {byte}"]
            return isinstance(held, int) and held & mask == value
        case SettingIs(_, values):
            return car["setting"] in values
    raise AssertionError(condition)


def compare(version: str, comparison: str) -> bool:
    bound = comparison.lstrip("<>=")
    op = comparison.removesuffix(bound)
    a, b = key(version), key(bound)
    return {">=": a >= b, "<=": a <= b, "<": a < b, ">": a > b, "=": a == b}[op]


def columns(condition: Condition) -> list[str]:
    """What the condition looks at, apart from the kind of vehicle and equipment."""
    found: dict[str, None] = {}
    for leaf in leaves(condition):
        match leaf:
            case Software():
                found["software"] = None
            case PartNumber():
                found["part"] = None
            case Holds(_, byte):
                found[f"byte {byte}"] = None
            case SettingIs():
                found["setting"] = None
    return list(found)


DOMAINS = {"software": VERSIONS, "part": PARTS, "byte 0": BYTES, "byte 1": BYTES, "setting": WORDS}


def cars(condition: Condition, known: Known = Known()) -> Iterator[Car]:  # noqa: B008
    """Every car that was made and fits what is known, in all that the condition looks at."""
    named = [leaf.item for leaf in leaves(condition) if isinstance(leaf, Equipped)]
    items = sorted({*named, *known.equipment})
    dated = known.built or any(v.built != (None, None) for v in leaves(condition) if isinstance(v, Vehicle))
    rest = columns(condition)
    facts: dict[str, object] = {}
    if known.software:
        facts["software"] = known.software["living-area"]
    if known.parts:
        facts["part"] = known.parts["living-area"]
    if known.records:
        record = known.records["living-area/lamps"]
        facts |= {"byte 0": record[0], "byte 1": record[1] if len(record) > 1 else None}
    if known.settings:
        facts["setting"] = known.settings["living-area/lamps/lamp"]
    for line in LINES.values():
        for (model, phase), market in product(line.variants(), [m.id for m in line.markets] or [None]):
            first, last = next(p.built for p in line.phases if p.id == phase)
            months = [m for m in MONTHS if (first or "0") <= m <= (last or "9")]
            for month in months if dated else months[:1]:
                kind: Car = {
                    "line": line.id, "model": model, "phase": phase, "market": market, "month": month
                }  # fmt: skip
                if not all(
                    wanted is None or kind[name] in wanted
                    for name, wanted in (
                        ("line", known.lines), ("model", known.models),
                        ("phase", known.phases), ("market", known.markets),
                    )
                ) or (known.built and known.built != month):  # fmt: skip
                    continue
                have = [
                    [v for v in can_have(line, model, phase, item) if known.equipment.get(item, v) is v]
                    for item in items
                ]
                others = [[facts[name]] if name in facts else DOMAINS[name] for name in rest]
                for values in product(*have, *others):
                    yield kind | dict(zip([*items, *rest], values, strict=True))


def limited(condition: Condition, known: Known = Known()) -> list[Car]:  # noqa: B008
    """``cars``, where there are few enough to look at each."""
    found = list(islice(cars(condition, known), 20_001))
    return found if len(found) <= 20_000 else reject()


def can_have(line: VehicleLine, model: str, phase: str, item: str) -> tuple[bool, ...]:
    found = {e.id: e for e in line.equipment}.get(item)
    if found is None:
        return (False,)
    for m, p in found.standard:
        if (m is None or m == model) and (p is None or p == phase):
            return (True,)
    if (found.models and model not in found.models) or (found.phases and phase not in found.phases):
        return (False,)
    return (False, True)


def some(pool: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(pool), min_size=1, max_size=2, unique=True).map(tuple)


def some_or_none(pool: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    return st.one_of(st.just(()), some(pool))


ENDS = (None, None, "2019-05", "2019-08", "2019-09", "2020-02")
VEHICLES = st.builds(
    Vehicle,
    st.sampled_from(("skerry", "skerry", "holm", "no-such-line")),
    some_or_none(("weekender", "tourer", "van")),
    some_or_none(("1", "2")),
    st.tuples(st.sampled_from(ENDS), st.sampled_from(ENDS)),
    some_or_none(("islands", "mainland")),
)
RANGES = (">=0200", "<0300", ">0210", "<=0210", "=0210", ">=0200,<0300", ">0200,<=0210")
MASKED = st.tuples(st.integers(0, 1), st.integers(0, 7), st.sampled_from((0x07, 0x03, 0x04, 0x01)))
LEAVES: st.SearchStrategy[Condition] = st.one_of(
    VEHICLES,
    VEHICLES,
    st.sampled_from(ITEMS).map(Equipped),
    st.sampled_from(RANGES).map(lambda text: Software("living-area", text)),
    some(PARTS[:2]).map(lambda numbers: PartNumber("living-area", numbers)),
    MASKED.map(lambda m: Holds("living-area/lamps", *m)),
    some(WORDS[:2]).map(lambda words: SettingIs("living-area/lamps/lamp", words)),
)
CONDITIONS = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.lists(inner, min_size=2, max_size=3).map(lambda of: All(tuple(of))),
        st.lists(inner, min_size=2, max_size=4).map(lambda of: Any(tuple(of))),
        inner.map(Not),
    ),
    max_leaves=8,
).filter(
    lambda c: len({leaf.byte for leaf in leaves(c) if isinstance(leaf, Holds)}) < 2 or len(leaves(c)) < 5
)


def sometimes(strategy: st.SearchStrategy[object], default: object) -> st.SearchStrategy[object]:
    return st.one_of(st.just(default), st.just(default), strategy)


KNOWN = st.builds(
    Known,
    lines=sometimes(st.sampled_from([frozenset({"skerry"}), frozenset({"holm"})]), None),
    models=sometimes(some(("weekender", "tourer", "van")).map(frozenset), None),
    phases=sometimes(some(("1", "2")).map(frozenset), None),
    markets=sometimes(some(("islands", "mainland")).map(frozenset), None),
    built=sometimes(st.sampled_from(("2018-11", "2019-05", "2019-09", "2020-02")), None),
    equipment=sometimes(st.dictionaries(st.sampled_from(ITEMS[:3]), st.booleans(), max_size=2), {}),
    software=sometimes(st.sampled_from(VERSIONS).map(lambda v: {"living-area": v}), {}),
    parts=sometimes(st.sampled_from(PARTS).map(lambda p: {"living-area": p}), {}),
    records=sometimes(
        st.sampled_from([b"\0", b"\3", b"\3\5", b"\4\0"]).map(lambda r: {"living-area/lamps": r}), {}
    ),
    settings=sometimes(st.sampled_from(WORDS).map(lambda w: {"living-area/lamps/lamp": w}), {}),
)
THOROUGH = settings(deadline=None, max_examples=120, suppress_health_check=list(HealthCheck))


def with_constant(condition: Condition, index: int, value: bool) -> Condition:
    """The condition with its leaf number ``index``, in order of writing, true or false."""
    count = iter(range(10**6))

    def walk(part: Condition) -> Condition:
        match part:
            case All(of):
                return All(tuple(walk(p) for p in of))
            case Any(of):
                return Any(tuple(walk(p) for p in of))
            case Not(of):
                return Not(walk(of))
        return (TRUE if value else FALSE) if next(count) == index else part

    return walk(condition)


def fact_of(leaf: Leaf) -> tuple[object, ...]:
    match leaf:
        case Equipped(item):
            return ("item", item)
        case Holds(_, byte):
            return ("byte", byte)
    return (type(leaf),)


@THOROUGH
@given(CONDITIONS, KNOWN)
def test_answers_by_brute_force(condition: Condition, known: Known) -> None:
    every = limited(condition, known)
    expected = [holds(condition, car) for car in every]
    found = answer(condition, known, WORLD)
    assert possible(known, WORLD) == bool(every)
    if not every:
        assert found == Answer("no")
    elif all(expected):
        assert found == Answer("fits")
    elif not any(expected):
        assert found.kind == "no" and found.residual is None and found.because
        check_reasons(condition, found.because, every)
    else:
        assert found.kind == "if" and found.because == () and found.residual is not None
        check_residual(found.residual, every, expected)
        assert len(leaves(found.residual)) <= len(leaves(condition))


def check_reasons(condition: Condition, because: tuple[Condition, ...], every: list[Car]) -> None:
    assert len(because) <= len(leaves(condition))
    for reason in because:
        assert not any(holds(reason, car) for car in every)
    for car in limited(condition):  # whatever else is true of a car, these reasons alone rule it out
        if not any(holds(reason, car) for reason in because):
            assert not holds(condition, car)


def check_residual(residual: Condition, every: list[Car], expected: list[bool]) -> None:
    def same_as_asked(other: Condition) -> bool:
        return all(holds(other, car) == value for car, value in zip(every, expected, strict=True))

    assert same_as_asked(residual)
    named = leaves(residual)
    for index in range(len(named)):  # no leaf is there for nothing
        assert not same_as_asked(with_constant(residual, index, True))
        assert not same_as_asked(with_constant(residual, index, False))
    for name in {fact_of(leaf) for leaf in named if not isinstance(leaf, Vehicle)}:
        assert changes_something(residual, name, every)
    for leaf in named:  # no key of a vehicle is there for nothing, and no value that cannot be
        if isinstance(leaf, Vehicle):
            for attribute, empty in (
                ("models", ()),
                ("phases", ()),
                ("markets", ()),
                ("built", (None, None)),
            ):
                if getattr(leaf, attribute) != empty:
                    assert not same_as_asked(without(residual, leaf, attribute, empty))
            of_line = [car for car in every if car["line"] == leaf.line]
            assert of_line
            for attribute, name in (("models", "model"), ("phases", "phase"), ("markets", "market")):
                assert set(getattr(leaf, attribute)) <= {car[name] for car in of_line}


def changes_something(residual: Condition, name: tuple[object, ...], every: list[Car]) -> bool:
    """Whether cars that differ in one fact only (for equipment: and in what goes with it) get two answers."""
    column = {
        ("item",): None, (Software,): "software", (PartNumber,): "part", (SettingIs,): "setting",
    }.get(name, f"byte {name[-1]}")  # fmt: skip
    if name[0] == "item":
        answers = {
            value: {holds(residual, c) for c in every if c[str(name[1])] is value} for value in (True, False)
        }
        return answers[True] != answers[False] or len(answers[True]) == 2
    groups: dict[object, set[bool]] = {}
    for car in every:
        rest = tuple(sorted((k, str(v)) for k, v in car.items() if k != column))
        groups.setdefault(rest, set()).add(holds(residual, car))
    return any(len(group) == 2 for group in groups.values())


def without(condition: Condition, leaf: Leaf, attribute: str, empty: object) -> Condition:
    match condition:
        case All(of):
            return All(tuple(without(p, leaf, attribute, empty) for p in of))
        case Any(of):
            return Any(tuple(without(p, leaf, attribute, empty) for p in of))
        case Not(of):
            return Not(without(of, leaf, attribute, empty))
    return replace(condition, **{attribute: empty}) if condition is leaf else condition  # type: ignore[arg-type]


@settings(THOROUGH, max_examples=60)
@given(CONDITIONS, CONDITIONS)
def test_relations_by_brute_force(one: Condition, other: Condition) -> None:
    both = All((one, other))
    pairs = {(holds(one, car), holds(other, car)) for car in limited(both)}
    assert satisfiable(one, WORLD) == any(a for a, _ in pairs)
    assert implies(one, other, WORLD) == ((True, False) not in pairs)
    assert same(one, other, WORLD) == (not pairs & {(True, False), (False, True)})
    example = exclude(one, other, WORLD)
    assert (example is None) == ((True, True) not in pairs)
    if example is not None:
        such = [car for car in limited(both) if holds(example, car)]
        assert such and all(holds(both, car) for car in such)


@THOROUGH
@given(CONDITIONS, KNOWN)
def test_kleene_never_contradicts_the_exact_answer(condition: Condition, known: Known) -> None:
    value = truth(condition, known, WORLD)
    exact = answer(condition, known, WORLD)
    if value is not None and possible(known, WORLD):
        assert exact.kind == ("fits" if value else "no")


@settings(deadline=None, max_examples=60)
@given(CONDITIONS, KNOWN)
def test_a_plain_mapping_gives_the_same_answers_as_a_world(condition: Condition, known: Known) -> None:
    assert answer(condition, known, LINES) == answer(condition, known, WORLD)


def skerry(**keys: object) -> Vehicle:
    return Vehicle("skerry", **keys)  # type: ignore[arg-type]


TOURER_2 = Known.of_variant("skerry", "tourer", "2")


def test_one_of_all_phases_is_known() -> None:
    either = Any((skerry(phases=("1",)), skerry(phases=("2",))))
    of_line = Known(lines=frozenset({"skerry"}))
    assert truth(either, of_line, WORLD) is None
    assert answer(either, of_line, WORLD) == Answer("fits")


def test_equipment_follows_from_the_variant_and_the_variant_from_equipment() -> None:
    assert answer(Equipped("heater"), TOURER_2, WORLD) == Answer("no", (Equipped("heater"),))
    assert answer(Equipped("tow-bar"), TOURER_2, WORLD) == Answer("fits")
    assert answer(Equipped("nowhere-offered"), Known(), WORLD).kind == "no"
    with_heater = Known(equipment={"heater": True})
    assert answer(skerry(models=("weekender", "van")), with_heater, WORLD) == Answer("fits")


def test_the_residual_leaves_out_what_is_known_and_what_cannot_matter() -> None:
    wanted = All(
        (skerry(models=("tourer", "van"), phases=("2",)), Equipped("awning"), Equipped("tow-bar"),
         Software("living-area", ">=0200,<0300"))
    )  # fmt: skip
    known = Known(TOURER_2.lines, TOURER_2.models, TOURER_2.phases, software={"living-area": "0210"})
    assert answer(wanted, known, WORLD) == Answer("if", residual=Equipped("awning"))
    late = All((skerry(built=("2019-05", "2019-08")), Equipped("awning")))
    phase_1 = Known(lines=frozenset({"skerry"}), phases=frozenset({"1"}))
    assert answer(late, phase_1, WORLD).residual == All((skerry(built=("2019-05", None)), Equipped("awning")))


def test_a_fact_that_cancels_out_is_not_named() -> None:
    # Two switches the opposite way round: whichever way x is, both a and b are asked for. No single part
    # can be left away, only x as a whole.
    a, b = Equipped("awning"), SettingIs("living-area/lamps/lamp", ("follows",))

    def switch(x: Condition, one: Condition, other: Condition) -> Condition:
        return Any((All((x, one)), All((Not(x), other))))

    for x in (Software("living-area", ">=0200"), skerry(models=("tourer",)), skerry(markets=("islands",))):
        asked = All((switch(x, a, b), switch(x, b, a)))
        found = answer(asked, Known(lines=frozenset({"skerry"})), WORLD)
        assert found == Answer("if", residual=All((a, b))) or found == Answer("if", residual=All((b, a)))


def test_kinds_that_cannot_be_are_not_named() -> None:
    phase_1 = Known(lines=frozenset({"skerry"}), phases=frozenset({"1"}))
    asked = skerry(models=("weekender", "van"))  # the van was made in phase 2 only
    assert answer(asked, phase_1, WORLD).residual == skerry(models=("weekender",))


def test_alternatives_of_several_kinds_of_vehicle_stay_apart() -> None:
    asked = Any(
        (
            All((skerry(models=("weekender",)), Equipped("awning"))),
            All((skerry(models=("tourer",), phases=("2",)), Software("living-area", ">=0200"))),
        )
    )
    assert answer(asked, Known(), WORLD).residual == asked
    assert answer(asked, TOURER_2, WORLD).residual == Software("living-area", ">=0200")


def test_reasons_are_the_narrowest_false_parts() -> None:
    wanted = All((skerry(models=("tourer", "van"), phases=("1",)), Equipped("awning")))
    assert answer(wanted, TOURER_2, WORLD).because == (skerry(phases=("1",)),)
    outside = Software("living-area", ">=0200,<0300")
    known = Known(software={"living-area": "0400"})
    assert answer(outside, known, WORLD).because == (Software("living-area", "<0300"),)
    both = All((Software("living-area", "<0200"), Equipped("awning"), Software("living-area", ">0210")))
    assert answer(both, Known(), WORLD).because == (All((both.of[0], both.of[2])),)
    assert answer(Not(Equipped("tow-bar")), TOURER_2, WORLD).because == (Not(Equipped("tow-bar")),)
    neither = Not(All((Equipped("tow-bar"), skerry(phases=("2",)))))
    assert answer(neither, TOURER_2, WORLD).because == tuple(map(Not, neither.of.of))
    never = Not(
        Any((Software("living-area", ">0200"), Equipped("awning"), Software("living-area", "<=0300")))
    )
    assert answer(never, Known(), WORLD).because == (Not(Any((never.of.of[0], never.of.of[2]))),)


def test_cars_never_made() -> None:
    for known in (
        Known.of_variant("skerry", "van", "1"),
        Known.of_variant("no-such-line", "van", "1"),
        Known(lines=frozenset({"skerry"}), built="2018-01"),
        Known(lines=frozenset({"skerry"}), equipment={"nowhere-offered": True}),
    ):
        assert not possible(known, WORLD)
        assert answer(TRUE, known, WORLD) == Answer("no")
    assert answer(TRUE, Known(), WORLD) == Answer("fits")
    assert answer(FALSE, Known(), WORLD).kind == "no"


def test_ranges_nobody_can_satisfy_or_read_are_never_true() -> None:
    for text in (">0300,<0200", "soon"):
        assert answer(Software("living-area", text), Known(), WORLD).kind == "no"
        assert exclude(Not(Software("living-area", text)), TRUE, WORLD) is not None


def test_a_byte_beyond_the_end_of_a_record_holds_nothing() -> None:
    known = Known(records={"living-area/lamps": b"\0"})
    assert truth(Holds("living-area/lamps", 1, 0), known, WORLD) is False


def test_which_cars_have_a_module() -> None:
    assert same(has_module("living-area", LINES), TRUE, LINES)
    assert same(has_module("step", LINES), All((skerry(), Equipped("awning"))), LINES)
    assert has_module("no-such-module", LINES) == FALSE


def test_without_vehicle_lines_other_facts_still_count() -> None:
    early, late = Software("living-area", "<0200"), Software("living-area", ">=0200")
    assert exclude(early, late, {}) is None
    assert exclude(early, Equipped("awning"), {}) == All((early, Equipped("awning")))
    assert not satisfiable(skerry(), {})


def test_hundreds_of_alternatives_in_one_fact_are_weighed_and_too_many_facts_refused() -> None:
    numbers = [PartNumber("living-area", (f"P {n}",)) for n in range(500)]
    assert answer(Any(tuple(numbers)), Known(parts={"living-area": "P 7"}), WORLD) == Answer("fits")
    assert exclude(Any(tuple(numbers[:250])), Any(tuple(numbers[250:])), WORLD) is None
    modules = [Software(f"module-{n}", ">=0200") for n in range(16)]
    with pytest.raises(TooManyFacts):
        answer(All(tuple(modules)), Known(), WORLD)
