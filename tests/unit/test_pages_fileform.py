"""Objects written back in the form of their files: the schema accepts them and the same objects come back."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.bits import Part, Place
from asfound.car.origin import NOWHERE
from asfound.pages import fileform
from asfound.source.build import BUILD
from asfound.source.build_car import place
from asfound.source.loader import load
from asfound.source.reader import read
from asfound.source.schemas import errors

ROOT = Path(__file__).parents[2]
LOADED = load(ROOT / "recipes")
EXAMPLES = ROOT / "tests" / "examples" / "positive"
WRITE = {
    "club": fileform.club,
    "line": fileform.line,
    "module": lambda one: fileform.module(one, publish_codes=True),
    "recipe": fileform.recipe,
    "report": fileform.report,
    "signature": fileform.signature,
    "codes": lambda codes: {"recipe": "x", "codes": [fileform.past_code(one) for one in codes]},
}


def comes_back(kind: str, built: object) -> None:
    data = json.loads(json.dumps(WRITE[kind](built)))
    assert list(errors(kind, data)) == []
    assert BUILD[kind](data, NOWHERE) == built


DEMO = [
    ("club", LOADED.club),
    *(("line", one) for one in LOADED.lines.values()),
    *(("module", one) for one in LOADED.modules.values()),
    *(("recipe", one) for one in LOADED.recipes.values()),
    *(("report", one) for of in LOADED.reports.values() for one in of),
    *(("signature", one) for of in LOADED.signatures.values() for one in of),
    *(("codes", of) for of in LOADED.past_codes.values()),
]


@pytest.mark.parametrize("kind", WRITE)
def test_the_demo_comes_back(kind):
    things = [one for of, one in DEMO if of == kind]
    assert things
    for one in things:
        comes_back(kind, one)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*/*.yml")), ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_every_key_of_the_examples_comes_back(path):
    kind = path.parent.name
    if kind in WRITE:
        comes_back(kind, BUILD[kind](read(path.read_bytes(), path.name).data, NOWHERE))


def test_access_codes_are_left_out_unless_the_club_publishes_them():
    module = next(iter(LOADED.modules.values()))
    secret = replace(module, records=(replace(module.records[0], access_code="C0DE5EC2E7"),))
    assert "C0DE5EC2E7" in json.dumps(fileform.module(secret, publish_codes=True))
    held = json.dumps(fileform.module(secret))
    assert "C0DE5EC2E7" not in held and "ask the club" in held


PARTS = st.builds(
    lambda byte, low, high: Part(byte, min(low, high), max(low, high)),
    *(st.integers(0, top) for top in (9, 7, 7)),
)


@given(st.lists(PARTS | st.builds(Part, st.integers(0, 9)), min_size=1, max_size=8))
def test_every_place_comes_back(parts):
    where = Place(tuple(parts))
    assert place(json.loads(json.dumps(fileform.place(where)))) == where
