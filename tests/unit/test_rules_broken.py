"""One broken file hides nothing wrong in others, and what follows from it is said once for each file."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from asfound.rules.run import check_folder
from asfound.source.report import as_lines

DEMO = Path(__file__).parents[2] / "recipes"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The demo with a misspelt key in a module that the vehicle line has, and a wrong example elsewhere."""
    folder = tmp_path / "recipes"
    shutil.copytree(DEMO, folder)
    module = folder / "modules" / "heater.yml"
    module.write_text(module.read_text("utf-8").replace("\nname: ", "\nnmae: ", 1), "utf-8")
    recipe = folder / "changes" / "other-tyres-true-speed" / "recipe.yml"
    recipe.write_text(recipe.read_text("utf-8").replace('write: "2115"', 'write: "2116"', 1), "utf-8")
    return folder


def test_the_wrong_example_is_still_found(book: Path) -> None:
    found = {(f.file, f.id) for f in check_folder(book)[1]}
    assert ("modules/heater.yml", "unknown-key") in found
    assert ("changes/other-tyres-true-speed/recipe.yml", "does-not-come-out") in found


def test_consequences_are_said_once_for_each_file(book: Path) -> None:
    findings = check_folder(book)[1]
    said = [line for line in as_lines(findings) if "could not be checked" in line]
    files = {f.file for f in findings if f.because}
    assert len(said) == len(files) < sum(f.because is not None for f in findings)
    assert any("(and at 1 more place in this file)" in line for line in said)


@pytest.mark.parametrize(
    ("folder", "called"),
    [("modules", "Modules"), ("modules", "module"), ("vehicles", "vehicle"), ("changes", "change")],
)
def test_a_misnamed_folder_is_the_cause_of_all_that_it_seems_to_lack(
    book: Path, folder: str, called: str
) -> None:
    shutil.rmtree(book)
    shutil.copytree(DEMO, book)
    (book / folder).rename(book / called)
    cause, *others = check_folder(book)[1]
    assert (cause.file, cause.id, cause.repair) == (called, "folder-unexpected", f"rename it to {folder}")
    assert others and all(other.because for other in others)
    assert not any("remove" in other.repair for other in others)


def test_a_second_folder_beside_the_right_one_excuses_nothing(book: Path) -> None:
    (book / "module").mkdir()
    (book / "modules" / "heater.yml").unlink()
    unknown = [one for one in check_folder(book)[1] if one.message == "there is no module heater"]
    assert unknown and not any(one.because for one in unknown)
