"""``asfound check --watch``: checks again on each change and ends cleanly on Ctrl-C."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import IO

import pytest
from click.testing import CliRunner

from asfound.cli import main

BOOK = Path(__file__).parents[1] / "golden" / "minimal" / "in" / "recipes"
WAIT = 30  # seconds; a busy machine is slow


class Watching:
    """The command at work; what it prints, line by line."""

    def __init__(self, folder: Path) -> None:
        command = (sys.executable, "-u", "-m", "asfound.cli", "check", "recipes", "--watch")
        self.process = subprocess.Popen(
            command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.lines: Queue[str] = Queue()
        assert self.process.stdout
        Thread(target=self._read, args=(self.process.stdout,), daemon=True).start()

    def _read(self, stream: IO[str]) -> None:
        for line in stream:
            self.lines.put(line)

    def until(self, words: str) -> None:
        """Wait for the end of a check that says this; a slow machine may see half of a change before."""
        said = ""
        while words not in said or "checked. The next change" not in said:
            line = self.lines.get(timeout=WAIT)
            said = line if "checked. The next change" in said else said + line


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(BOOK, tmp_path / "recipes")
    return tmp_path


@pytest.fixture
def watching(folder: Path) -> Iterator[Watching]:
    started = Watching(folder)
    yield started
    if started.process.poll() is None:
        started.process.kill()
    started.process.communicate()


def test_it_checks_on_each_change_and_ends_on_ctrl_c(folder: Path, watching: Watching) -> None:
    watching.until("No findings.")
    club = folder / "recipes" / "club.yml"
    text = club.read_text("utf-8")
    club.write_text(f"{text}motto: Onward\n", "utf-8")
    watching.until("[unknown-key]")
    beside = club.with_name(".club.yml.new")  # as many editors save
    beside.write_text(text, "utf-8")
    beside.replace(club)
    watching.until("No findings.")
    (folder / "recipes" / "notes.txt").write_text("x", "utf-8")
    watching.until("[file-unexpected]")
    watching.process.send_signal(signal.SIGINT)
    watching.process.wait(WAIT)
    assert watching.process.returncode == 1  # what it found last
    assert watching.process.stderr and watching.process.stderr.read() == ""


def test_it_does_not_check_for_nothing(watching: Watching) -> None:
    """Its own reading of the files is no change."""
    watching.until("No findings.")
    with pytest.raises(subprocess.TimeoutExpired):
        watching.process.wait(1)
    assert watching.lines.empty()


def test_other_formats_are_refused(folder: Path) -> None:
    ended = CliRunner().invoke(main, ["check", str(folder / "recipes"), "--watch", "--format", "json"])
    assert ended.exit_code == 2 and "--watch prints text" in ended.output
