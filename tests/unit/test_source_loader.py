"""Loading a book: what is built, what is refused, and where things stand."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from asfound.car.origin import Origin
from asfound.source.guards import Unreadable
from asfound.source.limits import DEVICE_NAMES, PAGE_NAMES, PICTURE_BYTES
from asfound.source.loader import FolderTree, load
from asfound.source.names import modeline, sort_out
from asfound.source.reader import EMPTY
from asfound.source.tree import Entry

EXAMPLES = Path(__file__).resolve().parent.parent / "examples" / "positive"
FILES = {
    "club.yml": ("club", "plain"),
    "vehicles/skerry.yml": ("line", "plain"),
    "modules/living-area.yml": ("module", "plain"),
    "modules/rear-view.yml": ("module", "names-only"),
    "changes/awning-lamp-with-door/recipe.yml": ("recipe", "plain"),
    "changes/awning-lamp-with-door/codes.yml": ("codes", "plain"),
    "changes/awning-lamp-with-door/reports/turnstone-2026-02.yml": ("report", "plain"),
    "changes/awning-lamp-with-door/vetted/dunlin.yml": ("signature", "plain"),
    "changes/map-card/recipe.yml": ("recipe", "file-to-load"),
}
RECIPE = "changes/awning-lamp-with-door/recipe.yml"
WRITE = "write the value: "
STATUS = "draft: not yet for others. offered: for use and review. withdrawn: no longer to be done."
ADDRESS = 'in quotes, hexadecimal after 0x. Left out when places name their own. Such as "0x3B"'
SINCE = "a day, ISO 8601 YYYY-MM-DD; such as 2026-04-30"


@pytest.fixture
def book(tmp_path) -> Path:
    """A small book made of the positive examples."""
    for place, (kind, name) in FILES.items():
        _, _, content = (EXAMPLES / kind / f"{name}.yml").read_text().partition("\n")
        write(tmp_path, place, f"{modeline(kind, place)}\n{content}")
    return tmp_path


def write(book: Path, place: str, content: str | bytes) -> None:
    (book / place).parent.mkdir(parents=True, exist_ok=True)
    (book / place).write_bytes(content.encode() if isinstance(content, str) else content)


def edit(book: Path, place: str, old: str, new: str) -> None:
    content = (book / place).read_text()
    assert old in content
    write(book, place, content.replace(old, new, 1))


def ids(book: Path) -> list[tuple[str, str]]:
    return [(f.id, f.file) for f in load(book).findings]


def only(book: Path):
    (finding,) = load(book).findings
    return finding


def test_everything_is_built(book):
    Image.new("RGB", (2, 2)).save(book / "changes/map-card/card.png")
    loaded = load(book)
    assert loaded.findings == ()
    assert loaded.club is not None and loaded.club.id == "skerry-camper-circle"
    assert set(loaded.lines) == {"skerry"}
    assert set(loaded.modules) == {"living-area", "rear-view"}
    assert set(loaded.recipes) == {"awning-lamp-with-door", "map-card"}
    assert [r.id for r in loaded.reports["awning-lamp-with-door"]] == ["turnstone-2026-02"]
    assert [s.by for s in loaded.signatures["awning-lamp-with-door"]] == ["dunlin"]
    assert [c.sheet_code for c in loaded.past_codes["awning-lamp-with-door"]] == ["4M7Q0Z2K"]
    assert loaded.pictures == {"map-card": ("card.png",)}
    assert set(loaded.files) == {*FILES, "changes/map-card/card.png"}
    assert loaded.broken == {}
    assert loaded.recipes["map-card"].origin == Origin("changes/map-card/recipe.yml")


def test_reports_come_oldest_first(book):
    report = (book / "changes/awning-lamp-with-door/reports/turnstone-2026-02.yml").read_text()
    for name, date in (("a-late", "2026-03-01"), ("z-early", "2026-01-01")):
        write(
            book,
            f"changes/awning-lamp-with-door/reports/{name}.yml",
            report.replace("turnstone-2026-02", name).replace("2026-02-14", date),
        )
    loaded = load(book)
    assert [r.id for r in loaded.reports["awning-lamp-with-door"]] == [
        "z-early",
        "turnstone-2026-02",
        "a-late",
    ]


# what is broken


def test_a_file_with_findings_gives_no_object_and_is_named_as_broken(book):
    edit(book, "modules/living-area.yml", "duty:", "dutty:")
    loaded = load(book)
    assert set(loaded.modules) == {"rear-view"}
    assert set(loaded.recipes) == {"awning-lamp-with-door", "map-card"}
    (finding,) = loaded.findings
    assert (finding.id, finding.line, finding.path) == ("unknown-key", 4, "dutty")
    assert loaded.broken == {("module", "living-area"): finding.key}


def test_a_broken_file_is_known_by_both_its_names(book):
    edit(book, "modules/living-area.yml", "module: living-area", "module: living-room")
    loaded = load(book)
    assert set(loaded.broken) == {("module", "living-area"), ("module", "living-room")}


@pytest.mark.parametrize("content", ["a: [\n", "", "null\n", "---\n", "[]\n", "{}\n", "text\n", "1\n"])
def test_every_file_broken_at_once(book, content):
    for place, (kind, _) in FILES.items():
        write(book, place, f"{modeline(kind, place)}\n{content}")
    loaded = load(book)
    assert {f.file for f in loaded.findings} == set(FILES)
    assert loaded.club is None
    assert not loaded.lines and not loaded.modules and not loaded.recipes
    assert ("club", "club") in loaded.broken
    assert ("report", "turnstone-2026-02") in loaded.broken
    assert ("codes", "awning-lamp-with-door") in loaded.broken


def test_a_missing_modeline_shows_the_line_and_breaks_nothing(book):
    edit(book, RECIPE, modeline("recipe", RECIPE) + "\n", "")
    loaded = load(book)
    (finding,) = loaded.findings
    assert (finding.id, finding.line, finding.column) == ("file-modeline", 1, 1)
    assert finding.repair == (
        "write as first line: # yaml-language-server: $schema=../../../schema/recipe.schema.json"
    )
    assert "awning-lamp-with-door" in loaded.recipes


@pytest.mark.parametrize(
    "line",
    [
        "# yaml-language-server: $schema=../../schema/recipe.schema.json",
        "# yaml-language-server: $schema=../../../schema/report.schema.json",
        "#yaml-language-server: $schema=../../../schema/recipe.schema.json",
        "# yaml-language-server: $schema=../../../schema/recipe.schema.json.bak",
        "\n# yaml-language-server: $schema=../../../schema/recipe.schema.json",
    ],
)
def test_a_wrong_modeline(book, line):
    edit(book, RECIPE, modeline("recipe", RECIPE), line)
    assert only(book).id == "file-modeline"


@pytest.mark.parametrize(
    ("place", "old", "new", "repair"),
    [
        (RECIPE, "status: offered", "status:", WRITE + STATUS),
        (
            RECIPE,
            "to: follows",
            "to: ",
            WRITE + "the new value, or a question to the reader; such as follows",
        ),
        (
            RECIPE,
            "way_back: automatic",
            "way_back: automatic\npictures:",
            f"{EMPTY}: pictures in the recipe's folder that its steps use",
        ),
        (RECIPE, "way_back: automatic", "way_back: automatic\nmotto:", EMPTY),
        ("modules/living-area.yml", 'address: "0x3B"', "address:", f"{EMPTY}: {ADDRESS}"),
        ("club.yml", "since: 2019-04-07", "since: ", WRITE + SINCE),
    ],
)
def test_what_stands_empty_is_described_and_may_be_left_out_only_where_the_schema_lets_it(
    book, place, old, new, repair
):
    edit(book, place, old, new)
    found = only(book)
    assert (found.id, found.message, found.repair) == ("yaml-empty-value", "nothing stands here", repair)


def test_line_ends_of_windows_are_taken(book):
    write(book, RECIPE, (book / RECIPE).read_text().replace("\n", "\r\n"))
    assert load(book).findings == ()


@pytest.mark.parametrize(
    ("kind", "place"),
    [
        ("club", "club.yml"),
        ("line", "vehicles/a.yml"),
        ("recipe", "changes/a/recipe.yml"),
        ("report", "changes/a/reports/b.yml"),
    ],
)
def test_the_modeline_leads_to_the_schema(kind, place):
    _, _, relative = modeline(kind, place).partition("$schema=")
    assert os.path.normpath(os.path.join("recipes", os.path.dirname(place), relative)).startswith("schema/")


# names


@pytest.mark.parametrize(
    ("place", "old", "new", "path"),
    [
        ("modules/living-area.yml", "module: living-area", "module: living", "module"),
        ("vehicles/skerry.yml", "line: skerry", "line: skerries", "line"),
        (RECIPE, "recipe: awning-lamp-with-door", "recipe: awning-lamp", "recipe"),
        (
            "changes/awning-lamp-with-door/codes.yml",
            "recipe: awning-lamp-with-door",
            "recipe: map-card",
            "recipe",
        ),
        ("changes/awning-lamp-with-door/vetted/dunlin.yml", "by: dunlin", "by: knot", "by"),
        (
            "changes/awning-lamp-with-door/reports/turnstone-2026-02.yml",
            "recipe: awning-lamp-with-door",
            "recipe: map-card",
            "recipe",
        ),
        (
            "changes/awning-lamp-with-door/reports/turnstone-2026-02.yml",
            "report: turnstone-2026-02",
            "report: turnstone",
            "report",
        ),
    ],
)
def test_a_file_that_calls_itself_otherwise(book, place, old, new, path):
    edit(book, place, old, new)
    finding = only(book)
    assert (finding.id, finding.file, finding.path) == ("file-name-mismatch", place, path)


def test_the_words_of_a_mismatch(book):
    edit(book, RECIPE, "recipe: awning-lamp-with-door", "recipe: awning-lamp")
    finding = only(book)
    assert finding.message == 'recipe is "awning-lamp", but its folder is called awning-lamp-with-door'
    assert (
        finding.repair
        == "write recipe: awning-lamp-with-door, or rename what is called awning-lamp-with-door"
    )


def test_two_files_of_one_name_are_both_named(book):
    edit(book, "modules/rear-view.yml", "module: rear-view", "module: living-area")
    finding = only(book)
    assert (finding.id, finding.file) == ("duplicate-id", "modules/rear-view.yml")
    assert finding.message == 'module "living-area" stands here and in modules/living-area.yml'
    assert finding.also == (("modules/living-area.yml", 1, 1),)


def test_one_report_name_may_stand_under_two_recipes(book):
    report = (book / "changes/awning-lamp-with-door/reports/turnstone-2026-02.yml").read_text()
    write(
        book,
        "changes/map-card/reports/turnstone-2026-02.yml",
        report.replace("recipe: awning-lamp-with-door", "recipe: map-card"),
    )
    assert load(book).findings == ()


@pytest.mark.parametrize(
    ("place", "id", "repair"),
    [
        ("modules/Heater.yml", "file-bad-name", "rename it to heater"),
        ("modules/old heater.yml", "file-bad-name", "rename it to old-heater"),
        ("modules/ä.yml", "file-bad-name", "rename it to a"),
        ("modules/a--b.yml", "file-bad-name", "rename it to a-b"),
        ("modules/" + "a" * 65 + ".yml", "file-bad-name", "rename it shorter"),
        ("modules/con.yml", "file-bad-name", "rename it"),
        ("modules/index.yml", "file-bad-name", "rename it"),
        ("modules/heater.yaml", "file-unexpected", "rename it to heater.yml"),
        ("modules/heater.YML", "file-unexpected", "rename it to heater.yml"),
        ("modules/heater.yml.bak", "file-unexpected", "remove it, or move it out of recipes/"),
        ("modules/.heater.yml.swp", "file-unexpected", "remove it, or move it out of recipes/"),
        ("modules/deep/heater.yml", "folder-unexpected", "remove it, or move it out of recipes/"),
        ("README.md", "file-unexpected", "remove it, or move it out of recipes/"),
        (".DS_Store", "file-unexpected", "remove it, or move it out of recipes/"),
        ("module/heater.yml", "folder-unexpected", "rename it to modules"),
        ("notes/a.txt", "folder-unexpected", "remove it, or move it out of recipes/"),
        ("changes/new.yml", "file-unexpected", "move it to changes/new/recipe.yml"),
        ("changes/map-card/recipe.yaml", "file-unexpected", "rename it to recipe.yml"),
        ("changes/map-card/Card.png", "file-bad-name", "rename it to card"),
        ("changes/map-card/card.svg", "file-unexpected", "remove it, or move it out of recipes/"),
        ("changes/map-card/card.jpeg", "file-unexpected", "rename it to card.jpg"),
        ("changes/map-card/report/a.yml", "folder-unexpected", "rename it to reports"),
        ("changes/map-card/reports/a.txt", "file-unexpected", "remove it, or move it out of recipes/"),
        ("changes/map-card/reports/more/a.yml", "folder-unexpected", "remove it, or move it out of recipes/"),
    ],
)
def test_nothing_stray_goes_unnoticed(book, place, id, repair):
    write(book, place, "x")
    finding = only(book)
    assert (finding.id, finding.repair) == (id, repair)
    assert place.startswith(finding.file)


def test_names_that_windows_or_the_site_keeps():
    assert {"con", "nul", "com1", "lpt9"} <= DEVICE_NAMES
    assert {"index", "search", "assets"} <= PAGE_NAMES


def test_twins_by_case_and_by_normal_form(book):
    """On file systems that fold names the two are one file, and the last one wins."""
    write(book, "modules/Living-Area.yml", "x")
    write(book, "changes/Map-Card/recipe.yml", "x")
    loaded = load(book)
    assert [(f.id, f.file, f.message) for f in loaded.findings] == [
        (
            "file-twin-names",
            "changes/Map-Card",
            "on some computers this is the same name as changes/map-card",
        ),
        (
            "file-twin-names",
            "modules/Living-Area.yml",
            "on some computers this is the same name as modules/living-area.yml",
        ),
    ]
    assert "living-area" in loaded.modules
    entries = [Entry("modules/\u00e4.yml", "file"), Entry("modules/a\u0308.yml", "file")]
    assert [f.id for f in sort_out(entries)[1]] == ["file-twin-names", "file-twin-names", "file-missing"]


def test_a_folder_without_its_recipe(book):
    (book / RECIPE).unlink()
    finding = only(book)
    assert (finding.id, finding.file) == ("file-missing", RECIPE)


def test_a_book_without_a_club(book, tmp_path):
    (book / "club.yml").unlink()
    assert ids(book) == [("file-missing", "club.yml")]
    assert [f.id for f in load(tmp_path / "nowhere").findings] == ["file-missing"]


# links and other things that are no files


def test_no_link_is_followed_anywhere(book, tmp_path_factory):
    secret = tmp_path_factory.mktemp("outside") / "secret"
    secret.write_text("top secret")
    (book / "modules/a.yml").symlink_to(secret)
    (book / "changes/b").symlink_to(secret.parent)
    (book / "changes/map-card/card.png").symlink_to(secret)
    loaded = load(book)
    assert sorted((f.id, f.file) for f in loaded.findings) == [
        ("file-link", "changes/b"),
        ("file-link", "changes/map-card/card.png"),
        ("file-link", "modules/a.yml"),
    ]
    assert "secret" not in str(loaded.findings)
    assert loaded.pictures == {}


def test_a_pipe_and_a_folder_in_place_of_a_file(book):
    os.mkfifo(book / "modules/pipe.yml")
    (book / "modules/folder.yml").mkdir()
    assert ids(book) == [
        ("folder-unexpected", "modules/folder.yml"),
        ("file-not-regular", "modules/pipe.yml"),
    ]


def test_a_file_over_the_limit_is_a_finding(book):
    with (book / RECIPE).open("wb") as file:
        file.truncate(50 * 2**20)
    loaded = load(book)
    assert [f.id for f in loaded.findings] == ["file-too-large"]
    assert loaded.broken == {("recipe", "awning-lamp-with-door"): loaded.findings[0].key}


def test_a_name_that_is_no_text(book):
    with open(os.fsencode(book) + b"/modules/\xff\n.yml", "wb"):
        pass
    finding = only(book)
    assert finding.file == "modules/\\uDCFF\\n.yml"
    assert (finding.file + finding.message).isprintable()


def test_the_tree_does_not_lead_out(book):
    for path in ("../secret", "/etc/hostname", "modules/../../secret"):
        with pytest.raises(Unreadable):
            FolderTree(book).read(path)


# pictures


@pytest.mark.parametrize(("name", "format"), [("a.png", "PNG"), ("a.jpg", "JPEG"), ("a.webp", "WEBP")])
def test_pictures_are_told_by_content(book, name, format):
    place = f"changes/map-card/{name}"
    Image.new("RGB", (4, 4)).save(book / place, format)
    assert load(book).pictures == {"map-card": (name,)}
    for content in (
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<!doctype html>",
        b"",
        b"RIFF\0\0\0\0WAVE",
        b"GIF89a",
    ):
        write(book, place, content)
        assert ids(book) == [("file-not-a-picture", place)]
        assert load(book).pictures == {}


def test_a_picture_over_the_limit(book):
    with (book / "changes/map-card/a.png").open("wb") as file:
        file.truncate(PICTURE_BYTES + 1)
    assert only(book).id == "file-too-large"


# where things stand


def test_locate(book):
    loaded = load(book)
    change = loaded.recipes["awning-lamp-with-door"].changes[0]
    assert loaded.locate(change.origin) == (8, 5)
    assert loaded.locate(change.origin.at("to")) == (8, 67)
    assert loaded.locate(change.origin.at("no-such-key")) == (8, 5)
    assert loaded.locate(Origin("modules/none.yml", ("a",))) == (1, 1)
    assert loaded.locate(Origin("club.yml")) == (2, 1)


class Memory:
    """A tree that is no folder, as a past version of the repository would be."""

    def __init__(self, files: dict[str, bytes]) -> None:
        self.files = files

    def entries(self) -> Iterator[Entry]:
        for path in sorted(self.files):
            yield Entry(path, "file")

    def read(self, path: str, limit: int = 0) -> bytes:
        return self.files[path]


def test_any_tree_can_be_loaded(book):
    tree = Memory({place: (book / place).read_bytes() for place in FILES})
    loaded = load(tree)
    assert loaded.findings == ()
    assert loaded.recipes == load(book).recipes
    assert loaded.locate(Origin("club.yml")) == (2, 1)
