"""The comparing itself: exact on cars, blind to what is only written otherwise, sure of what is what."""

from __future__ import annotations

import shutil
import sys
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.book import Book
from asfound.car.conditions import All, Any, Condition, Equipped, Not, Software, Vehicle
from asfound.car.fitting import truth
from asfound.car.known import Known
from asfound.car.vehicles import Equipment, Model, Phase, VehicleLine
from asfound.car.words import Names
from asfound.car.world import World
from asfound.review.both import moved_settings, renamed_recipes
from asfound.review.cars import compare_cars, variants_words
from asfound.review.compare import compare
from asfound.review.kinds import KINDS
from asfound.review.pairs import alike, pair
from asfound.review.run import what_it_is
from asfound.source.loader import load

sys.path.insert(0, str(Path(__file__).parents[1] / "review"))
from review_cases import CASES, ROOT, reviewed

DEMO = Path(__file__).parents[2] / "recipes"

# Two models, two phases, of which one model lacks the first; an item that only the other model can have.
LINE = VehicleLine(
    "cove", "Cove", "",
    (Phase("1", "P1", ("2016-01", "2019-12"), ""), Phase("2", "P2", ("2020-01", None), "")),
    (Model("short", "Short", ""), Model("long", "Long", "", ("2",))),
    (Equipment("awning", "an awning", ""), Equipment("step", "a step", "", models=("long",))),
    (),
)  # fmt: skip
WORLD = World({"cove": LINE})
NAMES = Names.of({"cove": LINE}, {})
VERSIONS = ("0100", "0200", "0250", "0300", "0400")

leaf = st.one_of(
    st.builds(
        Vehicle,
        st.just("cove"),
        st.sampled_from([(), ("short",), ("long",)]),
        st.sampled_from([(), ("1",), ("2",)]),
    ),
    st.builds(Equipped, st.sampled_from(["awning", "step"])),
    st.builds(
        Software, st.just("cabin"), st.sampled_from(["<0200", ">=0200", ">=0200,<0300", "=0250", "<=0300"])
    ),
)
conditions = st.recursive(
    leaf,
    lambda inner: st.one_of(
        st.builds(Not, inner),
        st.builds(All, st.lists(inner, min_size=1, max_size=3).map(tuple)),
        st.builds(Any, st.lists(inner, min_size=1, max_size=3).map(tuple)),
    ),
    max_leaves=5,
)


@cache
def cars() -> tuple[tuple[tuple[str, str], Known], ...]:
    """Every car that can be told apart here, written out one by one."""
    out = []
    for model, phase in (("short", "1"), ("short", "2"), ("long", "2")):
        for awning, step, version in product((True, False), (True, False), VERSIONS):
            if step and model == "short":
                continue
            known = replace(
                Known.of_variant("cove", model, phase),
                equipment={"awning": awning, "step": step},
                software={"cabin": version},
            )
            out.append(((model, phase), known))
    return tuple(out)


@settings(max_examples=150, deadline=None)
@given(conditions, conditions)
def test_gained_and_lost_are_those_of_every_car_counted_out(before: Condition, after: Condition) -> None:
    """Brute force is the reference: each car asked by itself, with all its facts known."""
    gained, lost = set(), set()
    for variant, known in cars():
        was, now = truth(before, known, WORLD), truth(after, known, WORLD)
        gained |= {variant} if now and not was else set()
        lost |= {variant} if was and not now else set()
    found = compare_cars(before, after, WORLD, NAMES)
    said = tuple(
        set() if found is None else named(lines) for lines in (found and found.gained, found and found.lost)
    )
    assert said == (gained, lost)


def named(lines: tuple[str, ...] | None) -> set[tuple[str, str]]:
    """The variants that lines such as ``Short (P1, P2), Long (P2): …`` name."""
    out = set()
    for variant in (("short", "1"), ("short", "2"), ("long", "2")):
        for line in lines or ():
            head = line.split(":")[0]
            model, phase = NAMES.models["cove", variant[0]], NAMES.phases["cove", variant[1]]
            here = [part for part in head.replace("), ", ")|").split("|") if part.startswith(model)]
            if head == "every Cove" or any(phase in part.split("(")[1] for part in here):
                out.add(variant)
    return out


def test_a_condition_written_otherwise_is_the_same() -> None:
    one = All((Vehicle("cove", phases=("2",)), Not(Equipped("awning"))))
    other = Not(Any((Equipped("awning"), Vehicle("cove", built=(None, "2019-12")))))
    assert compare_cars(one, other, WORLD, NAMES) is None
    assert compare_cars(None, Vehicle("cove"), WORLD, NAMES) is None


def test_too_many_facts_are_said_not_guessed() -> None:
    many = All(tuple(Software(f"m{n}", ">=1") for n in range(40)))
    found = compare_cars(many, Vehicle("cove"), WORLD, NAMES)
    assert found is not None
    assert "too many facts at once" in found.gained[0]


