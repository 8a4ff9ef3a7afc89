"""The preview shows, after any edit, byte for byte what a build from nothing would."""

from __future__ import annotations

import json
import logging
import os
import random
import re
import shutil
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from http.server import ThreadingHTTPServer
from pathlib import Path

import pytest
from click.testing import CliRunner
from mkdocs.__main__ import cli

sys.path.insert(0, str(Path(__file__).parent))

import random_edits

from asfound.book import Book
from asfound.commands import serve
from asfound.pages import Pages, links, studio
from asfound.plugin import framing, made
from asfound.review.live import LiveBook
from asfound.rules.run import check_book
from asfound.source.loader import FolderTree, load

DEMO = Path(__file__).parents[2] / "recipes"
ROUNDS = 200 if os.environ.get("ASFOUND_SOAK") else 20
KEPT = {
    "awning-lamp-with-door",
    "step-light-waits",
    "fridge-on-the-drive",
    "welcome-words",
    "tank-gauge-true",
}
CONFIG = """site_name: Circle
docs_dir: docs
use_directory_urls: false
theme: {name: material, font: false}
plugins: [{asfound: {recipes: recipes}}]
nav: [{Home: index.md}, {Find: find.md}, {About: about.md}]
not_in_nav: "*"
"""


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with some of its recipes and all that these name."""
    folder = tmp_path_factory.mktemp("few") / "recipes"
    shutil.copytree(DEMO, folder)
    every = {path.name for path in (folder / "changes").iterdir()}
    kept: set[str] = set()
    waiting = set(KEPT & every)
    while waiting:
        kept |= waiting
        text = "".join((folder / "changes" / name / "recipe.yml").read_text("utf-8") for name in waiting)
        waiting = {name for name in every - kept if re.search(rf"(?<![a-z0-9-]){name}(?![a-z0-9-])", text)}
    for name in every - kept:
        shutil.rmtree(folder / "changes" / name)
        for translation in folder.glob(f"languages/*/changes/{name}.yml"):
            translation.unlink()
    assert check_book(folder)[1] == ()
    assert 5 <= len(kept) < 20
    return folder


@pytest.fixture
def book(few: Path, tmp_path: Path) -> Path:
    """A copy to edit."""
    folder = tmp_path / "recipes"
    shutil.copytree(few, folder)
    return folder


def everything(pages: Pages) -> dict[str, object]:
    """All that is made of a book, but for the host's part."""
    made: dict[str, object] = {
        out.key: (out, pages.html(out.key, links.linker(out.key))) for out in pages.outlines()
    }
    made |= {key: content for key, content in (*pages.pictures(), *pages.documents(links.file_of))}
    return made | {key: content for key, content in pages.search(links.file_of)}


def test_after_random_edits_everything_is_as_from_nothing(book: Path) -> None:
    dice = random.Random(11)
    live = LiveBook(book)
    assert live.book is not None
    shown = Pages(live.book)
    everything(shown)  # so that there is something to be stale
    edits = [random_edits.ALL[n % len(random_edits.ALL)] for n in range(ROUNDS)]
    dice.shuffle(edits)
    partly = compared = 0
    for edit in edits:
        before = {path: path.read_bytes() for path in book.rglob("*") if path.is_file()}
        try:
            edit(book, dice)
        except IndexError:  # nothing left to edit in this way
            continue
        live.look()
        whole = check_book(book)
        assert live.found == whole[1], edit.__name__
        if whole[1]:
            for path in (path for path in book.rglob("*") if path.is_file() and path not in before):
                path.unlink()
            for path, content in before.items():
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content)
            for path in sorted((each for each in book.rglob("*") if each.is_dir()), reverse=True):
                if not any(path.iterdir()):
                    path.rmdir()
            live.look()
            assert live.found == ()
            continue
        assert live.book is not None
        fresh = everything(Pages(Book(load(FolderTree(book)))))
        pages = Pages(live.book)
        if live.changed is not None:
            partly += bool(live.book.recipes.keys() - live.changed)
            pages.take_over(shown, live.changed)
        shown = pages
        now = everything(pages)
        assert now.keys() == fresh.keys(), edit.__name__
        assert not [key for key in fresh if fresh[key] != now[key]], edit.__name__
        compared += 1
    assert compared > ROUNDS // 3
    assert partly > ROUNDS // 6  # something was taken over, or there was nothing to prove


