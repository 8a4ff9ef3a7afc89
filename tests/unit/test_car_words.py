"""Conditions in words: how they read, and that no two meanings share a wording."""

import random

import pytest

from asfound.car.conditions import (
    FALSE,
    TRUE,
    All,
    Any,
    Condition,
    Equipped,
    Holds,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
)
from asfound.car.fitting import same
from asfound.car.phrases import (
    built_words,
    join_words,
    lower_first,
    month_words,
    pair_words,
    software_words,
)
from asfound.car.records import Module, Record
from asfound.car.settings import Choice, Choices, Setting
from asfound.car.vehicles import Equipment, Fitted, Market, Model, Phase, VehicleLine
from asfound.car.words import Names, look, say, why_not
from asfound.car.world import World

SKERRY = VehicleLine(
    "skerry",
    "Tarnwell Skerry",
    "",
    (
        Phase("1", "Phase 1", (None, "2021-08"), "Round lamps."),
        Phase("2", "Phase 2", ("2021-09", None), "Square lamps."),
    ),
    (Model("weekender", "Weekender", "A raised roof."), Model("tourer", "Tourer", "Two side windows.")),
    (
        Equipment("awning", "an awning", "A long housing above the sliding door."),
        Equipment("tow-bar", "a tow bar", "A ball below the rear bumper"),
        Equipment("heater", "a parking heater", ""),
    ),
    (Fitted("living-area"),),
    (Market("islands", "Islands", "Speedometer in miles."),),
)
LAMP = Setting(
    "awning-lamp",
    "Awning lamp",
    Choices((Choice("follows", 1), Choice("stays off", 0))),
    ("comfort",),
    "club",
)
LIVING = Module("living-area", "Living-area controller", "", "", 1, (Record("lamps", "Lamps", (LAMP,)),))
NAMES = Names.of({"skerry": SKERRY}, {"living-area": LIVING})


def skerry(**keys: object) -> Vehicle:
    return Vehicle("skerry", **keys)  # type: ignore[arg-type]


def software(text: str) -> Software:
    return Software("living-area", text)


PHASE_2, WEEKENDER = skerry(phases=("2",)), skerry(models=("weekender",))
AWNING, TOW_BAR, HEATER = Equipped("awning"), Equipped("tow-bar"), Equipped("heater")
PART = PartNumber("living-area", ("SK 3910 B", "SK 3910 C"))
BYTE = Holds("living-area/lamps", 4, 3, 0x0F)
BYTE_IS_3 = Holds("living-area/lamps", 4, 3)
FOLLOWS = SettingIs("living-area/lamps/awning-lamp", ("follows",))


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        (TRUE, "any car"),
        (FALSE, "no car"),
        (skerry(), "Tarnwell Skerry"),
        (PHASE_2, "Phase 2"),
        (Not(PHASE_2), "a car that is not Phase 2"),
        (
            skerry(models=("weekender", "tourer"), phases=("1", "2"), markets=("islands",)),
            "Weekender or Tourer, Phase 1 or Phase 2, for the market Islands",
        ),
        (skerry(built=("2021-09", "2023-03")), "a car built from September 2021 to March 2023"),
        (All((PHASE_2, AWNING, Not(TOW_BAR))), "Phase 2 with an awning and without a tow bar"),
        (All((AWNING, TOW_BAR)), "a car with an awning and a tow bar"),
        (All((PHASE_2, Any((AWNING, TOW_BAR)))), "Phase 2 with either an awning or a tow bar"),
        (Not(Any((AWNING, TOW_BAR))), "a car without an awning or a tow bar"),
        (software(">=0300"), "the living-area controller has software 0300 or later"),
        (
            software(">=0210,<0405"),
            "the living-area controller has software 0210 or later but earlier than 0405",
        ),
        (
            Not(software(">=0210,<0405")),
            "the living-area controller has software earlier than 0210, or else 0405 or later",
        ),
        (Not(software("=0210")), "the living-area controller has software other than 0210"),
        (PART, "the living-area controller bears part number SK 3910 B or SK 3910 C"),
        (
            Not(BYTE),
            "byte 4 (the fifth pair) of the record “Lamps” of the living-area controller "
            "under the mask 0F is not 03",
        ),
        (FOLLOWS, "“Awning lamp” in the living-area controller is set to “follows”"),
        (
            All((PHASE_2, AWNING, software(">=0300"))),
            "Phase 2 with an awning, where the living-area controller has software 0300 or later",
        ),
        (
            Any((All((PHASE_2, AWNING)), All((WEEKENDER, Not(TOW_BAR))))),
            "either Phase 2 with an awning or Weekender without a tow bar",
        ),
        (
            All((PHASE_2, Any((AWNING, software("<0300"))))),
            "Phase 2, where either it has an awning or the living-area controller has software "
            "earlier than 0300",
        ),
        (
            Any((BYTE_IS_3, All((software(">1"), FOLLOWS)))),
            "either (a) byte 4 (the fifth pair) of the record “Lamps” of the living-area controller is 03, "
            "or (b) the living-area controller has software later than 1 and “Awning lamp” in the "
            "living-area controller is set to “follows”",
        ),
        (
            Any((All((PHASE_2, Any((AWNING, software("<0300"))))), WEEKENDER)),
            "either (a) Phase 2, where either (a1) it has an awning, or (a2) the living-area controller has "
            "software earlier than 0300, or (b) Weekender",
        ),
        (
            Any(
                (
                    skerry(models=("weekender",), phases=("2",)),
                    skerry(models=("weekender", "tourer"), built=("2020-01", None)),
                )
            ),
            "either (a) Weekender, Phase 2, or (b) Weekender or Tourer, built in January 2020 or later",
        ),
        (
            All(
                (PHASE_2, Any((software(">1"), All((FOLLOWS, Any((BYTE_IS_3, PART)))))), Any((AWNING, PART)))
            ),
            "Phase 2, where either (a) the living-area controller has software later than 1, or (b) “Awning "
            "lamp” in the living-area controller is set to “follows”, and either (b1) byte 4 (the fifth "
            "pair) of the record “Lamps” of the living-area controller is 03, or (b2) the living-area "
            "controller bears part number SK 3910 B or SK 3910 C, and either (a) it has an awning, or (b) "
            "the living-area controller bears part number SK 3910 B or SK 3910 C",
        ),
    ],
)
def test_how_conditions_read(condition: Condition, words: str) -> None:
    assert say(condition, NAMES) == words


