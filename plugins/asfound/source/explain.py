"""jsonschema's errors in plain words, with what to write instead."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from jsonschema.exceptions import ValidationError

from .compiled import Documents, Schema
from .findings import shown
from .flow import flow
from .meaning import Path, Wrong
from .positions import Positions

_TYPE_NAMES = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list",
    "object": "a map",
}
_NAMED_MAX = 12  # so many allowed values are listed; of more only the nearest


class Explainer:
    """Explains the errors of one file against the schema called ``name``."""

    def __init__(self, documents: Documents, name: str, positions: Positions) -> None:
        self.documents, self.name, self.positions = documents, name, positions

    def explain(self, errors: Iterable[ValidationError]) -> Iterator[Wrong]:
        """What each error means."""
        for error in errors:
            explain = getattr(self, "_" + str(error.validator).removeprefix("$"), None)
            if explain is None:  # a keyword without words of its own
                yield Wrong(
                    "not-allowed-value", _path(error), f"{shown(error.instance)} is not allowed here",
                    self._form(error),
                )  # fmt: skip
            else:
                yield from explain(error)

    # one method for each keyword, named after it

    def _type(self, error: ValidationError) -> Iterator[Wrong]:
        wanted, value = str(error.validator_value), error.instance
        source = self.positions.source(_path(error))
        message = f"{_what(value, source)} where {_TYPE_NAMES[wanted]} is expected"
        example = self._example(error)
        if value is None:
            repair = f"write {_TYPE_NAMES[wanted]}, or leave the key out"
        elif wanted == "string" and source is not None:
            repair = f"put it in quotes: {shown(source)}"
        elif wanted == "string" and isinstance(value, list) and len(value) == 1 and isinstance(value[0], str):
            repair = f"write it without brackets: {shown(value[0])}"
        elif wanted == "array" and not isinstance(value, dict):
            repair = f"write it in brackets: [{flow(value)}]"
        elif wanted == "integer" and isinstance(value, str) and re.fullmatch("0|-?[1-9][0-9]{0,17}", value):
            repair = f"write it without quotes: {value}"
        elif wanted == "boolean" and isinstance(value, str) and value.lower() in ("true", "false"):
            repair = f"write it without quotes: {value.lower()}"
        elif example:
            repair = f"write {_TYPE_NAMES[wanted]}, such as {example}"
        else:
            repair = f"write {_TYPE_NAMES[wanted]}"
        yield Wrong("wrong-type", _path(error), message, repair)

    def _required(self, error: ValidationError) -> Iterator[Wrong]:
        condition = self._condition_above(error, "then")
        for key in error.validator_value:
            if key not in error.instance:
                schema = self._property(error, key)
                words = f": {schema['description']}" if "description" in schema else ""
                example = flow(schema["examples"][0]) if schema.get("examples") else "…"
                yield Wrong(
                    "missing-key", _path(error), f"the key {key} is missing"
                    + (f", which {condition} needs" if condition else "") + words,
                    f"add {key}, such as {key}: {example}", at_key=True,
                )  # fmt: skip

    def _additionalProperties(self, error: ValidationError) -> Iterator[Wrong]:
        known = error.schema.get("properties", {})
        for key in error.instance:
            if key not in known:
                yield self._unknown(error, key, list(known))

    def _unknown(self, error: ValidationError, key: str, known: Sequence[str]) -> Wrong:
        free = [name for name in known if name not in error.instance]
        near = get_close_matches(key, free, 1, 0.6)
        where = f" in {_lower(title)}" if (title := self._title(error)) else ""
        return Wrong(
            "unknown-key", (*_path(error), key), f"there is no key {shown(key)[1:-1]}{where}",
            f"write {near[0]}" if near else f"remove it; the keys here are {', '.join(known)}",
            at_key=True,
        )  # fmt: skip

    def _None(self, error: ValidationError) -> Iterator[Wrong]:
        """A key that ``properties: {key: false}`` forbids."""
        path = _path(error)
        condition = self._condition_above(error, "else")
        yield Wrong(
            "key-out-of-place", path,
            f"the key {path[-1]} belongs only beside {condition}" if condition else f"no key {path[-1]} here",
            f"remove it, or write {condition}" if condition else "remove it", at_key=True,
        )  # fmt: skip

    def _enum(self, error: ValidationError) -> Iterator[Wrong]:
        yield self._choice(error, error.validator_value)

    def _const(self, error: ValidationError) -> Iterator[Wrong]:
        yield self._choice(error, [error.validator_value])

    def _choice(self, error: ValidationError, values: Sequence[Any]) -> Wrong:
        texts = [value for value in values if isinstance(value, str)]
        value = error.instance
        near = get_close_matches(value, texts, 1, 0.6) if isinstance(value, str) else []
        listed = ", ".join(map(flow, values)) if len(values) <= _NAMED_MAX else ""
        if near:
            repair = f"write {flow(near[0])}" + (f"; allowed are {listed}" if listed else "")
        elif len(values) == 1:
            repair = f"write {flow(values[0])}, or leave the key out"
        else:
            repair = f"write one of {', '.join(map(flow, values))}"
        title = self._title(error)
        return Wrong(
            "not-allowed-value", _path(error), f"{_value(value)} is not allowed"
            + (f" as {_lower(title)}" if title else " here"), repair,
        )  # fmt: skip

    def _pattern(self, error: ValidationError) -> Iterator[Wrong]:
        path, at_key = _text_path(error)
        title = self._title(error)
        yield Wrong(
            "wrong-form", path, f"{shown(error.instance)} has not the form of "
            + (f"“{title}”" if title else "what belongs here"), self._form(error), at_key,
        )  # fmt: skip

    def _meaning(self, error: ValidationError) -> Iterator[Wrong]:
        yield Wrong("means-nothing", _path(error), error.message, str(error.validator_value))

    def _minLength(self, error: ValidationError) -> Iterator[Wrong]:
        path, at_key = _text_path(error)
        length, least = len(error.instance), error.validator_value
        message = "the text is empty" if not length else f"the text has {_count(length, 'character')}"
        yield Wrong("too-short", path, f"{message}; at least {least} needed", self._form(error), at_key)

    def _maxLength(self, error: ValidationError) -> Iterator[Wrong]:
        path, at_key = _text_path(error)
        yield Wrong(
            "too-long", path,
            f"the text has {_count(len(error.instance), 'character')}; at most {error.validator_value} fit",
            "shorten it", at_key,
        )  # fmt: skip

    def _minItems(self, error: ValidationError) -> Iterator[Wrong]:
        length, least = len(error.instance), error.validator_value
        repair = "write the list, or leave the key out" if not length else f"write {_count(least, 'entry')}"
        yield Wrong("too-short", _path(error), f"the list has {_count(length, 'entry')}; at least {least} needed", repair)

    def _maxItems(self, error: ValidationError) -> Iterator[Wrong]:
        length, most = len(error.instance), error.validator_value
        yield Wrong(
            "too-long", _path(error), f"the list has {_count(length, 'entry')}; at most {most} are allowed",
            f"leave {most}",
        )  # fmt: skip

    def _uniqueItems(self, error: ValidationError) -> Iterator[Wrong]:
        items = error.instance
        for index, item in enumerate(items):
            if item in items[:index]:
                yield Wrong(
                    "duplicate-entry", (*_path(error), index), f"{_value(item)} stands in the list twice",
                    "remove one of the two",
                )  # fmt: skip

    def _minProperties(self, error: ValidationError) -> Iterator[Wrong]:
        known = list(error.schema.get("properties", {}))
        yield Wrong(
            "too-short", _path(error), "the map is empty",
            f"write at least one of {', '.join(known)}, or leave the key out" if known
            else f"write {self._example(error) or 'its entries'}, or leave the key out", at_key=True,
        )  # fmt: skip

    def _maxProperties(self, error: ValidationError) -> Iterator[Wrong]:
        most = error.validator_value
        yield Wrong(
            "too-long", _path(error),
            f"the map has {_count(len(error.instance), 'entry')}; at most {most} are allowed",
            f"leave {most}", at_key=True,
        )  # fmt: skip

    def _minimum(self, error: ValidationError) -> Iterator[Wrong]:
        yield self._out_of_range(error)

    def _maximum(self, error: ValidationError) -> Iterator[Wrong]:
        yield self._out_of_range(error)

    def _out_of_range(self, error: ValidationError) -> Wrong:
        low, high = error.schema.get("minimum"), error.schema.get("maximum")
        title = self._title(error)
        return Wrong(
            "out-of-range", _path(error), f"{error.instance} is out of range" + (f" for {_lower(title)}" if title else ""),
            f"write a whole number from {low} to {high}",
        )  # fmt: skip

    def _not(self, error: ValidationError) -> Iterator[Wrong]:
        yield from self._excluded(error, error.validator_value, ())

    def _oneOf(self, error: ValidationError) -> Iterator[Wrong]:
        yield from self._branches(error, error.validator_value)

    def _anyOf(self, error: ValidationError) -> Iterator[Wrong]:
        yield from self._branches(error, error.validator_value)

    # alternatives

    def _branches(self, error: ValidationError, branches: Sequence[Schema]) -> Iterator[Wrong]:
        """Explains by the branch that comes nearest to what was written."""
        document = self._trail(error)[-1][1]
        resolved = [self._resolve(branch, document)[0] for branch in branches]
        value = error.instance
        fitting = [n for n, branch in enumerate(resolved) if _type_fits(branch, value)]
        if not fitting:
            yield self._no_type(error, resolved)
            return
        if isinstance(value, dict):
            scores = {n: _score(resolved[n], value) for n in fitting}
            best = max(fitting, key=lambda n: scores[n])
            if scores[best][:2] == (0, 0):
                yield self._no_branch(error, [resolved[n] for n in fitting])
                return
            others = {key: n for n in fitting if n != best for key in resolved[n].get("required", ())}
            own = set(resolved[best].get("properties", {})) | set(resolved[best].get("required", ()))
            if foreign := [key for key in value if key in others and key not in own]:
                yield from self._mixed(error, resolved[best], foreign, "properties" in resolved[best])
                return
        else:
            best = fitting[0]
        yield from self.explain(
            inner for inner in error.context or () if inner.relative_schema_path[0] == best
        )

    def _no_type(self, error: ValidationError, branches: Sequence[Schema]) -> Wrong:
        """None of the branches takes a value of this type."""
        path, value = _path(error), error.instance
        source = self.positions.source(path)
        wanted = list(dict.fromkeys(_TYPE_NAMES[name] for branch in branches for name in _types(branch)))
        if value is None:
            repair = f"write {' or '.join(wanted)}, or leave the key out"
        elif "text" in wanted and source is not None:
            repair = f"put it in quotes: {shown(source)}"
        else:
            repair = self._form(error)
        return Wrong("wrong-type", path, f"{_what(value, source)} where {' or '.join(wanted)} is expected", repair)

    def _no_branch(self, error: ValidationError, branches: Sequence[Schema]) -> Wrong:
        """A map with no key that tells which branch is meant."""
        telling = [branch["required"][0] for branch in branches if branch.get("required")]
        telling = list(dict.fromkeys(telling))
        own = {key for branch in branches for key in branch.get("properties", {})}
        keys = [key for key in error.instance if own and key not in own]
        for key in keys:
            if near := get_close_matches(key, telling, 1, 0.6):
                return Wrong(
                    "unknown-key", (*_path(error), key), f"there is no key {shown(key)[1:-1]}{self._in(error)}",
                    f"write {near[0]}", at_key=True,
                )  # fmt: skip
        return Wrong(
            "missing-key", _path(error), f"one of these keys is missing{self._in(error)}: {', '.join(telling)}",
            f"add {self._example(error) or 'one of them'}" if own else f"add one of {', '.join(telling)}", at_key=True,
        )  # fmt: skip

    def _mixed(
        self, error: ValidationError, best: Schema, foreign: Sequence[str], forms: bool
    ) -> Iterator[Wrong]:
        """Keys of two branches in one map."""
        mine = next((key for key in best.get("required", ()) if key in error.instance), "the others")
        joint = error.schema.get("title") == "Condition"
        for key in foreign:
            yield Wrong(
                "key-out-of-place", (*_path(error), key), f"the key {key} does not go together with {mine}",
                f"join two conditions: all: [{{{mine}: …}}, {{{key}: …}}]" if joint
                else f"remove {key}, or {mine} and what belongs to it", at_key=True,
            )  # fmt: skip

    def _excluded(self, error: ValidationError, schema: Schema, beside: Sequence[str]) -> Iterator[Wrong]:
        """Keys that ``not: {required: …}`` forbids."""
        for branch in schema.get("anyOf", [schema]):
            for key in branch.get("required", ()):
                if key in error.instance:
                    yield Wrong(
                        "key-out-of-place", (*_path(error), key),
                        f"the key {key} does not belong here{self._in(error)}", "remove it", at_key=True,
                    )  # fmt: skip

    # words from the schema

    def _form(self, error: ValidationError) -> str:
        """What to write, by the schema's own description and example, or nearly what was written."""
        if suggestion := _suggest(error):
            return f"write {shown(suggestion)}"
        description = self._word(error, "description")
        example = self._example(error)
        out = _lower(str(description)).rstrip(".") if description else "write it in another form"
        return f"{out}; for example {example}" if example else out

    def _title(self, error: ValidationError) -> str:
        return str(self._word(error, "title") or "")

    def _in(self, error: ValidationError) -> str:
        title = self._title(error)
        return f" in {_lower(title)}" if title else ""

    def _example(self, error: ValidationError) -> str:
        examples = self._word(error, "examples")
        return flow(examples[0]) if examples and examples[0] not in ({}, []) else ""

    def _word(self, error: ValidationError, name: str) -> Any:
        """``title``, ``description`` or ``examples`` of the innermost schema about the value that has it."""
        if isinstance(error.schema, dict) and name in error.schema:
            return error.schema[name]
        for schema, _, depth in reversed(self._trail(error)):
            if depth < len(error.absolute_path):
                return None
            if name in schema:
                return schema[name]
        return None

    def _property(self, error: ValidationError, key: str) -> Mapping[str, Any]:
        """The words about a key, from the innermost schema that names it."""
        for schema, document, _ in reversed(self._trail(error)):
            if isinstance(found := schema.get("properties", {}).get(key), dict):
                words: dict[str, Any] = {}
                while True:
                    words = {**found, **words}
                    if "$ref" not in found:
                        return words
                    found, document = self.documents.resolve(found["$ref"], document)
        return {}

    def _condition_above(self, error: ValidationError, branch: str) -> str:
        """``harm: none``: the ``if`` whose ``then`` or ``else`` the error comes from; empty when none."""
        steps = list(error.absolute_schema_path)
        if branch not in steps[-4:]:
            return ""
        for schema, _, _ in reversed(self._trail(error)):
            if "if" in schema:
                parts = []
                for key, test in schema["if"].get("properties", {}).items():
                    values = test.get("enum", [test.get("const")])
                    parts.append(f"{key}: {' or '.join(map(flow, values))}")
                return " and ".join(parts)
        return ""

    def _trail(self, error: ValidationError) -> list[tuple[Mapping[str, Any], str, int]]:
        """The schemas from the root to the error: (schema, document, how deep in the data it applies)."""
        schema: Any = self.documents.documents[self.name]
        document, depth = self.name, 0
        out = [(schema, document, depth)]
        steps = list(error.absolute_schema_path)
        for n, step in enumerate(steps):
            while isinstance(schema, dict) and step not in schema and "$ref" in schema:
                schema, document = self.documents.resolve(schema["$ref"], document)
                out.append((schema, document, depth))
            try:
                schema = schema[step]
            except (KeyError, IndexError, TypeError):
                break
            if n and steps[n - 1] == "properties" or step in ("items", "additionalProperties"):
                depth += 1
            if isinstance(schema, dict) and step not in ("properties", "$defs"):
                out.append((schema, document, depth))
        return out

    def _resolve(self, schema: Schema, document: str) -> tuple[Schema, str]:
        while isinstance(schema, dict) and "$ref" in schema:
            schema, document = self.documents.resolve(schema["$ref"], document)
        return schema, document


