"""Mutations of one value in the text of a YAML file; everything around it stays as it was written.

A leaf is a single value, or a key that the author chose (as in ``places`` or ``found``). The mutations:

===============  ==================================================================================
delete           the key with its value, or the entry of a list, is left out
retype           the value becomes one of another type
plus/minus one   a number, or the last number in a text, by its smallest step (a day, a month, a bit, a
                 version); a value from a list of choices becomes its neighbour in the list
flip             true becomes false and the other way round
misspell         two neighbouring letters or digits change places
misspell key     the same in the key
===============  ==================================================================================
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any
from zlib import crc32

import yaml
from fields import Path, choices, field, own_key

from asfound.source.findings import Finding, path_text
from asfound.source.reader import read
from asfound.source.scalars import resolve

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # of a code


@dataclass(frozen=True)
class Span:
    """A part of the text, and its first line, from 1."""

    start: int
    end: int
    line: int

    @classmethod
    def of(cls, node: Any) -> Span:
        return cls(node.start_mark.index, node.end_mark.index, node.start_mark.line + 1)


@dataclass(frozen=True)
class Leaf:
    """A single value in a file."""

    path: Path
    value: Any
    span: Span
    whole: Span  # with the key or the dash
    key: Span | None
    flow: bool
    alone: bool  # the only one in its map or list
    around: frozenset[int]  # lines of the map or list around it: its first, that of its key
    block: bool  # a folded or literal text


@dataclass(frozen=True)
class Mutation:
    """One mutation of a leaf: a part of the text becomes another; ``value`` is what it then reads as."""

    file: str
    kind: str
    leaf: Leaf = dataclasses.field(repr=False)
    how: str
    value: Any
    text: str = dataclasses.field(repr=False)
    span: Span = dataclasses.field(repr=False)
    new: str

    @property
    def field(self) -> str:
        """As ``fields.field`` writes it."""
        return field(self.kind, self.leaf.path)

    @property
    def path(self) -> Path:
        """The keys that lead to the leaf."""
        return self.leaf.path

    @cached_property
    def raw(self) -> bytes:
        """The file with this mutation."""
        return (self.text[: self.span.start] + self.new + self.text[self.span.end :]).encode()

    def is_named_by(self, finding: Finding) -> bool:
        """Whether the finding is on the leaf's line, or says that it may be.

        Where something is left out nothing is left to point at but the map or list that held it.
        """
        lines = {self.span.line}
        if self.how == "delete":
            around = self.path[:-1]
            lines |= self.leaf.around | {read(self.raw, self.file).positions.value(around)[0]}
            if finding.file == self.file and finding.path == path_text(around):
                return True
        places = {(finding.file, finding.line), *(place[:2] for place in finding.also)}
        return any((self.file, line) in places for line in lines)

    def __str__(self) -> str:
        before = self.text[self.leaf.span.start : self.leaf.span.end].strip()
        after = self.new or "nothing"
        return f"{self.file}:{self.span.line} {self.field}, {self.how}: {before} → {after}"


def mutations(kind: str, file: str, raw: bytes) -> Iterator[Mutation]:
    """Every mutation of every leaf of a file."""
    text = raw.decode()
    data, positions, findings = read(raw, file)
    assert not findings, findings
    for leaf in _leaves(yaml.compose(text, Loader=yaml.CSafeLoader), text, data):
        assert positions.value(leaf.path)[0] == leaf.span.line, leaf

        def mutation(how: str, span: Span, value: Any, new: str, leaf: Leaf = leaf) -> Mutation:
            return Mutation(file, kind, leaf, how, value, text, span, new)

        nothing = ("{}" if leaf.key else "[]") if leaf.alone and not leaf.flow else ""
        yield mutation("delete", leaf.whole, None, nothing)
        for how, value in _values(kind, leaf):
            yield mutation(how, leaf.span, value, _written(value, text[leaf.span.start], leaf))
        if leaf.key is None:
            continue
        key = str(leaf.path[-1])
        wrong = _misspelt(key, leaf.path)
        others = [("misspell key", wrong)] if wrong else []
        if own_key(kind, leaf.path):
            others += ((f"{how} key", other) for how, other in _steps(key))
        for how, other in others:
            quoted = text[leaf.key.start] == '"'
            yield mutation(how, leaf.key, other, json.dumps(other) if quoted else other)


# where the leaves are


def _leaves(
    node: Any, text: str, data: Any, path: Path = (), around: frozenset[int] = frozenset()
) -> Iterator[Leaf]:
    if isinstance(node, yaml.MappingNode):
        own = around | {node.start_mark.line + 1}
        for key, value in node.value:
            name = key.value
            below = (*path, name)
            if isinstance(value, yaml.ScalarNode):
                whole = Span(key.start_mark.index, _end(value, text), key.start_mark.line + 1)
                yield Leaf(
                    below, data[name], _trimmed(value, text), _with_comma(whole, node, text), Span.of(key),
                    bool(node.flow_style), len(node.value) == 1, own, value.style in ("|", ">"),
                )  # fmt: skip
            else:
                yield from _leaves(value, text, data[name], below, frozenset({key.start_mark.line + 1}))
    elif isinstance(node, yaml.SequenceNode):
        own = around | {node.start_mark.line + 1}
        for index, value in enumerate(node.value):
            below = (*path, index)
            if isinstance(value, yaml.ScalarNode):
                span = _trimmed(value, text)
                whole = span
                if not node.flow_style:
                    whole = Span(text.rindex("-", 0, span.start), span.end, span.line)
                yield Leaf(
                    below, data[index], span, _with_comma(whole, node, text), None,
                    bool(node.flow_style), len(node.value) == 1, own, value.style in ("|", ">"),
                )  # fmt: skip
            else:
                yield from _leaves(value, text, data[index], below, frozenset({value.start_mark.line + 1}))


def _end(node: Any, text: str) -> int:
    end = int(node.end_mark.index)
    return len(text[:end].rstrip()) if node.style in ("|", ">") else end


def _trimmed(node: Any, text: str) -> Span:
    return Span(node.start_mark.index, _end(node, text), node.start_mark.line + 1)


def _with_comma(span: Span, node: Any, text: str) -> Span:
    """In a flow map or list, with the comma after it, or else before it."""
    if not node.flow_style:
        return span
    if after := re.compile(r"\s*,\s*").match(text, span.end):
        return Span(span.start, after.end(), span.line)
    before = re.search(r",\s*\Z", text[: span.start])
    return Span(before.start() if before else span.start, span.end, span.line)


# what becomes of them


def _values(kind: str, leaf: Leaf) -> Iterator[tuple[str, Any]]:
    value = leaf.value
    yield "retype", _retyped(value, leaf)
    listed = choices(kind, leaf.path)
    if isinstance(value, bool):
        yield "flip", not value
        return
    if value in listed:
        at = listed.index(value)
        yield from (("minus one", each) for each in listed[max(at - 1, 0) : at])
        yield from (("plus one", each) for each in listed[at + 1 : at + 2])
    elif isinstance(value, int):
        yield "plus one", value + 1
        yield "minus one", value - 1
    else:
        yield from _steps(value)
    wrong = _misspelt(str(value), leaf.path)
    if wrong:
        yield "misspell", wrong if isinstance(value, str) else int(wrong)


def _retyped(value: Any, leaf: Leaf) -> Any:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    plain = resolve(value)
    return plain if isinstance(plain, int | bool) else 7


def _steps(text: str) -> Iterator[tuple[str, str]]:
    """A text that is a number, or has one in it, one more and one less."""
    for how, by in (("plus one", 1), ("minus one", -1)):
        for pattern, step in STEPS:
            if re.fullmatch(pattern, text):
                yield from ((how, new) for new in step(text, by) if new != text)
                break


def _decimal(text: str, by: int) -> list[str]:
    digits = len(text.partition(".")[2])
    number = int(text.replace(".", "")) + by
    sign, figures = ("-" if number < 0 else ""), f"{abs(number):0{digits + 1}d}"
    return [f"{sign}{figures[:-digits]}.{figures[-digits:]}" if digits else f"{sign}{figures}"]


def _one_byte(text: str, by: int) -> list[str]:
    pairs = text.split(" ")
    at = crc32(text.encode()) % len(pairs)
    return [" ".join([*pairs[:at], f"{(int(pairs[at], 16) + by) % 256:02X}", *pairs[at + 1 :]])]


def _hexadecimal(text: str, by: int) -> list[str]:
    digits = text[2:]
    return [f"0x{(int(digits, 16) + by) % 16 ** len(digits):0{len(digits)}X}"]


def _hash(text: str, by: int) -> list[str]:
    return [f"{(int(text, 16) + by) % 16 ** len(text):0{len(text)}x}"]


def _day(text: str, by: int) -> list[str]:
    return [(date.fromisoformat(text) + timedelta(by)).isoformat()]


def _month(text: str, by: int) -> str:
    year, month = divmod(int(text[:4]) * 12 + int(text[5:]) - 1 + by, 12)
    return f"{year:04d}-{month + 1:02d}"


def _months(text: str, by: int) -> list[str]:
    ends = text.split("/")
    return [
        "/".join(_month(end, by) if at == other else end for other, end in enumerate(ends))
        for at in range(len(ends))
        if ends[at] != ".."
    ]


def _code(text: str, by: int) -> list[str]:
    return [text[:-1] + LETTERS[(LETTERS.index(text[-1]) + by) % len(LETTERS)]]


def _fault(text: str, by: int) -> list[str]:
    return [f"{text[0]}{(int(text[1:], 16) + by) % 0x4000:04X}"]


def _letter(text: str, by: int) -> list[str]:
    last = chr(ord(text[-1]) + by)
    return [text[:-1] + last] if last.isupper() else []


def _last_number(text: str, by: int) -> list[str]:
    *_, last = re.finditer(r"\d+", text)
    number = int(last[0]) + by
    new = f"{number:0{len(last[0])}d}" if number >= 0 else f"{number}"
    return [text[: last.start()] + new + text[last.end() :]]


STEPS: tuple[tuple[str, Callable[[str, int], list[str]]], ...] = (
    (r"-?(0|[1-9][0-9]*)(\.[0-9]+)?", _decimal),
    (r"[0-9A-F]{2}( [0-9A-F]{2})*", _one_byte),
    (r"0x[0-9A-F]+", _hexadecimal),
    (r"[0-9a-f]{64}", _hash),
    (r"[0-9]{4}-[0-9]{2}-[0-9]{2}", _day),
    (r"[0-9]{4}-[0-9]{2}", lambda text, by: [_month(text, by)]),
    (r"[0-9.]{2,}[0-9-]*/[0-9.]{2,}[0-9-]*", _months),
    (r"[0-9A-HJKMNP-TV-Z]{8}", _code),
    (r"[PCBU][0-3][0-9A-F]{3}", _fault),
    (r"[0-9A-Z]+([ .-][0-9A-Z]+)* [A-Z]", _letter),
    (r"(?s).*[0-9].*", _last_number),
)


def _misspelt(text: str, path: Path) -> str | None:
    """Two neighbouring letters or digits swapped, always the same ones; or the only one made another."""
    pairs = [
        at
        for at in range(len(text) - 1)
        if text[at].isalnum() and text[at + 1].isalnum() and text[at] != text[at + 1]
    ]
    if pairs:
        at = pairs[crc32(repr(path).encode()) % len(pairs)]
        return text[:at] + text[at + 1] + text[at] + text[at + 2 :]
    if len(text) == 1 and text.isalnum() and not text.isdigit():
        return "x" if text != "x" else "y"
    if len(text) >= 2 and not text.isdigit():
        return text + text[-1]
    return None


def _written(value: Any, first: str, leaf: Leaf) -> str:
    """The value as YAML, quoted as it was before where that is possible."""
    if not isinstance(value, str):
        return json.dumps(value)
    plain = resolve(value)
    safe = (
        plain == value
        and isinstance(plain, str)
        and not re.search(r"[,\[\]{}#&*!|>'\"%@`]|: |:$|^[-?] ", value)
    )
    return value if safe and first not in "\"'" and not leaf.block else json.dumps(value, ensure_ascii=False)
