"""What members reported: counts for each variant, worded for what they are, and every report."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.words import month_words
from ...trust.evidence import BAD, Count, Weighed
from ...work.recipes import Recipe
from .. import links, prose
from ..figures.intervals import interval
from ..links import Link
from ..words import count_words, duration_words, list_words, sentence
from .desk import Desk

_OUTCOME = {
    "worked": "Worked",
    "partly": "Worked partly",
    "no-effect": "Had no effect",
    "refused": "The module refused",
    "put-back": "Was put back",
    "could-not-put-back": "Could not be put back",
}
_WEIGHT = {
    "counts": "",
    "superseded": "reported again later",
    "earlier": "did another work: earlier sheet",
    "unknown code": "sheet code not known",
    "mistyped": "sheet code mistyped",
    "other car": "does nothing on this car",
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
        rows.append(_tally("All together, which says nothing of any one variant", evidence.count()))
    nobody = f"Nobody has reported on {list_words(silent)}. That is no sign of either success or failure."
    return Tallies(
        tuple(rows),
        nobody if silent else "",
        "Members who report are no fair sample of those who tried." if evidence.weighed else "",
    )


def _tally(of: str, count: Count) -> Tally:
    low, high = count.interval
    longest = count.longest_in_use
    more = [f"longest in use {duration_words(longest)}"] if longest else []
    more += [count_words(count.bad, "report") + " of failure"] if count.bad else []
    words = sentence("; ".join((count.words, *more)))
    return Tally(of, words, interval(low, count.worked / count.total, high))


def _layouts(desk: Desk, recipe: Recipe) -> dict[str, str]:
    """The layouts of records that have several within reach, by the key of their work code."""
    reached = [(path, layout) for path, layout in desk.book.reached(recipe.id) if layout is not None]
    ids: dict[str, dict[str, str]] = {}
    for path, layout in reached:
        record = desk.book.record(path)
        name = record.name if record else path.record
        of = f"{path.module}/{path.record}"
        ids.setdefault(of, {})[f"{of}/{layout.id}"] = f"layout {layout.id} of {name}"
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
        outcome=_OUTCOME[outcome],
        car=_car(desk, one),
        layouts=list_words([name for key, name in layouts.items() if key in one.sure]),
        earlier=_WEIGHT[one.weight],
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
        parts.append(f"built {month_words(car.built)}")
    if car.equipment:
        parts.append(f"with {list_words([names.equipment.get(item, item) for item in car.equipment])}")
    if car.without:
        parts.append(f"without {list_words([names.equipment.get(item, item) for item in car.without], 'or')}")
    parts += [f"{names.modules.get(m, m)} software {version}" for m, version in car.software.items()]
    parts += [f"{names.modules.get(m, m)} part {number}" for m, number in car.parts.items()]
    return ", ".join(parts)
