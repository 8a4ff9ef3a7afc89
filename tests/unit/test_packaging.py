"""The wheel holds all that the program needs, and works where there is no checkout."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from asfound import __version__

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "plugins" / "asfound"
GOLDEN = ROOT / "tests" / "golden"


def ran(*words: str | Path, cwd: Path, **environment: str) -> str:
    """What a command printed; it must end well."""
    ended = subprocess.run(
        words,
        cwd=cwd,
        env=os.environ | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert ended.returncode == 0, ended.stdout
    return ended.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built without the network."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "wheel", "--quiet", "--no-cache-dir")
    ran(*pip, "--no-deps", "--no-build-isolation", "--no-index", "--wheel-dir", folder, ROOT, cwd=folder)
    (built,) = folder.iterdir()
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty folder into which the wheel alone was installed."""
    folder = tmp_path_factory.mktemp("installed")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "install", "--quiet")
    ran(*pip, "--no-deps", "--no-index", "--no-compile", "--target", folder, wheel, cwd=folder)
    return folder


def test_the_wheel_holds_every_file_of_the_package_and_what_is_sent_with_it(wheel: Path) -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    sent = config["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    sources = [(PACKAGE, "asfound"), *((ROOT / source, target) for source, target in sent.items())]
    wanted = {
        f"{target}/{path.relative_to(source).as_posix()}" if path != source else target
        for source, target in sources
        for path in ([source] if source.is_file() else source.rglob("*"))
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert {
        "asfound/schema/recipe.schema.json",
        "asfound/pages/templates/recipe/hazards.html",
        "asfound/pages/assets/asfound.css",
        "asfound/pages/assets/search.css",
    } <= wanted
    with zipfile.ZipFile(wheel) as packed:
        held = {name for name in packed.namelist() if ".dist-info/" not in name}
    assert wanted - held == set()
    assert {name for name in held if not name.startswith("asfound/")} == set()


def test_the_wheel_says_what_it_is(wheel: Path) -> None:
    assert wheel.name == f"asfound-{__version__}-py3-none-any.whl"
    with zipfile.ZipFile(wheel) as packed:
        entries = packed.read(f"asfound-{__version__}.dist-info/entry_points.txt").decode()
    assert "asfound = asfound.cli:main" in entries
    assert "asfound = asfound.plugin:AsfoundPlugin" in entries


def test_installed_it_finds_its_schemas(installed: Path, tmp_path: Path) -> None:
    code = "import asfound.source.schemas as s; print(s.schema_folder()); print(len(s.documents().documents))"
    said = ran(sys.executable, "-c", code, cwd=tmp_path, PYTHONPATH=str(installed)).splitlines()
    assert said == [str(installed / "asfound" / "schema"), str(len(list((ROOT / "schema").glob("*.json"))))]


def test_installed_it_checks_and_builds_a_book(installed: Path, tmp_path: Path) -> None:
    shutil.copytree(GOLDEN / "minimal" / "in", tmp_path, dirs_exist_ok=True)
    (tmp_path / "site_src").mkdir()
    (tmp_path / "mkdocs.yml").write_text(
        "site_name: The Plover Pair\ndocs_dir: site_src\nuse_directory_urls: false\n"
        "theme: {name: material, font: false}\nplugins: [asfound]\n",
        "utf-8",
    )
    alone = {"PYTHONPATH": str(installed), "NO_MKDOCS_2_WARNING": "1"}
    assert ran(sys.executable, "-m", "asfound.cli", "check", cwd=tmp_path, **alone) == "No findings.\n"
    ran(sys.executable, "-m", "mkdocs", "build", "--strict", cwd=tmp_path, **alone)
    page = (tmp_path / "site" / "recipes" / "bay-lamp-fades.html").read_text("utf-8")
    assert 'class="asf-status__label"' in page
    for asset in (PACKAGE / "pages" / "assets").iterdir():
        assert (tmp_path / "site" / "assets" / "asfound" / asset.name).read_bytes() == asset.read_bytes()


@pytest.mark.parametrize("personal", [False, True], ids=["club", "own-notes"])
def test_installed_it_begins_a_repository_that_builds_at_once(
    installed: Path, tmp_path: Path, personal: bool
) -> None:
    alone = {"PYTHONPATH": str(installed), "NO_MKDOCS_2_WARNING": "1"}
    asfound = (sys.executable, "-m", "asfound.cli")
    own = ("--personal",) if personal else ()
    said = ran(*asfound, "init", "van", "--name", "Ebb: *van* & tide", *own, cwd=tmp_path, **alone)
    assert "2 recipes" in said
    club = tmp_path / "van"
    for path in club.rglob("*.yml"):  # editors find the schema that each file names
        first = path.read_text("utf-8").partition("\n")[0]
        if path.name != "mkdocs.yml":
            assert (path.parent / first.partition("$schema=")[2]).resolve().parent == club / "schema"
            assert (path.parent / first.partition("$schema=")[2]).is_file()
    assert ran(*asfound, "check", cwd=club, **alone) == "No findings.\n"
    ran(sys.executable, "-m", "mkdocs", "build", "--strict", cwd=club, **alone)
    home = (club / "site" / "index.html").read_text("utf-8")
    assert "Ebb: *van* &amp; tide" in home
    pages = {path.stem: path.read_text("utf-8") for path in (club / "site" / "recipes").glob("*.html")}
    labels = {
        name: html.partition('asf-status__label">')[2].partition("<")[0] for name, html in pages.items()
    }
    if personal:
        assert set(labels.values()) == {"OWN NOTES"}
        assert not any(word in html for html in (home, *pages.values()) for word in ("VETTED", "not vetted"))
    else:
        assert labels == {"cabin-lamp-waits": "VETTED IN PART", "quieter-key-chime": "NOT VETTED"}
