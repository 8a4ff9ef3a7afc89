"""A book's objects written back in the form of their files, as plain data.

The forms are those of the schemas, so whoever knows the files knows them. ``source.build`` makes the same
objects of them again. What a file may leave out is left out; what it may write in two ways is written in one.
"""

from __future__ import annotations

from ..trust.reports import Club, PastCode, Report, ReportedCar, Signature
from .fileform_car import Object, lean, line, module, place
from .fileform_work import recipe

__all__ = ["Object", "club", "lean", "line", "module", "past_code", "place", "recipe", "report", "signature"]


def club(one: Club) -> Object:
    """``club.yml``."""
    return lean(
        club=one.id,
        name=one.name,
        about=one.about,
        site=one.site,
        language=one.language if one.language != "en" else None,
        contact=one.contact,
        vetting={
            "signatures": one.vetting.signatures,
            "reports": one.vetting.reports,
            "most_bad": one.vetting.most_bad,
        },
        times={
            "faults": one.times.faults,
            "module": one.times.module,
            "record": one.times.record,
            "check": one.times.check,
        },
        long_key_on=one.long_key_on,
    ) | {
        "reviewers": [lean(handle=r.handle, since=r.since, until=r.until) for r in one.reviewers],
        "policy": {
            "access_codes": one.access_codes,
            "publish_unvetted": one.publish_unvetted,
            "refuse_functions": list(one.refuse_functions),
        },
    }


def report(one: Report) -> Object:
    """A report's file."""
    return lean(
        report=one.id,
        recipe=one.recipe,
        sheet_code=one.sheet_code,
        by=one.by,
        date=one.date,
        car=_car(one.car),
        found=dict(one.found),
        left=dict(one.left),
        outcome=one.outcome,
        side_effects=one.side_effects,
        in_use=one.in_use,
        note=one.note,
    )


def _car(one: ReportedCar) -> Object:
    modules = dict.fromkeys((*one.software, *one.parts))
    return lean(
        line=one.line,
        model=one.model,
        phase=one.phase,
        market=one.market,
        built=one.built,
        equipment=list(one.equipment),
        without=list(one.without),
        modules={m: lean(software=one.software.get(m), part=one.parts.get(m)) for m in modules},
    )


def signature(one: Signature) -> Object:
    """A signature's file."""
    return lean(recipe=one.recipe, by=one.by, sheet_code=one.sheet_code, date=one.on, note=one.note)


def past_code(one: PastCode) -> Object:
    """An entry of the file of past codes."""
    return lean(
        sheet_code=one.sheet_code, date=one.on, work=dict(one.work), fits=dict(one.fits), what=one.what
    )
