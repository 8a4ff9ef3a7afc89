"""Strict YAML: bytes in, plain data with positions and findings out.

Works on the event stream of libyaml, so that nothing is built that was not looked at: no anchors, aliases,
tags, merge keys, directives or further documents, and plain scalars only where every YAML version agrees.
Reading goes on after a finding wherever the rest still has a meaning, so that all are reported at once.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import yaml
from yaml._yaml import CParser

from .findings import Finding, bare, path_text, shown
from .guards import decode, hidden
from .limits import ANCHORS, DEPTH, FINDINGS_PER_FILE, VALUES
from .plain import plain
from .positions import NOWHERE, Positions
from .scalars import Refused, resolve
from .syntax import explain


class Read(NamedTuple):
    """What was read. ``data`` is None when the file could not be understood as a whole."""

    data: Any
    positions: Positions
    findings: tuple[Finding, ...]


def read(raw: bytes, file: str) -> Read:
    """The data of a file's bytes; never raises, whatever the bytes."""
    text, findings = decode(raw, file)
    if findings:
        return Read(None, Positions(), findings)
    data = plain(raw)
    if data is not None:
        return Read(data, Positions(lambda: _Reader(raw, text, file).read().positions.root), ())
    return _Reader(raw, text, file).read()


def read_carefully(raw: bytes, file: str) -> Read:
    """As ``read``, without the quick way of ``plain``."""
    text, findings = decode(raw, file)
    return Read(None, Positions(), findings) if findings else _Reader(raw, text, file).read()


class _Stop(Exception):
    """The rest of the file is not worth reading."""


EMPTY = "write the value, or leave the key out"  # the repair of a key without a value
EMPTY_ITEM = "write it, or remove the dash"
_NEXT = object()  # a map that waits for its next key
_REFERRING = ("yaml-anchor", "yaml-alias")
_SKIP = object()  # a key whose value is read but not kept


class _Open:
    """A list or map whose end has not come yet."""

    __slots__ = ("as_key", "data", "key", "key_at", "marks", "node")

    def __init__(self, data: Any, marks: Any, line: int, column: int, as_key: bool) -> None:
        self.data, self.marks = data, marks
        self.as_key = as_key  # it stands where a key should be, or inside something that does
        self.node = (line, column, marks)
        self.key: Any = _NEXT if isinstance(data, dict) else None
        self.key_at = (line, column)


