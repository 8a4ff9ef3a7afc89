"""A check of what changed says of what was asked for exactly what a check of the whole book says."""

from __future__ import annotations

import os
import random
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path, PurePosixPath

import pytest

from asfound.review import noted, since
from asfound.rules.run import check_folder, only_below
from asfound.source.cache import CACHE

sys.path.insert(0, str(Path(__file__).parent))

import random_edits

DEMO = Path(__file__).parents[2] / "recipes"
ROUNDS = 200 if os.environ.get("ASFOUND_SOAK") else 14


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo that counts as large, checked once."""
    monkeypatch.setattr(since, "PAYS", 1)
    monkeypatch.setattr(noted, "_CLOSE", -(10**18))  # a test has no two seconds to wait
    folder = tmp_path / "recipes"
    shutil.copytree(DEMO, folder)
    time.sleep(0.01)
    assert not since.check(folder)[0]
    assert since.check_since(folder) == ()
    return folder


def files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_each_edit_is_told_as_by_a_check_of_the_whole(book: Path, tmp_path: Path) -> None:
    dice = random.Random(7)
    answered = found = 0
    for n in range(ROUNDS):
        edit = random_edits.ALL[n % len(random_edits.ALL)]
        before = files(book)
        edit(book, dice)
        after = files(book)
        changed = [path for path in before.keys() | after.keys() if before.get(path) != after.get(path)]
        asked = [PurePosixPath(path) for path in sorted(changed) if path in after]
        whole = check_folder(book)[1]
        since_then = since.check_since(book, asked)
        if since_then is not None:
            answered += 1
            assert set(since_then) == set(only_below(whole, asked)), (edit.__name__, changed)
            found += bool(since_then)
        everything = since.check_since(book)
        assert everything in (None, ()), edit.__name__
        assert everything is None or not whole, edit.__name__
        for path in changed:  # as it was
            if path in before:
                (book / path).parent.mkdir(parents=True, exist_ok=True)
                (book / path).write_bytes(before[path])
            else:
                (book / path).unlink()
        for folder in sorted((each for each in book.rglob("*") if each.is_dir()), reverse=True):
            if not any(folder.iterdir()):
                folder.rmdir()
        assert since.check_since(book) == ()
    assert answered > ROUNDS // 2
    assert found


def test_what_changes_while_it_is_checked_is_not_noted(book: Path) -> None:
    loaded, found = check_folder(book)
    assert not found
    started = time.time_ns()
    time.sleep(0.02)
    path = book / "modules" / "heater.yml"
    path.write_text(path.read_text("utf-8"), "utf-8")
    assert since.note_sound(book, loaded, started) is None


@pytest.mark.parametrize(
    "damage",
    [
        lambda kept: b"{",
        lambda kept: b"",
        lambda kept: kept[: len(kept) // 2],
        lambda kept: kept + b"\nchanges/another/recipe.yml",
        lambda kept: kept.replace(b"\n\n", b"\n", 1),
        lambda kept: kept.replace(sys.byteorder.encode(), b"middle", 1),
    ],
)
def test_a_note_that_cannot_be_read_is_none(book: Path, damage: Callable[[bytes], bytes]) -> None:
    """Damaged, or of a machine that writes numbers the other way round."""
    kept = CACHE.get("sound", noted._key(book))
    assert kept and noted.Sound.read(book)
    CACHE.put("sound", noted._key(book), damage(kept))
    assert since.check_since(book) is None


def test_a_link_is_left_to_the_whole_check(book: Path) -> None:
    (book / "modules" / "other.yml").symlink_to(book / "modules" / "heater.yml")
    assert since.check_since(book) is None
