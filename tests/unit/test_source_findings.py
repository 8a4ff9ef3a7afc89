"""Findings: their paths, their order, and how they are printed."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from asfound.source.fields import wanted
from asfound.source.findings import Finding, arrange, path_text, quoted, shown
from asfound.source.junit import as_junit
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


EMPTY = Finding(
    "yaml-empty-value", "changes/a/recipe.yml", 6, 7, "title", "nothing stands here", "write the value: what"
)


def test_what_is_to_be_filled_in_is_a_list_below_all_else_and_each_place_is_there():
    broken = replace(FOLLOWS, because=EMPTY.key, file="changes/b/recipe.yml")
    open_end = "write the value, or leave the key out: why"
    found = [EMPTY, replace(EMPTY, line=12, column=10, path="by", repair=open_end), broken, CAUSE]
    assert list(as_lines(found)) == [
        *as_lines([CAUSE]),
        "recipes/changes/a/recipe.yml [yaml-empty-value]",
        "  2 things to fill in:",
        "  6:7    title: what",
        "  12:10  by: write the value, or leave the key out: why",
        "    recipes/changes/b/recipe.yml:7:5 changes[0].setting [no-module]",
        "      its file is broken",
        "      repair: see there",
    ]
    assert count_text(found) == "3 findings in 2 files, and 1 that follows from them."
    elsewhere = replace(EMPTY, file="changes/c/recipe.yml")
    assert "  repair: write the value: what" in list(as_lines([EMPTY, elsewhere]))  # one in a file is no list
    assert "recipes/changes/a/recipe.yml:12:10 by [yaml-empty-value]" in list(as_lines(found, fold=False))
    told = as_junit(found, ["changes/a/recipe.yml"], "recipes")
    assert "recipe.yml:6:7 title [" in told and "recipe.yml:12:10 by [" in told
    assert [(one["line"], one["path"]) for one in json.loads(as_json(found))[:2]] == [
        (6, "title"),
        (7, "changes[0].setting"),
    ]


@pytest.mark.parametrize(
    ("kind", "path", "what"),
    [
        (
            "recipe",
            "changes[3].from",
            "the value it must have before, in words; 'any' when every value will do; such as stays off",
        ),
        (
            "recipe",
            "checks[0].power",
            "where the key stands and whether the engine runs; one of key-off, key-on, engine-running",
        ),
        (
            "module",
            "address",
            'in quotes, hexadecimal after 0x. Left out when places name their own. Such as "0x3B"',
        ),
        ("report", "car.modules.living-area.software", 'as the module states it; such as "0310"'),
        ("recipe", "media.menu[0]", "what to choose on the screen, in order"),
        ("recipe", "motto", ""),
        ("recipe", "checks[0].motto", ""),
        ("recipe", "fits.all[0].line", ""),
        ("recipe", "", ""),
    ],
)
def test_what_is_wanted_where_nothing_stands(kind, path, what):
    assert wanted(kind, path) == what


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
