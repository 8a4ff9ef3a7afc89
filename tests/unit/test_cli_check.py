"""What `asfound check` prints and the status it ends with."""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from asfound import __version__
from asfound.cli import main

ROOT = Path(__file__).parents[2]
GOLDEN = ROOT / "tests" / "golden"

FINDINGS_SCHEMA = {
    "type": "array",
    "items": {
        "type": "object",
        "properties": {
            "id": {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"},
            "key": {"type": "string", "minLength": 1},
            "file": {"type": "string", "pattern": "^recipes/[^/].*"},
            "line": {"type": "integer", "minimum": 1},
            "column": {"type": "integer", "minimum": 1},
            "path": {"type": "string"},
            "message": {"type": "string", "minLength": 1, "pattern": "^[^\\n]*$"},
            "repair": {"type": "string", "minLength": 1, "pattern": "^[^\\n]*$"},
            "because": {"type": ["string", "null"]},
            "also": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "file": {"type": "string", "pattern": "^recipes/[^/].*"},
                        "line": {"type": "integer", "minimum": 1},
                        "column": {"type": "integer", "minimum": 1},
                    },
                    "required": ["file", "line", "column"],
                    "additionalProperties": False,
                },
            },
        },
        "required": [
            "id", "key", "file", "line", "column", "path", "message", "repair", "because", "also",
        ],
        "additionalProperties": False,
    },
}  # fmt: skip


def run(*words: str | Path) -> Result:
    """`asfound …` within this process; anything but an ordinary end is what a user sees as a traceback."""
    ended = CliRunner().invoke(main, [str(word) for word in words])
    assert ended.exception is None or isinstance(ended.exception, SystemExit)
    return ended


def program(*words: str | bytes | Path, cwd: Path) -> subprocess.CompletedProcess[bytes]:
    """`asfound …` as a program of its own."""
    return subprocess.run(
        [sys.executable, "-m", "asfound.cli", *words], cwd=cwd, capture_output=True, timeout=60
    )


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small sound book in the folder recipes of the working directory."""
    shutil.copytree(GOLDEN / "minimal" / "in" / "recipes", tmp_path / "recipes")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "recipes"


@pytest.fixture
def broken(book: Path) -> Path:
    """The same with one fault in the recipe and one in the module."""
    for file, right, wrong in (
        ("changes/bay-lamp-fades/recipe.yml", "annoyance:", "anoyance:"),
        ("modules/lamps.yml", "length: 2", "length: two"),
    ):
        text = (book / file).read_text("utf-8")
        assert right in text
        (book / file).write_text(text.replace(right, wrong), "utf-8")
    return book


RECIPE = """\
recipes/changes/bay-lamp-fades/recipe.yml:6:1 anoyance [unknown-key]
  there is no key anoyance in recipe
  repair: write annoyance
"""
MORE = "Read more: asfound explain unknown-key\n"


def test_the_whole_demo_is_clean() -> None:
    ended = program("check", cwd=ROOT)
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, b"No findings.\n", b"")


def test_one_file_of_the_demo_is_checked_quickly() -> None:
    """In three seconds of processor time, most of which a slow machine needs to start Python."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ended = program("check", "recipes/changes/step-light-waits/recipe.yml", cwd=ROOT)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert (ended.returncode, ended.stdout) == (0, b"No findings.\n")
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < 3


def test_one_file(broken: Path) -> None:
    ended = run("check", "recipes/changes/bay-lamp-fades/recipe.yml")
    assert (ended.exit_code, ended.output) == (1, RECIPE + "1 finding in 1 file.\n" + MORE)


@pytest.mark.parametrize(
    "path", ["recipes/changes", "recipes/changes/bay-lamp-fades/", "recipes/vehicles/../changes"]
)
def test_a_folder_inside_the_book(broken: Path, path: str) -> None:
    ended = run("check", path)
    assert (ended.exit_code, ended.output) == (1, RECIPE + "1 finding in 1 file.\n" + MORE)


