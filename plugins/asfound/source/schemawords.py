"""What our schemas say about a value in their titles, descriptions and examples, for use in findings."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from .compiled import Documents, Schema
from .findings import quoted, shown
from .flow import flow
from .limits import NAME_LENGTH
from .meaning import Path

Error = Any  # a jsonschema ValidationError; its types leave every field possibly unset

_COMPARED = 60  # names looked through for the nearest; a schema of ours has fewer

TYPE_NAMES = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list",
    "object": "a map",
}


class SchemaWords:
    """Finds the words for an error among the schemas on the way to it."""

    def __init__(self, documents: Documents, name: str) -> None:
        self.documents, self.name = documents, name

    def form(self, error: Error) -> str:
        """What to write: nearly what was written, or the schema's own description and example."""
        if suggestion := _suggest(error):
            return f"write {quoted(suggestion)}"
        description = self._word(error, "description")
        example = self.example(error)
        out = lower(str(description)).rstrip(".") if description else "write it in another form"
        return f"{out}; for example {example}" if example else out

    def title(self, error: Error) -> str:
        """The title of what was expected; empty when none is near."""
        return str(self._word(error, "title") or "")

    def inside(self, error: Error) -> str:
        """`` in record``: the title as the end of a sentence."""
        title = self.title(error)
        return f" in {lower(title)}" if title else ""

    def example(self, error: Error, most: int = 1) -> str:
        """The first examples, as YAML in one line; empty when there are none."""
        examples = [each for each in self._word(error, "examples") or () if each not in ({}, [])]
        return " or ".join(map(flow, examples[:most]))

    def or_leave_out(self, error: Error) -> str:
        """``, or leave the key out``, where the key may be left out."""
        path = path_of(error)
        needed = not path or any(
            depth == len(path) - 1 and path[-1] in schema.get("required", ())
            for schema, _, depth in self._trail(error)
        )
        return "" if needed or isinstance(path[-1], int) else ", or leave the key out"

    def about_key(self, error: Error, key: str) -> Mapping[str, Any]:
        """Title, description and examples of a key of the map the error is about."""
        properties, document = self._properties(error, key)
        found: Any = properties.get(key)
        words: dict[str, Any] = {}
        while isinstance(found, dict):
            words = {**found, **words}
            if "$ref" not in found:
                break
            found, document = self.documents.resolve(found["$ref"], document)
        return words

    def misspelt(self, error: Error, key: str) -> bool:
        """Whether the map has an unknown key that is nearly ``key``; that one will be reported."""
        known, _ = self._properties(error, key)
        return bool(nearest(key, [other for other in error.instance if other not in known]))

    def _properties(self, error: Error, key: str) -> tuple[Mapping[str, Schema], str]:
        """The keys that the innermost schema around the error with ``key`` among them knows."""
        for schema, document, _ in reversed(self._trail(error)):
            if key in schema.get("properties", {}):
                return schema["properties"], document
        return {}, self.name

    def condition_above(self, error: Error, branch: str) -> str:
        """``harm: none``: the ``if`` whose ``then`` or ``else`` the error comes from; empty when none."""
        return " and ".join(
            f"{key}: {' or '.join(map(flow, test.get('enum', [test.get('const')])))}"
            for key, test in self._tests_above(error, branch).items()
        )

    def tested_above(self, error: Error, branch: str) -> tuple[Path, ...]:
        """The paths of the values that this ``if`` asks about."""
        return tuple((*path_of(error), key) for key in self._tests_above(error, branch))

    def _tests_above(self, error: Error, branch: str) -> Mapping[str, Schema]:
        if branch in list(error.absolute_schema_path)[-4:]:
            for schema, _, _ in reversed(self._trail(error)):
                if "if" in schema:
                    tests: Mapping[str, Schema] = schema["if"].get("properties", {})
                    return tests
        return {}

    def forbidden(self, error: Error) -> list[str]:
        """The keys that the schema around a ``false`` forbids."""
        return [key for key, schema in self._trail(error)[-1][0]["properties"].items() if schema is False]

    def branches(self, error: Error) -> list[Schema]:
        """The alternatives of a ``oneOf`` or ``anyOf``, references followed."""
        document = self._trail(error)[-1][1]
        return [self._followed(branch, document) for branch in error.validator_value]

    def _followed(self, schema: Schema, document: str) -> Schema:
        while isinstance(schema, dict) and "$ref" in schema:
            schema, document = self.documents.resolve(schema["$ref"], document)
        return schema

    def _word(self, error: Error, name: str) -> Any:
        """``title``, ``description`` or ``examples``, from the innermost schema about the value."""
        if isinstance(error.schema, dict) and name in error.schema:
            return error.schema[name]
        for schema, _, depth in reversed(self._trail(error)):
            if depth < len(error.absolute_path):
                return None
            if name in schema:
                return schema[name]
        return None

    def _trail(self, error: Error) -> list[tuple[Mapping[str, Any], str, int]]:
        """The schemas from the root to the error: (schema, document, how deep in the data it applies)."""
        schema: Any = self.documents.documents[self.name]
        document, depth = self.name, 0
        out = [(schema, document, depth)]
        before: str | int = ""
        for step in error.absolute_schema_path:  # jsonschema leaves $ref out of this path
            while isinstance(schema, dict) and step not in schema and "$ref" in schema:
                schema, document = self.documents.resolve(schema["$ref"], document)
                out.append((schema, document, depth))
            try:
                schema = schema[step]
            except (KeyError, IndexError, TypeError):
                break
            if before == "properties" or step in ("items", "additionalProperties"):
                depth += 1
            if isinstance(schema, dict) and step != "properties":
                out.append((schema, document, depth))
            before = step
        return out


