"""Every kind of finding is described and has an example that is true: the bad gives it, the good does not."""

from __future__ import annotations

import ast
import os
import sys
from collections.abc import Callable
from pathlib import Path
from struct import pack
from textwrap import dedent
from zlib import crc32

import pytest
from click.testing import CliRunner

import asfound
from asfound.cli import main
from asfound.rules import RULES
from asfound.rules.kinds import every_example, every_kind, groups
from asfound.rules.run import check_folder
from asfound.source.car_file import open_car
from asfound.source.catalogue import CATALOGUE
from asfound.source.limits import FILE_BYTES, FINDINGS_PER_FILE, VALUES

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import rules_book  # noqa: E402

PACKAGE = Path(asfound.__file__).parent
# What the good example stands in place of, where the book holds something else.
IN_PLACE_OF = {
    "yaml-plain-word": "annoyance: Dim",
    "yaml-remark": "purpose: Light.",
    "unknown-code": 'sheet_code: "{code:brighter}"',
    "vin-serial-twice": '- {at: [13, 17], from: "00001", to: "99999", built: 2015-01/..}',
    "prose-of-club": "about: We own Dories.",
    "prose-of-recipe": "purpose: Light.",
}


def emitted() -> set[str]:
    """Every id that source/ names where it makes a finding."""
    found = set()
    for path in (PACKAGE / "source").glob("*.py"):
        if path.stem == "catalogue":
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                id = node.value
                if (
                    id.startswith(("file-", "folder-", "yaml-", "json-", "picture-"))
                    and id.count("-")
                    and " " not in id
                ):
                    found.add(id)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                if node.func.id in ("Wrong", "Finding", "Unreadable", "Refused") and node.args:
                    if isinstance(node.args[0], ast.Constant):
                        found.add(node.args[0].value)
    return found


def test_every_finding_has_an_entry_and_every_entry_a_finding() -> None:
    assert emitted() == set(CATALOGUE)
    assert set(every_kind()) == set(CATALOGUE) | {rule.id for rule in RULES}
    assert not set(CATALOGUE) & {rule.id for rule in RULES}
    assert set(every_example()) == set(every_kind())
    grouped = [id for group in groups() for id in group.kinds]
    assert sorted(grouped) == sorted(every_kind())


@pytest.mark.parametrize("id", every_kind())
def test_it_is_said_in_whole_sentences(id: str) -> None:
    for sentence in every_kind()[id]:
        assert sentence[0].isupper() or sentence.startswith("asfound")
        assert sentence.endswith(".") and len(sentence) < 130
    note = every_example()[id].note
    assert not note or note.endswith(".")


def check(path: str, old: str, new: str) -> set[str]:
    """Ids found in the small book with ``new`` in place of ``old``, however deep that stands."""
    text = rules_book.FILES[path]
    for depth in range(8, 40):
        deep = "\n" + " " * depth
        first = text.find(old.replace("\n", deep))
        at = first - text.rfind("\n", 0, first) - 1
        if text.count(old.replace("\n", deep)) == 1 and ("\n" not in old + new or at == depth):
            change = (path, old.replace("\n", deep), new.replace("\n", deep))
            return {finding.id for finding in rules_book.check(change)}
    raise AssertionError(f"{path} does not hold once: {old}")


def in_folder(make: Callable[[Path], None]) -> Callable[[Path], set[str]]:
    """Ids found in the book on disk after something was done to it."""

    def check_it(folder: Path) -> set[str]:
        tree = rules_book.book_of().tree
        for entry in tree.entries():
            target = folder / entry.path
            if entry.kind == "folder":
                target.mkdir(parents=True, exist_ok=True)
            else:
                target.write_bytes(tree.read(entry.path))
        make(folder)
        return {finding.id for finding in check_folder(folder)[1]}

    return check_it


def renamed(old: str, new: str) -> Callable[[Path], set[str]]:
    return in_folder(lambda folder: (folder / old).rename(folder / new) and None)


def replaced(make: Callable[[Path], None]) -> Callable[[Path], set[str]]:
    """With modules/deck.yml removed, and something else made in its place."""

    def swap(folder: Path) -> None:
        deck = folder / "modules/deck.yml"
        deck.unlink()
        make(deck)

    return in_folder(swap)


def holding(file: str, raw: bytes) -> Callable[[Path], set[str]]:
    return in_folder(lambda folder: (folder / file).write_bytes(raw) and None)


def second_deck(folder: Path) -> None:
    (folder / "modules/pump.yml").write_bytes((folder / "modules/deck.yml").read_bytes())


def panorama() -> bytes:
    """A PNG (ISO/IEC 15948) that says it has 20 000 by 5000 pixels, and holds none."""
    header = b"IHDR" + pack(">IIBBBBB", 20_000, 5_000, 8, 2, 0, 0, 0)
    chunks = (pack(">I", len(each) - 4) + each + pack(">I", crc32(each)) for each in (header, b"IDAT"))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