def _path(error: ValidationError) -> Path:
    return tuple(error.absolute_path)


def _text_path(error: ValidationError) -> tuple[Path, bool]:
    """The path of a text, and whether it is a key."""
    if "propertyNames" in error.absolute_schema_path:
        return (*_path(error), error.instance), True
    return _path(error), False


def _types(branch: Schema) -> list[str]:
    """The types a branch takes, as far as it says."""
    if "type" in branch:
        return [branch["type"]]
    if "oneOf" in branch:
        return [name for inner in branch["oneOf"] for name in _types(inner)]
    values = branch.get("enum", [branch["const"]] if "const" in branch else [])
    return ["string" if isinstance(value, str) else "boolean" for value in values]


def _type_fits(branch: Schema, value: Any) -> bool:
    types = _types(branch) if "$ref" not in branch else []
    return not types or any(_is(name, value) for name in types)


def _is(name: str, value: Any) -> bool:
    match name:
        case "string":
            return isinstance(value, str)
        case "array":
            return isinstance(value, list)
        case "object":
            return isinstance(value, dict)
        case "boolean":
            return isinstance(value, bool)
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def _score(branch: Schema, value: Mapping[str, Any]) -> tuple[float, int, int]:
    """How near a map comes to a branch: share of the required keys, keys in common, few missing."""
    required = branch.get("required", ())
    have = sum(key in value for key in required)
    common = sum(key in branch.get("properties", {}) for key in value)
    return (have / len(required) if required else 0, common, have - len(required))


