"""What readers keep of their cars, as JSON: the car, a reading, the log. Read strictly, written exactly.

JSON is a subset of the YAML that ``reader`` takes, so the same reader gives positions and refuses keys that
stand twice, hidden characters and everything else it refuses in a book; here the file must be JSON besides.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any as Data
from typing import Generic, TypeVar

from ..car.bits import hex_pairs
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


def car_text(car: CarFile) -> str:
    """The car as a file."""
    return _text(car_data(car))


def reading_text(reading: ReadingFile) -> str:
    """The reading as a file."""
    return _text(
        {
            "asfound": "reading",
            "version": 1,
            "date": reading.date or None,
            "modules": _modules(reading.software, reading.parts),
            "records": {
                str(path): held if isinstance(held, str) else dict(held)
                for path, held in reading.records.items()
            },
        }
    )


def log_text(log: Log) -> str:
    """The log as a file."""
    car = CarFile(log.car, log.name)
    entries = [_entry_data(entry) for entry in log.entries]
    known = car_data(car) if car != CarFile(Known()) else None
    return _text({"asfound": "log", "version": 1, "car": known, "entries": entries})


def car_data(car: CarFile) -> dict[str, Data]:
    """The car as plain data, as in the file."""
    known = car.known
    sets = {
        "lines": known.lines,
        "models": known.models,
        "phases": known.phases,
        "markets": known.markets,
    }
    return _lean(
        {
            "asfound": "car",
            "version": 1,
            "name": car.name or None,
            **{key: sorted(value) for key, value in sets.items() if value is not None},
            "built": known.built,
            "equipment": dict(known.equipment),
            "modules": _modules(known.software, known.parts),
            "records": {path: hex_pairs(held) for path, held in known.records.items()},
            "settings": dict(known.settings),
        }
    )


def known_of(data: Data) -> Known:
    """What is known of a car, from the keys of a car file."""
    return _car(data).known


# reading


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


# writing


def _entry_data(entry: Entry) -> dict[str, Data]:
    match entry:
        case LoadedFile():
            loaded = {
                "module": entry.module,
                "recipe": entry.recipe,
                "sheet_code": entry.sheet_code,
                "name": entry.name,
                "before": entry.before,
                "after": entry.after,
            }
            return {"date": entry.date, "loaded": loaded}
        case Read():
            read_ = {
                "record": str(entry.record),
                "layout": entry.layout,
                "software": entry.software,
                "found": _content_data(entry.found),
            }
            return {"date": entry.date, "read": _lean(read_)}
    wrote = {
        "record": str(entry.record),
        "layout": entry.layout,
        "software": entry.software,
        "part": entry.part,
        "found": _content_data(entry.found),
        "written": _content_data(entry.written),
        "left": None if entry.left is None else _content_data(entry.left),
        "recipes": [
            {
                "recipe": did.recipe,
                "sheet_code": did.sheet_code,
                "changes": [{"setting": m.setting, "from": m.before, "to": m.to} for m in did.changes],
            }
            for did in entry.did
        ],
    }
    return {"date": entry.date, "put_back" if entry.put_back else "wrote": _lean(wrote)}


def _content_data(content: Content) -> str | dict[str, str]:
    return hex_pairs(content) if isinstance(content, bytes) else dict(content)


def _modules(software: Mapping[str, str], parts: Mapping[str, str]) -> dict[str, dict[str, str]]:
    return {
        name: {
            **({"software": software[name]} if name in software else {}),
            **({"part": parts[name]} if name in parts else {}),
        }
        for name in sorted({*software, *parts})
    }


def _lean(full: Mapping[str, Data]) -> dict[str, Data]:
    """Without keys that have nothing to say."""
    return {key: value for key, value in full.items() if value is not None and value != {}}


def _text(data: Mapping[str, Data]) -> str:
    return json.dumps(_lean(data), ensure_ascii=False, indent=1) + "\n"
