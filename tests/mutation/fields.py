"""The fields of the schemas: which one a value in a file belongs to, and what values it may take.

A field is written like ``recipe: changes[].to.ask``: the kind of file, then the keys, ``[]`` for an entry of
a list and ``*`` for a key that the author chooses. Conditions nest without end, so the joints ``all``,
``any`` and ``not`` are left out: ``recipe: fits.equipped``.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

from asfound.source.schemas import KINDS, documents

Path = tuple[str | int, ...]
JOINTS = ("all", "any", "not")


class Place(NamedTuple):
    """A schema and the document in which its references are resolved."""

    schema: Any
    document: str


def _branches(place: Place) -> Iterator[Place]:
    """A schema and all that it refers to or combines, as far as they describe the same value."""
    schema, document = place
    if not isinstance(schema, dict):
        return
    yield place
    if "$ref" in schema:
        file, _, pointer = schema["$ref"].partition("#")
        target: Any = documents().documents[file or document]
        for key in filter(None, pointer.split("/")):
            target = target[key]
        yield from _branches(Place(target, file or document))
    for key in ("oneOf", "anyOf", "allOf"):
        for each in schema.get(key, ()):
            yield from _branches(Place(each, document))
    for key in ("then", "else"):
        if key in schema:
            yield from _branches(Place(schema[key], document))


def _step(place: Place, key: str | int) -> Iterator[tuple[str, Place]]:
    """How the step is written, and the schemas of the value it leads to."""
    for schema, document in _branches(place):
        if isinstance(key, int):
            for each in (schema.get("items"), *schema.get("prefixItems", ())):
                if isinstance(each, dict):
                    yield "[]", Place(each, document)
        elif key in schema.get("properties", {}):
            yield f".{key}", Place(schema["properties"][key], document)
        elif isinstance(schema.get("additionalProperties"), dict):
            yield ".*", Place(schema["additionalProperties"], document)


def _root(kind: str) -> Place:
    return Place(documents().documents[KINDS[kind]], KINDS[kind])


def _follow(kind: str, path: Path) -> tuple[str, list[Place]]:
    name, places, joint = "", [_root(kind)], False
    for key in path:
        steps = [step for place in places for step in _step(place, key)]
        written = {text for text, _ in steps}
        text = f".{key}" if f".{key}" in written or not written else sorted(written)[0]
        places = [place for each, place in steps if each == text]
        if not (key in JOINTS or (joint and isinstance(key, int))):
            name += text
        joint = key in JOINTS
    return name.removeprefix("."), places


@cache
def field(kind: str, path: Path) -> str:
    """The field that the value at ``path`` of a file belongs to."""
    return f"{kind}: {_follow(kind, path)[0]}"


@cache
def own_key(kind: str, path: Path) -> bool:
    """Whether the last key of ``path`` was chosen by the author, and so is a value itself."""
    return bool(path) and _follow(kind, path)[0].endswith("*") and isinstance(path[-1], str)


@cache
def choices(kind: str, path: Path) -> tuple[Any, ...]:
    """The values in the schema's list, in its order; empty where the schema lists none."""
    return tuple(
        dict.fromkeys(
            value
            for place in _follow(kind, path)[1]
            for schema, _ in _branches(place)
            for value in schema.get("enum", ())
        )
    )


@cache
def required(kind: str, path: Path) -> bool:
    """Whether the schema demands the last key of ``path``."""
    return any(
        path[-1] in schema.get("required", ())
        for place in _follow(kind, path[:-1])[1]
        for schema, _ in _branches(place)
    )


@cache
def every_field(kind: str) -> frozenset[str]:
    """Every field of a kind of file that can hold a single value."""
    found: set[str] = set()
    seen: set[tuple[str, int]] = set()

    def walk(place: Place, name: str) -> None:
        for schema, document in _branches(place):
            if (name, id(schema)) in seen:
                continue
            seen.add((name, id(schema)))
            if {"enum", "const", "pattern"} & set(schema) or schema.get("type") in SCALARS:
                found.add(f"{kind}: {name.removeprefix('.')}")
            for key, below in schema.get("properties", {}).items():
                walk(Place(below, document), name if key in JOINTS else f"{name}.{key}")
            if isinstance(schema.get("additionalProperties"), dict):
                walk(Place(schema["additionalProperties"], document), f"{name}.*")
            for below in (schema.get("items"), *schema.get("prefixItems", ())):
                # the list under all or any: its entries are conditions again
                joint = schema.get("items", {}) == {"$ref": "#/$defs/condition"}
                if isinstance(below, dict):
                    walk(Place(below, document), name if joint else f"{name}[]")

    walk(_root(kind), "")
    return frozenset(found)


SCALARS = ("string", "integer", "boolean", "number")
