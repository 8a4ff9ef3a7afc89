"""What changes a work code, what only the sheet code, and what neither: every field of every type."""

# ruff: noqa: E501 - the table reads best with a row a line

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.car.bits import Part, Place
from asfound.car.checksums import Checksum
from asfound.car.conditions import All, Any, Equipped, Not, Software, Vehicle
from asfound.car.records import Layout, Module, Record, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Number, Setting, Text
from asfound.car.vehicles import Equipment, Fitted, FittedPlace, Model, Phase, VehicleLine
from asfound.trust.codes import ALWAYS, check_code, codes
from asfound.work.compiled import compile_edit
from asfound.work.recipes import (
    Alternative,
    Ask,
    Change,
    Check,
    Clash,
    ExpectedFault,
    Hazard,
    HistoryEntry,
    Media,
    Message,
    Picture,
    Precheck,
    Recipe,
    Step,
    Withdrawal,
    WorkedExample,
)

# ---- a small club: one line, four modules, one recipe that uses nearly everything ----

LAMP = Setting(
    "lamp", "Awning lamp", Choices((Choice("stays off", 0), Choice("follows", 1), Choice("always", 2))),
    ("comfort",), "maker", about="What it does.", search_words=("outside",),
)  # fmt: skip
VOLTS = Setting(
    "cut-off", "Cut-off", Number(
        Fraction("0.05"), Fraction(0), "V", Fraction("10.5"), Fraction("12.4"), False, (Choice("unset", 4095),)
    ), ("power-supply",), "club",
)  # fmt: skip
LABEL = Setting("label", "Label", Text(2, "space"), ("display",), "club")
OTHER = Setting("other", "Other", Choices((Choice("no", 0), Choice("yes", 1))), ("sound",), "guess")
EARLY = Layout(
    "early", Not(Equipped("tow-bar")), 8,
    {
        "lamp": Place((Part(4, 2, 3),)), "cut-off": Place((Part(5), Part(6, 4, 7))), "other": Place((Part(0, 0, 0),)),
        "label": Place((Part(1), Part(2))),
    },
    Checksum("crc8-j1850", 0, 6, 7),
)  # fmt: skip
LATE = Layout(
    "late", Equipped("tow-bar"), 6,
    {
        "lamp": Place((Part(0, 0, 1),)), "cut-off": Place((Part(1), Part(2, 0, 3))), "other": Place((Part(3, 0, 0),)),
        "label": Place((Part(4), Part(5))),
    },
)  # fmt: skip
LAMPS = Record("lamps", "Lamps", (LAMP, VOLTS, LABEL, OTHER), (EARLY, LATE), "0x3C21", access_code="1234")
LIVING = Module("living", "Living area", "Lights.", "Main switch off", 4, (LAMPS,), "0x3B", "Under the seat")
TICK = Setting(
    "tick", "Tick sound", Choices((Choice("soft", None), Choice("loud", None))), ("sound",), "club"
)
PANEL = Module(
    "panel", "Panel", "Shows.", "Key off", 1, (Record("sounds", "Sounds", (TICK,), names_only=True),)
)
RETRACT = Setting("retract", "Retracts", Choices((Choice("no", 0), Choice("yes", 1))), ("entry",), "maker")
STEP_RECORD = Record(
    "drive", "Drive", (RETRACT,), (Layout("only", None, 1, {"retract": Place((Part(0, 0, 0),))}),), "0x0101"
)
STEPS = Module("step", "Step", "Moves.", "Key off", 1, (STEP_RECORD,))
MAPS = Module("maps", "Maps", "Leads.", "Key off", 1, ())
MODULES = {m.id: m for m in (LIVING, PANEL, STEPS, MAPS)}
LINE = VehicleLine(
    "skerry", "Tarnwell Skerry", "A van.",
    (Phase("1", "First", (None, "2019-12"), "round lamps"), Phase("2", "Second", ("2020-01", None), "flat lamps")),
    (Model("short", "Short", "look"), Model("long", "Long", "look")),
    (Equipment("tow-bar", "Tow bar", "behind"), Equipment("awning", "Awning", "above")),
    (
        Fitted("living"), Fitted("panel"), Fitted("maps"),
        Fitted("step", None, (FittedPlace("left", "Left", "0x51"), FittedPlace("right", "Right", "0x52"))),
    ),
)  # fmt: skip
LINES = {"skerry": LINE}