DECK = rules_book.FILES["modules/deck.yml"]
DONE: dict[str, Callable[[Path], set[str]]] = {
    "file-missing": in_folder(lambda folder: (folder / "changes/brighter/recipe.yml").unlink()),
    "file-unexpected": renamed("modules/deck.yml", "modules/deck.yaml"),
    "folder-unexpected": renamed("changes/brighter/reports", "changes/brighter/report"),
    "file-bad-name": renamed("modules/deck.yml", "modules/Deck_Lights.yml"),
    "file-twin-names": in_folder(
        lambda folder: (folder / "modules/Deck.yml").write_text("", "utf-8") and None
    ),
    "duplicate-id": in_folder(second_deck),
    "translation-of-nothing": renamed(
        "languages/nl/changes/stronger.yml", "languages/nl/changes/strogner.yml"
    ),
    "file-link": replaced(lambda deck: deck.symlink_to("../../elsewhere/deck.yml")),
    "file-not-regular": replaced(lambda deck: os.mkfifo(deck)),
    "file-too-large": holding("modules/deck.yml", b"#" * (FILE_BYTES + 1)),
    "file-not-utf-8": holding("modules/deck.yml", DECK.encode("utf-16")),
    "file-empty": holding("changes/brighter/codes.yml", b""),
    "file-too-many-values": holding("modules/deck.yml", b"[" + b"a, " * VALUES + b"a]"),
    "file-too-many-findings": holding("modules/deck.yml", b"- 04 05 00\n" * (FINDINGS_PER_FILE + 1)),
    "file-modeline": holding("modules/deck.yml", f"# The deck of the Dory\n{dedent(DECK)}".encode()),
    "picture-too-large": holding("changes/brighter/plug.png", panorama()),
    "file-not-a-picture": holding("changes/brighter/plug.png", b'<svg xmlns="http://www.w3.org/2000/svg"/>'),
}
# No example in a file: tests of the reader refuse it where even its owner may read everything.
NOT_AS_ROOT = {"file-unreadable"}
OF_READERS = {"json-syntax"}


def test_the_book_without_any_example_is_sound() -> None:
    assert rules_book.check() == ()


@pytest.mark.parametrize("id", sorted(set(every_kind()) - set(DONE) - NOT_AS_ROOT - OF_READERS))
def test_an_example_in_a_file_is_true(id: str) -> None:
    example = every_example()[id]
    before = IN_PLACE_OF.get(id, example.good)
    assert check(example.file, before, example.good) == set()
    assert id in check(example.file, before, example.bad)


@pytest.mark.parametrize("id", sorted(DONE))
def test_an_example_of_files_is_true(id: str, tmp_path: Path) -> None:
    assert in_folder(lambda folder: None)(tmp_path) == set()
    assert id in DONE[id](tmp_path)


def test_the_example_of_a_file_that_cannot_be_read_is_true(monkeypatch: pytest.MonkeyPatch) -> None:
    """The system refuses; tests may run as root, whom no permission stops, so the refusal is played."""
    from asfound.source import guards, tree

    def refused(path: Path, flags: int) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(guards.os, "open", refused)
    with pytest.raises(guards.Unreadable) as refusal:
        tree.FolderTree(HERE).read("rules_book.py")
    assert refusal.value.id == "file-unreadable"


def test_the_example_of_a_readers_file_is_true() -> None:
    example = every_example()["json-syntax"]
    assert [f.id for f in open_car(example.bad.encode(), example.file).findings] == ["json-syntax"]
    assert "json-syntax" not in {f.id for f in open_car(example.good.encode(), example.file).findings}


# asfound explain


def explain(*words: str) -> tuple[int, str, str]:
    ended = CliRunner().invoke(main, ["explain", *words])
    return ended.exit_code, ended.stdout, ended.stderr


@pytest.mark.parametrize("id", every_kind())
def test_explain_says_all_of_it(id: str) -> None:
    status, said, _ = explain(id)
    example = every_example()[id]
    assert status == 0 and said.startswith(f"{id}\n")
    for words in (*every_kind()[id], example.file, *example.bad.split("\n"), *example.good.split("\n")):
        assert words in said


def test_without_an_id_all_are_listed() -> None:
    status, said, _ = explain()
    assert status == 0
    assert {line.split()[0] for line in said.splitlines() if line.startswith("  ")} == set(every_kind())


def test_an_id_may_be_typed_as_the_check_prints_it() -> None:
    assert explain("[unknown-name]") == explain("unknown-name")


def test_several_are_explained_one_after_the_other() -> None:
    status, said, _ = explain("unknown-name", "needs-circle", "unknown-name")
    assert status == 0
    assert [line for line in said.splitlines() if line and line[0] != " "] == ["unknown-name", "needs-circle"]


@pytest.mark.parametrize(
    ("typed", "hint"),
    [
        ("does-not-come-oot", "Near it: does-not-come-out"),
        ("example", "layout-without-example"),
        ("Unknown-Name", "Near it: unknown-name"),
        ("zzz", "asfound explain lists all."),
    ],
)
def test_an_unknown_id_is_refused_with_near_ones(typed: str, hint: str) -> None:
    status, said, refused = explain(typed)
    assert status == 2 and said == ""
    assert refused.startswith(f"asfound explain: no finding is called {typed}. ") and hint in refused


def test_check_says_how_to_read_more(tmp_path: Path) -> None:
    in_folder(lambda folder: None)(tmp_path)
    recipe = tmp_path / "changes/brighter/recipe.yml"
    recipe.write_text(recipe.read_text("utf-8").replace("status: offered", "status: ofered", 1), "utf-8")
    said = CliRunner().invoke(main, ["check", str(tmp_path)]).stdout
    last = said.splitlines()[-1]
    assert last.startswith("Read more: asfound explain not-allowed-value")
    assert explain(*last.partition("explain ")[2].split())[0] == 0