@pytest.fixture
def site(book: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[serve.Site]:
    """A preview of a small site."""
    folder = book.parent
    (folder / "docs").mkdir()
    (folder / "docs" / "about.md").write_text("# About\n\nHello.\n")
    (folder / "mkdocs.yml").write_text(CONFIG)
    monkeypatch.chdir(folder)
    made = serve.Site(Path("mkdocs.yml"), lambda line: None)
    yield made
    made.close()


def assert_as_built(site: serve.Site, edit: str) -> None:
    """Every file of a build from nothing is what the preview answers."""
    shutil.rmtree("site", ignore_errors=True)
    ended = CliRunner().invoke(cli, ["build", "--quiet"])
    assert ended.exit_code == 0, ended.output
    assert site.preview is not None
    for path in sorted(Path("site").rglob("*")):
        name = path.relative_to("site").as_posix()
        if path.is_dir() or name.startswith("sitemap"):  # dated
            continue
        made = site.preview.content(name)
        if made is None:
            made = (site.preview.folder / name).read_bytes()
        assert made == path.read_bytes(), (edit, name)


def test_in_the_theme_too(site: serve.Site, book: Path) -> None:
    dice = random.Random(3)
    for edit in (random_edits.title, random_edits.module_words):
        edit(book, dice)
        site.look({book / "changes"})
        assert site.live.found == ()
    assert_as_built(site, "words")
    random_edits.recipe_added(book, dice)
    about = Path("docs", "about.md").resolve()
    about.write_text("# About\n\nHello again.\n")
    site.look({about})
    assert site.live.found == ()
    assert_as_built(site, "a recipe more, and another page")


def test_every_language_of_the_site_is_shown(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Byte for byte as a build has it, after an edit too; asked for by threads of their own, as over HTTP."""
    monkeypatch.chdir(book.parent)
    (book.parent / "docs").mkdir()
    (book.parent / "docs/about.md").write_text("# About\n\nHello.\n", "utf-8")
    config = CONFIG.replace("recipes: recipes", "recipes: recipes, languages: [nl, en]")
    (book.parent / "mkdocs.yml").write_text(config, "utf-8")
    shown = serve.Site(Path("mkdocs.yml"), lambda line: None)
    try:
        for edit in ("nothing", "a title"):
            if edit == "a title":
                recipe = book / "changes/softer-tick/recipe.yml"
                recipe = recipe if recipe.is_file() else next(book.glob("changes/*/recipe.yml"))
                text = recipe.read_text("utf-8")
                recipe.write_text(re.sub(r"(?m)^title: .*$", "title: A title of a moment ago", text), "utf-8")
                shown.look({recipe})
            CliRunner().invoke(cli, ["build", "--quiet", "--site-dir", "built"], catch_exceptions=False)
            built = book.parent / "built"
            name = next(book.glob("changes/*")).name
            for path in (
                "index.html", "en/index.html", f"recipes/{name}.html", f"en/recipes/{name}.html",
                f"sheets/{name}.html", f"en/sheets/{name}.html", "en/glossary.html", "about.html",
                "en/about.html", "en/code.html", "assets/asfound/language.js",
            ):  # fmt: skip
                answers: list[bytes] = []
                asking = threading.Thread(target=lambda p=path, a=answers: a.append(shown.answer(p)[2]))
                asking.start()
                asking.join()
                own = re.sub(
                    rb'<script src="[^"]*_preview/preview.js" data-have="\d+"></script>', b"", answers[0]
                )
                assert own == (built / path).read_bytes(), f"{path} after {edit}"
            assert b'<html lang="nl"' in shown.answer("index.html")[2]
            assert b'<html lang="en"' in shown.answer("en/index.html")[2]
    finally:
        shown.close()


def test_on_every_core_the_same_comes_out(site: serve.Site, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[dict[str, bytes]] = []
    for number in ("1", "3"):
        monkeypatch.setenv("ASFOUND_CORES", number)
        monkeypatch.setattr(studio, "_PAYS", 1)
        monkeypatch.setattr(studio, "cores", lambda: int(os.environ["ASFOUND_CORES"]))
        shutil.rmtree("site", ignore_errors=True)
        ended = CliRunner().invoke(cli, ["build", "--quiet"])
        assert ended.exit_code == 0, ended.output
        files = (path for path in Path("site").rglob("*") if path.is_file() and "sitemap" not in path.name)
        made.append({path.as_posix(): path.read_bytes() for path in files})
    assert made[0] == made[1]


def test_the_frame_is_the_themes_own(site: serve.Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each page rendered both ways; where the theme says something else of each page, it is asked."""
    monkeypatch.setattr(framing, "_PROVED", 1)
    tried: list[bool] = []
    original = framing.Framing.framed

    def framed(self: framing.Framing, page: made.BookPage, *rest: object) -> str | None:
        made = original(self, page, *rest)  # type: ignore[arg-type]
        if page.out.key.startswith(("recipes/", "modules/")) and not page.out.key.endswith("/index"):
            tried.append(made is not None)
        return made

    monkeypatch.setattr(framing.Framing, "framed", framed)
    assert CliRunner().invoke(cli, ["build", "--quiet"]).exit_code == 0
    assert len(tried) > 5 and all(tried)
    tried.clear()
    Path("theme").mkdir()
    Path("theme", "main.html").write_text(
        '{% extends "base.html" %}{% block site_meta %}{{ super() }}'
        '<meta name="length" content="{{ page.title | length }}">{% endblock %}'
    )
    Path("mkdocs.yml").write_text(CONFIG.replace("font: false", "font: false, custom_dir: theme"))
    assert CliRunner().invoke(cli, ["build", "--quiet"]).exit_code == 0
    assert not any(tried)
    title = re.search(
        r"^title: (.*)$", (site.live.folder / "changes/welcome-words/recipe.yml").read_text(), re.M
    )
    page = Path("site", "recipes", "welcome-words.html").read_text("utf-8")
    assert title and f'<meta name="length" content="{len(title[1])}">' in page


def test_findings_are_shown_and_the_last_good_pages_stay(site: serve.Site, book: Path) -> None:
    good = site.answer("recipes/welcome-words.html")[2]
    recipe = book / "changes" / "welcome-words" / "recipe.yml"
    text = recipe.read_text("utf-8")
    recipe.write_text(text.replace("title: ", "titel: ", 1), "utf-8")
    site.look({recipe})
    bad = site.answer("recipes/welcome-words.html")[2]
    assert b"titel" in bad and b"unknown-key" in bad and b"recipe.yml:" in bad
    title = re.search(rb"<title>.*?</title>", good)
    assert title and title[0] in bad
    recipe.write_text(text.replace("title: ", "title: Newly ", 1), "utf-8")
    site.look({recipe})
    again = site.answer("recipes/welcome-words.html")[2]
    assert b"preview-findings" not in again and b"<title>Newly " in again


def test_an_unfinished_recipe_waits_while_the_rest_is_shown(book: Path, site: serve.Site) -> None:
    """As when somebody runs `asfound new recipe` before `asfound serve`."""
    recipe = book / "changes" / "welcome-words" / "recipe.yml"
    text = recipe.read_text("utf-8")
    recipe.write_text(text.replace("title: ", "title: # ", 1), "utf-8")
    begun = serve.Site(Path("mkdocs.yml"), lambda line: None)
    try:
        page = begun.answer("find.html")[2]
        assert b"step-light-waits" in page and b"welcome-words.html" not in page
        assert b"preview-findings" in page and b"yaml-empty-value" in page
        assert begun.answer("recipes/welcome-words.html")[0] == 404
        recipe.write_text(text, "utf-8")
        begun.look({recipe})
        assert begun.live.found == ()
        whole = begun.answer("recipes/welcome-words.html")
        assert (whole[0], b"preview-findings" in whole[2]) == (200, False)
    finally:
        begun.close()


def test_a_finding_that_is_no_recipes_leaves_no_page(book: Path, site: serve.Site) -> None:
    club = book / "club.yml"
    text = club.read_text("utf-8")
    club.write_text(text.replace("name: ", "nmae: ", 1), "utf-8")
    begun = serve.Site(Path("mkdocs.yml"), lambda line: None)
    try:
        page = begun.answer("index.html")[2]
        assert b"<p>The site appears when these are mended:</p>" in page and b"nmae" in page
        club.write_text(text, "utf-8")
        begun.look({club})
        assert b"preview-findings" not in begun.answer("find.html")[2]
    finally:
        begun.close()


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ("theme:", "theme: [", "parsing the configuration file"),
        ("docs_dir: docs", "docs_dir: nowhere", "isn't an existing directory"),
        ("docs_dir: docs", "docs_dir: nowhere", "Aborted with a configuration error"),
        ("[{asfound: {recipes: recipes}}]", "[]", "does not name the plugin asfound"),
    ],
)
def test_what_is_wrong_with_the_configuration_is_said_once(
    site: serve.Site, right: str, wrong: str, told: str
) -> None:
    config = Path("mkdocs.yml")
    assert right in CONFIG
    config.write_text(CONFIG.replace(right, wrong))
    command = [sys.executable, "-m", "asfound.cli", "serve", "--port", "0"]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert ended.returncode == 2
    assert (ended.stdout + ended.stderr).count(told) == 1


