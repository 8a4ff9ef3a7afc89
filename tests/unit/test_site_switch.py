"""`asfound site`: nothing is lost, nothing is mixed, and the same input gives the same bytes."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from asfound.cli import main
from asfound.commands import site as module

GOLDEN = Path(__file__).parents[1] / "golden"
CONFIG = """\
site_name: The Plover Pair
docs_dir: site_src
use_directory_urls: false
strict: true
theme: {name: null, custom_dir: theme}
plugins: [{asfound: {recipes: recipes}}]
"""
RECIPE = Path("recipes/changes/bay-lamp-fades/recipe.yml")
TITLES = ("Bay lamp fades after the door is shut", "Bay lamp dims slowly once the door is shut")


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a small sound book, ready to be built, and the working directory."""
    folder = tmp_path / "club"
    shutil.copytree(GOLDEN / "minimal" / "in", folder)
    shutil.copytree(GOLDEN / "theme", folder / "theme")
    (folder / "site_src").mkdir()
    (folder / "mkdocs.yml").write_text(CONFIG, "utf-8")
    monkeypatch.chdir(folder)
    return folder


def run(*words: str) -> Result:
    ended = CliRunner().invoke(main, ["site", *words])
    assert ended.exception is None or isinstance(ended.exception, SystemExit)
    return ended


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def titled(title: str) -> None:
    """Gives the recipe another title."""
    lines = RECIPE.read_text("utf-8").splitlines(keepends=True)
    RECIPE.write_text("".join(f"title: {title}\n" if line.startswith("title:") else line for line in lines))


def beside(folder: Path) -> list[str]:
    """What lies there besides the input, the site and its lock."""
    usual = {"recipes", "site_src", "theme", "mkdocs.yml", "site", ".site.lock"}
    return sorted(set(os.listdir(folder)) - usual)


def test_a_site_is_built_where_none_was(club: Path) -> None:
    ended = run()
    assert ended.exit_code == 0, ended.output
    assert TITLES[0] in (club / "site/recipes/bay-lamp-fades.html").read_text("utf-8")
    assert beside(club) == []
    assert (club / "site").stat().st_mode & 0o777 == 0o755


def test_a_page_that_is_no_longer_made_is_gone(club: Path) -> None:
    run()
    (club / "site/old.html").write_text("from an earlier build")
    run()
    assert not (club / "site/old.html").exists()
    assert (club / "site/index.html").exists()


def test_a_build_that_fails_leaves_the_last_good_site(club: Path) -> None:
    run()
    before = contents(club / "site")
    RECIPE.write_text(RECIPE.read_text("utf-8").replace("annoyance:", "anoyance:"), "utf-8")
    ended = run()
    assert ended.exit_code == 1
    assert "the last site is as it was" in ended.stderr
    assert contents(club / "site") == before
    assert beside(club) == []


