"""How long `asfound review` takes on a large book in which ten files changed.

The book is the demo copied (``generate.py``), in a git repository of its own; the command runs in a process
of its own, as a reviewer would run it, start-up included. The ten files are those of a busy day: words, a
value, a hazard, a check, a place in a module, a setting's functions, a restart, a report, a signature. A
change to a vehicle line's phases or to what the club demands concerns every recipe; then all is read, which
takes as long as ``asfound check``.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from generate import generate

WHO = {
    f"GIT_{role}_{what}": "bench@circle.example"
    for role in ("AUTHOR", "COMMITTER")
    for what in ("NAME", "EMAIL")
}
LIMIT = 3.0  # seconds


def git(folder: Path, *words: str) -> None:
    """A git command that must succeed."""
    subprocess.run(["git", "-C", str(folder), *words], env=os.environ | WHO, check=True, capture_output=True)


def prepare(folder: Path, recipes: int) -> int:
    """A repository with a book on main and ten changed files on branch proposal; how many changed."""
    generate(folder / "recipes", recipes)
    git(folder, "init", "-qb", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "The book")
    git(folder, "checkout", "-qb", "proposal")
    changed = change_ten(folder / "recipes")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "The proposal")
    return changed


def change_ten(book: Path) -> int:
    """Changes ten files, each in another copy of the demo, as far as there are so many."""
    copies = sorted(
        {int(path.stem.rpartition("-")[2]) for path in (book / "modules").glob("living-area-*.yml")}
    )

    def at(n: int) -> int:
        return copies[n * 2 % len(copies)]

    def recipe(name: str, n: int) -> Path:
        return book / f"changes/{name}-{at(n)}/recipe.yml"

    edits: list[tuple[Path, Callable[[str], str]]] = [
        (recipe("awning-lamp-with-door", 0), lambda t: t.replace("guy rope", "guy line")),
        (recipe("softer-tick", 1), lambda t: t.replace('"title": "', '"title": "Really: ')),
        (recipe("step-light-waits", 2), lambda t: t.replace('"to": "30"', '"to": "45"')),
        (
            recipe("awning-lamp-time-out", 3),
            lambda t: t.replace('"likelihood": "occasional"', '"likelihood": "remote"'),
        ),
        (book / f"modules/living-area-{at(4)}.yml", lambda t: _other_bit(t)),
        (book / f"modules/side-doors-{at(5)}.yml", lambda t: t.replace('"comfort"', '"maintenance"', 1)),
        (book / f"modules/heater-{at(6)}.yml", lambda t: t.replace('"minutes": ', '"minutes": 1')),
        (_first(book, "earlier-cut-off-*/reports"), lambda t: t.replace('"worked"', '"partly"')),
        (_first(book, "pets-on-board-*/vetted"), lambda t: ""),
        (recipe("welcome-words", 9), lambda t: t.replace('"check": "', '"check": "Calmly: ', 1)),
    ]
    for path, edit in edits:
        before = path.read_text("utf-8")
        after = edit(before)
        assert after != before, path
        if after:
            path.write_text(after, "utf-8")
        else:
            path.unlink()
    return len(edits)


def _first(book: Path, folder: str) -> Path:
    return min(book.glob(f"changes/{folder}/*.yml"))


def _other_bit(module: str) -> str:
    """The first place of a setting in the first layout, one bit further."""
    return re.sub(r'"bit": 2\b', '"bit": 3', module, count=1)


def timed(folder: Path, *words: str) -> tuple[float, float, str]:
    """Wall seconds and processor seconds of one run, and what it printed."""
    start, before = time.perf_counter(), os.times()
    done = subprocess.run(
        [sys.executable, "-m", "asfound.cli", "review", "--format", "json", "main", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode != 1:
        sys.exit(f"the review ended with {done.returncode}:\n{done.stderr}")
    wall, after = time.perf_counter() - start, os.times()
    busy = after.children_user + after.children_system - before.children_user - before.children_system
    return wall, busy, done.stdout


def bench_review(recipes: int, rounds: int) -> str:
    """One line: the least times of reviewing branch and working tree, since other load only adds."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        files = prepare(folder, recipes)
        branch = [timed(folder, "proposal") for _ in range(rounds)]
        here = [timed(folder) for _ in range(rounds)]
    changes = len(json.loads(branch[0][2])["changes"])
    assert changes == len(json.loads(here[0][2])["changes"])
    (a, x), (b, y) = (tuple(map(min, list(zip(*runs, strict=True))[:2])) for runs in (branch, here))
    verdict = "under" if max(a, b) < LIMIT else "OVER"
    return (
        f"asfound review, {recipes} recipes, {files} changed files, {changes} changes told: "
        f"two commits {a:.2f} s ({x:.2f} s busy), working tree {b:.2f} s ({y:.2f} s busy), "
        f"{verdict} {LIMIT:.0f} s"
    )


def main() -> None:
    """Print the line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--recipes", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=3)
    options = parser.parse_args()
    print(bench_review(options.recipes, options.rounds))


if __name__ == "__main__":
    main()