class _Reader:
    def __init__(self, raw: bytes, text: str, file: str) -> None:
        self.raw, self.lines, self.file = raw, text.split("\n"), file
        self.open: list[_Open] = []
        self.findings: list[Finding] = []
        self.spoilt: set[tuple[str | int, ...]] = set()
        self.data: Any = None
        self.root = NOWHERE
        self.documents = 0
        self.references = 0

    def read(self) -> Read:
        whole = False
        try:
            try:
                self._events()
                whole = True
                if self.data is None:  # no document, or one that says null
                    self._add("file-empty", 1, 1, "the file holds nothing", "write its content, or delete it")
            except yaml.YAMLError as error:
                self._add(*explain(error, self.lines))
        except _Stop:
            pass
        if not whole:
            self.data = None
        return Read(self.data, Positions(self.root, frozenset(self.spoilt)), tuple(self.findings))

    def _events(self) -> None:
        parser = CParser(self.raw)
        get = parser.get_event
        scalar, map_start, list_start = yaml.ScalarEvent, yaml.MappingStartEvent, yaml.SequenceStartEvent
        map_end, list_end = yaml.MappingEndEvent, yaml.SequenceEndEvent
        values = 0
        while True:
            event = get()
            kind = type(event)
            if kind is scalar:
                values += 1
                self._scalar(event)
            elif kind is map_start or kind is list_start:
                values += 1
                self._start(event, {} if kind is map_start else [])
            elif kind is map_end or kind is list_end:
                done = self.open.pop()
                self._place(done.data, done.node)
            elif kind is yaml.AliasEvent:
                values += 1
                self._alias(event)
            elif kind is yaml.DocumentStartEvent:
                self._document(event)
            elif kind is yaml.StreamEndEvent:
                return
            if values > VALUES:
                self._at(
                    event,
                    "file-too-many-values",
                    f"the file holds more than {VALUES:,} keys and values",
                    "split what it holds over several files",
                )
                raise _Stop

    # what comes

    def _document(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            self._at(
                event,
                "yaml-several-documents",
                "a second document starts here",
                "remove the line ---, or make it a file of its own",
            )
            raise _Stop
        if event.version or event.tags:
            self._at(
                event,
                "yaml-directive",
                "YAML directives (lines that start with %) are not read",
                "remove the line",
            )

    def _start(self, event: Any, data: Any) -> None:
        if event.anchor is not None or event.tag is not None:
            self._no_properties(event)
        if len(self.open) >= DEPTH:
            self._at(
                event,
                "yaml-too-deep",
                f"lists and maps lie more than {DEPTH} deep inside each other",
                "write it flatter",
            )
            raise _Stop
        mark = event.start_mark
        inside = bool(self.open) and self.open[-1].as_key
        as_key = bool(self.open) and self.open[-1].key is _NEXT
        if as_key and not inside:
            what = "a map" if isinstance(data, dict) else "a list"
            self._at(
                event, "yaml-key-not-text", f"{what} stands where a key should be", "write a word and a colon"
            )
        marks: Any = {} if isinstance(data, dict) else []
        self.open.append(_Open(data, marks, mark.line + 1, mark.column + 1, as_key or inside))

    def _referring(self, event: Any) -> None:
        """Counts anchors and aliases: a few are a habit, many of them a file that grows when it is read."""
        self.references += 1
        if self.references > ANCHORS:
            self.findings = [found for found in self.findings if found.id not in _REFERRING]
            self._at(
                event,
                "yaml-alias",
                f"more than {ANCHORS} anchors and aliases (& and *) up to here; the rest was not read",
                "write out what is meant, each time",
            )
            raise _Stop

    def _alias(self, event: Any) -> None:
        self._referring(event)
        self._at(
            event,
            "yaml-alias",
            f"*{bare(event.anchor)} refers to another place of the file",
            f"write out what is meant, or {shown('*' + event.anchor)} if it is text",
        )
        mark = event.start_mark
        self.spoilt.add(self._path())
        self._place("*" + event.anchor, (mark.line + 1, mark.column + 1, None))

    def _scalar(self, event: Any) -> None:
        if event.anchor is not None or event.tag is not None:
            self._no_properties(event)
        text, style, mark = event.value, event.style, event.start_mark
        top = self.open[-1] if self.open else None
        as_key = top is not None and top.key is _NEXT
        value: Any = text
        source = None
        if style == "" or style is None:
            source = text
            value = self._plain(event, text, as_key)
            if " " in text and not as_key:
                self._remark(event)
        elif style == '"':
            for _, message, repair in hidden(text)[:1]:
                if message.startswith("a tab"):
                    repair = "write spaces"
                self._at(event, "file-hidden-character", f"the text holds {message}", repair)
                self.spoilt.add(self._path())
        if not as_key:
            self._place(value, (mark.line + 1, mark.column + 1, source))
            return
        assert top is not None
        if not isinstance(value, str):
            self._at(
                event,
                "yaml-key-not-text",
                f"the key {bare(text)} reads as {_what(value)}",
                f"write {shown(text)}",
                key=text,
            )
            value = text
        self._key(top, event, value)

    def _key(self, top: _Open, event: Any, key: str) -> None:
        mark = event.start_mark
        top.key_at = (mark.line + 1, mark.column + 1)
        if key in top.data:
            self._at(
                event,
                "yaml-duplicate-key",
                f"the key {shown(key)} stands here a second time; the first is in line {top.marks[key][0]}",
                "keep one of the two",
                key=key,
            )
            top.key = _SKIP
        else:
            top.key = key

    def _plain(self, event: Any, text: str, as_key: bool) -> Any:
        """The value of a plain scalar; the text itself after a finding."""
        if not text and not self.open:
            self._add("file-empty", 1, 1, "the file holds nothing", "write its content, or delete it")
            raise _Stop
        if not text:
            self._empty(event, as_key)
            return text
        value = resolve(text)
        if not isinstance(value, Refused):
            return value
        if as_key and text == "<<":
            self.spoilt.add((*self._path(), text))
            self._at(
                event,
                "yaml-merge-key",
                "<< merges another map into this one",
                "write out the keys that are meant",
                key=text,
            )
            return text
        self._at(event, value.id, value.message, value.repair, key=text if as_key else None)
        self.spoilt.add((*self._path(), text) if as_key else self._path())
        return text

    def _remark(self, event: Any) -> None:
        """Whether a comment follows the words in their line; whoever wrote it may have meant text."""
        mark = event.end_mark
        if mark.line < len(self.lines) and self.lines[mark.line][mark.column :].lstrip().startswith("#"):
            self._at(
                event,
                "yaml-remark",
                "from the # on this is a comment, which is not part of the text",
                "put the whole text in double quotes, or write the comment in a line of its own",
            )

    def _empty(self, event: Any, as_key: bool) -> None:
        path = self._path()
        self.spoilt.add(path)
        key = path[-1] if path else None
        if isinstance(key, str) and " " in key:
            self._at(
                event,
                "yaml-empty-value",
                f"{shown(key)} stands here as a key without a value",
                "put the text before the comma in double quotes, comma included",
            )
        else:
            self._at(
                event,
                "yaml-empty-value",
                "nothing stands here",
                "write a key" if as_key else EMPTY if isinstance(key, str) else EMPTY_ITEM,
            )

    def _no_properties(self, event: Any) -> None:
        if event.anchor is not None:
            self._referring(event)
            self._at(
                event,
                "yaml-anchor",
                f"&{bare(event.anchor)} names a place of the file for use elsewhere",
                "remove it and write out the value wherever it is meant",
            )
        if event.tag is not None:
            self.spoilt.add(self._path())
            self._at(
                event,
                "yaml-tag",
                f"the tag {bare(event.tag)} asks for a type",
                "remove it; quotes make text of a value",
            )

    # where it goes

    def _place(self, value: Any, node: Any) -> None:
        if not self.open:
            self.data, self.root = value, node
            return
        top = self.open[-1]
        if isinstance(top.data, list):
            top.data.append(value)
            top.marks.append(node)
        elif top.key is _NEXT:  # a list or map as a key: already a finding
            top.key = _SKIP
        else:
            if top.key is not _SKIP:
                top.data[top.key] = value
                top.marks[top.key] = (*top.key_at, node)
            top.key = _NEXT

    def _path(self) -> tuple[str | int, ...]:
        """The path of the value that comes next; of the map itself where a key comes next."""
        out: list[str | int] = []
        for level in self.open:
            if isinstance(level.data, list):
                out.append(len(level.data))
            elif isinstance(level.key, str):
                out.append(level.key)
            else:
                break
        return tuple(out)

    def _at(self, event: Any, id: str, message: str, repair: str, key: str | None = None) -> None:
        mark = event.start_mark
        self._add(id, mark.line + 1, mark.column + 1, message, repair, key)

    def _add(
        self, id: str, line: int, column: int, message: str, repair: str, key: str | None = None
    ) -> None:
        path = self._path() if key is None else (*self._path(), key)
        lines = self.lines
        if not lines[-1] and len(lines) > 1:
            lines = lines[:-1]
        if line > len(lines):  # where a value is missing at the very end
            line, column = len(lines), len(lines[-1].rstrip("\r")) + 1
        self.findings.append(Finding(id, self.file, line, column, path_text(path), message, repair))
        if len(self.findings) == FINDINGS_PER_FILE:
            self.findings.append(
                Finding(
                    "file-too-many-findings",
                    self.file,
                    line,
                    column,
                    "",
                    f"more than {FINDINGS_PER_FILE} findings up to here; the rest of the file was not read",
                    "put these right first",
                )
            )
            raise _Stop


def _what(value: Any) -> str:
    return "nothing" if value is None else "true or false" if isinstance(value, bool) else "a number"
