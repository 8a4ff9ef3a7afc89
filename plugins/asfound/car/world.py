"""Which kinds of vehicle were made, and what equipment each can have."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from .conditions import Vehicle
from .known import Known
from .vehicles import Months, VehicleLine


@dataclass(frozen=True, slots=True)
class Car:
    """One kind of vehicle that was made; ``month`` is a month of building, counted from year 0."""

    line: str
    model: str
    phase: str
    market: str | None
    month: int = 0


def month_number(month: str) -> int:
    """Months since year 0 of an ISO 8601 month."""
    year, _, number = month.partition("-")
    return int(year) * 12 + int(number)


def iso_month(number: int) -> str:
    """The ISO 8601 month of a month number."""
    year, month = divmod(number - 1, 12)
    return f"{year:04d}-{month + 1:02d}"


class World(Mapping[str, VehicleLine]):
    """Vehicle lines by name, with what follows from them worked out once.

    It stands wherever vehicle lines are asked for; given a plain mapping instead, answers are the same and
    nothing is remembered.
    """

    def __init__(self, lines: Mapping[str, VehicleLine]) -> None:
        self._lines = dict(lines)
        self.answers: dict[object, object] = {}
        self._made = tuple(_made(self._lines.values())) or ((Car("", "", "", None), (None, None)),)
        self._kinds: dict[object, tuple[tuple[Car, Months], ...]] = {}
        self._cars: dict[object, tuple[Car, ...]] = {}
        self._equipment: dict[tuple[str, str, str, str], bool | None] = {}

    @classmethod
    def of(cls, lines: Mapping[str, VehicleLine]) -> World:
        """``lines`` itself if it is a world already."""
        return lines if isinstance(lines, World) else cls(lines)

    def __getitem__(self, line: str) -> VehicleLine:
        return self._lines[line]

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    def kinds(self, known: Known) -> tuple[tuple[Car, Months], ...]:
        """The kinds of vehicle made, with the months of their phase, that ``known`` leaves possible."""
        sets = (known.lines, known.models, known.phases, known.markets)
        if sets not in self._kinds:
            self._kinds[sets] = tuple(
                (car, months)
                for car, months in self._made
                if all(
                    wanted is None or value in wanted
                    for wanted, value in zip(sets, (car.line, car.model, car.phase, car.market), strict=True)
                )
            )
        return self._kinds[sets]

    def equipment(self, car: Car, item: str) -> bool | None:
        """Whether such a car has the item: always (True), never (False), or it depends (None)."""
        question = (car.line, car.model, car.phase, item)
        if question not in self._equipment:
            self._equipment[question] = self._has(car, item)
        return self._equipment[question]

    def cars(self, cuts: frozenset[int], known: Known) -> tuple[Car, ...]:
        """Kinds of vehicle made that ``known`` allows, one for each stretch of months between the cuts."""
        vehicle = (known.lines, known.models, known.phases, known.markets, known.built)
        question = (cuts, vehicle, frozenset(known.equipment.items()))
        if question not in self._cars:
            self._cars[question] = tuple(self._stretches(cuts, known))
        return self._cars[question]

    def _stretches(self, cuts: frozenset[int], known: Known) -> Iterator[Car]:
        built = month_number(known.built) if known.built else None
        before_all = min(cuts | ({built} if built is not None else set()), default=1) - 1
        for car, months in self.kinds(known):
            if any(self.equipment(car, item) is (not has) for item, has in known.equipment.items()):
                continue
            last = month_number(months[1]) if months[1] else None
            first = (
                month_number(months[0])
                if months[0]
                else before_all
                if last is None
                else min(before_all, last)
            )
            if built is None:
                starts = {first} | {cut for cut in cuts if first < cut}
            else:
                starts = {built} if first <= built else set()
            for month in sorted(starts):
                if last is None or month <= last:
                    yield Car(car.line, car.model, car.phase, car.market, month)

    def _has(self, car: Car, item: str) -> bool | None:
        line = self._lines.get(car.line)
        if line is None:
            return None  # no vehicle lines at all: nothing is known of any item
        found = next((e for e in line.equipment if e.id == item), None)
        if found is None:
            return False
        if any(model in (None, car.model) and phase in (None, car.phase) for model, phase in found.standard):
            return True
        offered = (not found.models or car.model in found.models) and (
            not found.phases or car.phase in found.phases
        )
        return None if offered else False


def _made(lines: Iterable[VehicleLine]) -> Iterator[tuple[Car, Months]]:
    for line in lines:
        built = {phase.id: phase.built for phase in line.phases}
        for model, phase in line.variants():
            for market in tuple(m.id for m in line.markets) or (None,):
                yield Car(line.id, model, phase, market), built[phase]


def vehicle_keys(leaf: Vehicle, car: Car) -> tuple[bool, ...]:
    """Whether each of line, models, phases, first month, last month and markets accepts the car."""
    first, last = leaf.built
    return (
        leaf.line == car.line,
        not leaf.models or car.model in leaf.models,
        not leaf.phases or car.phase in leaf.phases,
        first is None or month_number(first) <= car.month,
        last is None or car.month <= month_number(last),
        not leaf.markets or car.market in leaf.markets,
    )


def cars(vehicles: Sequence[Vehicle], known: Known, world: World) -> tuple[Car, ...]:
    """Kinds of vehicle made that ``known`` allows, one for each stretch of months the leaves tell apart."""
    cuts = {month_number(v.built[0]) for v in vehicles if v.built[0]}
    cuts |= {month_number(v.built[1]) + 1 for v in vehicles if v.built[1]}
    return world.cars(frozenset(cuts), known)