def test_marks_go_on_beyond_the_alphabet_and_any_number_of_levels_down() -> None:
    many = Any(tuple(PartNumber("living-area", (f"{n}", "or this")) for n in range(30)))
    words = say(many, NAMES)
    assert "(z) " in words and ", (aa) the" in words and ", or (ad) the" in words
    deep: Condition = Any((PART, FOLLOWS))
    for _ in range(3):
        deep = Any((software(">1"), All((BYTE, deep))))
    assert "or (b2b) byte" in say(deep, NAMES) and "either (b2b1) the" in say(deep, NAMES)


def test_the_line_is_said_where_there_are_several_and_it_is_not_understood() -> None:
    two = Names.of({"skerry": SKERRY, "holm": VehicleLine("holm", "Tarnwell Holm", "", (), (), (), ())}, {})
    assert say(PHASE_2, two) == "Tarnwell Skerry, Phase 2"
    assert say(WEEKENDER, two) == "Tarnwell Skerry Weekender"
    assert say(PHASE_2, two, line="skerry") == "Phase 2"
    assert say(Vehicle("holm"), two, line="skerry") == "Tarnwell Holm"


def test_what_has_no_name_is_called_by_its_id() -> None:
    condition = All((Vehicle("elsewhere", ("m",), ("p",)), Equipped("kite"), Software("bell", ">1")))
    assert say(condition, Names()) == "elsewhere m, p, with kite, where the bell has software later than 1"
    assert software_words("soon") == "“soon”"


@pytest.mark.parametrize(
    ("because", "words"),
    [
        ((), "no such car was made"),
        ((PHASE_2,), "it is not Phase 2"),
        ((skerry(models=("weekender",), phases=("2",)),), "it is anything but Weekender, Phase 2"),
        ((Not(TOW_BAR), AWNING), "it has a tow bar and it does not have an awning"),
        ((software("<0300"),), "the living-area controller has software 0300 or later"),
        ((All((PHASE_2, AWNING)),), "either it is not Phase 2 or it does not have an awning"),
    ],
)
def test_why_not(because: tuple[Condition, ...], words: str) -> None:
    assert why_not(because, NAMES) == words


def test_how_to_find_out_names_each_fact_once() -> None:
    condition = All(
        (skerry(models=("weekender",), phases=("2",), built=("2022-01", None), markets=("islands",)), AWNING,
         Any((TOW_BAR, Not(AWNING), HEATER)), software(">1"), PART, BYTE, FOLLOWS, software(">2"))
    )  # fmt: skip
    assert look(condition, NAMES) == (
        "How to tell Weekender: a raised roof.",
        "How to tell Phase 2: square lamps.",
        "How to tell Islands: speedometer in miles.",
        "The month of building stands in the car's papers.",
        "How to tell an awning: a long housing above the sliding door.",
        "How to tell a tow bar: a ball below the rear bumper.",
        "Read the software version of the living-area controller.",
        "Read the part number of the living-area controller, or look at its label.",
        "Read the record “Lamps” of the living-area controller.",
        "Read what “Awning lamp” in the living-area controller is set to.",
    )


def test_small_words() -> None:
    assert month_words("2021-09") == "September 2021" and month_words("2021-13") == "2021-13"
    assert (
        built_words((None, None)) == "" and built_words(("2021-09", "2021-09")) == "built in September 2021"
    )
    assert join_words([], "and") == "" and join_words(["a"], "and") == "a"
    assert join_words(["a", "b", "c"], "or") == "a, b or c"
    assert join_words(["a or b", "c"], "or") == "a or b, or c"
    assert pair_words(0) == "byte 0 (the first pair)" and pair_words(20) == "byte 20 (the 21st pair)"
    assert lower_first("A long housing") == "a long housing" and lower_first("LED strip") == "LED strip"
    assert lower_first("") == ""


def test_one_wording_has_one_meaning() -> None:
    # Tens of thousands of different conditions of few leaves; those that read alike must be alike.
    leaves = [
        PHASE_2,
        WEEKENDER,
        AWNING,
        TOW_BAR,
        software(">=0300"),
        software(">=0210,<0405"),
        BYTE,
        FOLLOWS,
    ]
    rng = random.Random(6)

    def grow(depth: int) -> Condition:
        kind = rng.random()
        if depth == 0 or kind < 0.25:
            leaf: Condition = rng.choice(leaves)
            return Not(leaf) if rng.random() < 0.3 else leaf
        if kind < 0.35:
            return Not(grow(depth - 1))
        of = tuple(grow(depth - 1) for _ in range(rng.choice((2, 2, 3))))
        return All(of) if kind < 0.7 else Any(of)

    world = World({"skerry": SKERRY})
    first: dict[str, Condition] = {}
    compared = 0
    for _ in range(20_000):
        condition = grow(rng.choice((1, 2, 2, 3)))
        words = say(condition, NAMES)
        other = first.setdefault(words, condition)
        if other != condition:
            compared += 1
            assert same(condition, other, world), words
    assert compared > 1000
