"""What findings say about files that break their schema; and that schemas are never fetched."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from jsonschema.exceptions import _WrappedReferencingError

from asfound.car import functions
from asfound.source import schemas
from asfound.source.compiled import Compiler, Documents
from asfound.source.meaning import day, months, software_range
from asfound.source.reader import read
from asfound.source.schemas import KINDS, documents, errors, quick, schema_folder, validate

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


def said(example: str) -> list[tuple[str, str]]:
    path = EXAMPLES / "negative" / f"{example}.yml"
    found = read(path.read_bytes(), "x.yml")
    return [(f.message, f.repair) for f in validate(path.parent.name, found.data, found.positions, "x.yml")]


@pytest.mark.parametrize(
    ("example", "message", "repair"),
    [
        ("recipe/unknown-key", "there is no key hazrds in recipe", "write hazards"),
        ("recipe/condition-misspelt", "there is no key equiped in condition", "write equipped"),
        (
            "recipe/two-conditions-in-one",
            "the key equipped does not go together with line",
            "join two conditions: all: [{line: …}, {equipped: …}]",
        ),
        (
            "recipe/text-written-as-number",
            "1.50, a number, where text or a map is expected",
            'put it in quotes: "1.50"',
        ),
        (
            "line/power-below-zero",
            '"-9.5" has not the form of “Exact number above 0”',
            'a decimal number in quotes, more than 0, kept exactly as written; for example "9.5"',
        ),
        (
            "line/power-below-zero",
            '"-12" has not the form of “Exact number from 0”',
            'a decimal number in quotes, 0 or more, kept exactly as written; for example "12"',
        ),
        (  # and not "12"
            "line/power-with-unit",
            '"1.2 V" has not the form of “Exact number from 0”',
            'a decimal number in quotes, 0 or more, kept exactly as written; for example "12"',
        ),
        (
            "recipe/list-written-as-text",
            'the text "2" where a list is expected',
            'write it in brackets: ["2"]',
        ),
        (
            "recipe/not-on-the-list",
            '"ofered" is not allowed under “Status”',
            "write offered; allowed are draft, offered, withdrawn",
        ),
        (
            "recipe/loss-beside-harm",
            "the key loss belongs only beside harm: none",
            "remove it, or write harm: none",
        ),
        (
            "recipe/no-such-day",
            "the calendar has no day 2026-02-30",
            "write a day that exists, as year-month-day",
        ),
        ("recipe/same-entry-twice", '"2" stands in the list twice', "remove one of the two"),
        (
            "recipe/file-to-load",
            "0 is out of range for “Size”",
            "write a whole number from 1 to 281474976710655",
        ),
        (
            "recipe/wrong-names",
            '"Awning_Lamp" has not the form of “Name in small letters, digits and hyphens”',
            'write "awning-lamp"',
        ),
        ("recipe/empty-lists", "the list is empty", "write at least 1 entry, or leave the key out"),
        (
            "recipe/software-ranges",
            "no software version can satisfy >0400,<0300",
            "put the lower version after > or >= and the higher after < or <=",
        ),
        (
            "module/setting-of-no-kind",
            "one of these keys is missing in setting: choices, number, text",
            "add one of choices, number, text",
        ),
        (
            "module/setting-of-two-kinds",
            "the key text does not go together with choices",
            "remove text, or choices and what belongs to it",
        ),
        (
            "module/identifiers",
            "0x3C21, a number, where text or a map is expected",
            'put it in quotes: "0x3C21"',
        ),
        (
            "module/identifier-counted-bare",
            "7, a number, where text or a map is expected",
            "write {number: 7}",
        ),
        (
            "module/functions",
            '"confort" is not allowed under “Function”',
            f"write one of {', '.join(functions.FUNCTIONS)}; perhaps comfort is meant",
        ),
        ("module/numbers", '"10,5" has not the form of “Exact number”', 'write "10.5"'),
        (
            "club/minutes-and-counts",
            'the text "20" where a whole number is expected',
            "write it without quotes: 20",
        ),
        (
            "report/equipment-had-and-not-had",
            "awning stands under equipment and under without",
            "keep one of the two",
        ),
    ],
)
def test_words(example, message, repair):
    assert (message, repair) in said(example)


def test_a_missing_key_says_what_it_is_for_and_shows_an_example():
    title = documents().documents["recipe.schema.json"]["properties"]["title"]
    assert (
        f"the key title is missing: {title['description']}",
        "add title, such as title: Awning lamp follows the sliding door",
    ) in said("recipe/missing-keys")


def test_nothing_of_jsonschemas_own_words_is_shown():
    theirs = (
        "is not valid under",
        "is a required property",
        "does not match",
        "is not of type",
        "should not be",
    )
    for path in EXAMPLES.glob("negative/*/*.yml"):
        if path.parent.name in KINDS:
            for message, repair in said(f"{path.parent.name}/{path.stem}"):
                assert not any(words in message + repair for words in theirs)


def test_a_reader_finding_hides_what_the_schema_would_say_of_the_same_value():
    found = read(b"club: off\nname: 0123\nlong_key_on: on\n", "x.yml")
    paths = {f.path for f in validate("club", found.data, found.positions, "x.yml")}
    assert paths == {""}  # only keys that are missing


# meaning


@pytest.mark.parametrize(
    ("text", "real"),
    [
        ("2024-02-29", True),
        ("2026-02-29", False),
        ("2000-02-29", True),
        ("1900-02-29", False),
        ("2026-00-10", False),
        ("2026-12-31", True),
        ("0000-01-01", False),
    ],
)
def test_days(text, real):
    """Leap years as in ISO 8601:2004, 3.2.1: every fourth, of centuries every fourth."""
    assert (day(text) is None) == real


def test_intervals_of_months():
    assert months("2019-03/2022-08") is months("2022-09/..") is months("../2022-09") is None
    assert months("2022-09/2022-09") is None
    assert months("2022-10/2022-09") == (
        "2022-10 comes after 2022-09",
        "write 2022-09/2022-10, earlier month first",
    )
    assert months("2022-00/..") == ("there is no month 2022-00", "write months from 01 to 12")


def test_ranges_of_versions():
    assert software_range(">=0300,<0400") is None
    assert software_range("<0300,>0400") is not None


# the schemas themselves


def test_they_are_valid_draft_2020_12():
    for schema in documents().documents.values():
        Draft202012Validator.check_schema(schema)


def test_every_reference_is_local():
    def references(schema):
        if isinstance(schema, dict):
            if isinstance(schema.get("$ref"), str):
                yield schema["$ref"]
            for value in schema.values():
                yield from references(value)
        elif isinstance(schema, list):
            for each in schema:
                yield from references(each)

    for name, schema in documents().documents.items():
        assert schema["$id"] == name
        for reference in references(schema):
            assert documents().resolve(reference, name)[0]


@pytest.mark.parametrize("reference", ["http://127.0.0.1:9/x.json", "file:///etc/hostname", "other.json"])
def test_nothing_is_ever_fetched(reference, monkeypatch):
    import socket
    import urllib.request

    def never(*_, **__):
        raise AssertionError("looked outside")

    monkeypatch.setattr(socket.socket, "connect", never)
    monkeypatch.setattr(urllib.request, "urlopen", never)
    with pytest.raises(_WrappedReferencingError):
        list(Draft202012Validator({"$ref": reference}, registry=schemas.registry()).iter_errors(1))
    with pytest.raises(KeyError):
        documents().resolve(reference, "club.schema.json")


def test_the_functions_are_those_of_the_car_room():
    words = documents().documents["common.schema.json"]["$defs"]["function"]["enum"]
    assert words == list(functions.FUNCTIONS)


def test_the_folder_in_a_wheel_and_in_a_checkout(tmp_path, monkeypatch):
    real = schema_folder()
    package = tmp_path / "site-packages" / "asfound"
    (package / "source").mkdir(parents=True)
    monkeypatch.setattr(schemas, "__file__", str(package / "source" / "schemas.py"))
    with pytest.raises(FileNotFoundError, match="not installed whole"):
        schema_folder()
    shutil.copytree(real, package / "schema")
    assert schema_folder() == package / "schema"


def test_patterns_end_at_the_very_end_and_take_only_ascii_digits():
    """A ``$`` alone accepts a line feed behind; ``\\d`` accepts other scripts' digits."""

    def patterns(schema):
        if isinstance(schema, dict):
            if isinstance(schema.get("pattern"), str):
                yield schema["pattern"]
            for value in schema.values():
                yield from patterns(value)
        elif isinstance(schema, list):
            for each in schema:
                yield from patterns(each)

    for schema in documents().documents.values():
        for pattern in patterns(schema):
            assert pattern.startswith("^") and pattern.endswith("$(?!\\n)")
            assert "\\d" not in pattern and "\\w" not in pattern
    for name, text in (
        ("hex-bytes", "01 40"),
        ("slug", "a-b"),
        ("date", "2026-01-02"),
        ("decimal", "0.5"),
        ("decimal-from-zero", "0.5"),
        ("decimal-above-zero", "0.5"),
    ):
        test = Compiler(documents(), {}).compile({"$ref": f"#/$defs/{name}"}, "common.schema.json")
        assert test(text)
        assert not test(text + "\n") and not test(text.replace("0", "０").replace("a", "ａ"))