def path(text):
    return SettingPath.parse(text)


RECIPE = Recipe(
    id="awning-lamp", title="Awning lamp follows", by="author", purpose="Light.", annoyance="Dark.",
    fits=All((Vehicle("skerry", phases=("2",)), Equipped("awning"))),
    checks=(Check("Open the door", "Lamp lights", "key-on"), Check("Close it", "Lamp goes out", "key-off")),
    way_back=("Write the note back.", "Restart."),
    status="offered", history=(HistoryEntry("2026-01-01", "First."),),
    changes=(
        Change(path("living/lamps/lamp"), "stays off", "follows"),
        Change(path("living/lamps/cut-off"), None, Ask("Which voltage?", "11.4")),
        Change(path("panel/sounds/tick"), "loud", "soft", fits=Vehicle("skerry", models=("short",))),
        Change(path("step/drive/retract"), "no", "yes", place="left"),
    ),
    media=Media(
        "maps", "MAP.BIN", "04.19", 1000, "ab" * 32, "club", "Ask.", "FAT32", 8, 32, ("Settings", "Load"), 30,
        "About", ("04.18", "04.17"), "04.19",
    ),
    alternatives=(
        Alternative(path("living/lamps/lamp"), "always", "Burns on."),
        Alternative(path("living/lamps/cut-off"), "12.0", "Cuts early."),
    ),
    functions=("towing",),
    hazards=(
        Hazard("It moves", "A fall", "Keep clear", "minor", "could", "remote"),
        Hazard("It fails", "Darkness", "Carry a torch", "none", "could", "remote", "marginal"),
    ),
    ready=("A torch", "A chair"),
    before=(
        Precheck("Press", "It stops", "Stop", "key-on", proves="entry"),
        Precheck("Press twice", "It starts", "Stop", "key-on"),
    ),
    steps=(
        Step("Open the door", "written", "living", "key-on", 2, "door.png"),
        Step("Close the door", "written", "living", "key-on", 2),
    ),
    may_show=(Message("Check lamps", "Goes away."), Message("Wait", "Goes away.")),
    faults_to_expect=(ExpectedFault("U0140", "After.", "Clear it."), ExpectedFault("B1000", "After.", "Clear it.")),
    worked_examples=(WorkedExample(path("living/lamps/lamp").record_path, "late", "00", "01", "made-up"),),
    pictures=(Picture("door.png", "A door"),),
    needs=("fresh-battery", "first-things"), clashes=(Clash("dark-nights", "Both want the bit."),),
    replaces=("old-lamp",),
    withdrawn=Withdrawal("2026-02-01", "Broken.", "keep"),
)  # fmt: skip
CLUB = (RECIPE, MODULES, LINES)


# ---- changing one thing ----


def nth(items, n, **new):
    return (*items[:n], replace(items[n], **new), *items[n + 1 :])


def recipe(**new):
    return replace(RECIPE, **new), MODULES, LINES


def part(name, n=0, **new):
    """One field of the n-th of a recipe's changes, hazards, steps …"""
    return recipe(**{name: nth(getattr(RECIPE, name), n, **new)})


def media(**new):
    return recipe(media=replace(RECIPE.media, **new))


def module(which, **new):
    return RECIPE, {**MODULES, which: replace(MODULES[which], **new)}, LINES


def record(which="living", **new):
    return module(which, records=nth(MODULES[which].records, 0, **new))


def layout(n=0, **new):
    return record(layouts=nth(LAMPS.layouts, n, **new))


def place(setting, new, n=0):
    return layout(n, places={**LAMPS.layouts[n].places, setting: new})


def setting(n=0, which="living", **new):
    return record(which, settings=nth(MODULES[which].records[0].settings, n, **new))


def volts(**new):
    return setting(1, kind=replace(VOLTS.kind, **new))


def checksum(**new):
    return layout(0, checksum=replace(EARLY.checksum, **new))


def line(**new):
    return RECIPE, MODULES, {"skerry": replace(LINE, **new)}


