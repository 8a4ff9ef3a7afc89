"""What readers keep of their cars, as JSON, and the pages write: the car, a reading, the log. Read strictly.

JSON is a subset of the YAML that ``reader`` takes, so the same reader gives positions and refuses keys that
stand twice, hidden characters and everything else it refuses in a book; here the file must be JSON besides.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any as Data
from typing import Generic, TypeVar

from ..car.known import Known
from ..car.origin import Origin
from ..car.records import RecordPath
from ..work.log import Content, Did, Entry, LoadedFile, Log, Moved, Read, Wrote
from .findings import Finding
from .guards import decode
from .reader import read
from .schemas import validate

Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True)
class CarFile:
    """A car as its reader knows it, and what the reader calls it."""

    known: Known
    name: str = ""


@dataclass(frozen=True, slots=True)
class ReadingFile:
    """Records as read: text as the tool shows it, or words by setting. Software and parts by module."""

    records: Mapping[RecordPath, str | Mapping[str, str]]
    software: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)
    date: str = ""


@dataclass(frozen=True, slots=True)
class Opened(Generic[Kept]):
    """What a file holds; None when there are findings."""

    value: Kept | None
    findings: tuple[Finding, ...] = ()


def open_car(raw: bytes, file: str) -> Opened[CarFile]:
    """A car file. ``file`` is its name in findings."""
    return _open(raw, file, "car", lambda data: _car(data))


def open_reading(raw: bytes, file: str) -> Opened[ReadingFile]:
    """A reading."""
    return _open(raw, file, "reading", _reading)


def open_log(raw: bytes, file: str) -> Opened[Log]:
    """A log."""
    return _open(raw, file, "log", lambda data: _log(data, Origin(file)))


def _open(raw: bytes, file: str, kind: str, build: Callable[[Data], Kept]) -> Opened[Kept]:
    text, findings = decode(raw, file)
    if findings:
        return Opened(None, findings)
    if (wrong := _no_json(text, file)) is not None:
        return Opened(None, (wrong,))
    found = read(raw, file)
    findings = found.findings
    if found.data is not None:
        findings += validate(kind, found.data, found.positions, file)
    return Opened(None, findings) if findings else Opened(build(found.data))


def _no_json(text: str, file: str) -> Finding | None:
    """Where a text stops being JSON (RFC 8259), if it does."""
    try:
        json.loads(text, parse_constant=_constant)
    except json.JSONDecodeError as error:
        return Finding(
            "json-syntax",
            file,
            error.lineno,
            error.colno,
            "",
            f"this is no JSON: {error.msg[:1].lower()}{error.msg[1:]}",
            "take the file as it was exported, or put this right",
        )
    except RecursionError:
        return None  # the reader refuses such depths
    except ValueError:
        return Finding(
            "json-syntax", file, 1, 1, "", "this is no JSON: a number is none", "write a decimal number"
        )
    return None


def _constant(name: str) -> Data:
    raise ValueError(name)


def _car(data: Data) -> CarFile:
    def sets(key: str) -> frozenset[str] | None:
        return frozenset(data[key]) if key in data else None

    modules = data.get("modules", {})
    known = Known(
        sets("lines"),
        sets("models"),
        sets("phases"),
        sets("markets"),
        data.get("built"),
        dict(data.get("equipment", {})),
        _said(modules, "software"),
        _said(modules, "part"),
        {path: bytes.fromhex(held) for path, held in data.get("records", {}).items()},
        dict(data.get("settings", {})),
    )
    return CarFile(known, data.get("name", ""))


def _said(modules: Data, key: str) -> dict[str, str]:
    return {name: module[key] for name, module in modules.items() if key in module}


def _reading(data: Data) -> ReadingFile:
    modules = data.get("modules", {})
    records = {RecordPath.parse(path): held for path, held in data["records"].items()}
    return ReadingFile(records, _said(modules, "software"), _said(modules, "part"), data.get("date", ""))


def _log(data: Data, origin: Origin) -> Log:
    car = _car(data.get("car", {}))
    entries = tuple(_entry(each, origin.at("entries", n)) for n, each in enumerate(data["entries"]))
    return Log(entries, car.known, car.name)


def _entry(data: Data, origin: Origin) -> Entry:
    date = data["date"]
    match data:
        case {"loaded": one}:
            return LoadedFile(
                date,
                one["module"],
                one["recipe"],
                one["sheet_code"],
                one["name"],
                one["before"],
                one["after"],
            )
        case {"read": one}:
            path = RecordPath.parse(one["record"])
            return Read(date, path, one.get("layout"), _content(one["found"]), one.get("software"))
    put_back = "put_back" in data
    one = data["put_back" if put_back else "wrote"]
    return Wrote(
        date,
        RecordPath.parse(one["record"]),
        one.get("layout"),
        _content(one["found"]),
        _content(one["written"]),
        _content(one["left"]) if "left" in one else None,
        tuple(
            Did(
                did["recipe"],
                did["sheet_code"],
                tuple(Moved(m["setting"], m["from"], m["to"]) for m in did["changes"]),
            )
            for did in one["recipes"]
        ),
        put_back,
        one.get("software"),
        one.get("part"),
        origin,
    )


def _content(data: Data) -> Content:
    return bytes.fromhex(data) if isinstance(data, str) else dict(data)
