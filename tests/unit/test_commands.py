"""The commands that write: what they write, what they leave alone, and when they refuse."""

from __future__ import annotations

import ast
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner, Result
from crccheck.crc import Crc8SaeJ1850

from asfound import commands
from asfound.book import Book
from asfound.cli import main
from asfound.commands.init import still_ours
from asfound.rules.run import check_folder
from asfound.source.catalogue import CATALOGUE
from asfound.source.loader import load
from asfound.source.schemas import KINDS, documents

ROOT = Path(__file__).parents[2]
RECIPE = Path("recipes/changes/cabin-lamp-waits")


def run(*words: str) -> Result:
    """A command, run here; it may refuse, but never break."""
    ended = CliRunner().invoke(main, words)
    assert ended.exception is None or isinstance(ended.exception, SystemExit), ended.exception
    return ended


@pytest.fixture(scope="module")
def begun() -> Iterator[dict[str, bytes]]:
    """The files of a repository that asfound init made."""
    with tempfile.TemporaryDirectory() as folder:
        ended = run("init", f"{folder}/club", "--name", "The Tidewrack")
        assert ended.exit_code == 0, ended.output
        club = Path(folder, "club")
        yield {str(p.relative_to(club)): p.read_bytes() for p in club.rglob("*") if p.is_file()}


