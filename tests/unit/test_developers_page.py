"""DEVELOPERS.md is a map: what it and plugins/DECISIONS.md name is there, and it names every room."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "plugins" / "asfound"
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
REASONS = (ROOT / "plugins/DECISIONS.md").read_text("utf-8")
NAMED = sorted(set(re.findall(r"`([\w./*-]+\.(?:py|toml|html|js|json|yml|css)|[\w/-]+/)`", TEXT + REASONS)))
SHALLOW, DEEP = (ROOT, ROOT / "recipes"), (PACKAGE, ROOT / "tests", ROOT / "site_src")


def test_it_names_enough() -> None:
    assert len(NAMED) > 30


@pytest.mark.parametrize("path", NAMED)
def test_what_it_names_is_there(path: str) -> None:
    if path in ("book.json", "club.yml", "mkdocs.yml"):
        return  # what a site or a book has
    pattern = path.rstrip("/")
    found = [next(folder.glob(pattern), None) for folder in SHALLOW]
    found += [
        next(folder.rglob(pattern), None) for folder in DEEP
    ]  # what is clear from the sentence is left out
    assert any(found), f"{path} is named and not there"


def test_it_names_every_room() -> None:
    rooms = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert {room for room in rooms if f"{room}/" not in TEXT} == set()


def test_the_map_fits_on_a_page() -> None:
    assert len(TEXT.split()) < 1600
