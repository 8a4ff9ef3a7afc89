"""What Python answers to the vectors that need the whole club: plans, worksheets, logs."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import objects

from asfound.book import Book
from asfound.car.bits import hex_pairs
from asfound.car.records import RecordPath, SettingPath
from asfound.pages import compiled
from asfound.source import car_file
from asfound.source.loader import load
from asfound.work.drift import Present, RecordDrift, drift, unread
from asfound.work.handover import handover
from asfound.work.log import Content, Log, standing
from asfound.work.operations import Operation
from asfound.work.order import Circle, fewest_visits
from asfound.work.plan import plan
from asfound.work.worksheet import Row, worksheet

Json = Any
REFUSED: Json = {"refused": True}


def fields(fields: Any) -> Json:
    return [
        {"setting": f.setting.setting, "state": f.state, "present": f.present, "known": f.known}
        for f in fields
    ]


# plans


def _order(given: Json) -> Json:
    try:
        route = fewest_visits(given["classes"], [tuple(pair) for pair in given["before"]])
    except Circle as found:
        return {"circle": list(found.of)}
    return {"visits": [list(visit) for visit in route.visits], "at_least": route.at_least}


@cache
def club() -> Book:
    """The invented club whose recipes meet in every way."""
    return Book(load(Path(__file__).parent / "club"))


def _unit_name(given: Json) -> Json:
    module, _, place = given["unit"].partition("@")
    return {"name": club().unit(module, place or None)}


def _plan(given: Json) -> Json:
    choose = {SettingPath.parse(path): words for path, words in given.get("choose", {}).items()}
    shop = club().shop
    fits = {
        name: replace(shop.recipes[name], fits=objects.condition(test))
        for name, test in given.get("fits", {}).items()
    }
    shop = replace(shop, recipes={**shop.recipes, **fits})
    one = plan(given["recipes"], shop, objects.known(given["known"]), choose)
    out: Json = {"answer": one.fits.kind, "needed_by": {name: list(by) for name, by in one.needed_by.items()}}
    if one.troubles:
        return out | {"troubles": sorted([t.kind, *t.recipes] for t in one.troubles)}
    if one.questions:
        return out | {"questions": sorted({question.recipe for question in one.questions})}
    out |= {
        "recipes": [job.recipe.id for job in one.jobs],
        "records": [
            {
                "record": str(record.path),
                "layouts": [layout.id for layout in record.layouts],
                "recipes": list(record.recipes),
                "edits": [compiled.edit(edit) for edit in record.edits],
            }
            for record in one.records
        ],
        "visits": [[str(path) for path in visit] for visit in one.visits],
        "at_least": one.at_least,
        "together": [list(pair) for pair in one.together],
        "job": [_operation(operation) for operation in one.operations],
        "minutes": one.minutes,
        "key_on_minutes": one.key_on_minutes,
        "supply": len(one.supply),
    }
    return out | ({"charge": [str(one.charge.needed), str(one.charge.spare)]} if one.charge else {})


def _operation(one: Operation) -> list[str]:
    """Its kind, and what tells it from others of the kind: record, module, or the words of its own."""
    said = compiled.operation(one)
    about = said.get("record") or said.get("module") or (one.text if one.recipe or one.kind == "key" else "")
    about = one.text if one.kind == "unlock" else about  # which code
    return [one.kind, about]


# worksheets and logs


def _worksheet(given: Json) -> Json:
    known = objects.known(given["known"])
    typed = {RecordPath.parse(path): held for path, held in given["typed"].items()}
    sheet = worksheet(plan(given["recipes"], club().shop, known), typed, club().world, known)
    return {
        "ready": sheet.ready,
        "missing": [str(path) for path in sheet.missing],
        "rows": [_row(row) for row in sheet.rows],
    }


def _row(row: Row) -> Json:
    out: Json = {"record": str(row.path), "asks": len(row.asks), "stops": len(row.stops)}
    if row.found is not None:
        out["found"] = content(row.found)
    if row.layout is not None:
        out["layout"] = row.layout
    if row.assessment is not None:
        out |= {"state": row.assessment.state, "fields": fields(row.assessment.fields)}
        out["told"] = [[t.setting, t.words, t.known] for t in row.told]
    if row.write is not None:
        out |= {"write": content(row.write), "changed": [list(at) for at in row.changed]}
    return out


def content(content: Content) -> Json:
    return hex_pairs(content) if isinstance(content, bytes) else dict(content)


def open_log_of(data: Json) -> Log:
    opened = car_file.open_log(json.dumps(data).encode(), "log.json")
    assert opened.value is not None, opened.findings
    return opened.value


def _standing(given: Json) -> Json:
    log = open_log_of(given["log"])
    return {
        "standing": [
            {
                "record": str(s.wrote.record),
                "setting": s.setting.setting,
                "original": s.original,
                "to": s.to,
                "recipe": s.did.recipe,
                "date": s.date,
            }
            for s in standing(log)
        ],
        "modules": [
            {"module": f"{m.module}@{m.place}" if m.place else m.module, "changes": len(m.changes)}
            | ({"software": m.software} if m.software else {})
            for m in handover(log).modules
        ],
        "files": [[f.module, f.name, f.after] for f in handover(log).files],
    }


def _drift(given: Json) -> Json:
    present = {
        RecordPath.parse(path): Present(
            one.get("layout"),
            bytes.fromhex(one["held"]) if isinstance(one["held"], str) else one["held"],
        )
        for path, one in given["present"].items()
    }
    log = open_log_of(given["log"])
    return {
        "records": [_record_drift(one) for one in drift(log, present, club().modules)],
        "unread": [str(path) for path in unread(log, present)],
    }


def _record_drift(one: RecordDrift) -> Json:
    out: Json = {
        "record": str(one.record),
        "by": one.by,
        "marks": [[m.standing.setting.setting, m.state, m.now] for m in one.marks],
        "moved": [[m.setting, m.before, m.to] for m in one.moved],
        "bits": [list(at) for at in one.bits],
    }
    if one.problem:
        out["problem"] = True
    if one.restore is not None:
        write = one.restore.write
        out["restore"] = REFUSED if write is None else {"write": content(write)}
    return out


DO: dict[str, Callable[[Json], Json]] = {
    "order": _order,
    "plan": _plan,
    "unit-name": _unit_name,
    "worksheet": _worksheet,
    "standing": _standing,
    "drift": _drift,
}
