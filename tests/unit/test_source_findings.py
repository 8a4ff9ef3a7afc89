"""Findings: their paths, their order, and how they are printed."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from asfound.source.findings import Finding, arrange, path_text, quoted, shown
from asfound.source.report import as_json, as_lines, count_text

CAUSE = Finding("unknown-key", "modules/lamps.yml", 3, 1, "nam", "there is no key nam", "write name")
FOLLOWS = Finding(
    "no-module",
    "changes/a/recipe.yml",
    7,
    5,
    "changes[0].setting",
    "its file is broken",
    "see there",
    CAUSE.key,
)
OTHER = Finding("wrong-type", "changes/a/recipe.yml", 2, 8, "title", "a list, not text", "write text")


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        ((), ""),
        (("changes", 0, "to"), "changes[0].to"),
        ((0, 1), "[0][1]"),
        (("choose", "a/b/c"), 'choose["a/b/c"]'),
        (("a\u202eb",), '["a\\u202Eb"]'),
        (("",), '[""]'),
        (("x" * 100,), '["' + "x" * 59 + '…"]'),
    ],
)
def test_path_text(keys, text):
    assert path_text(keys) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("stays off", '"stays off"'),
        ('say "so" \\', '"say \\"so\\" \\\\"'),
        ("a\nb\t\x1b[31m", '"a\\nb\\t\\x1B[31m"'),
        ("\u202e\U000e0041\u2028", '"\\u202E\\U000E0041\\u2028"'),
        ("grün 日本", '"grün 日本"'),
        ("x" * 61, '"' + "x" * 59 + '…"'),
        (True, "true"),
        (None, "null"),
        (7, "7"),
        ([1], "a list"),
        ({}, "a map"),
    ],
)
def test_shown(value, text):
    assert shown(value) == text


def test_a_repair_is_never_cut():
    assert quoted("00 " * 250) == '"' + "00 " * 250 + '"'


def test_causes_first_then_what_follows_from_them():
    assert arrange([OTHER, FOLLOWS, CAUSE]) == (OTHER, CAUSE, FOLLOWS)
    deeper = replace(FOLLOWS, file="changes/b/recipe.yml", because=FOLLOWS.key)
    assert arrange([deeper, FOLLOWS, CAUSE]) == (CAUSE, FOLLOWS, deeper)


def test_order_is_by_file_line_and_column_whatever_the_order_found():
    some = [replace(OTHER, line=line, column=column) for line in (10, 2) for column in (3, 20)]
    assert [(f.line, f.column) for f in arrange(some)] == [(2, 3), (2, 20), (10, 3), (10, 20)]


def test_each_finding_once_and_none_lost_in_a_circle():
    one = replace(OTHER, because=CAUSE.key)
    two = replace(CAUSE, because=OTHER.key)
    assert set(arrange([one, one, two])) == {one, two}
    assert arrange([replace(OTHER, because="gone")]) == (replace(OTHER, because="gone"),)


def test_as_lines_and_a_count():
    found = [replace(FOLLOWS, also=(("club.yml", 4, 2),)), CAUSE]
    assert "".join(f"{line}\n" for line in [*as_lines(found), count_text(found)]) == (
        "recipes/modules/lamps.yml:3:1 nam [unknown-key]\n"
        "  there is no key nam\n"
        "  repair: write name\n"
        "    recipes/changes/a/recipe.yml:7:5 changes[0].setting [no-module]\n"
        "      its file is broken\n"
        "      see also recipes/club.yml:4:2\n"
        "      repair: see there\n"
        "1 finding in 1 file, and 1 that follows from it.\n"
    )
    assert next(as_lines([CAUSE], "elsewhere")).startswith("elsewhere/modules/lamps.yml:3:1 ")
    assert (count_text([]), count_text([CAUSE])) == ("No findings.", "1 finding in 1 file.")
    more = replace(FOLLOWS, line=9)
    assert count_text([OTHER, CAUSE, FOLLOWS, more]) == "2 findings in 2 files, and 2 that follow from them."
    assert count_text([FOLLOWS]) == "1 finding in 1 file."  # its cause is not among them
    assert count_text([replace(CAUSE, because=FOLLOWS.key), FOLLOWS]) == "2 findings in 2 files."


def test_as_json():
    first, second = json.loads(as_json([replace(FOLLOWS, also=(("club.yml", 4, 2),)), CAUSE]))
    assert first == {
        "id": "unknown-key",
        "file": "recipes/modules/lamps.yml",
        "line": 3,
        "column": 1,
        "path": "nam",
        "message": "there is no key nam",
        "repair": "write name",
        "because": None,
        "also": [],
        "key": "modules/lamps.yml#nam#unknown-key",
    }
    assert second["because"] == first["key"]
    assert second["also"] == [{"file": "recipes/club.yml", "line": 4, "column": 2}]
    assert as_json([replace(CAUSE, message="\u202e")]).isascii()
