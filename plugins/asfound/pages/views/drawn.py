"""What the drawings on a recipe's page show, in plain data and words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from ...car.bits import combine
from ...speech import N_, gettext
from ...trust import risk
from ...work.compiled import Edit
from ...work.operations import Operation
from ...work.recipes import Hazard
from ..figures.neighbours import Neighbour, Tie, neighbourhood
from ..figures.riskmatrix import Scales, risk_matrix
from ..figures.strips import Contents
from ..figures.timeline import Bar, BarKind, Lane, swatch, timeline
from ..words import capital, count_words, list_words, minutes_words
from .desk import Desk


def _scales() -> Scales:
    return Scales(
        severities=[capital(gettext(name)) for name in risk.SEVERITIES],
        likelihoods=[capital(gettext(name)) for name in risk.LIKELIHOODS],
        levels=[[gettext(level) for level in risk.MATRIX[likelihood]] for likelihood in risk.LIKELIHOODS],
        ranks=[gettext(level) for level in risk.LEVELS],
    )


_BAR: Mapping[str, BarKind] = {"write": "write", "load-file": "write", "restart": "restart"}
_SAID: Mapping[BarKind, str] = {"open": N_("at work"), "write": N_("written"), "restart": N_("restarted")}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing and what its patterns mean; ``figure`` is empty where it would tell nothing."""

    figure: Markup
    key: tuple[tuple[Markup, str], ...] = ()


def contents(edit: Edit) -> Contents:
    """What an edit makes of its record, byte by byte."""
    found, known = bytes(edit.length), bytes(edit.length)
    for one in edit.fields:
        if one.before_raw is not None:
            found = one.place.scatter(found, one.before_raw)
            known = combine((known, one.place.mask(edit.length)), edit.length)
    return Contents(found, known, edit.bits, edit.mask)


def risks(hazards: Sequence[Hazard]) -> Markup:
    """The hazards, numbered from 1 in this order, in the risk matrix."""
    held: dict[tuple[int, int], list[int]] = {}
    said = []
    for number, hazard in enumerate(hazards, 1):
        severity = risk.severity(hazard)
        spot = risk.LIKELIHOODS.index(hazard.likelihood), risk.SEVERITIES.index(severity)
        held.setdefault(spot, []).append(number)
        said.append(
            gettext(
                "hazard {number} {severity} and {likelihood}, {level}",
                number=number,
                severity=gettext(severity),
                likelihood=gettext(hazard.likelihood),
                level=gettext(risk.risk(hazard)),
            )
        )
    return risk_matrix(
        _scales(), held, gettext("The hazards in the risk matrix: {hazards}.", hazards="; ".join(said))
    )


def course(desk: Desk, operations: Iterable[Operation]) -> Drawing:
    """When the key is on, what is done at which module, and the rest, on a scale of minutes."""
    key_on: list[Bar] = []
    rest: list[Bar] = []
    units: dict[str, list[Bar]] = {}
    now = 0
    for one in operations:
        start, now = now, now + one.minutes
        if not one.minutes:
            continue
        if one.key_on:
            _lengthen(key_on, "on", start, now)
        if one.module and one.kind not in ("identify", "note", "note-version"):
            bars = units.setdefault(desk.unit(one.module, one.place), [])
            _lengthen(bars, _BAR.get(one.kind, "open"), start, now)
        else:
            _lengthen(rest, "work", start, now)
    if not units:
        return Drawing(Markup(""))
    lanes = [
        Lane(gettext("Key on, engine at rest"), tuple(key_on)),
        *(Lane(name, tuple(bars)) for name, bars in units.items()),
        Lane(gettext("Looking, checking, steps by hand"), tuple(rest)),
    ]
    lanes = [lane for lane in lanes if lane.bars]
    said = "; ".join(f"{lane.name}: {list_words([_times(bar) for bar in lane.bars])}" for lane in lanes)
    drawn = timeline(
        lanes, now, gettext("The job on a scale of {time}. {lanes}.", time=minutes_words(now), lanes=said)
    )
    used = {bar.kind for lane in lanes for bar in lane.bars}
    words = {"open": gettext("open"), "write": gettext("writing"), "restart": gettext("restart")}
    return Drawing(drawn, tuple((swatch(kind), words[kind]) for kind in _SAID if kind in used))


def _lengthen(bars: list[Bar], kind: BarKind, start: int, end: int) -> None:
    """Adds a bar, or makes the last one longer where it goes on."""
    if bars and (bars[-1].kind, bars[-1].end) == (kind, start):
        bars[-1] = Bar(kind, bars[-1].start, end)
    else:
        bars.append(Bar(kind, start, end))


def _times(bar: Bar) -> str:
    when = gettext("from minute {start} to {end}", start=bar.start, end=bar.end)
    said = _SAID.get(bar.kind)
    return f"{gettext(said)} {when}" if said else when


@dataclass(frozen=True, slots=True)
class Tied:
    """Another recipe as ``related`` found it: title, tie, its words, shared records by module and record."""

    title: str
    tie: Tie
    says: str
    records: tuple[tuple[str, str], ...]  # module's name, record's name


def _in(records: Sequence[str]) -> str:
    return gettext(", in {records}", records=list_words(records)) if records else ""


def around(found: Iterable[Tied]) -> Markup:
    """The recipes tied to this one; a recipe tied twice is drawn with its first, strongest tie."""
    merged: dict[str, Tied] = {}
    for one in found:
        known = merged.get(one.title)
        merged[one.title] = (
            one
            if known is None
            else Tied(
                known.title, known.tie, known.says, tuple(dict.fromkeys((*known.records, *one.records)))
            )
        )
    modules: dict[str, set[str]] = {}
    for one in merged.values():
        for module, record in one.records:
            modules.setdefault(record, set()).add(module)

    def name(module: str, record: str) -> str:
        return record if len(modules[record]) == 1 else f"{record}, {module}"

    neighbours = [
        Neighbour(one.title, one.tie, one.says, tuple(dict.fromkeys(name(*of) for of in one.records)))
        for one in merged.values()
    ]
    said = "; ".join(f"{one.title}: {one.says}{_in(one.records)}" for one in neighbours)
    count = count_words(len(neighbours), "recipe", "recipes")
    return neighbourhood(
        gettext("This recipe"),
        neighbours,
        gettext("This recipe and {recipes} tied to it. {ties}.", recipes=count, ties=said),
    )