def test_two_builds_come_out_the_same_to_the_byte(club: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Compressed files included, whatever the order in which Python's sets come out, and at another time."""
    with (club / "mkdocs.yml").open("a") as file:
        file.write("site_url: https://plover.example/\n")  # for a site map with dates
    monkeypatch.setenv("PYTHONHASHSEED", "1")
    run("--zip", "made/for-it/one.zip")
    first = contents(club / "site")
    monkeypatch.setenv("PYTHONHASHSEED", "2")
    time.sleep(1.1)  # a compressed file's header counts in seconds
    run("--zip", "site/two.zip")
    assert contents(club / "site") == first | {"two.zip": Path("site/two.zip").read_bytes()}
    assert any(name.endswith(".gz") for name in first)
    assert Path("made/for-it/one.zip").read_bytes() == Path("site/two.zip").read_bytes()
    with zipfile.ZipFile("made/for-it/one.zip") as archive:
        assert {name.removeprefix("site/"): archive.read(name) for name in archive.namelist()} == first
        assert archive.namelist() == sorted(archive.namelist())


def test_the_date_is_that_of_the_newest_commit(club: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert module.date_of_source(Path("mkdocs.yml")) == 315532800  # no repository: 1980-01-01 in UTC
    when = {"GIT_AUTHOR_DATE": "2025-03-01T12:00:00Z", "GIT_COMMITTER_DATE": "2025-03-01T12:00:00Z"}
    name = ["-c", "user.name=wren", "-c", "user.email=wren@plover.example"]
    for words in (["init", "-q"], [*name, "commit", "-qm", "First", "--allow-empty"]):
        subprocess.run(["git", *words], env=os.environ | when, check=True)
    assert module.date_of_source(Path("mkdocs.yml")) == 1740830400  # date -u -d 2025-03-01T12:00:00Z +%s
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert module.date_of_source(Path("mkdocs.yml")) == 1700000000
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    assert module.date_of_source(Path("mkdocs.yml")) == 315532800


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_is_no_site_is_not_replaced(club: Path, kind: str) -> None:
    precious = club / "precious"
    if kind == "file":
        precious.write_text("diary")
    else:
        precious.mkdir()
        (precious / "diary.txt").write_text("diary")
    ended = run("--out", "precious")
    assert ended.exit_code == 2
    assert "is no site that was built before" in ended.stderr
    assert (precious if kind == "file" else precious / "diary.txt").read_text() == "diary"


def test_without_a_configuration(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ended = run()
    says = (
        "asfound site: there is no mkdocs.yml; go to your club's folder first, or name the site's --config\n"
    )
    assert (ended.exit_code, ended.stderr) == (2, says)


@pytest.mark.parametrize("exchange", [True, False])
def test_switching(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exchange: bool) -> None:
    """With the system's exchange of two folders, and with renaming where there is none."""
    if not exchange:
        monkeypatch.setattr(module, "_exchange", lambda one, other: False)
    for name in ("fresh", "site"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "index.html").write_text(name)
    module.switch(tmp_path / "fresh", tmp_path / "site")
    assert (tmp_path / "site/index.html").read_text() == "fresh"
    assert (tmp_path / "fresh/index.html").read_text() == "site"


def test_this_system_exchanges_two_folders_at_once(tmp_path: Path) -> None:
    """A reader who looks all the time never finds nothing; with two renames this fails at once."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "index.html").write_text(name)
    missed, done = [], threading.Event()

    def look() -> None:
        while not done.is_set():
            try:
                (tmp_path / "one" / "index.html").read_text()
            except OSError as error:
                missed.append(error)

    reader = threading.Thread(target=look)
    reader.start()
    for _ in range(2000):
        assert module._exchange(tmp_path / "one", tmp_path / "other")
    done.set()
    reader.join()
    assert missed == []


def test_a_build_that_is_killed_leaves_a_whole_site(club: Path) -> None:
    """Old or new, never a part or a mixture; and the next build does its work and clears away the rest."""
    words = [sys.executable, "-m", "asfound.cli", "site"]
    whole = []
    for title in TITLES:
        titled(title)
        begun = time.monotonic()
        subprocess.run(words, check=True, capture_output=True)
        takes = time.monotonic() - begun
        whole.append(contents(club / "site"))
    assert whole[0] != whole[1]
    chance = random.Random(6)
    found = []
    for number in range(6):
        titled(TITLES[number % 2])
        building = subprocess.Popen(
            words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        # The last ones around the end, where the switch is.
        time.sleep(takes * (chance.random() if number < 3 else chance.uniform(0.85, 1.05)))
        if number % 2:
            os.killpg(building.pid, signal.SIGKILL)  # the build and what it started
        else:
            building.kill()  # it alone; the host goes on by itself
        building.wait()
        found.append(contents(club / "site"))
        assert found[-1] in whole
    titled(TITLES[0])
    assert run().exit_code == 0
    assert contents(club / "site") == whole[0]
    assert beside(club) == []


def test_builds_for_one_place_wait_for_each_other(club: Path) -> None:
    words = [sys.executable, "-m", "asfound.cli", "site"]
    both = [subprocess.Popen(words, stdout=subprocess.PIPE) for _ in range(2)]
    assert [(one.communicate(), one.returncode)[1] for one in both] == [0, 0]
    assert (club / "site/index.html").exists()
    assert beside(club) == []
