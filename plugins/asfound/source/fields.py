"""The fields of our files, read off the schemas: for their pages, and for links from findings to them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from ..car.phrases import counted
from .findings import plainly
from .flow import flow
from .schemas import KINDS, READERS, documents
from .schemawords import TYPE_NAMES

# Pages of the reference, and the schema of each; for conditions a part of one.
REFERENCE: Mapping[str, str] = {
    **KINDS,
    "condition": "common.schema.json#/$defs/condition",
    **READERS,
    "book": "book.schema.json",
    "review": "review.schema.json",
}
_CONDITION = REFERENCE["condition"]
_ELSEWHERE = {_CONDITION: "condition", "#/$defs/condition": "condition"}
_EXAMPLES = 3  # shown of a field
_LONGEST = 100  # characters of an example worth showing


@dataclass(frozen=True, slots=True)
class Field:
    """One key of a file, or what a list or map holds.

    ``path`` is written as in findings, with ``[]`` for each entry of a list and ``*`` for a key that the
    author chooses; ``anchor`` is its place on the page. ``needed`` says when it must be there, empty: it may
    be left out. ``form``: the name of the form it belongs to, where what holds it can have several.
    ``kind``: the page of the reference that describes it further.
    """

    path: str
    anchor: str
    title: str
    description: str
    takes: str
    needed: str
    form: str
    values: tuple[str, ...]
    limits: tuple[str, ...]
    examples: tuple[str, ...]
    kind: str | None = None

    @property
    def depth(self) -> int:
        """0 for a key at the top of the file."""
        return self.path.replace("[]", ".[]").count(".")


@dataclass(frozen=True, slots=True)
class _Place:
    """A schema with all it refers to; ``document`` is where its own references start."""

    schema: Mapping[str, Any]
    document: str


@cache
def about(kind: str) -> tuple[str, str]:
    """Title and description of a kind of file."""
    schema = _root(kind).schema
    return schema["title"], schema["description"]


@cache
def fields(kind: str) -> tuple[Field, ...]:
    """The fields of a kind of file, in the order of its schema, each followed by those inside it."""
    found: dict[tuple[str, str], Field] = {}
    for path, place, needed, form in _walk("", _root(kind), ()):
        key = path, str(_word(place, "description"))
        if key not in found:
            taken = {field.anchor for field in found.values()}
            found[key] = _field(path, place, needed, form, taken)
        elif found[key].form != form:  # alike in several forms
            found[key] = replace(found[key], form="")
    return tuple(found.values())


def anchor_of(kind: str, path: str) -> str:
    """Where the reference describes the value that a finding names; empty: at the top of the page.

    What the schema does not know is described where it stands.
    """
    field, _ = _nearest(kind, path)
    return field.anchor if field else ""


def wanted(kind: str, path: str) -> str:
    """What is to be written where a finding names an empty value; empty where the schema does not say.

    For an entry of a list it is what the list holds.
    """
    of = re.sub(r"\[\d+\]\Z", "", path)
    field, whole = _nearest(kind, of)
    if field is None or not whole or not field.description:
        return ""
    said, more = plainly(field.description), ""
    if field.values and not all(value in said for value in field.values):
        more = f"one of {', '.join(field.values)}"
    elif field.examples and not field.values and of == path:
        more = f"such as {field.examples[0]}"
    if not more:
        return said
    return f"{said} {more[0].upper()}{more[1:]}" if said.endswith(".") else f"{said}; {more}"


def _nearest(kind: str, path: str) -> tuple[Field | None, bool]:
    """The field that a finding names, or the last one on the way there; whether it is that field itself."""
    known: dict[str, Field] = {}
    for field in fields(kind):
        known.setdefault(field.path, field)
    place, end = "", None
    for key in re.findall(r"\[[^\]]*\]|[^.\[]+", path):
        if re.fullmatch(r"\[\d+\]", key):
            steps: tuple[str, ...] = (f"{place}[]",)
        else:
            steps = (f"{place}.{key}".lstrip("."), f"{place}.*".lstrip("."))
        below = [step for step in steps if any(each.startswith(step) for each in known)]
        if not below:
            return end, False
        place = below[0]
        end = known.get(place, end)
    return end, end is not None and end.path == place


def _root(kind: str) -> _Place:
    schema, document = documents().resolve(REFERENCE[kind], "")
    return _Place(schema, document)


def _whole(place: _Place) -> Iterator[_Place]:
    """The schema and what it refers to, nearest first."""
    yield place
    if "$ref" in place.schema:
        yield from _whole(_Place(*documents().resolve(place.schema["$ref"], place.document)))


def _forms(place: _Place) -> Iterator[tuple[_Place, str]]:
    """All that describes a value, each with the name of the form it describes; empty: all forms."""
    for one in _whole(place):
        yield one, ""
        for key in ("oneOf", "anyOf"):
            for branch in one.schema.get(key, ()):
                below = _Place(branch, one.document)
                if not {"required", "not"} >= set(branch):  # says only which keys go together
                    name = _form_name(below)
                    yield from ((form, inner or name) for form, inner in _forms(below))


def _form_name(place: _Place) -> str:
    """What one form of several is called: by its title, else by the keys it must have; empty for no map."""
    if title := _word(place, "title"):
        return f"“{title}”"
    required = _word(place, "required")
    return f"with {' and '.join(required)}" if required else ""


def _walk(path: str, place: _Place, above: tuple[int, ...]) -> Iterator[tuple[str, _Place, str, str]]:
    """Every path below a value, with its schema, when it must be there, and in which form."""
    for form, title in _forms(place):
        schema = form.schema
        if id(schema) in above:
            continue
        inside = (*above, id(schema))
        for key, value in schema.get("properties", {}).items():
            if isinstance(value, dict):
                below, name = _Place(value, form.document), f"{path}.{key}".lstrip(".")
                yield name, below, _needed(form.schema, key), title
                if not _leads_elsewhere(below):
                    yield from _walk(name, below, inside)
        for key, step in (("additionalProperties", ".*"), ("items", "[]")):
            value = schema.get(key)
            if isinstance(value, dict):
                below, name = _Place(value, form.document), f"{path}{step}".lstrip(".")
                if step == ".*":
                    yield name, below, "", ""
                if not _leads_elsewhere(below):
                    yield from _walk(name, below, inside)


def _leads_elsewhere(place: _Place) -> str | None:
    return _ELSEWHERE.get(place.schema.get("$ref", ""))


def _needed(schema: Mapping[str, Any], key: str) -> str:
    if key in schema.get("required", ()):
        return "always"
    then, test = schema.get("then", {}), schema.get("if", {}).get("properties", {})
    if key in then.get("required", ()):
        told = (f"{name}: {' or '.join(map(flow, _values(asked)))}" for name, asked in test.items())
        return f"with {' and '.join(told)}"
    others = [
        branch["required"]
        for keyword in ("oneOf", "anyOf")
        for branch in schema.get(keyword, ())
        if set(branch) <= {"required", "not"} and branch.get("required")
    ]
    if any(key in required for required in others):
        return f"one of {', '.join(dict.fromkeys(name for required in others for name in required))}"
    return ""


def _values(schema: Mapping[str, Any]) -> list[Any]:
    return list(schema.get("enum", [schema["const"]] if "const" in schema else []))


def _word(place: _Place, key: str) -> Any:
    return next((one.schema[key] for one in _whole(place) if key in one.schema), None)


def _field(path: str, place: _Place, needed: str, form: str, taken: set[str]) -> Field:
    anchor = plain = path.replace("[]", "").replace("*", "any")
    number = 1
    while anchor in taken:
        number += 1
        anchor = f"{plain}-{number}"
    entries = [_Place(f.schema["items"], f.document) for f, _ in _forms(place) if "items" in f.schema]
    scalars = [each for each in entries if _takes(each) not in ("a map", "a list")]
    schemas = [form.schema for each in (place, *scalars) for form, _ in _forms(each)]
    nearest = next((form.schema["examples"] for form, _ in _forms(place) if "examples" in form.schema), ())
    return Field(
        path,
        anchor,
        str(_word(place, "title") or ""),
        str(_word(place, "description") or ""),
        _takes(place),
        needed,
        form,
        tuple(dict.fromkeys(flow(value) for schema in schemas for value in _values(schema))),
        tuple(
            dict.fromkeys(
                [*_limits(place), *(f"each {limit}" for each in scalars for limit in _limits(each))]
            )
        ),
        tuple([text for text in map(flow, filter(_holds, nearest)) if len(text) <= _LONGEST][:_EXAMPLES]),
        next(filter(None, map(_leads_elsewhere, (place, *entries))), None),
    )


def _holds(example: Any) -> bool:
    """An empty example stands for: see the entries."""
    return example not in ([], {})


def _takes(place: _Place) -> str:
    """What kind of value it is, in words: ``text``, ``a list of texts``, ``text or a map``."""
    found: dict[str, None] = {}
    for form, _ in _forms(place):
        if "type" in form.schema:
            found[_entries(form) if form.schema["type"] == "array" else TYPE_NAMES[form.schema["type"]]] = (
                None
            )
        elif "enum" in form.schema or "const" in form.schema:
            found[_scalar(_values(form.schema)[0])] = None
    return " or ".join(found) or "any value"


def _scalar(value: Any) -> str:
    return TYPE_NAMES[
        "boolean" if isinstance(value, bool) else "integer" if isinstance(value, int) else "string"
    ]


def _entries(form: _Place) -> str:
    items = form.schema.get("items")
    if not isinstance(items, dict):
        return "a list"
    plural = {"text": "texts", "a whole number": "whole numbers", "a map": "maps", "a list": "lists"}
    each = _takes(_Place(items, form.document))
    return f"a list of {plural.get(each, 'values')}"


def _limits(place: _Place) -> Iterator[str]:
    """Bounds in words, of every form the value may have."""
    for form, _ in _forms(place):
        yield from _bounds(form.schema)


def _bounds(schema: Mapping[str, Any]) -> Iterator[str]:
    low, high = schema.get("minimum"), schema.get("maximum")
    if low is not None or high is not None:
        yield f"{low} to {high}" if high is not None else f"at least {low}"
    for of, noun in (("Items", "entry"), ("Length", "character"), ("Properties", "entry")):
        least, most = schema.get(f"min{of}", 0), schema.get(f"max{of}")
        if most is not None and least == most:
            yield f"exactly {counted(most, noun)}"
        elif most is not None:
            yield f"{least} to {counted(most, noun)}" if least > 1 else f"at most {counted(most, noun)}"
        elif least > 1:
            yield f"at least {counted(least, noun)}"
    if schema.get("uniqueItems"):
        yield "each once"
