"""Vehicle lines: a family of cars, what it is made in and what may be fitted."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from .conditions import Condition
from .origin import NOWHERE, Origin
from .vin import VinPattern

Months = tuple[str | None, str | None]  # first and last ISO month, both included; None: open


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of production between two facelifts."""

    id: str
    name: str
    built: Months
    look: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Model:
    """A body or trim; ``phases`` empty when made in all."""

    id: str
    name: str
    look: str
    phases: tuple[str, ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Market:
    """Where cars were sold with differences that matter."""

    id: str
    name: str
    look: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Equipment:
    """An item a car may have: only on some models or phases, always there on some variants."""

    id: str
    name: str
    look: str
    models: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    standard: tuple[tuple[str | None, str | None], ...] = ()  # (model, phase), None: whichever
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class FittedPlace:
    """One of several places of a module, such as the left step."""

    id: str
    name: str
    address: str | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """A module that cars of the line have (those that satisfy ``fits``; None: all)."""

    module: str
    fits: Condition | None = None
    places: tuple[FittedPlace, ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Power:
    """What the car draws with the key on (A) and what its battery can spare (Ah), as the club measured."""

    key_on_amps: Fraction
    spare_amp_hours: Fraction
    measured: str


@dataclass(frozen=True, slots=True)
class VehicleLine:
    """A family of cars."""

    id: str
    name: str
    about: str
    phases: tuple[Phase, ...]
    models: tuple[Model, ...]
    equipment: tuple[Equipment, ...]
    fitted: tuple[Fitted, ...]
    markets: tuple[Market, ...] = ()
    power: Power | None = None
    vin: VinPattern | None = None
    origin: Origin = field(default=NOWHERE, compare=False)

    def variants(self) -> tuple[tuple[str, str], ...]:
        """Every (model, phase) that was made, models outermost, in the file's order."""
        return tuple(
            (m.id, p.id) for m in self.models for p in self.phases if not m.phases or p.id in m.phases
        )