def _suggest(error: ValidationError) -> str:
    """A text of the right form near to the one written; empty when there is none."""
    text, schema = error.instance, error.schema
    if not isinstance(text, str) or error.validator != "pattern" or not text.isascii() or len(text) > 400:
        return ""
    plain = text.strip()
    digits = re.sub(r"^0x|[^0-9A-Fa-f]", "", plain).upper()
    candidates = (
        plain,
        plain.upper(),
        plain.lower(),
        re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-"),
        re.sub(r" *([<>=,]+) *", r"\1", plain),
        plain.replace(",", "."),
        re.sub(r"^(-?)\+?0*(?=[0-9])", r"\1", plain),
        "0x" + digits,
        " ".join(digits[n : n + 2] for n in range(0, len(digits), 2)),
    )
    for candidate in candidates:
        short = schema.get("minLength", 1) <= len(candidate) <= schema.get("maxLength", 1 << 62)
        if candidate != text and short and re.search(schema["pattern"], candidate):
            return candidate
    return ""


def _what(value: Any, source: str | None) -> str:
    """``2, a number,``: a value and what it is read as."""
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


def _value(value: Any) -> str:
    return flow(value) if not isinstance(value, str) else shown(value)


def _count(number: int, noun: str) -> str:
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun[:-1] + 'ies' if noun.endswith('y') else noun + 's'}"


def _lower(text: str) -> str:
    """A title or description inside a sentence: small first letter, unless it is a name or an abbreviation."""
    return text if text[1:2].isupper() or text[1:2] == "-" else text[:1].lower() + text[1:]