def renamed_setting():
    r = part("changes", 0, setting=path("living/lamps/bulb"))[0]
    r = replace(r, alternatives=nth(r.alternatives, 0, setting=path("living/lamps/bulb")))
    layouts = tuple(
        replace(x, places={"bulb" if k == "lamp" else k: v for k, v in x.places.items()})
        for x in LAMPS.layouts
    )
    lamps = replace(LAMPS, settings=(replace(LAMP, id="bulb"), *LAMPS.settings[1:]), layouts=layouts)
    return r, {**MODULES, "living": replace(LIVING, records=(lamps,))}, LINES


def reworded_choice():
    r = part("changes", 0, to="goes with the door")[0]
    kind = Choices((Choice("stays off", 0), Choice("goes with the door", 1), Choice("always", 2)))
    return r, setting(kind=kind)[1], LINES


LEFT, RIGHT = LINE.fitted[3].places
EARLY_KEY, LATE_KEY, TICK_KEY, STEP_KEY = (
    "living/lamps/early",
    "living/lamps/late",
    "panel/sounds",
    "step/drive/only",
)
ALL = {EARLY_KEY, LATE_KEY, TICK_KEY, STEP_KEY, "media"}
NEITHER, SHEET = "neither", "sheet"


def work(*keys):
    """Work codes of these keys, and the sheet code."""
    return frozenset(keys)


