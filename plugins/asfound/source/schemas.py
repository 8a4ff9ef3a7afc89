"""The JSON Schemas and what they say of a file, as findings in plain words.

References between schemas are resolved among our own files only; nothing is ever fetched.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .compiled import Compiler, Documents, Schema, Test
from .findings import Finding, path_text
from .limits import FINDINGS_PER_FILE, MOST_ERRORS
from .meaning import OF_TEXT, Wrong, of_file
from .positions import Positions

if TYPE_CHECKING:  # imported where a file has something wrong: for all others that would be most of the time
    from jsonschema.exceptions import ValidationError
    from referencing import Registry

# Kinds of file, and the schema of each.
KINDS: Mapping[str, str] = {
    "club": "club.schema.json",
    "line": "vehicle.schema.json",
    "module": "module.schema.json",
    "recipe": "recipe.schema.json",
    "report": "report.schema.json",
    "signature": "signature.schema.json",
    "codes": "codes.schema.json",
    "translation": "translation.schema.json",
}

# Files that readers keep of their cars: JSON, and no part of a book.
READERS: Mapping[str, str] = {
    "car": "car.schema.json",
    "reading": "reading.schema.json",
    "log": "log.schema.json",
}
_SCHEMAS = {**KINDS, **READERS}


def schema_folder() -> Path:
    """Where the schemas lie: inside the installed package, or at the top of a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "schema", package.parent.parent / "schema"):
        if (folder / "common.schema.json").is_file():
            return folder
    raise FileNotFoundError(f"asfound is not installed whole: {package / 'schema'} is missing")


@cache
def documents() -> Documents:
    """All our schemas by file name."""
    return Documents(
        {
            path.name: json.loads(path.read_text(encoding="utf-8"))
            for path in sorted(schema_folder().glob("*.schema.json"))
        }
    )


@cache
def quick(kind: str) -> Test:
    """The compiled test for a kind of file."""

    def holds(wrong: Any) -> Test:
        return lambda value: wrong(value) is None

    compiler = Compiler(documents(), {name: holds(wrong) for name, wrong in OF_TEXT.items()})
    name = _SCHEMAS[kind]
    return compiler.compile(documents().documents[name], name)


@cache
def registry() -> Registry[Any]:
    """All our schemas and nothing else, for jsonschema; other references fail instead of being fetched."""
    from referencing import Registry
    from referencing.jsonschema import DRAFT202012

    return Registry().with_resources(
        (name, DRAFT202012.create_resource(schema)) for name, schema in documents().documents.items()
    )


def errors(kind: str, data: Any) -> Iterator[ValidationError]:
    """jsonschema's errors of a file's data; texts are also asked whether they mean something.

    After ``MOST_ERRORS`` the rest of each list is left out, since alternatives are tried one after the other
    and a hostile file could make that take minutes.
    """
    from jsonschema import Draft202012Validator, validators

    left = MOST_ERRORS

    def items(validator: Any, item: Any, instance: Any, schema: Any) -> Iterator[ValidationError]:
        nonlocal left
        if isinstance(instance, list):
            for index, each in enumerate(instance):
                if left <= 0:
                    return
                for error in validator.descend(each, item, path=index):
                    left -= 1
                    yield error

    extend: Any = validators.extend  # has no types
    checking = extend(Draft202012Validator, {"$ref": _reference, "items": items})
    found = checking(documents().documents[_SCHEMAS[kind]], registry=registry()).iter_errors(data)
    yield from found


def _reference(validator: Any, reference: str, instance: Any, schema: Any) -> Iterator[ValidationError]:
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError

    wrong_form = False
    for error in Draft202012Validator.VALIDATORS["$ref"](validator, reference, instance, schema):
        wrong_form = True
        yield error
    meaning = OF_TEXT.get(reference.rpartition("/")[2])
    if meaning is not None and not wrong_form and isinstance(instance, str):
        wrong = meaning(instance)
        if wrong is not None:
            yield ValidationError(
                wrong[0], validator="meaning", validator_value=wrong[1], instance=instance, schema=schema
            )


def demanded(kind: str, path: Sequence[str | int]) -> bool:
    """Whether the key that ends the path must be there, in whatever map it may stand."""
    here = list(_alike(_SCHEMAS[kind], documents().documents[_SCHEMAS[kind]]))
    for step in path[:-1]:
        here = [each for name, schema in here for each in _alike(name, _inside(schema, step))]
    return any(path[-1] in s.get("properties", ()) and path[-1] in s.get("required", ()) for _, s in here)


def _inside(schema: Schema, step: str | int) -> Schema:
    """What a schema says of one of its values; nothing if it says nothing."""
    return schema.get("items", {}) if isinstance(step, int) else schema.get("properties", {}).get(step, {})


def _alike(name: str, schema: Schema) -> Iterator[tuple[str, Schema]]:
    """A schema, what it refers to and what it chooses from, each with the name of its document."""
    if not isinstance(schema, dict):
        return
    yield name, schema
    if "$ref" in schema:
        target, document = documents().resolve(schema["$ref"], name)
        yield from _alike(document, target)
    for each in (*schema.get("oneOf", ()), *schema.get("anyOf", ())):
        yield from _alike(name, each)


def validate(kind: str, data: Any, positions: Positions, file: str) -> tuple[Finding, ...]:
    """What is wrong with a file's data by its schema and by what the schema cannot say."""
    if quick(kind)(data):
        wrongs: Iterator[Wrong] = of_file(kind, data)
    else:
        from .explain import Explainer

        explainer = Explainer(documents(), _SCHEMAS[kind], positions)
        wrongs = explainer.explain(errors(kind, data))
    kept = [wrong for wrong in islice(wrongs, FINDINGS_PER_FILE) if not positions.is_spoilt(wrong.path)]
    unknown = {wrong.path[:-1]: wrong.path for wrong in kept if wrong.id == "unknown-key"}
    out: dict[Finding, None] = {}
    for wrong in kept:
        line, column = (positions.key if wrong.at_key else positions.value)(wrong.path)
        cause = unknown.get(wrong.path) if wrong.id == "missing-key" else None  # it may stand there misspelt
        because = None if cause is None else f"{file}#{path_text(cause)}#unknown-key"
        path = path_text(wrong.path)
        also = tuple((file, *positions.value(other)) for other in wrong.also if positions.has(other))
        out[Finding(wrong.id, file, line, column, path, wrong.message, wrong.repair, because, also)] = None
    return tuple(out)
