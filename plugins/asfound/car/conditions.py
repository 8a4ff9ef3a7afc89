"""Conditions: true, false or unknown tests on a car (S1000D "applicability", in a form of our own)."""

from __future__ import annotations

from dataclasses import dataclass, field

from .origin import NOWHERE, Origin


@dataclass(frozen=True, slots=True)
class All:
    """True when every one is."""

    of: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Any:
    """True when at least one is."""

    of: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """True when the condition is false."""

    of: Condition


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A line and, where given, one of these models, phases, markets, and built within these months."""

    line: str
    models: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    built: tuple[str | None, str | None] = (None, None)  # ISO months, both ends included
    markets: tuple[str, ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Equipped:
    """The car has this item of equipment."""

    item: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Software:
    """The module's software version satisfies the range, such as ``>=0210,<0405`` (see ``versions``)."""

    module: str
    range: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class PartNumber:
    """The module bears one of these part numbers."""

    module: str
    numbers: tuple[str, ...]
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Holds:
    """A byte of a record, under the mask, has this value."""

    record: str  # module/record
    byte: int
    value: int
    mask: int = 0xFF
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class SettingIs:
    """Another setting of the car has one of these values, in words."""

    setting: str  # module/record/setting
    values: tuple[str, ...]
    origin: Origin = field(default=NOWHERE, compare=False)


Leaf = Vehicle | Equipped | Software | PartNumber | Holds | SettingIs
Condition = All | Any | Not | Leaf

TRUE = All(())
FALSE = Any(())


def leaves(condition: Condition) -> tuple[Leaf, ...]:
    """Every leaf, in order of writing."""
    match condition:
        case All(of) | Any(of):
            return tuple(leaf for part in of for leaf in leaves(part))
        case Not(of):
            return leaves(of)
        case _:
            return (condition,)
