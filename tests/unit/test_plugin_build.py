"""What the plugin tells its host: search, edit links, what it watches, and how it stops a build."""

from __future__ import annotations

import json
import re
import shutil
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from mkdocs.__main__ import cli
from mkdocs.config import load_config
from PIL import Image

GOLDEN = Path(__file__).parents[1] / "golden"
CONFIG = """\
site_name: The Plover Pair
docs_dir: site_src
use_directory_urls: false
strict: true
theme: {name: null, custom_dir: theme}
plugins: [{asfound: {recipes: recipes}}]
"""
RECIPE = "recipes/changes/bay-lamp-fades/recipe.yml"


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a small sound book, ready to be built."""
    folder = tmp_path / "club"
    shutil.copytree(GOLDEN / "minimal" / "in", folder)
    shutil.copytree(GOLDEN / "theme", folder / "theme")
    (folder / "site_src").mkdir()
    (folder / "mkdocs.yml").write_text(CONFIG, "utf-8")
    monkeypatch.chdir(folder)
    return folder


def build(*, status: int = 0) -> Result:
    """`mkdocs build` here; it must end with the status and never in a traceback."""
    ended = CliRunner().invoke(cli, ["build"])
    assert ended.exception is None or isinstance(ended.exception, SystemExit)
    assert ended.exit_code == status, ended.output
    return ended


def changed(file: Path, old: str, new: str) -> None:
    """Replaces a text that stands in a file."""
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")


def data_of(book: Path, name: str) -> Any:
    """A script of data as what it assigns."""
    text = (book / f"site/assets/asfound/data/{name}.js").read_text("ascii")
    return json.loads(text.partition(f"asfound.data[{json.dumps(name)}]=")[2].removesuffix(";\n"))


def test_the_search_finds_the_book_and_the_hand_written_pages_by_section(book: Path) -> None:
    changed(
        book / "recipes/modules/lamps.yml",
        "        known_from: club\n",
        "        known_from: club\n        search_words: [cargo dimmer]\n",
    )
    (book / "site_src/guide.md").write_text(
        "# Our *ways*\n\nHello.\n\n## At sea & ashore\n\nMind tides.\n", "utf-8"
    )
    build()
    index, search, words = (data_of(book, name) for name in ("index", "search", "words/0"))
    assert [row[0] for row in index["recipes"]] == ["bay-lamp-fades"]
    pages = {row[0]: row for row in search["pages"]}
    assert {"index.html", "find.html", "planner.html", "modules/lamps.html", "vehicles/plover.html"} <= set(
        pages
    )
    assert pages["guide.html"][1] == "Our ways"
    assert pages["guide.html#at-sea-ashore"][1:] == [
        "At sea & ashore",
        search["kinds"].index("guide"),
        "Our ways",
    ]
    assert search["starts"] == [min(words)]
    assert words["dimmer"] == [[], [0]]  # a name, of the first and only recipe
    assert words["black"][0][0] == 0  # what the recipe is for
    assert words["tides"] == [[1 + search["pages"].index(pages["guide.html#at-sea-ashore"])]]
    assert not (book / "site/search").exists()


def test_the_host_s_search_beside_ours_is_refused_in_one_line(book: Path) -> None:
    build()
    changed(book / "mkdocs.yml", "plugins: [", "plugins: [search, ")
    said = build(status=1).output
    assert "take `search` out of `plugins` in mkdocs.yml" in said
    assert "Traceback" not in said


NAMED = """
site_name: The Plover Pair
docs_dir: site_src
use_directory_urls: false
theme: {name: material, font: false}
plugins: [{asfound: {recipes: recipes}}]
"""


@pytest.mark.parametrize(
    ("site", "base"), [("", "/"), ("https://plover.example/our/circle/", "/our/circle/")]
)
def test_what_is_said_where_there_is_no_page_leads_on_from_any_depth(
    book: Path, site: str, base: str
) -> None:
    """The server shows 404.html at whatever address was asked for, so relative links would lead anywhere."""
    (book / "mkdocs.yml").write_text(NAMED + (f"site_url: {site}\n" if site else ""), "utf-8")
    build()
    page = (book / "site/404.html").read_text("utf-8")
    assert "<title>There is no such page - The Plover Pair</title>" in page
    article = page.partition("<article")[2].partition("</article>")[0]
    found = re.findall(r'href="([^"#]+)', article)
    assert [one.removeprefix(base) for one in found] == ["find.html", "code.html"]
    assert all(one.startswith(base) and (book / "site" / one.removeprefix(base)).is_file() for one in found)
    assert "Ask over the garden wall." in article


def test_pages_are_called_in_the_navigation_as_the_configuration_says(book: Path) -> None:
    """The home page bears the club's name, which stands above the navigation already."""

    def tabs() -> list[str]:
        build()
        html = (book / "site/find.html").read_text("utf-8")
        found = re.findall(r'class="md-tabs__link"[^>]*>\s*(.*?)\s*</a>', html, re.DOTALL)
        return [" ".join(re.sub("<[^>]*>", "", one).split()) for one in found]

    material = NAMED.replace("font: false", "font: false, features: [navigation.tabs]")
    (book / "mkdocs.yml").write_text(material, "utf-8")
    assert "Home" in tabs() and "The Plover Pair" not in tabs()
    nav = "nav: [{Start: index.md}, {Lists: [{Wishes: find.md}]}, modules/index.md, vehicles/index.md]\n"
    (book / "mkdocs.yml").write_text(material + nav + 'not_in_nav: "*"\n', "utf-8")
    assert tabs() == ["Start", "Lists", "Modules", "Vehicles"]
    home = (book / "site/index.html").read_text("utf-8")
    assert re.findall(r"<title>(.*?)</title>", home) == ["The Plover Pair"]
    assert "<title>Find a recipe - The Plover Pair</title>" in (book / "site/find.html").read_text("utf-8")


