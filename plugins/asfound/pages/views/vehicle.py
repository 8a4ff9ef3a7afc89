"""A vehicle line's page: which recipe fits which variant, how to tell by looking, what is fitted."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.values import decimal
from ...car.vehicles import Equipment, VehicleLine
from ...car.words import built_words, say
from .. import links, prose
from ..links import Link
from ..words import list_words, sentence
from .common import Cell, CellKind, Fact, Matrix, Ref, Row
from .desk import Desk
from .status import LABELS

_WORDS: dict[CellKind, str] = {
    "fits": "fits",
    "if": "fits if …",
    "no": "does not fit",
    "not-made": "not made",
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
            Cell(kind, _WORDS[kind], "look" if kind == "if" else "", fit if kind == "if" else "")
            for kind in kinds
        )
        label = LABELS[desk.kind(recipe)].lower()
        rows.append(Row(Ref(recipe.title, link(links.recipe(recipe.id)), label), row))
    columns = tuple(f"{models[model]}, {phases[phase]}" for model, phase in variants)
    return Matrix(f"Recipes on the variants of the {line.name}", "Recipe", columns, tuple(rows))


def _look(line: VehicleLine) -> list[LookTable]:
    phases = {phase.id: phase.name for phase in line.phases}
    tables = [
        LookTable(
            "phases",
            "Phases",
            "Stretches of production between two facelifts",
            ("Phase", "Built", "How to tell"),
            tuple(
                (p.name, built_words(p.built).removeprefix("built ").capitalize(), p.look)
                for p in line.phases
            ),
        ),
        LookTable(
            "models",
            "Models",
            "Bodies and trims",
            ("Model", "Made in", "How to tell"),
            tuple(
                (m.name, list_words([phases.get(p, p) for p in m.phases]) or "All phases", m.look)
                for m in line.models
            ),
        ),
    ]
    if line.markets:
        rows = tuple((market.name, market.look) for market in line.markets)
        tables.append(
            LookTable("markets", "Markets", "Where cars were sold", ("Market", "How to tell"), rows)
        )
    if line.equipment:
        offered = tuple((sentence(e.name).rstrip("."), _offered(line, e), e.look) for e in line.equipment)
        tables.append(
            LookTable(
                "equipment",
                "Equipment",
                "What a car may have, and how to see that it has it",
                ("Equipment", "On which cars", "How to tell"),
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
    said = f"Could be had on: {could}." if could else "Could be had on any."
    return f"{said} Always on: {always}." if always else said


def _fitted(desk: Desk, line: VehicleLine, link: Link) -> list[FittedRow]:
    rows = []
    for fitted in line.fitted:
        module = desk.book.modules.get(fitted.module)
        if module is None:
            continue
        when = "All" if fitted.fits is None else sentence(say(fitted.fits, desk.names, line.id))
        where = module.where
        if fitted.places:
            places = list_words([place.name for place in fitted.places])
            where = f"{where} Fitted {len(fitted.places)} times: {places}.".strip()
        rows.append(FittedRow(Ref(module.name, link(links.module(module.id))), when, where))
    return rows


def _power(line: VehicleLine) -> tuple[Fact, ...]:
    if line.power is None:
        return ()
    return (
        Fact("Draws with the key on", f"{decimal(line.power.key_on_amps)} A, engine off"),
        Fact("The battery can spare", f"{decimal(line.power.spare_amp_hours)} Ah before it must be charged"),
        Fact("Measured", line.power.measured),
    )
