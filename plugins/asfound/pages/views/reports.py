"""What members reported: counts for each variant, worded for what they are, and every report."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.words import month_words
from ...trust.evidence import BAD, Weighed
from ...work.recipes import Recipe
from .. import links, prose
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
class ReportRow:
    """One report; ``earlier`` says why it does not count, empty when it does."""

    id: str
    kind: str  # good | part | bad
    outcome: str
    car: str
    earlier: str
    side_effects: tuple[Markup, ...]
    note: tuple[Markup, ...]
    by: str
    date: str
    in_use: str


def tallies(desk: Desk, recipe: Recipe) -> tuple[str, ...]:
    """A line for each variant with reports that count, then one for those without any."""
    evidence = desk.book.evidence(recipe.id)
    lines, silent = [], []
    for key, answer in desk.cells(recipe.id).items():
        if answer.kind == "no":
            continue
        count = evidence.count(key)
        name = desk.variant(key)
        if not count.total:
            silent.append(name)
            continue
        longest = count.longest_in_use
        in_use = f"; longest in use {duration_words(longest)}" if longest else ""
        bad = count_words(count.bad, "report") + " of failure" if count.bad else ""
        lines.append(sentence(f"{name}: {count.words}{in_use}{'; ' + bad if bad else ''}"))
    if silent:
        lines.append(
            f"Nobody has reported on {list_words(silent)}. That is no sign of either success or failure."
        )
    if evidence.weighed:
        lines.append("Members who report are no fair sample of those who tried.")
    return tuple(lines)


def report_rows(desk: Desk, recipe: Recipe, link: Link) -> tuple[ReportRow, ...]:
    """Every report, those that count first, bad outcomes before good ones, then the latest first."""
    weighed = sorted(
        desk.book.evidence(recipe.id).weighed,
        key=lambda one: (one.weight != "counts", one.report.outcome not in BAD),
    )
    return tuple(_row(desk, one, link) for one in weighed)


def _row(desk: Desk, one: Weighed, link: Link) -> ReportRow:
    report = one.report

    def fragment(text: str) -> tuple[Markup, ...]:
        return (prose.render(text, lambda recipe: link(links.recipe(recipe))),) if text else ()

    outcome = report.outcome
    return ReportRow(
        id=f"report-{report.id}",
        kind="good" if outcome == "worked" else "bad" if outcome in BAD else "part",
        outcome=_OUTCOME[outcome],
        car=_car(desk, one),
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