def test_a_page_of_the_site_s_own_for_that_stands(book: Path) -> None:
    (book / "ours").mkdir()
    (book / "ours/404.html").write_text("<p>Gone to sea</p>", "utf-8")
    (book / "mkdocs.yml").write_text(NAMED.replace("font: false", "font: false, custom_dir: ours"), "utf-8")
    build()
    assert "Gone to sea" in (book / "site/404.html").read_text("utf-8")


def test_every_page_has_the_way_to_the_search_in_its_header(book: Path) -> None:
    (book / "site_src/guide.md").write_text("# Guide\n", "utf-8")
    changed(book / "theme/main.html", "<nav>", "<header><nav></nav></header><nav>")
    (book / "theme/404.html").write_text("<header></header><p>Not here</p>", "utf-8")
    changed(book / "mkdocs.yml", "custom_dir: theme", "custom_dir: theme, static_templates: [404.html]")
    with (book / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("site_url: https://plover.example/circle/\n")
    build()
    for page, root in {"index.html": "", "guide.html": "", "recipes/bay-lamp-fades.html": "../"}.items():
        header = (book / "site" / page).read_text("utf-8").partition("</header>")[0]
        assert f'<a class="asf-search" href="{root}find.html" data-asf-root="{root}"' in header, page
    missing = (book / "site/404.html").read_text("utf-8")
    assert (
        'href="/circle/find.html" data-asf-root="/circle/" data-asf-recipes="/circle/recipes/*.html"'
        in missing
    )


def test_edit_links_lead_to_the_file_a_page_was_made_from(book: Path) -> None:
    with (book / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("repo_url: https://code.example/plover/pair\nedit_uri: edit/main/\n")
    changed(book / "theme/main.html", "<nav>", "<a rel=edit href='{{ page.edit_url }}'>Edit</a><nav>")
    build()
    for page, source in {
        "recipes/bay-lamp-fades.html": RECIPE,
        "modules/lamps.html": "recipes/modules/lamps.yml",
        "vehicles/plover.html": "recipes/vehicles/plover.yml",
        "index.html": "recipes/club.yml",
    }.items():
        html = (book / "site" / page).read_text("utf-8")
        assert f"<a rel=edit href='https://code.example/plover/pair/edit/main/{source}'>" in html
    assert "<a rel=edit href='None'>" in (book / "site/find.html").read_text("utf-8")  # made from everything


def test_what_is_served_is_rebuilt_when_a_recipe_or_a_template_changes(book: Path) -> None:
    (book / "our-templates").mkdir()
    changed(book / "mkdocs.yml", "recipes: recipes", "recipes: recipes, templates: our-templates")
    config = load_config(str(book / "mkdocs.yml"))
    config = config.plugins.on_config(config)
    assert {str(book / "recipes"), str(book / "our-templates")} <= set(config.watch)


def test_a_folder_that_does_not_exist(book: Path) -> None:
    changed(book / "mkdocs.yml", "recipes: recipes", "recipes: recipies")
    ended = build(status=1)
    assert "recipies' isn't an existing directory" in ended.output


def test_a_folder_without_a_club(book: Path) -> None:
    (book / "recipes/club.yml").unlink()
    ended = build(status=1)
    assert "asfound: recipes/club.yml:1:1 [file-missing]\n" in ended.output


def test_findings_name_the_place_from_where_the_build_was_started(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed(book / RECIPE, "annoyance:", "anoyance:")
    for start, shown in (
        (book, "recipes"),
        (book.parent, "club/recipes"),
        (book / "theme", f"{book}/recipes"),
    ):
        monkeypatch.chdir(start)
        ended = CliRunner().invoke(cli, ["build", "-f", str(book / "mkdocs.yml")])
        assert ended.exit_code == 1
        assert f"asfound: {shown}/changes/bay-lamp-fades/recipe.yml:6:1 anoyance" in ended.output


@pytest.mark.parametrize(
    ("name", "template", "says"),
    [
        ("recipe/hazards.html", "<p>\n{{ page.nothing }}", "hazards.html:2: "),
        ("recipe/hazards.html", "<p>\n\n{% if %}", "hazards.html:3: "),
        ("recipe/hazards.html", '{% extends "asfound/none.html" %}', "hazards.html:1: asfound/none.html"),
        ("recipe/hazards.html", "{{ page.title + 1 }}", "hazards.html:1: "),
        ("recipe/refusals.html", "{{ nothing }}", "refusals.html:1: 'nothing' is undefined"),
        ("signal.html", "{{ nothing }}", "signal.html:1: 'nothing' is undefined"),
    ],
)
def test_a_mistake_in_a_site_template_is_named_with_its_line(
    book: Path, name: str, template: str, says: str
) -> None:
    own = book / "our-templates" / name
    own.parent.mkdir(parents=True)
    own.write_text(template, "utf-8")
    changed(book / "mkdocs.yml", "recipes: recipes", "recipes: recipes, templates: our-templates")
    assert says in build(status=1).output


def with_picture(book: Path, content: bytes) -> None:
    """Adds a picture to the recipe's first step."""
    (book / "recipes/changes/bay-lamp-fades/door.png").write_bytes(content)
    changed(
        book / RECIPE,
        "way_back:",
        "steps:\n  - {step: Shut the door., at: start, picture: door.png}\n"
        "pictures:\n  - {file: door.png, alt: A door}\nway_back:",
    )


def test_a_picture_that_is_none_stops_the_build_and_is_named(book: Path) -> None:
    with_picture(book, b"\x89PNG\r\n\x1a\n" + b"no more of it")
    ended = build(status=1)
    assert "changes/bay-lamp-fades/door.png" in ended.output


def test_a_picture_comes_out_beside_its_page(book: Path) -> None:
    content = BytesIO()
    Image.new("RGB", (30, 20), "teal").save(content, "PNG", pnginfo=None)
    with_picture(book, content.getvalue())
    build()
    shown = Image.open(book / "site/recipes/bay-lamp-fades/door.png")
    assert (shown.size, shown.convert("RGB").getpixel((5, 5))) == ((30, 20), (0, 128, 128))
    page = (book / "site/recipes/bay-lamp-fades.html").read_text("utf-8")
    assert 'src="bay-lamp-fades/door.png"' in page and 'alt="A door' in page


@pytest.mark.parametrize(
    "path",
    ["recipes/bay-lamp-fades.md", "Find.md", "modules/index.html", "assets/asfound/asfound.css", "README.md"],
)
def test_a_file_of_the_site_at_the_address_of_one_of_ours(book: Path, path: str) -> None:
    (book / "site_src" / path).parent.mkdir(parents=True, exist_ok=True)
    (book / "site_src" / path).write_text("# Ours\n", "utf-8")
    said = build(status=1).output
    assert f"{path} in {book / 'site_src'} and a page of the book have the same address" in said


def test_a_file_that_the_site_excludes_is_in_nobody_s_way(book: Path) -> None:
    (book / "site_src/find.md").write_text("# Draft\n", "utf-8")
    with (book / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("exclude_docs: find.md\n")
    build()
    assert "Find a recipe" in (book / "site/find.html").read_text("utf-8")


def test_two_builds_come_out_the_same(book: Path) -> None:
    def files() -> dict[str, bytes]:
        return {
            path.relative_to(book).as_posix(): path.read_bytes()
            for path in sorted((book / "site").rglob("*"))
            if path.is_file() and not path.name.endswith(".gz")  # which holds the time
        }

    build()
    first = files()
    shutil.rmtree(book / "site")
    build()
    assert files() == first
