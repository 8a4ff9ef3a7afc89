"""jsonschema's errors in plain words, with what to write instead."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ..car.phrases import counted
from .branches import explain_branches
from .compiled import Documents
from .findings import bare, quoted, shown
from .flow import flow
from .meaning import Wrong
from .positions import Positions
from .schemawords import TYPE_NAMES, Error, SchemaWords, described, nearest, path_of, text_path

_LISTED = 12  # so many allowed values are listed beside a guess


class Explainer:
    """Explains the errors of one file against the schema called ``name``; one method for each keyword."""

    def __init__(self, documents: Documents, name: str, positions: Positions) -> None:
        self.words, self.positions = SchemaWords(documents, name), positions
        self.said: set[tuple[Any, ...]] = set()

    def explain(self, errors: Iterable[Error]) -> Iterator[Wrong]:
        """What each error means. A keyword without a method here raises AttributeError; a test tries all."""
        for error in errors:
            # jsonschema repeats itself for each key that is missing or forbidden; we name all at once
            place = (str(error.validator), tuple(error.absolute_path), tuple(error.absolute_schema_path))
            if place in self.said and error.validator in ("required", None):
                continue
            self.said.add(place)
            yield from getattr(self, "_" + str(error.validator))(error)

    def _type(self, error: Error) -> Iterator[Wrong]:
        wanted, path = str(error.validator_value), path_of(error)
        source = self.positions.source(path)
        message = f"{described(error.instance, source)} where {TYPE_NAMES[wanted]} is expected"
        yield Wrong("wrong-type", path, message, self._retyped(error, wanted, source))

    def _retyped(self, error: Error, wanted: str, source: str | None) -> str:
        """How to write the value so that it has the wanted type."""
        value, example = error.instance, self.words.example(error)
        if value is None:
            return f"write {TYPE_NAMES[wanted]}{self.words.or_leave_out(error)}"
        if wanted == "string" and source is not None:
            return f"put it in quotes: {quoted(source)}"
        if wanted == "string" and isinstance(value, list) and len(value) == 1 and isinstance(value[0], str):
            return f"write it without brackets: {flow(value[0])}"
        if wanted == "array" and not isinstance(value, dict):
            return f"write it in brackets: [{flow(value)}]"
        if wanted == "integer" and isinstance(value, str) and re.fullmatch("0|-?[1-9][0-9]{0,17}", value):
            return f"write it without quotes: {value}"
        if wanted == "boolean" and isinstance(value, str) and value.lower() in ("true", "false"):
            return f"write it without quotes: {value.lower()}"
        return f"write {TYPE_NAMES[wanted]}" + (f", such as {example}" if example else "")

    def _required(self, error: Error) -> Iterator[Wrong]:
        condition = self.words.condition_above(error, "then")
        for key in error.validator_value:
            if key not in error.instance and not self.words.misspelt(error, key):
                about = self.words.about_key(error, key)
                described = f": {about['description']}" if "description" in about else ""
                example = flow(about["examples"][0]) if about.get("examples") else "…"
                yield Wrong(
                    "missing-key",
                    path_of(error),
                    f"the key {key} is missing"
                    + (f", which {condition} needs" if condition else "")
                    + described,
                    f"add {key}, such as {key}: {example}",
                    at_key=True,
                    also=self.words.tested_above(error, "then"),
                )

    def _additionalProperties(self, error: Error) -> Iterator[Wrong]:
        known = list(error.schema.get("properties", {}))
        for key in error.instance:
            if key not in known:
                free = [name for name in known if name not in error.instance]
                near = nearest(key, free)
                yield Wrong(
                    "unknown-key",
                    (*path_of(error), key),
                    f"there is no key {bare(key)}{self.words.inside(error)}",
                    f"write {near}" if near else f"remove it; the keys here are {', '.join(known)}",
                    at_key=True,
                )

    def _None(self, error: Error) -> Iterator[Wrong]:
        """A key that ``properties: {key: false}`` forbids; jsonschema names neither keyword nor key."""
        beside = self.words.condition_above(error, "else")
        for key in self.words.forbidden(error):
            path = (*path_of(error), key)
            if self.positions.has(path):
                message = f"the key {key} belongs only beside {beside}"
                also = self.words.tested_above(error, "else")
                repair = f"remove it, or write {beside}"
                yield Wrong("key-out-of-place", path, message, repair, at_key=True, also=also)

    def _enum(self, error: Error) -> Iterator[Wrong]:
        yield self._choice(error, error.validator_value)

    def _const(self, error: Error) -> Iterator[Wrong]:
        yield self._choice(error, [error.validator_value])

    def _choice(self, error: Error, allowed: Sequence[Any]) -> Wrong:
        value, title = error.instance, self.words.title(error)
        texts = [each for each in allowed if isinstance(each, str)]
        near = nearest(value, texts) if isinstance(value, str) else ""
        listed = ", ".join(map(flow, allowed))
        if near and 1 < len(allowed) <= _LISTED:
            repair = f"write {flow(near)}; allowed are {listed}"
        elif near and len(allowed) > 1:
            repair = f"write one of {listed}; perhaps {flow(near)} is meant"
        elif near:
            repair = f"write {flow(near)}"
        elif len(allowed) == 1:
            repair = f"write {listed}{self.words.or_leave_out(error)}"
        else:
            repair = f"write one of {listed}"
        written = shown(value) if isinstance(value, str) else flow(value)
        message = f"{written} is not allowed" + (f" under “{title}”" if title else " here")
        return Wrong("not-allowed-value", path_of(error), message, repair)

    def _pattern(self, error: Error) -> Iterator[Wrong]:
        if not error.instance and error.schema.get("minLength"):
            return  # said already
        path, at_key = text_path(error)
        title = self.words.title(error)
        form = f"of “{title}”" if title else "that belongs here"
        message = f"{shown(error.instance)} has not the form {form}"
        yield Wrong("wrong-form", path, message, self.words.form(error), at_key)

    def _meaning(self, error: Error) -> Iterator[Wrong]:
        yield Wrong("means-nothing", path_of(error), error.message, str(error.validator_value))

    def _minLength(self, error: Error) -> Iterator[Wrong]:
        path, at_key = text_path(error)
        length, least = len(error.instance), error.validator_value
        message = f"the text has {counted(length, 'character')}; at least {least} needed"
        message = message if length else "the text is empty"
        yield Wrong("too-short", path, message, self.words.form(error), at_key)

    def _maxLength(self, error: Error) -> Iterator[Wrong]:
        path, at_key = text_path(error)
        message = (
            f"the text has {counted(len(error.instance), 'character')}; at most {error.validator_value} fit"
        )
        yield Wrong("too-long", path, message, "shorten it", at_key)

    def _minItems(self, error: Error) -> Iterator[Wrong]:
        length, least = len(error.instance), error.validator_value
        exactly = "" if error.schema.get("maxItems") == least else "at least "
        message = (
            f"the list has {counted(length, 'entry')}; at least {least} needed"
            if length
            else "the list is empty"
        )
        repair = f"write {exactly}{counted(least, 'entry')}{self.words.or_leave_out(error)}"
        yield Wrong("too-short", path_of(error), message, repair)

    def _maxItems(self, error: Error) -> Iterator[Wrong]:
        length, most = len(error.instance), error.validator_value
        message = f"the list has {counted(length, 'entry')}; at most {most} allowed"
        yield Wrong("too-long", path_of(error), message, f"keep {most}")

    def _uniqueItems(self, error: Error) -> Iterator[Wrong]:
        for index, item in enumerate(error.instance):
            if item in error.instance[:index]:
                message = f"{flow(item)} stands in the list twice"
                yield Wrong("duplicate-entry", (*path_of(error), index), message, "remove one of the two")

    def _minProperties(self, error: Error) -> Iterator[Wrong]:
        known = ", ".join(error.schema.get("properties", {}))
        entries = f"at least one of {known}" if known else self.words.example(error) or "its entries"
        repair = f"write {entries}{self.words.or_leave_out(error)}"
        yield Wrong("too-short", path_of(error), "the map is empty", repair, at_key=True)

    def _maxProperties(self, error: Error) -> Iterator[Wrong]:
        length, most = len(error.instance), error.validator_value
        message = f"the map has {counted(length, 'entry')}; at most {most} allowed"
        yield Wrong("too-long", path_of(error), message, f"keep {most}", at_key=True)

    def _minimum(self, error: Error) -> Iterator[Wrong]:
        low, high = error.schema.get("minimum"), error.schema.get("maximum")
        title = self.words.title(error)
        message = f"{error.instance} is out of range" + (f" for “{title}”" if title else "")
        yield Wrong("out-of-range", path_of(error), message, f"write a whole number from {low} to {high}")

    _maximum = _minimum

    def _not(self, error: Error) -> Iterator[Wrong]:
        """Keys that ``not: {required: …}`` forbids."""
        for branch in error.validator_value.get("anyOf", [error.validator_value]):
            for key in branch.get("required", ()):
                if key in error.instance:
                    message = f"the key {key} does not go with the form “{self.words.title(error)}”"
                    yield Wrong("key-out-of-place", (*path_of(error), key), message, "remove it", at_key=True)

    def _oneOf(self, error: Error) -> Iterator[Wrong]:
        yield from explain_branches(error, self.words, self.positions, self.explain)

    _anyOf = _oneOf