def test_several_paths_of_one_book(broken: Path) -> None:
    ended = run("check", "recipes/club.yml", "recipes/changes")
    assert (ended.exit_code, ended.output) == (1, RECIPE + "1 finding in 1 file.\n" + MORE)
    ended = run(
        "check", "recipes/club.yml", "recipes/vehicles"
    )  # the module's fault makes a consequence there
    assert ended.exit_code == 1
    assert ended.output.startswith("recipes/vehicles/plover.yml:11:14 fitted[0].module [unknown-name]\n")
    ended = run("check", "recipes/club.yml")
    assert (ended.exit_code, ended.output) == (0, "No findings.\n")


@pytest.mark.parametrize(
    ("cwd", "path", "shown"),
    [
        (".", None, "recipes"),
        (".", "recipes", "recipes"),
        ("recipes", ".", "."),
        ("recipes/changes", ".", ".."),
        ("recipes/changes/bay-lamp-fades", "recipe.yml", "../.."),
        ("recipes/modules", "../changes", ".."),
    ],
)
def test_places_are_written_as_the_reader_would_type_them(
    broken: Path, monkeypatch: pytest.MonkeyPatch, cwd: str, path: str | None, shown: str
) -> None:
    monkeypatch.chdir(broken.parent / cwd)
    ended = run("check", *([path] if path else []))
    place = f"{shown}/changes/bay-lamp-fades/recipe.yml:6:1 "
    assert place in ended.output.splitlines()[0]
    assert Path(place.partition(":")[0]).is_file()


def test_an_absolute_path_gives_absolute_places(broken: Path) -> None:
    ended = run("check", broken / "changes")
    assert ended.output.startswith(f"{broken}/changes/bay-lamp-fades/recipe.yml:6:1 anoyance")


GO = "go to your club's folder first, or name a book's folder or something inside one"


@pytest.mark.parametrize(
    "path", ["recipes/changes/none.yml", "nowhere", "recipes/club.yml/club.yml", "n" * 5000]
)
def test_a_missing_path(book: Path, path: str) -> None:
    ended = run("check", path)
    assert (ended.exit_code, ended.stdout) == (2, "")
    assert ended.stderr == f"asfound check: there is no folder or file {path}; {GO}\n"


def test_no_folder_recipes_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ended = run("check")
    assert ended.exit_code == 2
    assert ended.stderr == f"asfound check: there is no folder or file recipes; {GO}\n"


def test_a_path_outside_any_book(book: Path) -> None:
    Path("notes.yml").write_text("a: b\n", "utf-8")
    ended = run("check", "recipes/club.yml", "notes.yml")
    assert (ended.exit_code, ended.stdout) == (2, "")
    assert ended.stderr == "asfound check: notes.yml is in no book; a book's folder holds a file club.yml\n"


def test_paths_of_two_books(book: Path) -> None:
    shutil.copytree("recipes", "others")
    ended = run("check", "recipes", "others")
    assert (ended.exit_code, ended.stdout) == (2, "")
    assert ended.stderr == ("asfound check: recipes and others are different books; check one at a time\n")


def test_json(book: Path, broken: Path) -> None:
    ended = run("check", "--format", "json")
    assert ended.exit_code == 1
    findings = json.loads(ended.output)
    Draft202012Validator(FINDINGS_SCHEMA).validate(findings)
    assert {(f["file"], f["line"], f["id"]) for f in findings} >= {
        ("recipes/changes/bay-lamp-fades/recipe.yml", 6, "unknown-key"),
        ("recipes/modules/lamps.yml", 22, "wrong-type"),
    }
    keys = {f["key"] for f in findings}
    assert all(f["because"] in keys for f in findings if f["because"])
    assert ended.output.isascii()


def test_json_of_a_clean_book(book: Path) -> None:
    ended = run("check", "--format", "json")
    assert (ended.exit_code, json.loads(ended.output)) == (0, [])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("check", "--strict"), "No such option"),
        (("check", "--format", "xml"), "'xml' is not one of 'text', 'json'"),
        (("chek",), "No such command 'chek'"),
    ],
)
def test_a_wrong_option_or_command(words: tuple[str, ...], says: str) -> None:
    ended = run(*words)
    assert (ended.exit_code, ended.stdout) == (2, "")
    assert says in ended.stderr
    assert ended.stderr.startswith("Usage: ")