@pytest.fixture
def club(begun: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh copy of it, in which the test runs."""
    for path, content in begun.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(content)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), "utf-8")


def book() -> Book:
    loaded, findings = check_folder(Path("recipes"))
    assert findings == ()
    return Book(loaded)


# all


def test_help_names_every_command_with_its_own_first_line():
    said = run("--help").output
    group = main
    for name in group.list_commands(None):  # type: ignore[arg-type]
        command = group.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None
        assert re.search(rf"^  {name} ", said, re.MULTILINE)
        if name in commands.COMMANDS:
            first = command.help.partition("\n")[0]
            assert commands.COMMANDS[name].says == first, (
                f"the list of commands says something else of {name}"
            )


def test_help_imports_no_room_below():
    # Time depends on the machine; what is imported does not. Help must answer at once (under 150 ms).
    code = (
        "import sys; from asfound.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print([m for m in sys.modules if m.startswith('asfound.')])"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(ast.literal_eval(ended.stdout.splitlines()[-1])) == {"asfound.cli", "asfound.commands"}


def test_what_cannot_be_printed_is_said_in_one_line():
    with open("/dev/full", "w") as full:
        words = [sys.executable, "-m", "asfound.cli", "explain"]
        ended = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, text=True)
    assert (ended.returncode, ended.stderr) == (2, "asfound: No space left on device\n")


def test_whoever_reads_only_the_beginning_hears_of_no_error():
    words = [sys.executable, "-m", "asfound.cli", "explain"]
    asked = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert asked.stdout is not None and asked.stderr is not None
    asked.stdout.close()
    assert asked.stderr.read() == b""
    asked.stderr.close()
    asked.wait()


@pytest.mark.parametrize(
    "words",
    [
        ("publish",),
        ("vet", "lamp", "--as", "wren"),
        ("new", "recipe", "lamp"),
        ("new", "report", "lamp", "--by", "wren"),
        ("new", "module", "lamp"),
        ("new", "vehicle", "lamp"),
    ],
)
def test_without_a_book_a_command_says_so(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ended = run(*words)
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert "recipes" in ended.output
    assert files(tmp_path) == {}


# publish


def test_publish_notes_every_code_once(club):
    before = files(club)
    ended = run("publish", "--on", "2026-03-01")
    assert ended.exit_code == 0, ended.output
    after = files(club)
    new = set(after) - set(before)
    assert new == {f"recipes/changes/{name}/codes.yml" for name in ("cabin-lamp-waits", "quieter-key-chime")}
    assert {path: after[path] for path in before} == before
    assert run("publish", "--on", "2026-04-01").exit_code == 0
    assert files(club) == after  # the second time nothing
    (past,) = book().past_codes("cabin-lamp-waits")
    codes = book().codes("cabin-lamp-waits")
    assert (past.sheet_code, past.on, past.what) == (codes.sheet, "2026-03-01", "First offered.")
    assert (past.work, past.fits) == (codes.work, codes.fits)


def test_after_a_change_of_instructions_one_code_is_added_and_old_reports_stay_known(club):
    run("publish", "--on", "2026-03-01")
    old = book().codes("cabin-lamp-waits").sheet
    edit(RECIPE / "recipe.yml", "count\n", "count aloud\n")
    unpublished = files(club)
    assert book().codes("cabin-lamp-waits").sheet != old
    assert run("publish", "--dry-run").exit_code == 0
    assert files(club) == unpublished
    edit(
        RECIPE / "recipe.yml",
        "history:\n",
        'history:\n  - {date: 2026-03-20, what: "The check: count."}\n',
    )
    ended = run("publish", "--on", "2026-04-01")
    assert ended.exit_code == 0, ended.output
    changed = {path for path, content in files(club).items() if unpublished.get(path) != content}
    assert changed == {str(RECIPE / "codes.yml"), str(RECIPE / "recipe.yml")}
    before, after = unpublished[str(RECIPE / "codes.yml")], (club / RECIPE / "codes.yml").read_bytes()
    assert after.startswith(before) and after != before
    first, second = book().past_codes("cabin-lamp-waits")
    assert (first.sheet_code, second.on, second.what) == (old, "2026-04-01", "The check: count.")
    # The old reports did the same work, so they count; the old signatures were for another sheet.
    assert {one.weight for one in book().evidence("cabin-lamp-waits").weighed} == {"counts"}
    assert {one.validity for one in book().examined("cabin-lamp-waits")} == {"earlier sheet"}


def test_without_its_old_code_the_same_change_leaves_reports_unknown(club):
    # What publish is for: the check refuses reports whose code nobody has noted.
    edit(RECIPE / "recipe.yml", "count\n", "count aloud\n")
    ended = run("publish")
    assert ended.exit_code == commands.FINDINGS
    assert "nothing was written" in ended.output
    assert not list(club.rglob("codes.yml"))


def test_going_back_to_an_earlier_sheet_adds_nothing(club):
    run("publish", "--on", "2026-03-01")
    edit(RECIPE / "recipe.yml", "count\n", "count aloud\n")
    run("publish", "--on", "2026-04-01")
    edit(RECIPE / "recipe.yml", "count aloud\n", "count\n")
    before = files(club)
    assert run("publish", "--on", "2026-05-01").exit_code == 0
    assert files(club) == before
    assert len(book().past_codes("cabin-lamp-waits")) == 2


def test_publish_writes_all_though_nobody_reads_what_it_says(club):
    for path in club.rglob("codes.yml"):
        path.unlink()
    read, said = os.pipe()
    os.close(read)
    words = [sys.executable, "-m", "asfound.cli", "publish"]
    with open(said, "w") as deaf:
        subprocess.run(words, stdout=deaf, stderr=subprocess.DEVNULL, cwd=club)
    assert len(list(club.rglob("codes.yml"))) == 2


def test_publish_writes_no_day_earlier_than_the_last(club):
    run("publish", "--on", "2026-03-01")
    edit(RECIPE / "recipe.yml", "count\n", "count aloud\n")
    before = files(club)
    ended = run("publish", "--on", "2026-02-28")
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert "2026-03-01" in ended.output
    assert files(club) == before


@pytest.mark.parametrize("day", ["2026-3-1", "20260301", "2026-02-30", "today"])
def test_a_day_that_is_none_is_refused(club, day):
    ended = run("publish", "--on", day)
    assert ended.exit_code == 2
    assert "is no day" in ended.output


def test_a_folder_that_cannot_be_written_is_said(club):
    (club / RECIPE / "codes.yml").mkdir()
    ended = run("publish")
    assert ended.exit_code != 0
    assert "codes.yml" in ended.output


# vet


def test_vet_signs_the_present_sheet_and_says_what(club):
    ended = run(
        "vet", "quieter-key-chime", "--as", "dipper", "--on", "2026-03-01", "--note", "Heard: it's half."
    )
    assert ended.exit_code == 0, ended.output
    path = "recipes/changes/quieter-key-chime/vetted/dipper.yml"
    code = book().codes("quieter-key-chime").sheet
    assert yaml.safe_load((club / path).read_text("utf-8")) | {"date": None} == {
        "recipe": "quieter-key-chime",
        "by": "dipper",
        "sheet_code": code,
        "date": None,
        "note": "Heard: it's half.",
    }
    assert path in ended.output and code in ended.output and "Key reminder at half loudness" in ended.output
    for variant in ("Plain Phase 1", "Plain Phase 2", "Alcove Phase 1", "Alcove Phase 2"):
        assert variant in ended.output
    assert "not vetted: one signature of two" in ended.output
    assert [one.validity for one in book().examined("quieter-key-chime")] == ["counts"]


def test_vet_again_writes_nothing(club):
    before = files(club)
    ended = run("vet", "cabin-lamp-waits", "--as", "wren", "--on", "2026-03-01")
    assert ended.exit_code == 0
    assert "2026-01-25" in ended.output and "nothing was written" in ended.output
    assert "Wexcombe Dabchick Alcove Phase 2: vetted" in ended.output
    assert files(club) == before


def test_vet_takes_the_path_of_a_folder(club):
    ended = run("vet", "recipes/changes/quieter-key-chime", "--as", "wren", "--on", "2026-03-01")
    assert ended.exit_code == 0, ended.output
    assert (club / "recipes/changes/quieter-key-chime/vetted/wren.yml").is_file()


def test_vet_renews_a_void_signature_even_where_the_check_complains_of_it(club):
    for report in (club / RECIPE / "reports").iterdir():
        report.unlink()
    (club / RECIPE / "vetted" / "dipper.yml").unlink()
    edit(RECIPE / "recipe.yml", "    read_on: redstart-2026-01\n", "    read_on: made-up\n")
    edit(RECIPE / "recipe.yml", "count\n", "count aloud\n")
    path = club / RECIPE / "vetted" / "wren.yml"
    old = path.read_bytes()
    ended = run("vet", "cabin-lamp-waits", "--as", "wren", "--on", "2026-03-01")
    assert ended.exit_code == 0, ended.output
    assert path.read_bytes() != old
    assert [one.validity for one in book().examined("cabin-lamp-waits")] == ["counts"]


REFUSED = {
    "not a reviewer": (("--as", "redstart"), "redstart is no reviewer"),
    "the author": (("--as", "siskin"), "siskin wrote"),
    "before being a reviewer": (("--as", "wren", "--on", "2025-12-31"), "from 2026-01-01"),
    "a path instead of a member": (("--as", "../../x"), "is no reviewer"),
    "a note of two lines": (("--as", "wren", "--note", "one\ntwo"), "one line"),
    "too long a note": (("--as", "wren", "--note", "x" * 241), "one line"),
}


@pytest.mark.parametrize(("words", "says"), REFUSED.values(), ids=REFUSED)
def test_vet_refuses(club, words, says):
    edit(
        club / "recipes/club.yml",
        "  - {handle: dipper,",
        "  - {handle: siskin, since: 2026-01-01}\n  - {handle: dipper,",
    )
    before = files(club)
    if words[1] == "redstart":
        assert "siskin" in run("vet", "quieter-key-chime", *words).output  # who could
    ended = run("vet", "quieter-key-chime", *words)
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert says in ended.output
    assert files(club) == before


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("status: offered", "status: draft", "is a draft"),
        (
            "status: offered",
            "status: withdrawn\nwithdrawn: {date: 2026-03-01, because: No., if_done: keep}",
            "is withdrawn",
        ),
    ],
)
def test_vet_refuses_what_is_not_offered(club, old, new, says):
    edit(club / "recipes/changes/quieter-key-chime/recipe.yml", old, new)
    ended = run("vet", "quieter-key-chime", "--as", "wren")
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert says in ended.output


@pytest.mark.parametrize("recipe", ["", "recipes", "recipes/club.yml", "recipes/changes"])
def test_vet_refuses_what_is_no_recipe(club, recipe):
    ended = run("vet", recipe, "--as", "wren")
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert ended.output.startswith("asfound vet: ") and "is no recipe" in ended.output


def test_commands_know_what_a_misspelt_recipe_may_be(club):
    for words in (
        ("vet", "cabin-lamp-wait", "--as", "wren"),
        ("new", "report", "cabin-lamp-wait", "--by", "wren"),
        ("sheet", "cabin-lamp-wait", "-o", "x.pdf"),
    ):
        ended = run(*words)
        assert ended.exit_code == commands.COULD_NOT_RUN
        assert ended.output == (
            f"asfound {words[0]}: there is no recipe 'cabin-lamp-wait'. Near it: cabin-lamp-waits.\n"
        )


def test_vet_refuses_where_the_check_has_findings(club):
    edit(club / "recipes/changes/quieter-key-chime/recipe.yml", 'write: "50 31"', 'write: "60 31"')
    ended = run("vet", "quieter-key-chime", "--as", "wren")
    assert ended.exit_code == commands.FINDINGS
    assert "does-not-come-out" in ended.output
    # Those of another recipe are that one's own affair.
    assert run("vet", "cabin-lamp-waits", "--as", "wren").exit_code == 0


def test_vet_refuses_in_a_book_without_reviewers(club):
    text = (club / "recipes/club.yml").read_text("utf-8")
    text = re.sub(r"reviewers:\n(?:  - .*\n)+", "reviewers: []\n", text)
    (club / "recipes/club.yml").write_text(text, "utf-8")
    for path in club.rglob("vetted/*.yml"):
        path.unlink()
    ended = run("vet", "quieter-key-chime", "--as", "wren")
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert "own notes" in ended.output


# new


def left_to_fill_in(path: str) -> set[str]:
    """The findings in a file, which must all be about keys without a value."""
    _, findings = check_folder(Path("recipes"))
    assert {finding.id for finding in findings} <= {"yaml-empty-value"}
    assert {f"recipes/{finding.file}" for finding in findings} == {path}
    return {finding.path for finding in findings}


def test_a_new_recipe_leaves_empty_just_what_nobody_but_its_author_can_know(club):
    path = "recipes/changes/lockers-stay-dark/recipe.yml"
    words = ("--setting", "living-area/lamps/locker-lamp", "--by", "wren", "--on", "2026-03-01")
    ended = run("new", "recipe", "lockers-stay-dark", *words)
    assert ended.exit_code == 0, ended.output
    example = ("found", "write", "read_on")
    assert left_to_fill_in(path) == {
        "title", "purpose", "annoyance", "changes[0].from", "changes[0].to",
        "checks[0].check", "checks[0].expect", "checks[0].power",
        *(f"worked_examples[{n}].{key}" for n in (0, 1) for key in example),
    }  # fmt: skip
    assert f"{path}: 14 things to fill in" in ended.output
    text = (club / path).read_text("utf-8")
    assert "dark, dim or bright" in text  # what the setting can be
    assert '"50 41 00 B1 07 7F"' in text  # what another car held
    assert "# Equipment the book knows: lockers.\n" in text
    assert "    # to: {ask: Which of them?, suggest: bright}\n    to:\n" in text
    assert documents().documents["recipe.schema.json"]["properties"]["annoyance"]["description"][:40] in text


@pytest.mark.parametrize(
    ("words", "path", "left"),
    [
        (("recipe", "bare"), "recipes/changes/bare/recipe.yml", {"changes[0].setting", "by", "title"}),
        (
            ("recipe", "loads", "--file-for", "instruments"),
            "recipes/changes/loads/recipe.yml",
            {"media.sha256", "media.menu[0]", "media.reading.before[0]", "way_back"},
        ),
        (
            ("module", "roof"),
            "recipes/modules/roof.yml",
            {"records[0].record", "records[0].layouts[0].places"},
        ),
        (("vehicle", "gull"), "recipes/vehicles/gull.yml", {"models[0].model", "phases[0].built"}),
        (
            ("report", "quieter-key-chime", "--by", "wren", "--on", "2026-03-01"),
            "recipes/changes/quieter-key-chime/reports/wren-2026-03.yml",
            {"sheet_code", "car.model", "car.phase", "outcome"},
        ),
    ],
    ids=["recipe", "file to load", "module", "vehicle", "report"],
)
def test_a_new_file_is_sound_but_for_what_is_left(club, words, path, left):
    ended = run("new", *words)
    assert ended.exit_code == 0, ended.output
    found = left_to_fill_in(path)
    assert left <= found
    assert f"{path}: {len(found)} things to fill in" in ended.output
    written = (club / path).read_bytes()
    again = run("new", *words)
    if words[0] == "report":  # a second one in the same month
        assert again.exit_code == 0
        assert (club / path.replace("2026-03", "2026-03-2")).is_file()
    else:
        assert again.exit_code == commands.COULD_NOT_RUN
        assert "is there already" in again.output
    assert (club / path).read_bytes() == written


def test_a_new_recipe_fits_the_lines_that_have_its_module(club):
    run("new", "vehicle", "gull")
    line = (club / "recipes/vehicles/gull.yml").read_text("utf-8")
    filled = line.replace("  - module: living-area\n", "")
    for empty, said in (
        ("\nname:", "\nname: Gull"), ("\nabout:", "\nabout: A van"), ("built:", "built: 2020-01/.."),
        ("    look:", "    look: Round lamps"), ("- model:", "- model: long"),
        ("    name:\n", "    name: Long\n"),
    ):  # fmt: skip
        filled = filled.replace(empty, said)
    (club / "recipes/vehicles/gull.yml").write_text(filled, "utf-8")
    assert run("check", "recipes").exit_code == commands.CLEAN
    run("new", "recipe", "dark", "--setting", "living-area/lamps/locker-lamp")
    assert "\nfits: {line: dabchick}\n" in (club / "recipes/changes/dark/recipe.yml").read_text("utf-8")
    run("new", "recipe", "soft", "--setting", "instruments/sounds/key-chime")
    soft = (club / "recipes/changes/soft/recipe.yml").read_text("utf-8")
    assert "\nfits:\n  # One of: dabchick, gull.\n  line:\n" in soft
    assert '    # to: {ask: "How much, in %?", suggest: "100"}\n' in soft


@pytest.mark.parametrize(
    ("path", "helps"),
    [
        ("living-area/lamps/locker-lamb", "Near it: living-area/lamps/locker-lamp"),
        (
            "living-area/0/zzzzzzzzzzzzzzzzzzzzzzzzzzzz",
            "living-area has living-area/lamps/cabin-lamp-time, living-area/lamps/locker-lamp.",
        ),
        ("zzz", "Write MODULE/RECORD/SETTING, with a module of instruments, living-area."),
    ],
)
def test_a_setting_that_there_is_not_is_answered_with_those_there_are(club, path, helps):
    ended = run("new", "recipe", "dark", "--setting", path)
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert helps in ended.output


def test_a_new_module_is_said_to_belong_to_cars(club):
    says = "Cars have it when {} says so, under fitted: - module: {}\n"
    assert run("new", "module", "roof").output.endswith(says.format("recipes/vehicles/dabchick.yml", "roof"))
    run("new", "vehicle", "gull")
    assert run("new", "module", "bay").output.endswith(says.format("the vehicle line's file", "bay"))


def test_a_new_recipe_on_a_safety_function_asks_for_its_proof(club):
    edit(club / "recipes/modules/instruments.yml", "functions: [sound]", "functions: [sound, signals]")
    run("new", "recipe", "chime", "--setting", "instruments/sounds/key-chime")
    text = (club / "recipes/changes/chime/recipe.yml").read_text("utf-8")
    assert "proves: signals" in text
    assert "signals to other road users: who can be hurt, and how?" in text


NOT_BEGUN = {
    "no such setting": (
        ("recipe", "x", "--setting", "living-area/lamps/lockerlamp"),
        "living-area/lamps/locker-lamp",
    ),
    "no such module": (("recipe", "x", "--file-for", "roof"), "instruments, living-area"),
    "no such recipe": (("report", "quieter-key-chim", "--by", "wren"), "quieter-key-chime"),
    "a mistyped code": (("report", "quieter-key-chime", "--by", "wren", "--code", "00000001"), "mistyped"),
    "a bad name": (("module", "Roof lamp"), "roof-lamp"),
    "a name that leads away": (("module", "../roof"), "is not made of small letters"),
    "a report by nobody": (("report", "quieter-key-chime", "--by", ""), "the name is empty"),
    "no name": (("recipe", ""), "the name is empty"),
    "an author who is no member": (("recipe", "x", "--by", "Wren: me"), "wren-me"),
    "a name of Windows": (("vehicle", "con"), "taken"),
}


@pytest.mark.parametrize(("words", "says"), NOT_BEGUN.values(), ids=NOT_BEGUN)
def test_new_refuses(club, words, says):
    before = files(club)
    ended = run("new", *words)
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert says in ended.output
    assert files(club) == before


def test_new_refuses_what_the_club_refuses(club):
    edit(club / "recipes/modules/instruments.yml", "functions: [sound]", "functions: [sound, braking]")
    ended = run("new", "recipe", "chime", "--setting", "instruments/sounds/key-chime")
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert "braking" in ended.output


def test_the_schemas_explain_all_that_is_left_empty():
    # A key without a value must stay a finding of the reader: that is what marks what is to be filled in.
    assert "yaml-empty-value" in CATALOGUE
    assert {"recipe", "report", "module", "line"} <= set(KINDS)


# the contributor's guide, followed to the letter


def test_the_first_recipe_of_the_guide_comes_out(club):
    guide = (ROOT / "site_src" / "contribute.md").read_text("utf-8")
    blocks = re.findall(r"```(sh|yaml)\n(.*?)```", guide, re.DOTALL)
    words = next(text for kind, text in blocks if kind == "sh" and "new recipe" in text).split()
    assert words[:3] == ["asfound", "check", "asfound"]
    assert run("check").output == "No findings.\n"
    ended = run(*words[3:])
    assert ended.exit_code == 0, ended.output
    path = club / "recipes/changes/lockers-stay-dark/recipe.yml"
    given = {
        key: value for kind, text in blocks if kind == "yaml" for key, value in yaml.safe_load(text).items()
    }
    made = yaml.safe_load(path.read_text("utf-8"))
    # What the guide says, put where the file stands empty; every empty key is one the guide tells about.
    for key in ("title", "purpose", "annoyance"):
        assert made[key] is None
        made[key] = given[key]
    assert given["changes"][0].keys() == made["changes"][0].keys()
    made["changes"], made["checks"] = given["changes"], given["checks"]
    # By hand: the low two bits of byte 2, and the high two of byte 1, from 1 (dim) to 0 (dark); the checksum
    # as crccheck has it.
    late = bytes.fromhex("50 41 00 B1 07"), bytes.fromhex("50 01 00 B1 07")
    held = [" ".join(f"{byte:02X}" for byte in (*raw, Crc8SaeJ1850.calc(raw))) for raw in late]
    for example, (found, write) in zip(
        made["worked_examples"], [("40 12 01 00", "40 12 00 00"), held], strict=True
    ):
        assert set(given["worked_examples"][0]) == set(example)
        example |= {"found": found, "write": write, "read_on": "made-up"}
    made["history"] = [{"date": str(entry["date"]), "what": entry["what"]} for entry in made["history"]]
    modeline = path.read_text("utf-8").partition("\n")[0]
    path.write_text(modeline + "\n" + yaml.safe_dump(made, sort_keys=False, default_style='"'), "utf-8")
    ended = run("check")
    assert ended.output == "No findings.\n"


# init


def test_init_refuses_a_folder_that_holds_something(tmp_path):
    (tmp_path / "mine").write_text("x")
    ended = run("init", str(tmp_path))
    assert ended.exit_code == commands.COULD_NOT_RUN
    assert files(tmp_path) == {"mine": b"x"}


@pytest.mark.parametrize("name", ["", "\n", "x" * 101, "bell\a"])
def test_init_refuses_names_that_cannot_be_shown(tmp_path, name):
    ended = run("init", str(tmp_path / "club"), "--name", name)
    assert ended.exit_code == commands.COULD_NOT_RUN or name == ""
    assert not (tmp_path / "club").exists() or name == ""


@pytest.mark.parametrize("name", ["No", "5E1", "Überfahrt", "«»", "a: b #c", "@code@ {{ x }} <b>", "it's"])
def test_init_takes_names_as_they_are(tmp_path, name):
    assert run("init", str(tmp_path / "club"), "--name", name).exit_code == 0
    loaded, findings = check_folder(tmp_path / "club" / "recipes")
    assert findings == ()
    assert loaded.club is not None and loaded.club.name == name
    assert yaml.safe_load((tmp_path / "club" / "mkdocs.yml").read_text("utf-8"))["site_name"] == name
    assert all(script.stat().st_mode & 0o111 for script in (tmp_path / "club" / "ci").iterdir())


def test_init_can_write_the_schemas_anew(club):
    (club / "schema" / "recipe.schema.json").write_text("{}")
    before = files(club)
    assert run("init", "--schemas", ".").exit_code == 0
    after = files(club)
    assert {path for path in after if after[path] != before[path]} == {"schema/recipe.schema.json"}
    assert after["schema/recipe.schema.json"] == (ROOT / "schema" / "recipe.schema.json").read_bytes()
    assert run("init", "--schemas", "recipes").exit_code == commands.COULD_NOT_RUN


def test_a_begun_club_has_the_script_that_its_page_on_automation_shows(club):
    page = (club / "site_src" / "ci.md").read_text("utf-8")
    shown = re.findall(r"```sh\n(.*?)```", page, re.DOTALL)[0]
    # A club adds hashes once it knows where its wheel comes from.
    assert shown.count(" --require-hashes") == 1
    assert (club / "ci" / "review.sh").read_text("utf-8") == shown.replace(" --require-hashes", "")


def test_a_begun_book_is_an_honest_one(club):
    held = book()
    assert load(Path("recipes")).findings == ()
    assert {one.weight for recipe in held.recipes for one in held.evidence(recipe).weighed} == {"counts"}
    labels = {held.standing("cabin-lamp-waits", cell).label for cell in held.cells("cabin-lamp-waits")}
    assert labels == {"vetted", "not vetted"}
    assert (club / "ci" / "publish.sh").is_file()


def test_init_says_how_to_install_what_made_it(tmp_path):
    said = run("init", str(tmp_path / "club")).output.splitlines()
    assert said[-1] == f"Where asfound is not installed yet: pip install -q {shlex.quote(str(ROOT))}"


def test_what_the_readme_of_a_begun_club_says_of_git_lets_it_be_reviewed(club, monkeypatch):
    for role in ("AUTHOR", "COMMITTER"):
        for what in ("NAME", "EMAIL"):
            monkeypatch.setenv(f"GIT_{role}_{what}", "x@circle.example")
    (line,) = re.findall(r"^git init .*$", (club / "README.md").read_text("utf-8"), re.MULTILINE)
    subprocess.run(line, shell=True, check=True, capture_output=True)
    ended = run("review", "main")
    assert ended.exit_code == 0, ended.output


def test_what_nobody_has_replaced_is_named_when_the_site_is_built(club):
    text = Path("recipes/club.yml").read_text("utf-8")
    lines = [n for n, line in enumerate(text.splitlines(), 1) if re.match("  Who|contact|.*handle", line)]
    assert len(lines) == 4
    ended = run("site")
    assert ended.exit_code == 0, ended.output
    where = f"recipes/club.yml, lines {', '.join(map(str, lines))}"
    assert ended.stderr == f"Still as asfound init wrote it, and published: {where}.\n"
    mine = re.sub("wren|dipper", "knot", text).replace("How a member asks", "Ask at").replace("Who we", "We")
    assert still_ours(mine) == () == still_ours((ROOT / "recipes/club.yml").read_text("utf-8"))