LAMPS_KEYS = work(EARLY_KEY, LATE_KEY)
TABLE = [
    # field, what is done, its result, and what changes
    ("Recipe.id", "renamed", recipe(id="other"), NEITHER),
    ("Recipe.title", "", recipe(title="Light with the door"), NEITHER),
    ("Recipe.by", "", recipe(by="else"), NEITHER),
    ("Recipe.purpose", "", recipe(purpose="More light."), NEITHER),
    ("Recipe.annoyance", "", recipe(annoyance="Night."), NEITHER),
    ("Recipe.fits", "narrowed", recipe(fits=All((RECIPE.fits, Vehicle("skerry", models=("short",))))), SHEET),
    ("Recipe.fits", "means the same", recipe(fits=Not(Any((Not(RECIPE.fits.of[1]), Not(RECIPE.fits.of[0]))))), NEITHER),
    ("Recipe.checks", "one left out", recipe(checks=RECIPE.checks[:1]), SHEET),
    ("Recipe.checks", "another order", recipe(checks=RECIPE.checks[::-1]), SHEET),
    ("Recipe.way_back", "none", recipe(way_back="none"), SHEET),
    ("Recipe.way_back", "another order", recipe(way_back=RECIPE.way_back[::-1]), SHEET),
    ("Recipe.status", "", recipe(status="withdrawn"), NEITHER),
    ("Recipe.history", "", recipe(history=()), NEITHER),
    ("Recipe.changes", "one left out", recipe(changes=RECIPE.changes[:3]), work(STEP_KEY)),
    ("Recipe.changes", "another order in the record", recipe(changes=(*RECIPE.changes[1::-1], *RECIPE.changes[2:])), NEITHER),
    ("Recipe.changes", "another order of records", recipe(changes=RECIPE.changes[::-1]), work(*ALL - {"media"})),
    ("Recipe.media", "left out", recipe(media=None), work("media")),
    ("Recipe.alternatives", "the dangerous one added", recipe(
        alternatives=(*RECIPE.alternatives, Alternative(path("step/drive/retract"), "no", "Stays out."))
    ), work(STEP_KEY)),
    ("Recipe.alternatives", "another order", recipe(alternatives=RECIPE.alternatives[::-1]), NEITHER),
    ("Recipe.functions", "", recipe(functions=()), SHEET),
    ("Recipe.functions", "one the settings have", recipe(functions=("towing", "comfort")), NEITHER),
    ("Recipe.hazards", "one left out", recipe(hazards=RECIPE.hazards[:1]), SHEET),
    ("Recipe.hazards", "another order", recipe(hazards=RECIPE.hazards[::-1]), NEITHER),
    ("Recipe.ready", "", recipe(ready=("A lamp",)), SHEET),
    ("Recipe.ready", "another order", recipe(ready=RECIPE.ready[::-1]), NEITHER),
    ("Recipe.before", "", recipe(before=()), SHEET),
    ("Recipe.before", "another order", recipe(before=RECIPE.before[::-1]), SHEET),
    ("Recipe.steps", "", recipe(steps=RECIPE.steps[:1]), SHEET),
    ("Recipe.steps", "another order", recipe(steps=RECIPE.steps[::-1]), SHEET),
    ("Recipe.may_show", "", recipe(may_show=()), SHEET),
    ("Recipe.may_show", "another order", recipe(may_show=RECIPE.may_show[::-1]), NEITHER),
    ("Recipe.faults_to_expect", "", recipe(faults_to_expect=()), SHEET),
    ("Recipe.faults_to_expect", "another order", recipe(faults_to_expect=RECIPE.faults_to_expect[::-1]), NEITHER),
    ("Recipe.worked_examples", "", recipe(worked_examples=()), NEITHER),
    ("Recipe.pictures", "", recipe(pictures=()), NEITHER),
    ("Recipe.needs", "", recipe(needs=()), SHEET),
    ("Recipe.needs", "another order", recipe(needs=RECIPE.needs[::-1]), NEITHER),
    ("Recipe.clashes", "", recipe(clashes=()), SHEET),
    ("Recipe.replaces", "", recipe(replaces=()), NEITHER),
    ("Recipe.alone", "", recipe(alone=True), SHEET),
    ("Recipe.withdrawn", "", recipe(withdrawn=None), NEITHER),
    ("Change.setting", "another one", part("changes", 0, setting=path("living/lamps/other"), before="no", to="yes"), LAMPS_KEYS),
    ("Change.before", "", part("changes", 0, before=None), LAMPS_KEYS),
    ("Change.before", "", part("changes", 1, before="12.4"), LAMPS_KEYS),
    ("Change.to", "", part("changes", 0, to="always"), LAMPS_KEYS),
    ("Change.to", "by name", part("changes", 2, before=None, to="loud"), work(TICK_KEY)),
    ("Change.to", "no longer asked", part("changes", 1, to="11.4"), LAMPS_KEYS),
    ("Change.to", "same value in other figures", part("changes", 1, to=Ask("Which voltage?", "11.40")), NEITHER),
    ("Change.place", "", part("changes", 3, place="right"), work(STEP_KEY)),
    ("Change.place", "both", part("changes", 3, place=None), work(STEP_KEY)),
    ("Change.fits", "other cars", part("changes", 2, fits=Vehicle("skerry", models=("long",))), SHEET),
    ("Change.fits", "left out", part("changes", 2, fits=None), SHEET),
    ("Change.fits", "means the same", part("changes", 2, fits=Not(Not(RECIPE.changes[2].fits))), NEITHER),
    ("Ask.question", "", part("changes", 1, to=Ask("How many volts?", "11.4")), SHEET),
    ("Ask.suggest", "", part("changes", 1, to=Ask("Which voltage?", "11.5")), LAMPS_KEYS),
    ("Alternative.setting", "", part("alternatives", 0, setting=path("living/lamps/cut-off"), to="11.8"), LAMPS_KEYS),
    ("Alternative.to", "", part("alternatives", 1, to="11.9"), LAMPS_KEYS),
    ("Alternative.does", "", part("alternatives", 0, does="Stays on."), SHEET),
    ("Media.module", "", media(module="panel"), work("media")),
    ("Media.name", "", media(name="MAP2.BIN"), work("media")),
    ("Media.version", "", media(version="04.20"), SHEET),
    ("Media.size", "", media(size=1001), work("media")),
    ("Media.sha256", "", media(sha256="ac" * 32), work("media")),
    ("Media.origin_from", "laundered", media(origin_from="maker"), SHEET),
    ("Media.origin_how", "", media(origin_how="Buy it."), SHEET),
    ("Media.file_system", "", media(file_system="exFAT"), SHEET),
    ("Media.smallest_gb", "", media(smallest_gb=4), SHEET),
    ("Media.largest_gb", "", media(largest_gb=None), SHEET),
    ("Media.menu", "", media(menu=("Load", "Settings")), SHEET),
    ("Media.minutes", "", media(minutes=31), NEITHER),
    ("Media.reading_where", "", media(reading_where="Info"), SHEET),
    ("Media.reading_before", "", media(reading_before=("04.18",)), SHEET),
    ("Media.reading_after", "", media(reading_after="4.19"), SHEET),
    ("Hazard.hazard", "", part("hazards", hazard="It may move"), SHEET),
    ("Hazard.hazard", "other line breaks", part("hazards", hazard="It \n moves"), NEITHER),
    ("Hazard.consequence", "", part("hazards", consequence="A stumble"), SHEET),
    ("Hazard.avoid", "", part("hazards", avoid="Take care"), SHEET),
    ("Hazard.harm", "softened", part("hazards", harm="none", loss="marginal"), SHEET),
    ("Hazard.certainty", "", part("hazards", certainty="will"), SHEET),
    ("Hazard.likelihood", "", part("hazards", likelihood="improbable"), SHEET),
    ("Hazard.loss", "", part("hazards", 1, loss="negligible"), SHEET),
    ("Hazard.arises", "", part("hazards", arises="writing"), NEITHER),
    ("Precheck.precheck", "", part("before", precheck="Push"), SHEET),
    ("Precheck.expect", "", part("before", expect="It waits"), SHEET),
    ("Precheck.otherwise", "", part("before", otherwise="Go on"), SHEET),
    ("Precheck.power", "", part("before", power="key-off"), SHEET),
    ("Precheck.proves", "", part("before", proves=None), SHEET),
    ("Step.step", "", part("steps", step="Open both doors"), SHEET),
    ("Step.at", "", part("steps", at="unlocked"), SHEET),
    ("Step.module", "", part("steps", module="step"), SHEET),
    ("Step.power", "", part("steps", power=None), SHEET),
    ("Step.minutes", "", part("steps", minutes=3), NEITHER),
    ("Step.picture", "", part("steps", picture=None), NEITHER),
    ("Check.check", "", part("checks", check="Open it"), SHEET),
    ("Check.expect", "", part("checks", expect="Light"), SHEET),
    ("Check.power", "", part("checks", power="key-off"), SHEET),
    ("Message.message", "", part("may_show", message="Lamps?"), SHEET),
    ("Message.means", "", part("may_show", means="Stays."), SHEET),
    ("ExpectedFault.code", "", part("faults_to_expect", code="U0141"), SHEET),
    ("ExpectedFault.when", "", part("faults_to_expect", when="Before."), SHEET),
    ("ExpectedFault.do", "", part("faults_to_expect", do="Leave it."), SHEET),
    ("Clash.recipe", "", part("clashes", recipe="bright-nights"), SHEET),
    ("Clash.because", "", part("clashes", because="Same bit."), NEITHER),
    ("Module.id", "a module the recipe does not touch", (RECIPE, {**MODULES, "new": replace(MAPS, id="new")}, LINES), NEITHER),
    ("Module.name", "", module("living", name="Lights"), NEITHER),
    ("Module.duty", "", module("living", duty="Lamps."), NEITHER),
    ("Module.where", "", module("living", where="Behind"), NEITHER),
    ("Module.restart_how", "", module("living", restart_how="Pull the fuse"), SHEET),
    ("Module.restart_minutes", "", module("living", restart_minutes=5), NEITHER),
    ("Module.address", "", module("living", address="0x3C"), LAMPS_KEYS),
    ("Module.records", "another one added", module("living", records=(LAMPS, replace(LAMPS, id="spare"))), NEITHER),
    ("Record.id", "see the added one above", CLUB, NEITHER),
    ("Record.name", "", record(name="Lights"), NEITHER),
    ("Record.settings", "another one added", record(settings=(*LAMPS.settings, replace(OTHER, id="spare"))), NEITHER),
    ("Record.settings", "another order", record(settings=LAMPS.settings[::-1]), NEITHER),
    ("Record.layouts", "another order", record(layouts=LAMPS.layouts[::-1]), NEITHER),
    ("Record.identifier", "", record(identifier="0x3C22"), LAMPS_KEYS),
    ("Record.shown_as", "", record("step", shown_as=ShownAsNumber(1, "big")), SHEET),
    ("Record.names_only", "bytes no longer known", record(names_only=True, layouts=()), work(EARLY_KEY, LATE_KEY, "living/lamps")),
    ("Record.access_code", "another code", record(access_code="9999"), NEITHER),
    ("Record.access_code", "kept by the club", record(access_code="ask the club"), NEITHER),
    ("Record.access_code", "no code needed", record(access_code=None), SHEET),
    ("Record.takes_effect", "", record(takes_effect="at-once"), LAMPS_KEYS),
    ("Layout.id", "renamed: another key", layout(0, id="first"), work(EARLY_KEY, "living/lamps/first")),
    ("Layout.fits", "widened", layout(1, fits=Any((Equipped("tow-bar"), Equipped("awning")))), SHEET),
    ("Layout.fits", "means the same", layout(0, fits=Not(Not(EARLY.fits))), NEITHER),
    ("Layout.length", "", layout(1, length=7), work(LATE_KEY)),
    ("Layout.places", "moved by a bit", place("lamp", Place((Part(4, 3, 4),))), work(EARLY_KEY)),
    ("Layout.places", "halves swapped", place("cut-off", Place((Part(6, 4, 7), Part(5)))), work(EARLY_KEY)),
    ("Layout.places", "of a setting not changed", place("other", Place((Part(0, 1, 1),))), NEITHER),
    ("Layout.checksum", "left out", layout(0, checksum=None), work(EARLY_KEY)),
    ("Checksum.kind", "", checksum(kind="crc8-autosar"), work(EARLY_KEY)),
    ("Checksum.first", "", checksum(first=1), work(EARLY_KEY)),
    ("Checksum.last", "", checksum(last=5), work(EARLY_KEY)),
    ("Checksum.at", "", layout(0, checksum=Checksum("crc8-j1850", 1, 7, 0)), work(EARLY_KEY)),
    ("Checksum.order", "", checksum(order="little"), work(EARLY_KEY)),
    ("Checksum.by", "", checksum(by="reader"), work(EARLY_KEY)),
    ("Part.byte", "see Layout.places", place("lamp", Place((Part(3, 2, 3),))), work(EARLY_KEY)),
    ("Part.low", "see Layout.places", place("lamp", Place((Part(4, 1, 3),))), work(EARLY_KEY)),
    ("Part.high", "see Layout.places", place("lamp", Place((Part(4, 2, 4),))), work(EARLY_KEY)),
    ("Setting.id", "renamed everywhere", renamed_setting(), NEITHER),
    ("Setting.name", "", setting(name="Lamp"), NEITHER),
    ("Setting.name", "that is all there is to find it by", setting(0, "panel", name="Tick"), SHEET),
    ("Setting.kind", "see its parts", setting(2, kind=Text(1, "zero")), NEITHER),
    ("Setting.functions", "dropped", setting(0, "step", functions=("comfort",)), SHEET),
    ("Setting.functions", "of a setting not changed", setting(3, functions=("braking",)), NEITHER),
    ("Setting.known_from", "a guess after all", setting(known_from="guess"), SHEET),
    ("Setting.known_from", "found out by the club", setting(known_from="club"), NEITHER),
    ("Setting.about", "", setting(about="Lights up."), NEITHER),
    ("Setting.search_words", "", setting(search_words=()), NEITHER),
    ("Choice.means", "reworded everywhere", reworded_choice(), SHEET),
    ("Choice.means", "of a value not used", setting(3, kind=Choices((Choice("n", 0), Choice("y", 1)))), NEITHER),
    ("Choice.shown", "", setting(kind=Choices((
        Choice("stays off", 0, "blijft uit"), Choice("follows", 1, "volgt"), Choice("always", 2)
    ))), NEITHER),
    ("Choice.raw", "", setting(kind=Choices((Choice("stays off", 0), Choice("follows", 3), Choice("always", 2)))), LAMPS_KEYS),
    ("Choice.raw", "of a value not used", setting(
        kind=Choices((*LAMP.kind.choices, Choice("seldom", 3)))
    ), NEITHER),
    ("Choices.choices", "another order", setting(kind=Choices(LAMP.kind.choices[::-1])), NEITHER),
    ("Number.factor", "", volts(factor=Fraction("0.1")), LAMPS_KEYS),
    ("Number.offset", "", volts(offset=Fraction("0.05")), LAMPS_KEYS),
    ("Number.unit", "", volts(unit="volt"), SHEET),
    ("Number.min", "a wider choice", volts(min=Fraction("10.4")), LAMPS_KEYS),
    ("Number.max", "a wider choice", volts(max=Fraction("12.5")), LAMPS_KEYS),
    ("Number.signed", "", volts(signed=True), LAMPS_KEYS),
    ("Number.special", "", volts(special=()), LAMPS_KEYS),
    ("Number.special", "reworded", volts(special=(Choice("not learned", 4095),)), SHEET),
    ("FittedPlace.address", "", line(fitted=nth(LINE.fitted, 3, places=(replace(LEFT, address="0x53"), RIGHT))), work(STEP_KEY)),
    ("FittedPlace.name", "", line(fitted=nth(LINE.fitted, 3, places=(replace(LEFT, name="Port"), RIGHT))), NEITHER),
    ("VehicleLine", "another market, look, item", line(
        about="A bus.", equipment=(*LINE.equipment, Equipment("oven", "Oven", "inside"))
    ), NEITHER),
    ("VehicleLine", "another line with the module elsewhere", (RECIPE, MODULES, {
        **LINES, "other": replace(LINE, id="other", fitted=nth(LINE.fitted, 3, places=(replace(LEFT, address="0x99"),)))
    }), NEITHER),
]  # fmt: skip