def test_help_and_version() -> None:
    for word in ("--help", "-h"):
        ended = run(word)
        assert ended.exit_code == 0
        assert "Keep a club's recipes for changing how a car's control modules behave." in ended.output
        assert "\n  check " in ended.output
    ended = run("check", "--help")
    assert ended.exit_code == 0
    for said in (
        "[PATH…]",
        "--format [text|json",
        "Exit status: 0 nothing found, 1 findings, 2 could not run.",
    ):
        assert said in ended.output
    ended = run("--version")
    assert (ended.exit_code, ended.output) == (0, f"asfound {__version__}\n")


def test_help_loads_nothing_heavy() -> None:
    heavy = "mkdocs jinja2 jsonschema yaml PIL markdown_it nh3 asfound.book asfound.pages"
    code = f"import sys, asfound.cli; print([m for m in {heavy.split()!r} if m in sys.modules])"
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (ended.stdout, ended.stderr) == ("[]\n", "")


# What is no ordinary file, and names and outputs that are no ordinary text.


def at_recipe(book: Path) -> Path:
    """Where a recipe's file would stand, freed."""
    path = book / "changes" / "bay-lamp-fades" / "recipe.yml"
    path.unlink()
    return path


@pytest.mark.parametrize("kind", ["pipe", "folder", "link to nowhere", "link to a device", "link to itself"])
def test_a_recipe_that_is_no_file(book: Path, kind: str) -> None:
    path = at_recipe(book)
    match kind:
        case "pipe":
            os.mkfifo(path)
        case "folder":
            path.mkdir()
        case "link to nowhere":
            path.symlink_to("nowhere.yml")
        case "link to a device":
            path.symlink_to("/dev/zero")
        case "link to itself":
            path.symlink_to(path)
    ended = program("check", path, cwd=book.parent)
    assert ended.returncode == 1
    assert ended.stdout.startswith(os.fsencode(path) + b":1:1 [")
    assert b"\n  repair: " in ended.stdout
    assert ended.stderr == b""


@pytest.mark.parametrize("name", ["club.yml", "modules/lamps.yml"])
def test_a_pipe_in_place_of_another_file(book: Path, name: str) -> None:
    (book / name).unlink()
    os.mkfifo(book / name)
    ended = program("check", "recipes", cwd=book.parent)
    assert ended.returncode == 1
    assert f"recipes/{name}:1:1 [file-not-regular]\n".encode() in ended.stdout
    assert ended.stderr == b""


