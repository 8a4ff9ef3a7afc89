"""A vehicle line's page: which recipe fits which variant, how to tell by looking, what is fitted."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.values import number
from ...car.vehicles import Equipment, Months, VehicleLine
from ...car.words import month_words, say
from ...speech import N_, gettext
from .. import links, prose
from ..links import Link
from ..words import list_words, sentence
from .common import Cell, CellKind, Fact, Matrix, Ref, Row
from .desk import Desk
from .status import label

_WORDS: dict[CellKind, str] = {
    "fits": N_("fits"),
    "if": N_("fits if …"),
    "no": N_("does not fit"),
    "not-made": N_("not made"),
}


@dataclass(frozen=True, slots=True)
class LookTable:
    """How to tell things apart; the first text of each row is its head."""

    id: str
    title: str
    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class FittedRow:
    """A module that cars of the line have."""

    ref: Ref
    when: str
    where: str


@dataclass(frozen=True, slots=True)
class VehiclePage:
    """What the page says."""

    title: str
    about: Markup
    matrix: Matrix
    look: tuple[LookTable, ...]
    modules: tuple[FittedRow, ...]
    power: tuple[Fact, ...]


def vehicle_page(desk: Desk, line: VehicleLine, link: Link) -> VehiclePage:
    """The line's page."""
    return VehiclePage(
        title=line.name,
        about=prose.render(line.about, lambda recipe: link(links.recipe(recipe))),
        matrix=_matrix(desk, line, link),
        look=tuple(_look(line)),
        modules=tuple(_fitted(desk, line, link)),
        power=_power(line),
    )


def _matrix(desk: Desk, line: VehicleLine, link: Link) -> Matrix:
    variants = line.variants()
    models = {model.id: model.name for model in line.models}
    phases = {phase.id: phase.name for phase in line.phases}
    rows = []
    for recipe in sorted(desk.book.recipes.values(), key=lambda recipe: (recipe.title.casefold(), recipe.id)):
        cells = desk.cells(recipe.id)
        kinds: list[CellKind] = [cells[line.id, model, phase].kind for model, phase in variants]
        if recipe.status == "withdrawn" or all(kind == "no" for kind in kinds):
            continue
        fit = link(links.recipe(recipe.id)) + "#fit"
        row = tuple(
            Cell(
                kind,
                gettext(_WORDS[kind]),
                gettext("look") if kind == "if" else "",
                fit if kind == "if" else "",
            )
            for kind in kinds
        )
        stands = label(desk.kind(recipe)).lower()
        rows.append(Row(Ref(recipe.title, link(links.recipe(recipe.id)), stands), row))
    columns = tuple(f"{models[model]}, {phases[phase]}" for model, phase in variants)
    return Matrix(
        gettext("Recipes on the variants of the {line}", line=line.name),
        gettext("Recipe"),
        columns,
        tuple(rows),
    )


def made_words(built: Months) -> str:
    """``From September 2021 to March 2023``; empty when both ends are open."""
    match built:
        case None, None:
            return ""
        case str(first), None:
            return gettext("In {month} or later", month=month_words(first))
        case None, str(last):
            return gettext("In {month} or earlier", month=month_words(last))
        case str(first), str(last) if first == last:
            return gettext("In {month}", month=month_words(first))
        case first, last:
            return gettext(
                "From {first} to {last}", first=month_words(first or ""), last=month_words(last or "")
            )


def _look(line: VehicleLine) -> list[LookTable]:
    phases = {phase.id: phase.name for phase in line.phases}
    tables = [
        LookTable(
            "phases",
            gettext("Phases"),
            gettext("Stretches of production between two facelifts"),
            (gettext("Phase"), gettext("Built"), gettext("How to tell")),
            tuple((p.name, made_words(p.built), p.look) for p in line.phases),
        ),
        LookTable(
            "models",
            gettext("Models"),
            gettext("Bodies and trims"),
            (gettext("Model"), gettext("Made in"), gettext("How to tell")),
            tuple(
                (m.name, list_words([phases.get(p, p) for p in m.phases]) or gettext("All phases"), m.look)
                for m in line.models
            ),
        ),
    ]
    if line.markets:
        rows = tuple((market.name, market.look) for market in line.markets)
        tables.append(
            LookTable(
                "markets",
                gettext("Markets"),
                gettext("Where cars were sold"),
                (gettext("Market"), gettext("How to tell")),
                rows,
            )
        )
    if line.equipment:
        offered = tuple((sentence(e.name).rstrip("."), _offered(line, e), e.look) for e in line.equipment)
        tables.append(
            LookTable(
                "equipment",
                gettext("Equipment"),
                gettext("What a car may have, and how to see that it has it"),
                (gettext("Equipment"), gettext("On which cars"), gettext("How to tell")),
                offered,
            )
        )
    return tables


def _offered(line: VehicleLine, item: Equipment) -> str:
    models = {model.id: model.name for model in line.models}
    phases = {phase.id: phase.name for phase in line.phases}
    could = ", ".join(
        part
        for part in (
            list_words([models.get(m, m) for m in item.models], "or"),
            list_words([phases.get(p, p) for p in item.phases], "or"),
        )
        if part
    )
    always = list_words(
        [
            ", ".join(part for part in (models.get(model or "", ""), phases.get(phase or "", "")) if part)
            for model, phase in item.standard
        ]
    )
    said = gettext("Could be had on: {cars}.", cars=could) if could else gettext("Could be had on any.")
    return gettext("{said} Always on: {cars}.", said=said, cars=always) if always else said


def _fitted(desk: Desk, line: VehicleLine, link: Link) -> list[FittedRow]:
    rows = []
    for fitted in line.fitted:
        module = desk.book.modules.get(fitted.module)
        if module is None:
            continue
        when = gettext("All") if fitted.fits is None else sentence(say(fitted.fits, desk.names, line.id))
        where = module.where
        if fitted.places:
            places = list_words([place.name for place in fitted.places])
            times = gettext("Fitted {n} times: {places}.", n=len(fitted.places), places=places)
            where = f"{where} {times}".strip()
        rows.append(FittedRow(Ref(module.name, link(links.module(module.id))), when, where))
    return rows


def _power(line: VehicleLine) -> tuple[Fact, ...]:
    if line.power is None:
        return ()
    return (
        Fact(
            gettext("Draws with the key on"),
            gettext("{amps} A, engine off", amps=number(line.power.key_on_amps)),
        ),
        Fact(
            gettext("The battery can spare"),
            gettext("{amp_hours} Ah before it must be charged", amp_hours=number(line.power.spare_amp_hours)),
        ),
        Fact(gettext("Measured"), line.power.measured),
    )