BEFORE = codes(*CLUB)


@pytest.mark.parametrize(
    ("after", "want"), [row[2:] for row in TABLE], ids=[f"{row[0]} {row[1]}".strip() for row in TABLE]
)
def test_what_changes_which_code(after, want):
    now = codes(*after)
    keys = set(BEFORE.work) | set(now.work)
    changed = {key for key in keys if BEFORE.work.get(key) != now.work.get(key)}
    if isinstance(want, frozenset):
        assert changed == want and now.sheet != BEFORE.sheet
    else:
        assert changed == set()
        assert (now.sheet != BEFORE.sheet) == (want == "sheet")


def test_every_field_of_every_type_is_in_the_table():
    types = (
        Recipe, Change, Ask, Alternative, Media, Hazard, Precheck, Step, Check, Message, ExpectedFault, Clash,
        Module, Record, Layout, Checksum, Part, Setting, Choices, Choice, Number,
    )  # fmt: skip
    want = {f"{t.__name__}.{f.name}" for t in types for f in fields(t) if f.name != "origin"}
    assert want - {row[0] for row in TABLE} == set()


def test_keys_and_shape():
    assert set(BEFORE.work) == ALL
    assert set(BEFORE.fits) == {EARLY_KEY, LATE_KEY, STEP_KEY, "living/lamps", "panel/sounds", "step/drive"}
    everything = [BEFORE.sheet, *BEFORE.work.values(), *BEFORE.fits.values()]
    assert all(check_code(code) == "ok" for code in everything)
    assert len({BEFORE.sheet, *BEFORE.work.values()}) == 6
    assert BEFORE.fits["living/lamps"] == BEFORE.fits[STEP_KEY] == ALWAYS != BEFORE.fits["panel/sounds"]


