"""Standing hazards come by rule, whatever a recipe says of itself."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from asfound.car.conditions import TRUE
from asfound.car.functions import FUNCTIONS
from asfound.car.records import SettingPath
from asfound.car.settings import Choice, Choices, Setting
from asfound.trust.risk import banner, signal_word
from asfound.trust.standing import changed_settings, functions, standing_hazards
from asfound.work.recipes import Alternative, Change, Hazard, Media, Recipe

ON_OFF = Choices((Choice("off", 0), Choice("on", 1)))


def path(name):
    return SettingPath("m", "r", name)


SETTINGS = {
    path(s.id): s
    for s in (
        Setting("lamp", "Lamp", ON_OFF, ("comfort", "road-lighting"), "maker"),
        Setting("lock", "Lock", ON_OFF, ("locking",), "club"),
        Setting("hum", "Hum", ON_OFF, ("sound",), "guess"),
    )
}
RECIPE = Recipe("r", "R", "author", "p", "a", TRUE, (), "automatic", "offered", ())
MEDIA = Media(
    "m", "A.BIN", "1", 1, "00" * 32, "maker", "", "FAT32", 1, None, ("Load",), 5, "About", ("0",), "1"
)


def changing(*names, **new):
    return replace(RECIPE, changes=tuple(Change(path(n), None, "on") for n in names), **new)


def standing(recipe, minutes=0, long=20):
    return standing_hazards(recipe, SETTINGS, functions(recipe, SETTINGS), minutes, long)


def test_functions_are_inherited_and_added_never_dropped():
    assert functions(changing("lock", "lamp"), SETTINGS) == ("comfort", "road-lighting", "locking")
    adding = changing("hum", functions=("alarm", "climate"))
    assert functions(adding, SETTINGS) == ("sound", "climate", "alarm")
    offered = replace(RECIPE, alternatives=(Alternative(path("lamp"), "on", "Burns."),))
    assert functions(offered, SETTINGS) == ("comfort", "road-lighting")
    order = list(FUNCTIONS)
    everything = functions(replace(RECIPE, functions=tuple(reversed(order))), SETTINGS)
    assert list(everything) == order


def test_unknown_settings_are_passed_over_and_each_counts_once():
    recipe = changing("lamp", "nowhere", "lamp")
    assert [s.id for s in changed_settings(recipe, SETTINGS)] == ["lamp"]


def test_nothing_special_nothing_standing():
    assert standing(replace(RECIPE, functions=("comfort",)), minutes=19) == ()


@pytest.mark.parametrize(
    ("recipe", "word", "says"),
    [
        (changing("lamp"), "WARNING", "road lighting"),
        (changing("lock"), "NOTICE", "locking"),
        (replace(RECIPE, functions=("emissions",)), "NOTICE", "emissions"),
        (changing("hum"), "CAUTION", "“Hum”"),
        (replace(RECIPE, media=MEDIA), "NOTICE", "file is loaded"),
        (replace(RECIPE, way_back="none"), "NOTICE", "no way back"),
    ],
)
def test_each_rule(recipe, word, says):
    (hazard,) = standing(recipe)
    assert signal_word(hazard) == word and says in hazard.hazard


@pytest.mark.parametrize(("minutes", "long", "count"), [(19, 20, 0), (20, 20, 1), (21, 20, 1), (0, 0, 1)])
def test_long_time_with_the_key_on(minutes, long, count):
    found = standing(RECIPE, minutes, long)
    assert len(found) == count
    assert all(f"{minutes} min," in h.hazard and "battery supply" in h.avoid for h in found)


@pytest.mark.parametrize(("origin", "count"), [("maker", 1), ("club", 2), ("member", 2), ("unknown", 2)])
def test_a_file_is_never_more_trusted_than_its_origin(origin, count):
    found = standing(replace(RECIPE, media=replace(MEDIA, origin_from=origin)))
    assert len(found) == count and "battery supply" in found[0].avoid


@pytest.mark.parametrize("function", [f for f, (kind, _) in FUNCTIONS.items() if kind == "safety"])
def test_every_safety_function_warns(function):
    (hazard,) = standing(replace(RECIPE, functions=(function,)))
    assert signal_word(hazard) == "WARNING" and FUNCTIONS[function][1] in hazard.hazard


@pytest.mark.parametrize("function", [f for f, (kind, _) in FUNCTIONS.items() if kind == "ordinary"])
def test_no_ordinary_function_does(function):
    assert standing(replace(RECIPE, functions=(function,))) == ()


def test_a_recipe_cannot_talk_it_down():
    harmless = Hazard("Nothing", "None", "None", "none", "could", "eliminated", "negligible")
    recipe = changing("lamp", "lock", "hum", hazards=(harmless,), way_back="none", media=MEDIA)
    found = standing(recipe, 60)
    assert len(found) == 6 and banner(found + recipe.hazards) == "WARNING"
    assert found == standing(replace(recipe, hazards=()), 60)


def all_texts():
    loud = changing("lamp", "lock", "hum", way_back="none", functions=tuple(FUNCTIONS))
    for origin in ("maker", "club", "member", "unknown"):
        yield from standing(replace(loud, media=replace(MEDIA, origin_from=origin)), 60)


def test_the_texts_are_whole_and_claim_nothing_about_the_law():
    for hazard in all_texts():
        for words in (hazard.hazard, hazard.consequence, hazard.avoid):
            assert words[0].isupper() and words.endswith((".", "”"))
        assert not re.search(r"\b(il)?legal|forbidden|permitted|allowed|prohibit", " ".join(
            (hazard.hazard, hazard.consequence, hazard.avoid)
        ))  # fmt: skip
    safety = next(h for h in all_texts() if "keeps people safe" in h.hazard)
    assert all(x in safety.avoid for x in ("workshop information", "local law", "licensed practice"))


def test_many_guesses_are_counted_after_six():
    many = {path(f"g{i}"): replace(SETTINGS[path("hum")], id=f"g{i}", name=f"G{i}") for i in range(9)}
    recipe = changing(*(p.setting for p in many))
    (hazard,) = standing_hazards(recipe, many, (), 0, 20)
    assert "“G5”" in hazard.hazard and "“G6”" not in hazard.hazard and "and 3 more" in hazard.hazard
