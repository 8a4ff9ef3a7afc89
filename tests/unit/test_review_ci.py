"""The examples for a club's automation: the script on the page runs, and judges by the base branch."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import click
import pytest
import yaml

from asfound.cli import main

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "site_src" / "ci.md").read_text("utf-8")
WHO = {
    f"GIT_{role}_{what}": "x@circle.example" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")
}
RECIPE = "recipes/changes/soft-chime/recipe.yml"


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", PAGE, re.DOTALL)


def git(folder: Path, *words: str) -> str:
    done = subprocess.run(
        ["git", "-C", str(folder), *words], env=os.environ | WHO, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


@pytest.fixture
def club(tmp_path: Path) -> Path:
    folder = tmp_path / "club"
    shutil.copytree(ROOT / "tests/review/base", folder)
    (folder / "mkdocs.yml").write_text("site_name: Circle\ndocs_dir: pages\nplugins: [asfound]\n", "utf-8")
    (folder / "pages").mkdir()
    (folder / "pages/about.md").write_text("# About\n", "utf-8")
    (folder / "requirements.txt").write_text("asfound\n", "utf-8")
    git(folder, "init", "-qb", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "The book")
    git(folder, "checkout", "-qb", "proposal")
    return folder


def judged(club: Path) -> tuple[int, Path]:
    """The status of the page's script on branch proposal, and what it left."""
    git(club, "add", "-A")
    git(club, "commit", "-qm", "Proposal")
    script = blocks("sh")[0]
    making = re.search(r"python3 -m venv .*?\n.*?pip.*?\n", script)
    assert making
    # The environment of this test stands for the one the script makes from the network.
    script = script.replace(
        making[0], f'mkdir "$work/.venv"; ln -s {Path(sys.executable).parent} "$work/.venv/bin"\n'
    )
    done = subprocess.run(
        ["sh", "-c", script, "review.sh", "main", "proposal"],
        cwd=club,
        env=os.environ | {"NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        check=False,
    )
    return done.returncode, club / "out"


def test_a_sound_proposal_passes_and_is_reviewed(club: Path) -> None:
    path = club / RECIPE
    path.write_text(
        path.read_text("utf-8").replace("expect: The chime is softer", "expect: It is softer"), "utf-8"
    )
    for signature in (club / "recipes/changes/soft-chime/vetted").iterdir():
        signature.unlink()
    for report in (club / "recipes/changes/soft-chime/reports").iterdir():
        report.unlink()
    status, out = judged(club)
    assert status == 0
    assert "Changed: a check." in (out / "review.md").read_text("utf-8")
    assert "Changed: a check." in (out / "review.html").read_text("utf-8")
    assert json.loads((out / "findings.sarif").read_text("utf-8"))["runs"][0]["results"] == []
    assert ElementTree.parse(out / "findings.xml").getroot().attrib["failures"] == "0"


def test_a_proposal_cannot_change_how_it_is_judged(club: Path) -> None:
    """It brings a hook that would run, a script, and a finding."""
    path = club / RECIPE
    path.write_text(path.read_text("utf-8").replace('"05 11"', '"07 11"'), "utf-8")
    (club / "hook.py").write_text(f"open({str(club.parent / 'trace')!r}, 'w')\n", "utf-8")
    with (club / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("hooks: [hook.py]\n")
    status, out = judged(club)
    assert status == 1
    assert not (club.parent / "trace").exists()
    said = (out / "review.md").read_text("utf-8")
    assert said.index("Only owners may change these files") < said.index("### Recipe")
    assert json.loads((out / "findings.sarif").read_text("utf-8"))["runs"][0]["results"]


def test_hooks_for_pre_commit_name_commands_that_are_there() -> None:
    """Required keys as pre-commit documents them (from memory)."""
    hooks = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text("utf-8"))
    assert isinstance(main, click.Group)
    for hook in hooks:
        assert {"id", "name", "entry", "language"} <= hook.keys()
        program, command = hook["entry"].split()
        assert program == "asfound"
        assert main.get_command(click.Context(main), command) is not None
    named = {hook["id"] for repo in yaml.safe_load(blocks("yaml")[0])["repos"] for hook in repo["hooks"]}
    assert named == {hook["id"] for hook in hooks}