def test_a_text_asked_for_has_limits_too():
    asked = (*RECIPE.changes, Change(path("living/lamps/label"), None, Ask("Which?", "AB")))
    base = codes(replace(RECIPE, changes=asked), MODULES, LINES)
    modules = setting(2, kind=Text(2, "zero"))[1]
    now = codes(replace(RECIPE, changes=asked), modules, LINES)
    assert {k for k in base.work if base.work[k] != now.work[k]} == LAMPS_KEYS


def test_another_place_is_other_work_even_where_no_address_is_known():
    places = tuple(replace(p, address=None) for p in (LEFT, RIGHT))
    lines = {"skerry": replace(LINE, fitted=nth(LINE.fitted, 3, places=places))}
    left, right = (codes(part("changes", 3, place=p.id)[0], MODULES, lines) for p in places)
    assert {k for k in left.work if left.work[k] != right.work[k]} == {STEP_KEY}


def test_adding_a_layout_leaves_the_other_work_codes_alone():
    """Although the layout it is split from must be narrowed; the sheet says more, so its code changes."""
    narrow = replace(LATE, fits=All((LATE.fits, Software("living", "<0400"))))
    newest = replace(LATE, id="newest", fits=All((LATE.fits, Software("living", ">=0400"))), length=9)
    now = codes(*record(layouts=(EARLY, narrow, newest)))
    assert {k: now.work[k] for k in BEFORE.work} == BEFORE.work
    assert set(now.work) - set(BEFORE.work) == {"living/lamps/newest"}
    assert now.sheet != BEFORE.sheet
    assert now.fits[EARLY_KEY] == BEFORE.fits[EARLY_KEY] and now.fits[LATE_KEY] != BEFORE.fits[LATE_KEY]


