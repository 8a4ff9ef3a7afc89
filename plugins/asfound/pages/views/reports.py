"""What members reported: counts for each variant, worded for what they are, and every report."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.phrases import month_words
from ...speech import N_, gettext, ngettext
from ...trust.evidence import BAD, Count, Weighed
from ...work.recipes import Recipe
from .. import links, prose
from ..figures.intervals import interval
from ..links import Link
from ..words import duration_words, list_words, sentence
from .desk import Desk

_OUTCOME = {
    "worked": N_("Worked"),
    "partly": N_("Worked partly"),
    "no-effect": N_("Had no effect"),
    "refused": N_("The module refused"),
    "put-back": N_("Was put back"),
    "could-not-put-back": N_("Could not be put back"),
}
_WEIGHT = {
    "counts": "",
    "superseded": N_("reported again later"),
    "earlier": N_("followed an earlier sheet that did something else"),
    "unknown code": N_("sheet code not known"),
    "mistyped": N_("sheet code mistyped"),
    "other car": N_("does nothing on this car"),
}


@dataclass(frozen=True, slots=True)
class Tally:
    """The reports that count for one variant or layout, in words and drawn."""

    of: str
    words: str
    plot: Markup


@dataclass(frozen=True, slots=True)
class Tallies:
    """All tallies of a recipe; ``silent`` names the variants without any, ``sample`` is the reservation."""

    rows: tuple[Tally, ...]
    silent: str
    sample: str


@dataclass(frozen=True, slots=True)
class ReportRow:
    """One report; ``earlier`` says why it does not count, empty when it does.

    ``layouts`` names the layouts its car surely has, where a record has several.
    """

    id: str
    kind: str  # good | part | bad
    outcome: str
    car: str
    layouts: str
    earlier: str
    side_effects: tuple[Markup, ...]
    note: tuple[Markup, ...]
    by: str
    date: str
    in_use: str


def tallies(desk: Desk, recipe: Recipe) -> Tallies:
    """What reports that count come to: for each variant, each layout where there are several, and in all."""
    evidence = desk.book.evidence(recipe.id)
    rows, silent = [], []
    for key, answer in desk.cells(recipe.id).items():
        if answer.kind == "no":
            continue
        count = evidence.count(key)
        if count.total:
            rows.append(_tally(desk.variant(key), count))
        else:
            silent.append(desk.variant(key))
    several = len(rows) > 1
    rows += [
        _tally(sentence(name).removesuffix("."), count)
        for key, name in _layouts(desk, recipe).items()
        if (count := evidence.count(layout=key)).total
    ]
    if several:
        rows.append(_tally(gettext("All together, which says nothing of any one variant"), evidence.count()))
    nobody = gettext(
        "Nobody has reported on {variants}. That is no sign of either success or failure.",
        variants=list_words(silent),
    )
    return Tallies(
        tuple(rows),
        nobody if silent else "",
        gettext("Members who report are no fair sample of those who tried.") if evidence.weighed else "",
    )


def _tally(of: str, count: Count) -> Tally:
    low, high = count.interval
    longest = count.longest_in_use
    more = [gettext("longest in use {time}", time=duration_words(longest))] if longest else []
    more += [ngettext("{n} report of failure", "{n} reports of failure", count.bad)] if count.bad else []
    words = sentence("; ".join((count.words, *more)))
    return Tally(of, words, interval(low, count.worked / count.total, high))


def _layouts(desk: Desk, recipe: Recipe) -> dict[str, str]:
    """The layouts of records that have several within reach, by the key of their work code."""
    reached = [(path, layout) for path, layout in desk.book.reached(recipe.id) if layout is not None]
    ids: dict[str, dict[str, str]] = {}
    for path, layout in reached:
        record = desk.book.record(path)
        name = record.name if record else path.record
        of = str(path.bare)
        ids.setdefault(of, {})[f"{of}/{layout.id}"] = gettext(
            "layout {id} of {record}", id=layout.id, record=name
        )
    return {key: name for of in ids.values() if len(of) > 1 for key, name in of.items()}


def report_rows(desk: Desk, recipe: Recipe, link: Link) -> tuple[ReportRow, ...]:
    """Every report, those that count first, bad outcomes before good ones, then the latest first."""
    weighed = sorted(
        desk.book.evidence(recipe.id).weighed,
        key=lambda one: (one.weight != "counts", one.report.outcome not in BAD),
    )
    layouts = _layouts(desk, recipe)
    return tuple(_row(desk, one, layouts, link) for one in weighed)


def _row(desk: Desk, one: Weighed, layouts: dict[str, str], link: Link) -> ReportRow:
    report = one.report

    def fragment(text: str) -> tuple[Markup, ...]:
        return (prose.render(text, lambda recipe: link(links.recipe(recipe))),) if text else ()

    outcome = report.outcome
    return ReportRow(
        id=f"report-{report.id}",
        kind="good" if outcome == "worked" else "bad" if outcome in BAD else "part",
        outcome=gettext(_OUTCOME[outcome]),
        car=_car(desk, one),
        layouts=list_words([name for key, name in layouts.items() if key in one.sure]),
        earlier=gettext(weight) if (weight := _WEIGHT[one.weight]) else "",
        side_effects=fragment(report.side_effects),
        note=fragment(report.note),
        by=report.by,
        date=report.date,
        in_use=duration_words(report.in_use) if report.in_use else "",
    )


def _car(desk: Desk, one: Weighed) -> str:
    car = one.report.car
    names = desk.names
    parts = [desk.variant(one.cell)]
    if car.built:
        parts.append(gettext("built {month}", month=month_words(car.built)))
    if car.equipment:
        parts.append(
            gettext(
                "with {items}", items=list_words([names.equipment.get(item, item) for item in car.equipment])
            )
        )
    if car.without:
        parts.append(
            gettext(
                "without {items}",
                items=list_words([names.equipment.get(item, item) for item in car.without], "or"),
            )
        )
    parts += [
        gettext("{module} software {version}", module=names.modules.get(m, m), version=version)
        for m, version in car.software.items()
    ]
    parts += [
        gettext("{module} part {number}", module=names.modules.get(m, m), number=number)
        for m, number in car.parts.items()
    ]
    return ", ".join(parts)
