"""Example files: each file under examples/ is a test.

The folder says the kind (``yaml``: read only, no schema). A negative file ends with the findings it expects,
one a line: id, line:column, path (no path: the file as such).
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from asfound.car.origin import Origin
from asfound.source import schemas
from asfound.source.build import BUILD
from asfound.source.catalogue import CATALOGUE
from asfound.source.findings import Finding
from asfound.source.reader import read
from asfound.source.schemas import KINDS, documents, errors, quick, schema_folder, validate

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
POSITIVE = sorted(EXAMPLES.glob("positive/*/*.yml"))
NEGATIVE = sorted(EXAMPLES.glob("negative/*/*.yml"))
MARK = b"# expected findings:\n"


def name(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def findings(path: Path) -> list[Finding]:
    found = read(path.read_bytes(), "example.yml")
    out = list(found.findings)
    if found.data is not None and path.parent.name in KINDS:
        out += validate(path.parent.name, found.data, found.positions, "example.yml")
    return out


def test_there_are_examples_of_every_kind():
    assert {path.parent.name for path in POSITIVE} == {*KINDS, "yaml"}
    assert {path.parent.name for path in NEGATIVE} == {*KINDS, "yaml"}
    assert len(NEGATIVE) >= 60


@pytest.mark.parametrize("path", POSITIVE, ids=name)
def test_positive(path):
    assert findings(path) == []
    kind = path.parent.name
    if kind in KINDS:
        data = read(path.read_bytes(), "example.yml").data
        assert BUILD[kind](data, Origin("example.yml")) is not None


@pytest.mark.parametrize("path", NEGATIVE, ids=name)
def test_negative(path):
    content = path.read_bytes()
    assert content.count(MARK) == 1, "the file does not end with the findings it expects"
    expected = content.partition(MARK)[2].decode().splitlines()
    assert expected, "no finding expected"
    found = [f"# {f.id} {f.line}:{f.column} {f.path}".rstrip() for f in findings(path)]
    assert sorted(found) == sorted(expected)
    for finding in findings(path):
        assert finding.message and finding.repair
        assert "\n" not in finding.message + finding.repair


@pytest.mark.parametrize("path", POSITIVE + NEGATIVE, ids=name)
def test_the_first_line_names_the_schema(path):
    if path.parent.name in KINDS:
        first = path.read_bytes().split(b"\n", 1)[0].decode()
        comment, _, schema = first.partition("$schema=")
        assert comment == "# yaml-language-server: "
        assert (path.parent / schema).resolve() == schema_folder() / KINDS[path.parent.name]


def test_every_finding_of_a_file_has_an_example():
    """Those about names, links, sizes and pictures are made in test_source_loader and test_source_guards."""
    shown = {finding.id for path in NEGATIVE for finding in findings(path)}
    elsewhere = {
        "duplicate-id",
        "file-bad-name",
        "file-link",
        "file-missing",
        "file-modeline",
        "file-name-mismatch",
        "file-not-a-picture",
        "file-not-regular",
        "file-not-utf-8",
        "file-too-large",
        "file-unreadable",
        "file-too-many-findings",
        "file-too-many-values",
        "file-twin-names",
        "file-unexpected",
        "folder-unexpected",
        "picture-too-large",  # in test_source_pictures
        "json-syntax",  # in test_source_car_file
    }
    assert shown | elsewhere == set(CATALOGUE)
    assert not shown & elsewhere


def keywords(schema, out: set[str]) -> set[str]:
    if isinstance(schema, dict):
        for key, value in schema.items():
            out.add(key)
            if key in ("properties", "$defs"):
                for each in value.values():
                    keywords(each, out)
            elif key not in ("examples", "enum", "const", "required"):
                keywords(value, out)
    elif isinstance(schema, list):
        for each in schema:
            keywords(each, out)
    return out


def test_every_keyword_of_our_schemas_is_broken_by_an_example():
    used: set[str] = set()
    for schema in documents().documents.values():
        keywords(schema, used)
    used -= {"$schema", "$id", "$defs", "title", "description", "examples", "properties", "items"}
    # what jsonschema never names: these only choose what else applies
    used -= {"$ref", "if", "then", "else", "propertyNames"}
    broken: set[str] = set()
    for path in NEGATIVE:
        data = read(path.read_bytes(), "example.yml").data
        if data is not None and path.parent.name in KINDS:
            waiting = list(errors(path.parent.name, data))
            while waiting:
                error = waiting.pop()
                broken.add(str(error.validator))
                waiting += error.context
    # no file of ours can have more keys than these allow without being over another limit first
    assert used - broken <= {"maxProperties"}
    assert {"None", "meaning"} <= broken  # `key: false`, and texts that stand for nothing


@pytest.mark.parametrize("path", POSITIVE + NEGATIVE, ids=name)
def test_quick_test_and_jsonschema_agree(path):
    data = read(path.read_bytes(), "example.yml").data
    for kind in KINDS:
        assert quick(kind)(data) == (not any(True for _ in errors(kind, data)))


@pytest.mark.parametrize("path", [p for p in POSITIVE if p.parent.name in KINDS], ids=name)
def test_an_ordinary_yaml_reader_agrees(path):
    """What passes the strict reader means the same to a YAML 1.1 reader (PyYAML), dates aside."""

    class DatesAsText(yaml.CSafeLoader):
        pass

    DatesAsText.yaml_implicit_resolvers = {
        sign: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
        for sign, resolvers in yaml.CSafeLoader.yaml_implicit_resolvers.items()
    }
    assert yaml.load(path.read_bytes(), DatesAsText) == read(path.read_bytes(), "example.yml").data


def examples_of(schema, pointer: str = ""):
    """Every (pointer, example) of a schema."""
    if isinstance(schema, dict):
        for example in schema.get("examples", ()):
            yield pointer, example
        for key, value in schema.items():
            if key not in ("examples", "enum", "const"):
                yield from examples_of(value, f"{pointer}/{key}")
    elif isinstance(schema, list):
        for index, each in enumerate(schema):
            yield from examples_of(each, f"{pointer}/{index}")


@pytest.mark.parametrize("document", sorted(documents().documents))
def test_the_schemas_own_examples_satisfy_them(document):
    """Editors show these, and our findings repeat them. Examples of maps may be cut short."""
    checked = 0
    for pointer, example in examples_of(documents().documents[document]):
        if example in ([], {}):  # stands for "see the entries"
            continue
        same = {"$ref": f"{document}#{pointer}"}
        for error in Draft202012Validator(same, registry=schemas.registry()).iter_errors(example):
            cut_short = isinstance(example, dict) and not error.path
            assert cut_short and error.validator in ("required", "oneOf", "anyOf"), (pointer, error.message)
        checked += 1
    assert checked >= 1
