"""Which cars a condition gained or lost: exact over every car that was made, never by its text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import NamedTuple

from ..car.completions import TooManyFacts
from ..car.conditions import TRUE, All, Condition, Not
from ..car.fitting import answer, same
from ..car.known import Known
from ..car.vehicles import VehicleLine
from ..car.words import Names, say
from ..car.world import World
from .review import Fact, facts


class Cars(NamedTuple):
    """The cars a condition gained and lost, a line for each group of variants; both empty: the same cars."""

    gained: tuple[str, ...]
    lost: tuple[str, ...]

    @property
    def facts(self) -> tuple[Fact, ...]:
        """As facts of a change."""
        return facts(("gained", self.gained), ("lost", self.lost))

    @property
    def says(self) -> str:
        """``more cars``, ``fewer cars``, ``other cars``."""
        return "other cars" if self.gained and self.lost else "more cars" if self.gained else "fewer cars"


def compare_cars(
    before: Condition | None, after: Condition | None, world: World, names: Names
) -> Cars | None:
    """What became of the cars that satisfy a condition (None: all cars); None: the same cars."""
    old, new = TRUE if before is None else before, TRUE if after is None else after
    if old == new:
        return None
    try:
        if same(old, new, world):
            return None
        return Cars(_groups(All((new, Not(old))), world, names), _groups(All((old, Not(new))), world, names))
    except TooManyFacts:
        both = "too many facts at once to tell which cars; compare both by hand"
        return Cars((f"{both}: {say(new, names)}",), (f"{both}: {say(old, names)}",))


def _groups(condition: Condition, world: World, names: Names) -> tuple[str, ...]:
    """Variants with such cars, those together of which the same is to be said."""
    said: dict[str, list[tuple[str, str, str]]] = {}
    for line in world.values():
        for model, phase in line.variants():
            found = answer(condition, Known.of_variant(line.id, model, phase), world)
            if found.kind == "fits":
                said.setdefault("every such car", []).append((line.id, model, phase))
            elif found.residual is not None:
                said.setdefault(say(found.residual, names, line.id), []).append((line.id, model, phase))
    return tuple(f"{variants_words(cells, world, names)}: {words}" for words, cells in said.items())


def variants_words(cells: list[tuple[str, str, str]], world: Mapping[str, VehicleLine], names: Names) -> str:
    """``Weekender (Phase 1, Phase 2), Loft (Phase 2)``; with the line where there are several."""
    out = []
    for line_id in dict.fromkeys(line for line, _, _ in cells):
        here = [(m, p) for line, m, p in cells if line == line_id]
        line = world.get(line_id)
        if line is not None and len(here) > 1 and set(here) == set(line.variants()):
            out.append(f"every {names.lines.get(line_id, line_id)}")
            continue
        prefix = f"{names.lines.get(line_id, line_id)} " if len(world) > 1 else ""
        for model in dict.fromkeys(m for m, _ in here):
            phases = ", ".join(names.phases.get((line_id, p), p) for m, p in here if m == model)
            out.append(f"{prefix}{names.models.get((line_id, model), model)} ({phases})")
    return ", ".join(out)


def both_worlds(before: Mapping[str, VehicleLine], after: Mapping[str, VehicleLine]) -> World:
    """The cars made as the later side tells, and the lines that only the earlier one knows."""
    gone = {id: line for id, line in before.items() if id not in after}
    return World({**after, **gone}) if gone else World.of(after)


def both_names(before: Names, after: Names) -> Names:
    """How things are called on the later side; what only the earlier one knows, as there."""
    return Names(**{f.name: {**getattr(before, f.name), **getattr(after, f.name)} for f in fields(Names)})
