"""The cache and the crew: the same outcome with and without, whatever happens to either."""

from __future__ import annotations

import os
import select
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from asfound.source import cache, remembered
from asfound.source.crew import Crew
from asfound.source.loader import FolderTree, Loaded, load
from asfound.source.remembered import Remembered

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "recipes"
PARENT = os.getpid()


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A cache of this test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    monkeypatch.setattr(cache.CACHE, "_opened_by", 0)
    cache.CACHE._new.clear()
    yield tmp_path / "xdg" / "asfound"
    monkeypatch.setattr(cache.CACHE, "_opened_by", 0)


def read(folder: Path = DEMO, crew: bool = False) -> Loaded:
    return load(FolderTree(folder), Remembered(crew))


def everything(loaded: Loaded) -> tuple[object, ...]:
    keys = ("club", "lines", "modules", "recipes", "reports", "signatures", "past_codes", "pictures")
    return (*(getattr(loaded, key) for key in keys), loaded.findings, loaded.files, dict(loaded.broken))


def files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.sqlite3"))


def test_a_book_read_from_the_cache_is_the_book_read_from_its_files(own_folder: Path) -> None:
    plain = everything(load(FolderTree(DEMO)))
    assert everything(read()) == plain
    assert len(files(own_folder)) == 1
    parsed = []
    original = remembered.parse
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(remembered, "parse", lambda *a: (parsed.append(a), original(*a))[1])
        assert everything(read()) == plain
    assert not parsed  # every file came from the cache


def test_findings_say_where_although_the_rest_comes_from_the_cache(tmp_path: Path) -> None:
    import shutil

    book = tmp_path / "recipes"
    shutil.copytree(DEMO, book)
    read(book)
    first, second = sorted((book / "changes").iterdir())[:2]
    for folder in (first, second):
        path = folder / "recipe.yml"
        path.write_text(path.read_text().replace(f"recipe: {folder.name}", f"recipe: {second.name}"))
    (book / "modules" / "heater.yml").write_text("modul: heater\n")
    plain = everything(load(FolderTree(book)))
    assert any(finding.id == "duplicate-id" or "mismatch" in finding.id for finding in plain[-3])
    assert everything(read(book)) == plain
    assert everything(read(book)) == plain


def test_a_damaged_file_is_no_obstacle(own_folder: Path) -> None:
    plain = everything(read())
    [file] = files(own_folder)
    cache.CACHE._opened_by = 0
    for rest in own_folder.glob("*.sqlite3-*"):
        rest.unlink()
    file.write_bytes(b"this is no database" * 100)
    assert everything(read()) == plain
    [file] = files(own_folder)
    with sqlite3.connect(file) as inside:  # each value made nonsense
        inside.execute("UPDATE kept SET value = CAST('{]' AS BLOB)")
    inside.close()
    assert everything(read()) == plain


def test_a_folder_that_others_may_enter_is_not_used(own_folder: Path) -> None:
    own_folder.mkdir(parents=True, mode=0o755)
    own_folder.chmod(0o755)
    assert cache.folder() is None
    assert read().recipes
    assert not files(own_folder)
    own_folder.chmod(0o700)
    assert cache.folder() == own_folder