def test_a_file_that_may_not_be_read(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's refusal is played, since root meets none."""
    really_open = os.open

    def refusing(path: Any, *more: Any, **named: Any) -> int:
        if str(path).endswith("lamps.yml"):
            raise PermissionError(13, "Permission denied")
        return really_open(path, *more, **named)

    monkeypatch.setattr(os, "open", refusing)
    ended = run("check", "recipes/modules")
    assert ended.exit_code == 1
    assert ended.output.startswith(
        "recipes/modules/lamps.yml:1:1 [file-unreadable]\n"
        "  the file cannot be read: Permission denied\n"
        "  repair: make it readable\n"
    )


def test_a_folder_that_may_not_be_listed(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a site would silently come out without the recipes in it."""
    really_scan = os.scandir

    def refusing(path: Any) -> Any:
        if Path(path).name == "bay-lamp-fades":
            raise PermissionError(13, "Permission denied")
        return really_scan(path)

    monkeypatch.setattr(os, "scandir", refusing)
    ended = run("check")
    assert ended.exit_code == 1
    assert ended.output == (
        "recipes/changes/bay-lamp-fades:1:1 [file-unreadable]\n"
        "  this folder cannot be opened\n"
        "  repair: make it readable\n"
        "1 finding in 1 file.\n"
        "Read more: asfound explain file-unreadable\n"
    )


def test_a_name_that_is_not_utf_8(book: Path) -> None:
    os.mkdir(os.fsencode(book / "changes") + b"/caf\xe9")
    (Path(os.fsdecode(os.fsencode(book / "changes") + b"/caf\xe9")) / "recipe.yml").write_text("a: b\n")
    ended = program("check", cwd=book.parent)
    assert ended.returncode == 1
    first, *_ = ended.stdout.decode("utf-8").splitlines()  # the output itself is sound
    assert first == "recipes/changes/caf\\uDCE9:1:1 [file-bad-name]"
    assert ended.stderr == b""
    ended = program("check", b"recipes/changes/caf\xe9", cwd=book.parent)  # asked about by its own name
    assert (ended.returncode, ended.stdout.decode("utf-8").splitlines()[0]) == (1, first)


def test_a_book_in_a_folder_whose_name_is_not_utf_8(broken: Path) -> None:
    odd = os.fsencode(broken.parent) + b"/b\xfccher"
    os.rename(broken, odd)
    ended = program("check", odd + b"/changes", cwd=broken.parent)
    assert ended.returncode == 1
    assert b"/b\\uDCFCcher/changes/bay-lamp-fades/recipe.yml:6:1 anoyance" in ended.stdout
    assert ended.stderr == b""
    ended = program("check", odd + b"/nowhere", cwd=broken.parent)
    assert (ended.returncode, ended.stdout) == (2, b"")
    assert b"there is no " in ended.stderr
    assert b"Traceback" not in ended.stderr


def test_a_name_that_looks_like_markup_or_like_a_terminal_command(book: Path) -> None:
    for name in ("<b>bold<", "\x1b[31mred", "a\nb"):
        (book / "changes" / name).mkdir()
    ended = run("check")
    assert ended.exit_code == 1
    assert "\x1b" not in ended.output
    assert "recipes/changes/<b>bold<:1:1 [file-bad-name]\n" in ended.output
    assert "recipes/changes/a\\nb:1:1 [file-bad-name]\n" in ended.output
    assert "recipes/changes/\\x1B[31mred:1:1 [file-bad-name]\n" in ended.output


def test_a_terminal_that_shows_only_ascii(book: Path) -> None:
    with (book / "club.yml").open("a", encoding="utf-8") as file:
        file.write("motto: »sea«\n")
    environment = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}
    ended = subprocess.run(
        [sys.executable, "-m", "asfound.cli", "check", "recipes/club.yml"], cwd=book.parent, env=environment,
        capture_output=True,
    )  # fmt: skip
    assert ended.returncode == 1
    assert ended.stdout.isascii()
    assert b"motto [unknown-key]" in ended.stdout
    assert ended.stderr == b""


@pytest.mark.parametrize("words", ["check", "check --format sarif", "explain", "--help", "check --help"])
def test_a_pipe_that_is_closed_early_is_neither_findings_nor_none(broken: Path, words: str) -> None:
    read, said = os.pipe()
    os.close(read)
    command = [sys.executable, "-m", "asfound.cli", *words.split()]
    with open(said, "wb") as deaf:
        ended = subprocess.run(command, cwd=broken.parent, stdout=deaf, stderr=subprocess.PIPE)
    assert (ended.returncode, ended.stderr) == (141, b"")


def test_with_a_site_the_pages_that_explain_are_named(broken: Path) -> None:
    ended = run("check", "recipes/changes", "--site", "https://circle.example/changes")
    assert ended.output.splitlines()[-3:] == [
        "Read more: asfound explain unknown-key",
        "  https://circle.example/changes/findings.html#unknown-key",
        "  https://circle.example/changes/fields/recipe.html",
    ]


@pytest.mark.parametrize("site", ["http://a.example", "a.example", "https://a.example/#x", "https://a b"])
def test_only_an_address_is_a_site(broken: Path, site: str) -> None:
    ended = run("check", "--site", site)
    assert ended.exit_code == 2 and "is no address of a site" in ended.output