def nearest(text: str, names: Sequence[str]) -> str:
    """The name that ``text`` is most likely a slip of; empty when there is none."""
    few = [name for name in names[:_COMPARED] if len(name) <= NAME_LENGTH]
    return next(iter(get_close_matches(text, few, 1, 0.6)), "") if len(text) <= NAME_LENGTH else ""


def path_of(error: Error) -> Path:
    """The keys that lead to the value the error is about."""
    return tuple(error.absolute_path)


def text_path(error: Error) -> tuple[Path, bool]:
    """The path of a text the error is about, and whether the text is a key."""
    if "propertyNames" in error.absolute_schema_path:
        return (*path_of(error), error.instance), True
    return path_of(error), False


def types(branch: Schema) -> list[str]:
    """The types a schema takes, as far as it says; none for any."""
    if "type" in branch:
        return [branch["type"]]
    if "oneOf" in branch:
        return [name for inner in branch["oneOf"] for name in types(inner)]
    values = branch.get("enum", [branch["const"]] if "const" in branch else [])
    return ["string" if isinstance(value, str) else "boolean" for value in values]


def described(value: Any, source: str | None) -> str:
    """A value and what it is read as: ``2, a number,``; ``source`` is how the file writes it."""
    match value:
        case None:
            return "null"
        case bool():
            return f"{shown(value)}, a truth value,"
        case int() | Decimal():
            return f"{source or value}, a number,"
        case str():
            return f"the text {shown(value)}"
        case dict():
            return "a map"
    return "a list"


def lower(text: str) -> str:
    """A title or description inside a sentence: first letter small, except in abbreviations."""
    return text if text[1:2].isupper() or text[1:2] == "-" else text[:1].lower() + text[1:]


def _suggest(error: Error) -> str:
    """A text of the right form near to the one written; empty when there is none."""
    text, schema = error.instance, error.schema
    if error.validator != "pattern" or not text.strip() or not text.isascii() or len(text) > 800:
        return ""
    plain = " ".join(text.split())
    digits = re.sub(r"^0x|[^0-9A-Fa-f]", "", plain).upper()
    words = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
    candidates = (
        plain,
        plain.upper(),
        plain.lower(),
        words if schema["pattern"].startswith("^[a-z0-9") else "",
        re.sub(r" *([<>=,]+) *", r"\1", plain),
        plain.replace(",", "."),
        plain.replace("http:", "https:"),
        re.sub(r"^(-?)\+?0*(?=[0-9])", r"\1", plain),
        "0x" + digits if schema["pattern"].startswith("^0x") else "",
        " ".join(digits[n : n + 2] for n in range(0, len(digits), 2)) if "A-F" in schema["pattern"] else "",
    )
    for candidate in candidates:
        short = schema.get("minLength", 1) <= len(candidate) <= schema.get("maxLength", 1 << 62)
        if candidate != text and short and re.search(schema["pattern"], candidate):
            return candidate
    return ""