def test_changes_that_trade_their_cars_change_the_work():
    """The layout sees the same two edits, but each of them on the other's cars."""
    one, two = (Vehicle("skerry", models=(m,)) for m in ("short", "long"))

    def with_conditions(first, second):
        return codes(*recipe(changes=(
            replace(RECIPE.changes[0], fits=first), replace(RECIPE.changes[0], to="always", fits=second),
        )))  # fmt: skip

    here, there = with_conditions(one, two), with_conditions(two, one)
    assert all(here.work[key] != there.work[key] for key in LAMPS_KEYS)


def test_layouts_that_trade_their_cars_change_the_sheet():
    now = codes(*record(layouts=(replace(EARLY, fits=LATE.fits), replace(LATE, fits=EARLY.fits))))
    assert now.sheet != BEFORE.sheet and now.work == BEFORE.work
    assert now.fits[EARLY_KEY] == BEFORE.fits[LATE_KEY]


# ---- any change in a compiled edit changes that layout's work code ----

SPANS = st.tuples(st.integers(0, 5), st.integers(0, 7), st.integers(0, 7)).map(
    lambda t: Place((Part(t[0], min(t[1:]), max(t[1:])),))
)
EDITS = st.fixed_dictionaries(
    {
        "place": SPANS,
        "before": st.sampled_from([None, 0, 1]),
        "to": st.sampled_from([0, 1]),
        "length": st.integers(6, 8),
        "checksum": st.sampled_from([None, Checksum("crc8-j1850", 0, 4, 5), Checksum("crc8-autosar", 0, 4, 5)]),
        "asked": st.booleans(),
    }
)  # fmt: skip


