"""Every case of the corpus through the check: exactly these findings, at once, in printable signs."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import corpus  # noqa: E402

ALL = corpus.cases()
ACCEPT = os.environ.get("ASFOUND_ACCEPT") == "1"
SECONDS, MEGABYTES = 2, 300
CONSEQUENCES = "and consequences"


class Checker:
    """The process of ``runner.py``."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, HERE / "runner.py"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def __call__(self, folder: Path, as_nobody: bool = False) -> dict[str, Any]:
        assert self.process.stdin and self.process.stdout
        self.process.stdin.write(f"{'as-nobody' if as_nobody else 'as-is'} {folder}\n")
        self.process.stdin.flush()
        said: dict[str, Any] = json.loads(self.process.stdout.readline())
        assert "error" not in said, said["error"]
        return said


@pytest.fixture(scope="module")
def checker() -> Iterator[Checker]:
    checker = Checker()
    yield checker
    assert checker.process.stdin
    checker.process.stdin.close()
    checker.process.wait(10)


@pytest.fixture(scope="module")
def base() -> Iterator[Path]:
    """The sound book, where a process without rights can read it."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        corpus.write_base(Path(folder) / "base")
        yield Path(folder) / "base"


def found(said: dict[str, Any]) -> list[str]:
    """Findings as cases have them, each once, and whether others follow from them."""
    keys = dict.fromkeys(f"{file}:{line} {id}" for file, line, id, because in said["findings"] if not because)
    return [*keys, *([CONSEQUENCES] if any(because for *_, because in said["findings"]) else [])]


def test_the_base_is_sound(base: Path, checker: Checker) -> None:
    said = checker(base)
    assert said["findings"] == []
    assert said["megabytes"] < 150, "what the check takes of itself leaves no room for the limit"


@pytest.mark.parametrize("name", ALL)
def test_case(name: str, base: Path, checker: Checker) -> None:
    case, folder = ALL[name], base.parent / "case"
    shutil.copytree(base, folder)
    try:
        corpus.make(case, folder)
        said = checker(folder, as_nobody=case.get("make", {}).get("kind") == "unreadable")
    finally:
        for path in folder.rglob("*"):
            if not path.is_symlink():
                path.chmod(0o700)
        shutil.rmtree(folder)
    if ACCEPT:
        accept(name, found(said))
    else:
        assert found(said) == case["finds"]
    assert said["processor"] < SECONDS and said["seconds"] < 5 * SECONDS, said["processor"]
    assert said["megabytes"] < MEGABYTES, said["megabytes"]
    assert all(line.isprintable() and len(line) < 1000 for line in said["lines"]), said["lines"]


def accept(name: str, finds: list[str]) -> None:
    """Writes what was found into the case."""
    assert not os.environ.get("CI"), "expected results are accepted by a person, never in CI"
    stem, case = name.split("/")
    file = corpus.CASES / f"{stem}.yml"
    text = file.read_text("utf-8")
    named = rf'case: "?{re.escape(case)}"?'
    block = re.compile(rf"(?ms)^- (?:\{{{named},|{named}\n).*?(?=\n- |\Z)")
    (now,) = block.findall(text)
    body = re.sub(r"\n? *\bfinds: .*\Z", "", now.rstrip(), flags=re.DOTALL).rstrip(", ")
    listed = json.dumps(finds, ensure_ascii=False)
    if body.startswith("- {"):
        body = body.removesuffix("}") if now.rstrip().endswith("}") and "finds:" not in now else body
        new = f"{body},\n   finds: {listed}}}"
    else:
        new = f"{body}\n  finds: {listed}"
    file.write_text(text.replace(now, new + ("\n" if now.endswith("\n") else "")), "utf-8")


def test_there_are_enough() -> None:
    assert len(ALL) >= 150
