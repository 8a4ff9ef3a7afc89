"""The demo's tyre figures against the geometry of tyre size designations.

ISO 4000-1 (Passenger car tyres and rims, designation and dimensions): the designation gives nominal section
width in mm, nominal aspect ratio in per cent and nominal rim diameter code in inches (25.4 mm for the codes
used here); design overall diameter = rim diameter + 2 × section height, section height = width × ratio / 100.
Rolling circumference = 3.05 × overall diameter for radial tyres: ETRTO Standards Manual, from memory.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from asfound.source.loader import load
from asfound.work.recipes import Ask, Recipe

DEMO = Path(__file__).parents[2] / "recipes"
ROLLING = Fraction("3.05")


@pytest.fixture(scope="module")
def recipe() -> Recipe:
    return load(DEMO).recipes["other-tyres-true-speed"]


def diameter(size: str) -> Fraction:
    """Overall diameter in mm of a size such as 215/65 R16."""
    width, aspect, rim = map(int, re.fullmatch(r"(\d{3})/(\d{2}) R(\d{2})", size).groups())  # type: ignore[union-attr]
    return rim * Fraction("25.4") + 2 * width * Fraction(aspect, 100)


def circumference(size: str) -> int:
    """Rolling circumference in whole mm."""
    return round(ROLLING * diameter(size))


def test_the_formula_gives_the_textbook_overall_diameter() -> None:
    # 195/65 R15 has an overall diameter of 635 mm in ISO 4000-1's table of that series (from memory).
    assert abs(diameter("195/65 R15") - 635) <= 1


def test_each_figure_in_the_text_follows_from_its_size(recipe: Recipe) -> None:
    said = re.findall(r"(\d{3}/\d{2} R\d{2}): ([\d.]+) mm across, (\d+) mm", recipe.purpose)
    assert len(said) >= 3
    for size, across, around in said:
        assert Fraction(across) == Fraction(round(diameter(size) * 10), 10), size
        assert int(around) == circumference(size), size


def test_the_size_as_delivered(recipe: Recipe) -> None:
    assert circumference("215/65 R16") == 2092
    assert "2092 mm" in recipe.purpose
    assert "2092" in {alternative.to for alternative in recipe.alternatives}


def test_what_is_suggested_and_offered_belongs_to_a_size_in_the_text(recipe: Recipe) -> None:
    to = recipe.changes[0].to
    assert isinstance(to, Ask)
    offered = {int(to.suggest), *(int(alternative.to) for alternative in recipe.alternatives)}
    sizes = re.findall(r"\d{3}/\d{2} R\d{2}", recipe.purpose)
    assert offered <= {circumference(size) for size in sizes}