def test_a_link_is_not_followed(own_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir(mode=0o700)
    own_folder.parent.mkdir(parents=True)
    own_folder.symlink_to(tmp_path / "elsewhere")
    assert cache.folder() is None


def test_another_version_of_the_program_has_a_file_of_its_own(
    own_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read()
    mine = cache.program()
    changed = tmp_path / "asfound"
    import shutil

    shutil.copytree(ROOT / "plugins" / "asfound", changed, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "schema", changed / "schema")

    def of_the_copy() -> str:
        code = "from asfound.source.cache import program; print(program())"
        env = os.environ | {"PYTHONPATH": str(tmp_path)}
        asked = subprocess.run(
            [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
        )
        return asked.stdout.strip()

    assert of_the_copy() == mine  # content alone counts, not where it lies
    schema = changed / "schema" / "recipe.schema.json"
    schema.write_text(schema.read_text() + "\n")
    other = of_the_copy()
    assert other != mine
    monkeypatch.setattr(cache, "program", lambda: other)
    cache.CACHE._opened_by = 0
    assert cache.CACHE.get("file", next(iter(_keys(own_folder)))) is None
    read()
    assert len(files(own_folder)) == 2


def test_another_version_of_a_library_is_another_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed = tmp_path / "site-packages"
    (installed / "pyyaml-6.0.1.dist-info").mkdir(parents=True)
    monkeypatch.syspath_prepend(str(installed))
    mine = cache.program.__wrapped__()
    (installed / "pyyaml-6.0.1.dist-info").rename(installed / "pyyaml-6.0.2.dist-info")
    assert cache.program.__wrapped__() != mine


def _keys(folder: Path) -> list[bytes]:
    file = sqlite3.connect(files(folder)[0])
    keys = [row[0] for row in file.execute("SELECT key FROM kept WHERE kind = 'file'")]
    file.close()
    return keys


def test_two_programs_at_once(own_folder: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from asfound.source.remembered import Remembered;"
        "from asfound.source.loader import FolderTree, load;"
        "loaded = load(FolderTree(Path(sys.argv[1])), Remembered());"
        "print(len(loaded.recipes), len(loaded.findings))"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", code, str(DEMO)], stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    said = {each.communicate(timeout=120)[0] for each in both}
    assert said == {f"{len(load(FolderTree(DEMO)).recipes)} 0\n"}
    assert all(each.returncode == 0 for each in both)
    check = sqlite3.connect(files(own_folder)[0])
    assert check.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    check.close()


def test_it_does_not_grow_without_end(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "LARGEST", 200_000)
    for n in range(400):
        cache.CACHE.put("file", n.to_bytes(4, "big"), os.urandom(4000))
    cache.CACHE.flush()
    size = sum(path.stat().st_size for path in own_folder.glob("*.sqlite3"))
    assert size < 1_200_000  # 1.6 MB were put in
    assert cache.CACHE.get("file", (399).to_bytes(4, "big")) is not None  # what is new stays


def test_pictures_come_out_alike(own_folder: Path) -> None:
    path = next(DEMO.glob("changes/*/*.png"))
    raw = path.read_bytes()
    first = remembered.cleaned(raw, path.name)
    assert remembered.cleaned(raw, path.name) == first
    assert Remembered().knows_picture(raw, path.name)
    assert not Remembered().knows_picture(raw + b"x", path.name)


def double(state: int, item: int) -> int:
    if os.getpid() != PARENT and item == 7:
        os._exit(9)  # as if the system had killed it
    if item == 13:
        raise ValueError("unlucky")
    return state * item


def test_a_crew_answers_in_order_and_survives_the_loss_of_a_member() -> None:
    crew = Crew(3, 2)
    try:
        assert list(crew.each(double, range(1, 6), lambda n: n)) == [3, 6, 9, 12, 15]
        assert list(crew.each(double, range(12), lambda n: n * n)) == [3 * n for n in range(12)]
        assert list(crew.each(double, range(6))) == [0, 3, 6, 9, 12, 15]
    finally:
        crew.close()


def meet(pipes: list[tuple[int, int]], own: int) -> bool:
    """Whether whoever does the other of two pieces of work is at it at the same time."""
    os.write(pipes[own][1], b"x")
    return bool(select.select([pipes[1 - own][0]], [], [], 5)[0])


def test_two_pieces_of_work_are_done_at_once() -> None:
    pipes = [os.pipe(), os.pipe()]
    crew = Crew(pipes, 2)
    try:
        assert list(crew.each(meet, [0, 1])) == [True, True]
    finally:
        crew.close()
        for end in (end for pipe in pipes for end in pipe):
            os.close(end)


def test_errors_are_raised_here() -> None:
    crew = Crew(1, 2)
    try:
        with pytest.raises(ValueError, match="unlucky"):
            list(crew.each(double, [12, 13]))
    finally:
        crew.close()