def test_variants_in_words() -> None:
    cells = [("cove", "short", "1"), ("cove", "short", "2"), ("cove", "long", "2")]
    assert variants_words(cells, WORLD, NAMES) == "every Cove"
    assert variants_words(cells[1:], WORLD, NAMES) == "Short (P2), Long (P2)"
    two = {"cove": LINE, "bay": replace(LINE, id="bay", name="Bay")}
    assert variants_words(cells[:1], two, Names.of(two, {})) == "Cove Short (P1)"


@pytest.mark.parametrize("folder", [DEMO, ROOT / "base" / "recipes"], ids=["demo", "base"])
def test_a_book_does_not_differ_from_itself_read_twice(folder: Path) -> None:
    assert compare(Book(load(folder)), Book(load(folder))) == ()


def test_every_change_of_the_demo_is_seen_from_nothing_and_back(tmp_path: Path) -> None:
    """Against a book without recipes: each recipe is new, then each is gone."""
    shutil.copytree(
        DEMO, tmp_path / "recipes", ignore=lambda folder, names: names if folder.endswith("changes") else []
    )
    empty, whole = Book(load(tmp_path / "recipes")), Book(load(DEMO))
    assert {c.subject.id for c in compare(empty, whole) if c.kind == "recipe-added"} == set(whole.recipes)
    assert {c.subject.id for c in compare(whole, empty) if c.kind == "recipe-removed"} == set(whole.recipes)


def test_the_cases_show_every_kind() -> None:
    assert {change.kind for case in CASES for change in reviewed(case).changes} == set(KINDS)


def test_renamed_settings_are_told_by_where_they_lie(tmp_path: Path) -> None:
    before = Book(load(ROOT / "base" / "recipes"))
    shutil.copytree(ROOT / "base" / "recipes", tmp_path / "recipes")
    module = tmp_path / "recipes/modules/cabin.yml"
    text = module.read_text("utf-8")
    # Another id and another name, in the same bits and of the same values.
    text = text.replace(
        "setting: door-lamp\n        name: Lamp at the door", "setting: sill\n        name: Sill lamp"
    )
    module.write_text(text.replace("door-lamp:", "sill:"), "utf-8")
    after = Book(load(tmp_path / "recipes"))
    moved = moved_settings(before, after)
    assert {str(old): str(new) for old, new in moved.items()} == {"cabin/lamps/door-lamp": "cabin/lamps/sill"}


def test_a_recipe_with_other_work_is_no_renamed_one(tmp_path: Path) -> None:
    before = Book(load(ROOT / "base" / "recipes"))
    folder = tmp_path / "recipes"
    shutil.copytree(ROOT / "base" / "recipes", folder)
    (folder / "changes/soft-chime").rename(folder / "changes/softest-chime")
    path = folder / "changes/softest-chime/recipe.yml"
    text = path.read_text("utf-8").replace("recipe: soft-chime", "recipe: softest-chime")
    path.write_text(text, "utf-8")
    assert renamed_recipes(before, Book(load(folder))) == {"soft-chime": "softest-chime"}
    path.write_text(text.replace("to: soft", "to: silent"), "utf-8")
    assert renamed_recipes(before, Book(load(folder))) == {}


@given(st.lists(st.sampled_from("abcde"), max_size=6), st.lists(st.sampled_from("abcde"), max_size=6))
def test_pairing_loses_nothing(before: list[str], after: list[str]) -> None:
    found = pair(before, after, str)
    same = len(before) - len(found.changed) - len(found.removed)
    assert same == len(after) - len(found.changed) - len(found.added)
    assert found.changed == ()  # equal letters are the same, others have nothing in common
    for letter in "abcde":
        less = before.count(letter) - after.count(letter)
        assert found.removed.count(letter) == max(less, 0)
        assert found.added.count(letter) == max(-less, 0)


def test_pairing_follows_words() -> None:
    before = ["Shut the door with the stick on the tread", "Read the dial", "Wait"]
    after = ["Wait", "Shut the door with a stick on the tread", "Light the lamp"]
    found = pair(before, after, str)
    assert found.changed == ((before[0], after[1]),)
    assert (found.removed, found.added) == (("Read the dial",), ("Light the lamp",))
    assert not found.order
    assert pair(["a", "b"], ["b", "a"], str).order
    assert alike("the same", "the same") == 1


@pytest.mark.parametrize(
    ("path", "what"),
    [
        ("recipes/club.yml", "who may vet, what the club demands and refuses"),
        ("schema/recipe.schema.json", "what files may say"),
        ("plugins/asfound/cli.py", "the program that checks and builds"),
        ("mkdocs.yml", "how the site is built"),
        ("overrides/main.html", "a template of the site's pages"),
        (".github/workflows/build.yml", "what runs by itself, or how git behaves"),
        (".ci/run", "what runs by itself"),
        ("ci/publish.sh", "what runs by itself"),
        (".gitattributes", "what runs by itself, or how git behaves"),
        ("requirements.txt", "outside the book"),
        ("recipes.py", "outside the book"),
    ],
)
def test_what_owners_files_are(path: str, what: str) -> None:
    assert what_it_is(path, "recipes") == what
