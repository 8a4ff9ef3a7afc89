"""A vehicle line's page: which recipe fits which variant, how to tell by looking, what is fitted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup

from ...car.phrases import month_words
from ...car.values import number
from ...car.vehicles import Equipment, Months, VehicleLine
from ...car.words import say
from ...speech import N_, gettext
from ...work.recipes import Recipe
from .. import links, prose
from ..links import Link
from ..words import list_words, sentence
from .common import Cell, CellKind, Fact, Matrix, Ref, Row
from .desk import Desk
from .status import label

CELLS = 600  # of a matrix on one page

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
    """What the page says; ``parts`` of a long matrix, each by the title it begins with."""

    title: str
    about: Markup
    matrix: Matrix
    parts: tuple[Ref, ...]
    look: tuple[LookTable, ...]
    modules: tuple[FittedRow, ...]
    power: tuple[Fact, ...]
    names: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class VehiclePart:
    """A further part of a line's matrix; ``parts`` as of ``VehiclePage``, ``line`` leads to that page."""

    title: str
    line: Ref
    matrix: Matrix
    parts: tuple[Ref, ...]


class Vehicles:
    """The pages of vehicle lines of one build; a long matrix is cut into parts, in the order of titles."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    @cached_property
    def _recipes(self) -> dict[str, list[Recipe]]:
        """For each line, what fits or may fit some of its variants, by title."""
        found: dict[str, list[Recipe]] = {line: [] for line in self._desk.book.lines}
        for recipe in sorted(
            self._desk.book.recipes.values(), key=lambda one: (one.title.casefold(), one.id)
        ):
            for line in self._desk.lines(recipe.id) if recipe.status != "withdrawn" else ():
                found[line].append(recipe)
        return found

    def _starts(self, line: VehicleLine) -> range:
        """Where in the line's recipes its parts begin."""
        rows = max(1, CELLS // max(1, len(line.variants())))
        return range(0, max(1, len(self._recipes[line.id])), rows)

    def parts(self, line: VehicleLine) -> int:
        """How many parts the line's matrix has; the first stands on its page."""
        return len(self._starts(line))

    def title(self, line: VehicleLine, part: int) -> str:
        """The title of a further part, counted from 1."""
        return gettext("{title}, part {n}", title=_caption(line), n=part)

    def page(self, line: VehicleLine, link: Link) -> VehiclePage:
        """The line's page."""
        return VehiclePage(
            title=line.name,
            about=prose.render(line.about, lambda recipe: link(links.recipe(recipe))),
            matrix=self._matrix(line, 1, link),
            parts=self._refs(line, 1, link),
            look=tuple(_look(line)),
            modules=tuple(_fitted(self._desk, line, link)),
            power=_power(line),
            names=tuple(_names_in_files(line)),
        )

    def part(self, line: VehicleLine, part: int, link: Link) -> VehiclePart:
        """A further part of its matrix. KeyError where there is none."""
        if not 1 < part <= self.parts(line):
            raise KeyError(part)
        return VehiclePart(
            self.title(line, part),
            Ref(line.name, link(links.vehicle(line.id))),
            self._matrix(line, part, link),
            self._refs(line, part, link),
        )

    def _refs(self, line: VehicleLine, here: int, link: Link) -> tuple[Ref, ...]:
        """The parts by the titles they begin with, the present one without address; none of a short one."""
        starts = self._starts(line)
        firsts = [self._recipes[line.id][start].title for start in starts] if len(starts) > 1 else []
        return tuple(
            Ref(
                gettext("{n}, from “{title}”", n=n, title=title),
                "" if n == here else link(links.vehicle(line.id, n)),
            )
            for n, title in enumerate(firsts, 1)
        )

    def _matrix(self, line: VehicleLine, part: int, link: Link) -> Matrix:
        starts = self._starts(line)
        start = starts[part - 1]
        return _matrix(self._desk, line, self._recipes[line.id][start : start + starts.step], link)


def _caption(line: VehicleLine) -> str:
    return gettext("Recipes on the variants of the {line}", line=line.name)


def _matrix(desk: Desk, line: VehicleLine, recipes: Sequence[Recipe], link: Link) -> Matrix:
    variants = line.variants()
    models = {model.id: model.name for model in line.models}
    phases = {phase.id: phase.name for phase in line.phases}
    rows = []
    for recipe in recipes:
        cells = desk.cells(recipe.id)
        kinds: list[CellKind] = [cells[line.id, model, phase].kind for model, phase in variants]
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
        _caption(line),
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


def _names_in_files(line: VehicleLine) -> Iterator[Fact]:
    yield Fact(gettext("Vehicle line"), f"{line.name}: {line.id}")
    yield Fact(gettext("Models"), tuple(f"{one.name}: {one.id}" for one in line.models))
    yield Fact(gettext("Phases"), tuple(f'{one.name}: "{one.id}"' for one in line.phases))
    if line.markets:
        yield Fact(gettext("Markets"), tuple(f"{one.name}: {one.id}" for one in line.markets))
    if line.equipment:
        named = tuple(f"{sentence(one.name).rstrip('.')}: {one.id}" for one in line.equipment)
        yield Fact(gettext("Equipment"), named)


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
        where = sentence(module.where)
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