def edited(spec):
    """The compiled edit and the work code of a recipe with one change as given."""
    flag = Setting("flag", "Flag", Choices((Choice("0", 0), Choice("1", 1))), ("comfort",), "club")
    where = Layout("only", None, spec["length"], {"flag": spec["place"]}, spec["checksum"])
    rec = Record("r", "R", (flag,), (where,), "0x0102")
    before = None if spec["before"] is None else str(spec["before"])
    to = Ask("?", str(spec["to"])) if spec["asked"] else str(spec["to"])
    change = Change(path("living/r/flag"), before, to)
    rcp = replace(RECIPE, changes=(change,), media=None, alternatives=(), fits=Vehicle("skerry"))
    edit = compile_edit(rec, change.setting.record_path, where, (change,))
    return edit, codes(rcp, {"living": replace(LIVING, records=(rec,))}, LINES).work["living/r/only"]


def bare(edit):
    """The edit without its words."""
    kept = [(f.place, f.before_raw, f.to_raw, f.asked) for f in edit.fields]
    return edit.length, edit.mask, edit.bits, edit.checksum, kept


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_in_a_compiled_edit_changes_the_work_code(data):
    spec = data.draw(EDITS.filter(lambda s: not (s["checksum"] and s["place"].parts[0].byte == 5)))
    name = data.draw(st.sampled_from(sorted(spec)))
    changed = {**spec, name: data.draw(EDITS)[name]}
    if changed["checksum"] and changed["place"].parts[0].byte == 5:
        changed["checksum"] = None
    (one, code), (other, other_code) = edited(spec), edited(changed)
    assert (bare(one) == bare(other)) == (code == other_code)