def test_patterns_take_linear_time():
    import re
    import time

    common = documents().documents["common.schema.json"]["$defs"]
    for name, evil in (
        ("hex-bytes", "00 " * 40_000 + "0"),
        ("slug", "a-" * 40_000 + "!"),
        ("record-path", "a-" * 40_000 + "/"),
        ("setting-path", "a" * 40_000 + "/" + "a-" * 40_000),
        ("software-range", ">=0," * 40_000),
        ("part", "A " * 40_000 + "-"),
        ("decimal", "1" * 80_000 + "x"),
        ("decimal-from-zero", "1" * 80_000 + "x"),
        ("decimal-above-zero", "0" * 80_000 + "x"),
    ):
        before = time.process_time()
        assert not re.search(common[name]["pattern"], evil)
        assert time.process_time() - before < 0.2, name


# the quick test


def test_unknown_keywords_are_refused():
    with pytest.raises(ValueError, match="not understood: dependentRequired"):
        Compiler(Documents({"x": {}}), {}).compile({"dependentRequired": {}}, "x")


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-300, 300)
    | st.decimals(-9, 9, places=1)
    | st.sampled_from(["", "a", "any", "0x3C21", "2026-01-02", "01 40", "key-on", "bytes", "none", "none\n"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                ["a", "all", "any", "not", "line", "holds", "byte", "bit", "bits", "is", "number"]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@settings(deadline=None)
@given(JSON, st.sampled_from(list(KINDS)))
def test_any_data_gives_findings_and_never_an_error(data, kind):
    found = read(b"a: 1\n", "x.yml")
    assert validate(kind, data, found.positions, "x.yml")


def mutations():
    for path in sorted(EXAMPLES.glob("positive/*/*.yml")):
        if path.parent.name in KINDS:
            yield path.parent.name, read(path.read_bytes(), "x.yml").data


GOOD = list(mutations())


def places(data, path=()):
    yield path
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield from places(value, (*path, key))


def changed(data, path, how):
    """``data`` with what stands at ``path`` changed."""
    if not path:
        return how(data)
    out = data.copy()
    if len(path) == 1 and how is None:
        del out[path[0]]
    else:
        out[path[0]] = changed(out[path[0]], path[1:], how)
    return out


HOW = {
    "delete": None,
    "none": lambda v: None,
    "number": lambda v: v + 1 if type(v) is int else 1,
    "decimal": lambda v: Decimal("1.5"),
    "truth": lambda v: not v,
    "list": lambda v: [v],
    "twice": lambda v: v + v if isinstance(v, list | str) else v,
    "empty": lambda v: type(v)() if v is not None else v,
    "map": lambda v: {"all": [v]},
    "more": lambda v: {**v, "names_only": True} if isinstance(v, dict) else v,
    "line end": lambda v: v + "\n" if isinstance(v, str) else v,
    "long": lambda v: v * 200 if isinstance(v, list | str) else v,
}


@settings(max_examples=250, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.data())
def test_quick_test_and_jsonschema_agree_on_changed_files(data):
    """A yes of the quick test lets a file pass, so it must never say yes where jsonschema says no."""
    kind, good = data.draw(st.sampled_from(GOOD))
    path = data.draw(st.sampled_from([p for p in places(good) if p]))
    how = data.draw(st.sampled_from(list(HOW)))
    other = changed(good, path, HOW[how])
    valid = next(errors(kind, other), None) is None
    assert quick(kind)(other) == valid
    if not valid:
        positions = read(b"a: 1\n", "x.yml").positions
        assert validate(kind, other, positions, "x.yml"), (path, how)


@pytest.mark.parametrize(("kind", "good"), GOOD)
def test_every_place_can_hold_anything_wrong(kind, good):
    """Every place of every example, with null and with an empty map: explained, whatever else is there."""
    positions = read(b"a: 1\n", "x.yml").positions
    for path in places(good):
        for how in ("none", "map"):
            other = changed(good, path, HOW[how])
            if not quick(kind)(other):
                assert validate(kind, other, positions, "x.yml"), (path, how)
