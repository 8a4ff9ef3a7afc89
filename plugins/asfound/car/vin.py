"""Vehicle identification numbers: their structure, check digit and model-year code, and how a line uses them.

ISO 3779 has 17 characters, digits and capitals without I, O and Q: the maker (positions 1 to 3, ISO 3780),
the kind of vehicle (4 to 9) and the single vehicle (10 to 17), of which the last four are digits. Check digit
and model-year code are those of 49 CFR 565.15, which binds North America only: elsewhere position 9 and 10
mean what the maker likes. So each vehicle line says what holds for it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from .origin import NOWHERE, Origin

LENGTH = 17
LETTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"

# 49 CFR 565.15(c), Tables III and IV: letters stand for digits, positions have weights.
_VALUES = {
    **{digit: int(digit) for digit in "0123456789"},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)

# 49 CFR 565.15(d)(1), Table VII: 30 codes from 1980 on, then the same again.
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
FIRST_YEAR = 1980


@dataclass(frozen=True, slots=True)
class VinSays:
    """What a code or a serial number says of a car; what is empty or open is not said.

    ``built`` are the first and last ISO month, both included.
    """

    models: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()
    markets: tuple[str, ...] = ()
    built: tuple[str | None, str | None] = (None, None)
    equipment: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class VinCodes:
    """What the characters from position ``first`` to ``last`` (from 1, both included) mean."""

    first: int
    last: int
    codes: Mapping[str, VinSays]
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class VinSerials:
    """What serial numbers between ``low`` and ``high`` (digits, both included) mean, in these positions.

    ``codes`` are positions and characters that must be there for the range to count, such as a plant's code.
    """

    first: int
    last: int
    low: str
    high: str
    says: VinSays
    where: tuple[tuple[int, str], ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class VinModelYear:
    """Where the model-year code stands, and when a model year starts.

    ``starts`` is a month from 1 to 12; from February on it is one of the year before.
    """

    at: int
    starts: int = 1


@dataclass(frozen=True, slots=True)
class VinPattern:
    """How a vehicle line's VINs are made: how they begin, and what else is known of them."""

    begins: tuple[str, ...]
    check_digit: bool
    positions: tuple[VinCodes, ...] = ()
    model_year: VinModelYear | None = None
    serials: tuple[VinSerials, ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


def normal(typed: str) -> str:
    """What somebody typed, in capitals, without spaces and hyphens; only ASCII letters become capitals."""
    return "".join(c.upper() if c.isascii() else c for c in typed if c not in " -\t\r\n")


def faults(vin: str) -> tuple[str, ...]:
    """What is wrong with the structure of a VIN in normal form (ISO 3779), in whole sentences."""
    out = []
    if len(vin) != LENGTH:
        out.append(f"A VIN has {LENGTH} characters, this one has {len(vin)}.")
    for letter, instead in (("I", "1"), ("O", "0"), ("Q", "0 or 9")):
        if letter in vin:
            out.append(f"A VIN has no letter {letter}; perhaps it is {instead}.")
    others = [c for c in dict.fromkeys(vin) if c not in LETTERS and c not in "IOQ"]
    if others:
        out.append(f"A VIN has digits and capitals only, not {others[0]!a}.")
    if len(vin) == LENGTH and not (vin[-4:].isascii() and vin[-4:].isdigit()):
        out.append("The last four characters of a VIN are digits.")
    return tuple(out)


def weighted_sum(vin: str) -> int:
    """The sum of 49 CFR 565.15(c)(3).

    KeyError for a character that no VIN has; ValueError for another length than 17.
    """
    return sum(_VALUES[c] * weight for c, weight in zip(vin, _WEIGHTS, strict=True))


def check_digit(vin: str) -> str:
    """What position 9 must be: a digit, or X for 10. Errors as ``weighted_sum``."""
    return "0123456789X"[weighted_sum(vin) % 11]


def model_years(code: str) -> tuple[int, ...]:
    """The years a model-year code can stand for, from 1980 to 2039; () for no such code."""
    at = YEAR_CODES.find(code) if len(code) == 1 else -1
    return () if at < 0 else (FIRST_YEAR + at, FIRST_YEAR + 30 + at)


def model_year(vin: str) -> int | None:
    """The model year of a passenger car or light vehicle made for North America; None for no such code.

    49 CFR 565.15(d)(1): a digit in position 7 means 1980 to 2009, a letter 2010 to 2039.
    """
    years = model_years(vin[9:10])
    return years[not vin[6].isdigit()] if years else None


def year_months(year: int, starts: int) -> tuple[str, str]:
    """First and last ISO month of a model year; ``starts`` as in ``VinModelYear``."""
    if starts == 1:
        return f"{year:04d}-01", f"{year:04d}-12"
    return f"{year - 1:04d}-{starts:02d}", f"{year:04d}-{starts - 1:02d}"