def test_what_the_host_warns_of_is_said_once_and_a_later_fault_too(
    book: Path, site: serve.Site, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.WARNING, logger="mkdocs")  # the host's quiet builds leave it higher
    config, said = Path("mkdocs.yml"), []
    config.write_text(CONFIG + "strict: true\nnonsense: 1\n")
    begun = serve.Site(config, said.append)
    try:
        assert [one.getMessage() for one in caplog.records if "nonsense" in one.getMessage()] == [
            "Config value 'nonsense': Unrecognised configuration name: nonsense"
        ]
        assert begun.preview is not None and not said
        config.write_text(CONFIG.replace("theme:", "theme: ["))
        caplog.clear()
        begun.look({config.resolve()})
        heard = [*said, *(one.getMessage() for one in caplog.records)]
        assert sum("parsing the configuration file" in one for one in heard) == 1
        assert b'href="find.html"' in begun.answer("index.html")[2]  # the last good one
    finally:
        begun.close()


def test_over_http_for_this_computer_alone(site: serve.Site, book: Path) -> None:
    server = ThreadingHTTPServer(("127.0.0.1", 0), serve.handler(site))
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    base = f"http://127.0.0.1:{server.server_port}/"

    def get(path: str, **headers: str) -> tuple[int, str, bytes]:
        try:
            with urllib.request.urlopen(
                urllib.request.Request(base + path, headers=headers), timeout=30
            ) as got:
                return got.status, got.headers["Content-Type"], got.read()
        except urllib.error.HTTPError as error:
            return error.code, error.headers["Content-Type"], error.read()

    try:
        status, kind, page = get("")
        assert (status, kind) == (200, "text/html; charset=utf-8")
        assert b'src="_preview/preview.js" data-have="1"' in page
        assert b'src="../_preview/preview.js"' in get("recipes/welcome-words.html")[2]
        assert get("no/such.html")[0] == 404
        assert get("../mkdocs.yml")[0] == get("..%2fmkdocs.yml")[0] == 404
        assert get("", Host="elsewhere.example")[0] == 403  # a name that leads here is no way in
        assert json.loads(get("book.json")[2])["asfound_book"] == 1
        assert get("assets/asfound/data/world.js")[1].startswith("text/javascript")
        recipe = book / "changes" / "welcome-words" / "recipe.yml"
        recipe.write_text(recipe.read_text("utf-8").replace("title: ", "title: Newly ", 1), "utf-8")
        waiting: list[bytes] = []
        asking = threading.Thread(target=lambda: waiting.append(get("_preview/news?have=1")[2]))
        asking.start()
        site.look({recipe})
        asking.join(30)
        assert waiting == [b"2"]
        assert b"Newly " in get("recipes/welcome-words.html")[2]
    finally:
        server.shutdown()
        server.server_close()
