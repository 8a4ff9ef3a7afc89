"""Plans, worksheets and drift as plain data, for programs; parts have the form of ``compiled``."""

from __future__ import annotations

from typing import Any as Data

from ..car.bits import hex_pairs
from ..work.drift import RecordDrift
from ..work.handover import Handover
from ..work.log import Content, Standing
from ..work.plan import Plan
from ..work.worksheet import Row, Worksheet
from .compiled import Object, condition, edit, operation


def plan(one: Plan, sheet: Worksheet | None) -> Object:
    """A plan and its worksheet; ``needed`` and ``spare`` are ampere-hours as whole fractions: 43/20."""
    charge = one.charge
    return {
        "fits": one.fits.kind,
        "if": None if one.fits.residual is None else condition(one.fits.residual),
        "troubles": [
            {"kind": t.kind, "recipes": list(t.recipes), "reason": t.reason, "repair": t.repair}
            for t in one.troubles
        ],
        "questions": [{"recipe": q.recipe, "decides": condition(q.decides)} for q in one.questions],
        "recipes": [
            {"id": job.recipe.id, "needed_by": list(one.needed_by.get(job.recipe.id, ()))} for job in one.jobs
        ],
        "records": [
            {
                "record": str(r.path),
                "layouts": [x.id for x in r.layouts],
                "recipes": list(r.recipes),
                "edits": [edit(e) for e in r.edits],
            }
            for r in one.records
        ],
        "visits": [[str(path) for path in visit] for visit in one.visits],
        "at_least": one.at_least,
        "together": [list(pair) for pair in one.together],
        "job": [operation(o) for o in one.operations],
        "minutes": one.minutes,
        "key_on_minutes": one.key_on_minutes,
        "charge": charge and {"needed": str(charge.needed), "spare": str(charge.spare)},
        "supply": list(one.supply),
        "worksheet": None if sheet is None else worksheet(sheet),
    }


def worksheet(sheet: Worksheet) -> Object:
    """A worksheet; what to write is null until it is ready."""
    return {
        "ready": sheet.ready,
        "missing": [str(path) for path in sheet.missing],
        "rows": [_row(row) for row in sheet.rows],
    }


def _row(row: Row) -> Object:
    fields = row.assessment.fields if row.assessment else ()
    return {
        "record": str(row.path),
        "layout": row.layout,
        "found": _content(row.found),
        "state": row.assessment.state if row.assessment else None,
        "fields": [
            {"setting": f.setting.setting, "state": f.state, "present": f.present, "known": f.known}
            for f in fields
        ],
        "settings": [
            {"setting": t.setting, "name": t.name, "words": t.words, "known": t.known} for t in row.told
        ],
        "asks": list(row.asks),
        "stops": list(row.stops),
        "write": _content(row.write),
        "changed": [list(at) for at in row.changed],
    }


def drift(one: RecordDrift) -> Object:
    """What became of a record."""
    restore = one.restore
    return {
        "record": str(one.record),
        "by": one.by,
        "changes": [{**standing(m.standing), "state": m.state, "now": m.now} for m in one.marks],
        "moved": [{"setting": m.setting, "before": m.before, "now": m.to} for m in one.moved],
        "bits": [list(at) for at in one.bits],
        "restore": restore
        and {
            "write": _content(restore.write),
            "refused": list(restore.refused) if restore.refused else None,
        },
        "problem": one.problem or None,
    }


def standing(one: Standing) -> Object:
    """A change that stands by the log."""
    return {
        "record": str(one.wrote.record),
        "setting": one.setting.setting,
        "original": one.original,
        "to": one.to,
        "date": one.date,
        "recipe": one.did.recipe,
        "sheet_code": one.did.sheet_code,
    }


def handover(one: Handover) -> Object:
    """What stands in which module, and files loaded."""
    return {
        "modules": [
            {
                "module": f"{m.module}@{m.place}" if m.place else m.module,
                "software": m.software,
                "changes": [standing(s) for s in m.changes],
            }
            for m in one.modules
        ],
        "files": [
            {"module": f.module, "name": f.name, "before": f.before, "after": f.after, "date": f.date}
            for f in one.files
        ],
        "recipes": list(one.recipes),
    }


def _content(content: Content | None) -> Data:
    if content is None:
        return None
    return hex_pairs(content) if isinstance(content, bytes) else dict(content)
