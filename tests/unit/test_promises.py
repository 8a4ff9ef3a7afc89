"""The page of promises names tests; each of them exists."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "site_src" / "promises.md").read_text("utf-8")
NAMED = re.findall(r"`(tests/[^`]+)::(\w+)`", PAGE)


@pytest.mark.parametrize(("path", "name"), NAMED)
def test_the_test_exists(path: str, name: str) -> None:
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    assert name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_every_promise_names_one() -> None:
    rows = [line for line in PAGE.splitlines() if line.startswith("| ") and not line.startswith("| promise")]
    assert len(rows) == len(NAMED) >= 20
