"""A quick yes or no for JSON Schema: schemas compiled to plain functions.

Nearly every file is right, and for those the full validator's bookkeeping is most of the cost of loading.
So a file is first asked here; only after a no does ``schemas`` ask jsonschema what is wrong. Both answer
alike for whatever the reader makes of a file; a test holds them together.

Covers the keywords our own schemas use and refuses to compile any other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

Test = Callable[[Any], bool]
Schema = Any  # a schema is a map or a truth value, as JSON has it

ANNOTATIONS = frozenset(["$schema", "$id", "$defs", "title", "description", "examples"])
_TYPES: dict[str, Test] = {
    "string": lambda v: type(v) is str,
    "integer": lambda v: type(v) is int,
    "number": lambda v: type(v) is int or type(v) is Decimal,
    "boolean": lambda v: type(v) is bool,
    "null": lambda v: v is None,
    "array": lambda v: type(v) is list,
    "object": lambda v: type(v) is dict,
}


class Documents:
    """Schema files by name, and references between them. Nothing else is ever looked up."""

    def __init__(self, documents: Mapping[str, Schema]) -> None:
        self.documents = documents

    def resolve(self, reference: str, document: str) -> tuple[Schema, str]:
        """The schema a ``$ref`` in ``document`` means, and the document it lies in. KeyError when unknown."""
        name, _, pointer = reference.partition("#")
        name = name or document
        found = self.documents[name]
        for step in filter(None, pointer.split("/")):
            found = found[step]
        return found, name


class Compiler:
    """Compiles schemas of ``documents``; ``meanings`` are further tests of text, by name of definition."""

    def __init__(self, documents: Documents, meanings: Mapping[str, Test]) -> None:
        self.documents = documents
        self.meanings = meanings
        self.references: dict[tuple[str, str], list[Test]] = {}

    def compile(self, schema: Schema, document: str) -> Test:
        """A test that says yes only to what satisfies ``schema``."""
        if isinstance(schema, bool):
            return (lambda v: True) if schema else (lambda v: False)
        tests: list[Test] = []
        done = set(ANNOTATIONS)
        for names, make in _MAKERS:
            present = {name: schema[name] for name in names if name in schema}
            done.update(names)
            if present:
                tests.append(make(self, document, present))
        if unknown := set(schema) - done:
            raise ValueError(f"{document}: keywords that are not understood: {', '.join(sorted(unknown))}")
        return _all(tests)

    def reference(self, reference: str, document: str) -> Test:
        """The test of a ``$ref``; compiled once, so that schemas may refer to themselves."""
        schema, name = self.documents.resolve(reference, document)
        key = (name, reference.partition("#")[2])
        if key in self.references:
            waiting = self.references[key]
            return waiting[0] if waiting else lambda v: waiting[0](v)
        self.references[key] = waiting = []
        test = self.compile(schema, name)
        meaning = self.meanings.get(reference.rpartition("/")[2])
        waiting.append(_all([test, meaning]) if meaning else test)
        return waiting[0]


def _all(tests: list[Test]) -> Test:
    if len(tests) == 1:
        return tests[0]
    if len(tests) == 2:
        one, two = tests
        return lambda v: one(v) and two(v)
    return lambda v: all(test(v) for test in tests)


def _same(one: Any, other: Any) -> bool:
    """JSON's equality: numbers by value, truth values are no numbers."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[k], other[k]) for k in one)
    return bool(one == other)


def _reference(compiler: Compiler, document: str, words: Schema) -> Test:
    return compiler.reference(words["$ref"], document)


def _type(compiler: Compiler, document: str, words: Schema) -> Test:
    return _TYPES[words["type"]]


def _enum(compiler: Compiler, document: str, words: Schema) -> Test:
    values = words["enum"] if "enum" in words else [words["const"]]
    if all(isinstance(value, str) for value in values):
        texts = frozenset(values)
        return lambda v: type(v) is str and v in texts
    return lambda v: any(_same(v, value) for value in values)


def _text(compiler: Compiler, document: str, words: Schema) -> Test:
    low, high = words.get("minLength", 0), words.get("maxLength", 1 << 62)
    search = re.compile(words.get("pattern", "")).search
    return lambda v: type(v) is not str or (low <= len(v) <= high and search(v) is not None)


def _range(compiler: Compiler, document: str, words: Schema) -> Test:
    low, high = words.get("minimum", -(1 << 62)), words.get("maximum", 1 << 62)
    return lambda v: (type(v) is not int and type(v) is not Decimal) or low <= v <= high


def _list(compiler: Compiler, document: str, words: Schema) -> Test:
    low, high = words.get("minItems", 0), words.get("maxItems", 1 << 62)
    unique = words.get("uniqueItems", False)
    item = compiler.compile(words.get("items", True), document)

    def test(v: Any) -> bool:
        if type(v) is not list:
            return True
        if not low <= len(v) <= high or not all(map(item, v)):
            return False
        if not unique:
            return True
        if all(type(x) is str for x in v):
            return len(set(v)) == len(v)
        return not any(_same(x, y) for i, x in enumerate(v) for y in v[:i])

    return test


def _map(compiler: Compiler, document: str, words: Schema) -> Test:
    low, high = words.get("minProperties", 0), words.get("maxProperties", 1 << 62)
    required = words.get("required", ())
    known = {name: compiler.compile(s, document) for name, s in words.get("properties", {}).items()}
    other = compiler.compile(words.get("additionalProperties", True), document)
    name_test = compiler.compile(words.get("propertyNames", True), document)
    names_matter = "propertyNames" in words

    def test(v: Any) -> bool:
        if type(v) is not dict:
            return True
        for name in required:
            if name not in v:
                return False
        if not low <= len(v) <= high:
            return False
        for name, value in v.items():
            if not known.get(name, other)(value) or (names_matter and not name_test(name)):
                return False
        return True

    return test


def _one_of(compiler: Compiler, document: str, words: Schema) -> Test:
    tests = tuple(compiler.compile(branch, document) for branch in words["oneOf"])
    return lambda v: sum(test(v) for test in tests) == 1


def _any_of(compiler: Compiler, document: str, words: Schema) -> Test:
    tests = tuple(compiler.compile(branch, document) for branch in words["anyOf"])
    return lambda v: any(test(v) for test in tests)


def _not(compiler: Compiler, document: str, words: Schema) -> Test:
    test = compiler.compile(words["not"], document)
    return lambda v: not test(v)


def _if(compiler: Compiler, document: str, words: Schema) -> Test:
    condition = compiler.compile(words.get("if", True), document)
    then = compiler.compile(words.get("then", True), document)
    otherwise = compiler.compile(words.get("else", True), document)
    return lambda v: then(v) if condition(v) else otherwise(v)


# Cheap and decisive tests first.
_MAKERS: tuple[tuple[tuple[str, ...], Callable[[Compiler, str, Schema], Test]], ...] = (
    (("type",), _type),
    (("enum", "const"), _enum),
    (("minLength", "maxLength", "pattern"), _text),
    (("minimum", "maximum"), _range),
    (
        ("required", "properties", "additionalProperties", "propertyNames", "minProperties", "maxProperties"),
        _map,
    ),
    (("items", "minItems", "maxItems", "uniqueItems"), _list),
    (("$ref",), _reference),
    (("not",), _not),
    (("oneOf",), _one_of),
    (("anyOf",), _any_of),
    (("if", "then", "else"), _if),
)
