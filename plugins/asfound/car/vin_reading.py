"""What a VIN says of a car, as far as the vehicle lines say how to read it; warnings, never refusals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from .fitting import possible
from .known import Known
from .vehicles import Months, VehicleLine
from .vin import VinPattern, VinSays, check_digit, faults, model_years, normal, year_months
from .world import World


@dataclass(frozen=True, slots=True)
class VinReading:
    """What was read. ``models``, ``phases`` and ``markets`` are those still possible (None: any).

    ``built`` are the first and last month, both included, None where open. ``warnings`` are whole sentences;
    with warnings the rest is what the VIN would say if it were right.
    """

    vin: str
    line: str | None = None
    models: frozenset[str] | None = None
    phases: frozenset[str] | None = None
    markets: frozenset[str] | None = None
    built: Months = (None, None)
    equipment: Mapping[str, bool] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def known(self) -> Known:
        """What is then known of the car: its month only where the VIN leaves just one."""
        first, last = self.built
        return Known(
            None if self.line is None else frozenset((self.line,)),
            self.models,
            self.phases,
            self.markets,
            first if first == last else None,
            dict(self.equipment),
        )


def read_vin(typed: str, lines: Mapping[str, VehicleLine]) -> VinReading:
    """What a VIN says. Nothing is said where no line's pattern begins like it."""
    vin = normal(typed)
    warnings = list(faults(vin))
    found = _line(vin, lines.values())
    if found is None:
        if not any(line.vin for line in lines.values()):
            warnings.append("No vehicle line here says how its VINs are made.")
        else:
            warnings.append("No vehicle line here has VINs that begin like this one.")
        return VinReading(vin, warnings=tuple(warnings))
    line, pattern = found
    reader = _Reader(vin, line, pattern, warnings)
    if not (faults(vin) or not pattern.check_digit) and vin[8] != check_digit(vin):
        warnings.append(
            f"The check digit in position 9 is {vin[8]} but should be {check_digit(vin)}: perhaps mistyped."
        )
    return reader.read(World.of(lines))


def _line(vin: str, lines: Iterable[VehicleLine]) -> tuple[VehicleLine, VinPattern] | None:
    """The line with the longest beginning that fits, the first of several."""
    best: tuple[int, VehicleLine, VinPattern] | None = None
    for line in lines:
        for begin in line.vin.begins if line.vin else ():
            if line.vin and vin.startswith(begin) and (best is None or len(begin) > best[0]):
                best = (len(begin), line, line.vin)
    return best and best[1:]


class _Reader:
    """The car narrowed down, position by position."""

    def __init__(self, vin: str, line: VehicleLine, pattern: VinPattern, warnings: list[str]) -> None:
        self.vin, self.line, self.pattern, self.warnings = vin, line, pattern, warnings
        self.sets: dict[str, frozenset[str] | None] = {"models": None, "phases": None, "markets": None}
        self.first: str | None = None
        self.last: str | None = None
        self.equipment: dict[str, bool] = {}

    def read(self, world: World) -> VinReading:
        for group in self.pattern.positions:
            code = self.vin[group.first - 1 : group.last]
            if code in group.codes:
                self.say(group.codes[code], positions(group.first, group.last))
            elif len(code) == group.last - group.first + 1:
                self.warnings.append(f"{code} in {positions(group.first, group.last)} is no code known here.")
        for serials in self.pattern.serials:
            digits = self.vin[serials.first - 1 : serials.last]
            fits = all(self.vin[at - 1 : at] == code for at, code in serials.where)
            same = len(digits) == len(serials.low) and digits.isascii() and digits.isdigit()
            if fits and same and serials.low <= digits <= serials.high:
                self.say(serials.says, positions(serials.first, serials.last))
        self.year()
        self.narrow_phases()
        reading = VinReading(
            self.vin,
            self.line.id,
            self.sets["models"],
            self.sets["phases"],
            self.sets["markets"],
            (self.first, self.last),
            self.equipment,
            tuple(self.warnings),
        )
        if not possible(reading.known(), world):
            contradiction = "No such car was made: the VIN, or what is known here of VINs, is wrong."
            self.warnings.append(contradiction)
            return VinReading(self.vin, self.line.id, warnings=tuple(self.warnings))
        return reading

    def say(self, says: VinSays, where: str) -> None:
        for name, told in (("models", says.models), ("phases", says.phases), ("markets", says.markets)):
            if told:
                before = self.sets[name]
                self.sets[name] = frozenset(told) if before is None else before & frozenset(told)
        self.months(says.built, where)
        self.equipment |= dict.fromkeys(says.equipment, True) | dict.fromkeys(says.without, False)

    def months(self, built: Months, where: str) -> None:
        first = max((m for m in (self.first, built[0]) if m), default=None)
        last = min((m for m in (self.last, built[1]) if m), default=None)
        if first and last and first > last:
            self.warnings.append(f"The months told by {where} contradict the others.")
            return
        self.first, self.last = first, last

    def year(self) -> None:
        """The model year whose months meet those in which the line was made."""
        if self.pattern.model_year is None:
            return
        at, starts = self.pattern.model_year.at, self.pattern.model_year.starts
        code = self.vin[at - 1 : at]
        if not code:
            return
        months = [year_months(year, starts) for year in model_years(code)]
        made = [m for m in months if any(_meet(m, phase.built) for phase in self.line.phases)]
        if len(made) == 1:
            self.months(made[0], positions(at, at))
        elif not made:
            self.warnings.append(f"The model year {code} in position {at} is not one of this line.")

    def narrow_phases(self) -> None:
        """The phases whose months meet those of the VIN."""
        if self.first is None and self.last is None:
            return
        meeting = frozenset(p.id for p in self.line.phases if _meet((self.first, self.last), p.built))
        if len(meeting) < len(self.line.phases):
            before = self.sets["phases"]
            self.sets["phases"] = meeting if before is None else before & meeting


def _meet(one: Months, other: Months) -> bool:
    """Whether two intervals of months have one in common."""
    return not (
        (one[1] is not None and other[0] is not None and one[1] < other[0])
        or (other[1] is not None and one[0] is not None and other[1] < one[0])
    )


def positions(first: int, last: int) -> str:
    """Where characters of a VIN stand: ``position 4``, ``positions 13 to 17``."""
    return f"position {first}" if first == last else f"positions {first} to {last}"
