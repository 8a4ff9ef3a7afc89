"""Golden builds. Each folder beside this file is a case; adding a folder adds a test.

``in/`` holds a book (``recipes/``) and, where the case needs them, ``mkdocs.yml``, ``site_src/``, templates.
``pages.txt`` names the built pages to compare, one a line, and ``files.txt`` for a list of the site's files;
a case without it expects no site. ``log.txt`` is the exit status and what was said; ``out/`` holds the pages
named, in the bare theme of ``theme/``, with one block a line.

``ASFOUND_ACCEPT=1 pytest tests/golden`` writes ``log.txt`` and ``out/`` anew; read the difference before you
commit it.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from mkdocs.__main__ import cli

HERE = Path(__file__).parent
CASES = sorted(folder for folder in HERE.iterdir() if (folder / "in").is_dir())
ACCEPT = os.environ.get("ASFOUND_ACCEPT") == "1"

USUAL = """\
site_name: The Plover Pair
docs_dir: site_src
use_directory_urls: false
strict: true
theme: {name: null, custom_dir: theme}
plugins:
  - asfound: {recipes: recipes}
"""
OF_THE_HOST = re.compile(r"INFO +-  (Cleaning site|Building documentation|Documentation built)")
NOT_OURS = re.compile(r"sitemap\.xml")
BLOCK = re.compile(
    r"\s*(</?(?:aside|br|caption|dd|details|div|dl|dt|figure|footer|form|h[1-6]|header|li|main|meta|nav|ol|p|section"
    r"|summary|svg|table|tbody|td|th|thead|title|tr|ul)\b[^>]*>)\s*"
)


def one_block_a_line(html: str) -> str:
    """HTML with white space squeezed and every block on a line of its own."""
    lines = BLOCK.sub(r"\n\1\n", re.sub(r"\s+", " ", html)).split("\n")
    return "".join(line.strip() + "\n" for line in lines if line.strip())


def wanted(case: Path) -> list[str]:
    """What of the site to compare; nothing where none is expected."""
    return (case / "pages.txt").read_text("utf-8").split() if (case / "pages.txt").exists() else []


def results(case: Path, folder: Path) -> dict[str, str]:
    """What a case comes to when a copy of it is built in ``folder``, by the file that holds it."""
    shutil.copytree(case / "in", folder)
    shutil.copytree(HERE / "theme", folder / "theme")
    (folder / "site_src").mkdir(exist_ok=True)
    if not (folder / "mkdocs.yml").exists():
        (folder / "mkdocs.yml").write_text(USUAL, "utf-8")
    with contextlib.chdir(folder):
        ended = CliRunner().invoke(cli, ["build"])
    assert ended.exception is None or isinstance(ended.exception, SystemExit), "a user would see a traceback"
    said = ended.output.replace(str(folder), "<folder>").splitlines()
    log = "".join(f"{line.rstrip()}\n" for line in said if line and not OF_THE_HOST.match(line))
    found = {"log.txt": f"exit status {ended.exit_code}\n{log}"}
    site = folder / "site"
    if ended.exit_code == 0:
        files = sorted(path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file())
        listed = "".join(f"{file}\n" for file in files if not NOT_OURS.match(file))
        for name in wanted(case):
            found[f"out/{name}"] = (
                listed if name == "files.txt" else one_block_a_line((site / name).read_text("utf-8"))
            )
    return found


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_golden(case: Path, tmp_path: Path) -> None:
    found = results(case, tmp_path / "case")
    if ACCEPT:
        assert not os.environ.get("CI"), "expected results are accepted by a person, never in CI"
        shutil.rmtree(case / "out", ignore_errors=True)
        for name, text in found.items():
            (case / name).parent.mkdir(parents=True, exist_ok=True)
            (case / name).write_text(text, "utf-8")
    kept = [case / "log.txt", *(path for path in sorted((case / "out").rglob("*")) if path.is_file())]
    expected = {path.relative_to(case).as_posix(): path.read_text("utf-8") for path in kept}
    for name, text in expected.items():  # the log first: it says why pages are missing
        assert found.get(name, "").splitlines() == text.splitlines(), f"{case.name}/{name}"
    assert sorted(found) == sorted(expected)
    assert bool(wanted(case)) == found["log.txt"].startswith("exit status 0\n")


def test_there_are_cases() -> None:
    assert len(CASES) >= 12
