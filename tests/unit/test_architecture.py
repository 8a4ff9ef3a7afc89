"""Imports go downward only, mkdocs stays in one room, and the domain rooms do no input or output."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "plugins" / "asfound"
FILES = sorted(PACKAGE.rglob("*.py"))

# From the bottom up; rooms on one level may not import each other.
LEVELS = (
    ("speech",), ("car",), ("work",), ("trust",), ("source",), ("book",), ("rules",), ("pages", "review"),
    ("plugin",), ("commands",), ("cli",),
)  # fmt: skip
LEVEL = {room: level for level, rooms in enumerate(LEVELS) for room in rooms}
DOMAIN = ("speech", "car", "work", "trust")
NO_PLACE_IN_DOMAIN = {
    "PIL", "asyncio", "builtins", "ctypes", "fileinput", "glob", "http",
    "importlib", "io", "jinja2", "jsonschema", "logging", "markdown_it", "markupsafe",
    "mkdocs", "multiprocessing", "nh3", "os", "pathlib", "pickle", "random",
    "shutil", "socket", "sqlite3", "subprocess", "sys", "tempfile", "threading",
    "time", "urllib", "yaml",
}  # fmt: skip
CALLS_THAT_DO_IO = {"open", "print", "input", "exec", "eval", "compile", "__import__", "breakpoint"}


def room(path: Path) -> str:
    """The room a file belongs to."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    """Full names of all modules a file imports, wherever in it."""
    package = ["asfound", *path.relative_to(PACKAGE).with_suffix("").parts][:-1]
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names)


def own_rooms(path: Path) -> set[str]:
    """The rooms of this package that a file imports from."""
    parts = (name.split(".") for name in imports(path))
    return {p[1] for p in parts if p[0] == "asfound" and len(p) > 1 and p[1] in LEVEL}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_imports_go_downward(path: Path) -> None:
    here = room(path)
    if here == "__init__":
        assert own_rooms(path) == set()
        return
    wrong = {r for r in own_rooms(path) - {here} if LEVEL[r] >= LEVEL[here]}
    assert not wrong, f"{here} must not import {wrong}"


def test_only_the_plugin_imports_mkdocs() -> None:
    users = {room(p) for p in FILES if any(name.split(".")[0] == "mkdocs" for name in imports(p))}
    assert users == {"plugin"}


@pytest.mark.parametrize(
    "path", [p for p in FILES if room(p) in DOMAIN], ids=lambda p: p.relative_to(PACKAGE).as_posix()
)
def test_domain_rooms_do_no_input_or_output(path: Path) -> None:
    assert not {name.split(".")[0] for name in imports(path)} & NO_PLACE_IN_DOMAIN
    called = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & CALLS_THAT_DO_IO


def test_every_room_is_known() -> None:
    assert {room(p) for p in FILES} - {"__init__"} <= set(LEVEL)
