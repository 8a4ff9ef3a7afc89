"""What the pages keep of a reader's car, written as they write it: for tests of what reads it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any as Data

from asfound.car.bits import hex_pairs
from asfound.car.known import Known
from asfound.source.car_file import CarFile, ReadingFile
from asfound.work.log import Content, Entry, LoadedFile, Log, Read


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
