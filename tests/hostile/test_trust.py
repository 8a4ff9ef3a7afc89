"""What passes the check and still must not be vouched for: the vetting is computed, so it falls by itself.

What a pull request of this kind does to the vetting, ``asfound review`` says; cases in ``tests/review``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import corpus

from asfound.rules.run import check_book

ALL = corpus.cases()


def vetted(folder: Path) -> set[tuple[str, str, str]]:
    """The variants for which the club vouches for the recipe that is signed."""
    _, findings, book = check_book(folder)
    assert findings == () and book is not None
    return {cell for cell in book.cells("brighter") if book.standing("brighter", cell).vetted}


def test_the_signed_recipe_is_vetted_in_the_sound_book(tmp_path: Path) -> None:
    corpus.write_base(tmp_path / "book")
    assert vetted(tmp_path / "book") == {("dory", "open", "1")}


@pytest.mark.parametrize(
    "name", ["trust/module-moves-bits-and-the-example-follows", "trust/alternative-is-the-dangerous-value"]
)
def test_nobody_vouches_for_what_nobody_has_seen(name: str, tmp_path: Path) -> None:
    corpus.write_base(tmp_path / "book")
    assert ALL[name]["finds"] == []
    corpus.make(ALL[name], tmp_path / "book")
    assert vetted(tmp_path / "book") == set()


def test_a_reviewer_who_came_with_a_signature_is_left_to_the_review(tmp_path: Path) -> None:
    """The check cannot know whether an owner named the reviewer; the review says so first of all."""
    case = Path(__file__).parents[1] / "review" / "cases" / "reviewer-added-with-signature"
    said = (case / "report.txt").read_text("utf-8")
    assert said.index("Only owners may change these files") < said.index("becomes a reviewer")
    assert "git says: commit" in said
