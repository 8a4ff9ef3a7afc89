"""Recipes in the form of their files; see ``fileform``."""

from __future__ import annotations

from ..work.recipes import Ask, Change, Hazard, Media, Precheck, Recipe, Step, WorkedExample
from .compiled import condition
from .fileform_car import Object, lean


def recipe(one: Recipe) -> Object:
    """A recipe's file."""
    way_back = one.way_back if isinstance(one.way_back, str) else {"steps": list(one.way_back)}
    gone = one.withdrawn
    return lean(
        recipe=one.id,
        title=one.title,
        by=one.by,
        purpose=one.purpose,
        annoyance=one.annoyance,
        functions=list(one.functions),
        changes=[_change(each) for each in one.changes],
        alternatives=[{"setting": str(a.setting), "to": a.to, "does": a.does} for a in one.alternatives],
        media=_media(one.media) if one.media else None,
        fits=condition(one.fits),
        hazards=[_hazard(each) for each in one.hazards],
        ready=list(one.ready),
        before=[_precheck(each) for each in one.before],
        steps=[_step(each) for each in one.steps],
        checks=[{"check": c.check, "expect": c.expect, "power": c.power} for c in one.checks],
        may_show=[{"message": m.message, "means": m.means} for m in one.may_show],
        faults_to_expect=[{"code": f.code, "when": f.when, "do": f.do} for f in one.faults_to_expect],
        way_back=way_back,
        worked_examples=[_example(each) for each in one.worked_examples],
        pictures=[lean(file=p.file, alt=p.alt, credit=p.credit) for p in one.pictures],
        needs=list(one.needs),
        clashes=[{"recipe": c.recipe, "because": c.because} for c in one.clashes],
        replaces=list(one.replaces),
        alone=one.alone or None,
        status=one.status,
        withdrawn=gone
        and lean(date=gone.on, because=gone.because, if_done=gone.if_done, instead=gone.instead),
        history=[{"date": entry.on, "what": entry.what} for entry in one.history],
    )


def _change(one: Change) -> Object:
    to = {"ask": one.to.question, "suggest": one.to.suggest} if isinstance(one.to, Ask) else one.to
    return lean(
        setting=str(one.setting),
        place=one.place,
        from_="any" if one.before is None else one.before,
        to=to,
        for_=condition(one.fits) if one.fits is not None else None,
    )


def _media(one: Media) -> Object:
    return {
        "module": one.module,
        "name": one.name,
        "version": one.version,
        "size": one.size,
        "sha256": one.sha256,
        "origin": {"from": one.origin_from, "how": one.origin_how},
        "card": lean(file_system=one.file_system, smallest_gb=one.smallest_gb, largest_gb=one.largest_gb),
        "menu": list(one.menu),
        "minutes": one.minutes,
        "reading": {
            "where": one.reading_where,
            "before": list(one.reading_before),
            "after": one.reading_after,
        },
    }


def _hazard(one: Hazard) -> Object:
    return lean(
        hazard=one.hazard,
        consequence=one.consequence,
        avoid=one.avoid,
        harm=one.harm,
        loss=one.loss,
        certainty=one.certainty,
        likelihood=one.likelihood,
    )


def _precheck(one: Precheck) -> Object:
    return {"precheck": one.precheck, "expect": one.expect, "else": one.otherwise} | lean(
        power=one.power, proves=one.proves
    )


def _step(one: Step) -> Object:
    return lean(
        step=one.step,
        at=one.at,
        module=one.module,
        power=one.power,
        minutes=one.minutes,
        picture=one.picture,
    )


def _example(one: WorkedExample) -> Object:
    return lean(
        record=str(one.record),
        layout=one.layout,
        choose={str(path): value for path, value in one.choose},
        found=one.found,
        write=one.write,
        read_on=one.read_on,
    )
