"""Every vector that the browser must answer, answered by Python; and the generated files are current."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "vectors"
sys.path.insert(0, str(FOLDER))

import make  # noqa: E402
import run  # noqa: E402

FILES = sorted(FOLDER.glob("*.json"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_python_answers_every_vector(file: Path) -> None:
    content = json.loads(file.read_text(encoding="utf-8"))
    assert content["vectors"]
    for vector in content["vectors"]:
        assert run.run(vector, content["shared"]) == vector["expect"], vector


def test_the_generated_files_are_current() -> None:
    made = dict(make.files())
    stale = [name for name, text in made.items() if (FOLDER / name).read_text(encoding="utf-8") != text]
    assert not stale, "run: make vectors"
    assert {file.name for file in FILES if not file.name.startswith("by-hand")} == set(made)


def test_hand_written_vectors_say_where_they_come_from() -> None:
    for file in FOLDER.glob("by-hand*.json"):
        for vector in json.loads(file.read_text(encoding="utf-8"))["vectors"]:
            assert vector["why"], vector


def test_every_kind_is_in_some_file_and_explained() -> None:
    used = {v["do"] for file in FILES for v in json.loads(file.read_text(encoding="utf-8"))["vectors"]}
    assert used == set(run.DO) | set(run.SHARED)
    explained = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert all(f"`{do}`" in explained for do in used)
