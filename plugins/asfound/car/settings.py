"""Settings: one named thing a record holds, as a choice, a number or a text."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from .origin import NOWHERE, Origin


@dataclass(frozen=True, slots=True)
class Choice:
    """One value a choice setting can have; ``raw`` is None in a record of which only names are known.

    ``shown``: what it is called in the language of the page, where that is another; in files, codes and logs
    ``means`` stands for it all the same.
    """

    means: str
    raw: int | None
    shown: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Choices:
    """A setting that is one of several named values."""

    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Number:
    """A scaled number: value = stored × factor + offset, in ``unit``; exact."""

    factor: Fraction
    offset: Fraction
    unit: str
    min: Fraction
    max: Fraction
    signed: bool
    special: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    """ASCII characters (ISO/IEC 646), one a byte, filled up to ``length`` bytes."""

    length: int
    pad: Literal["space", "zero"]


Kind = Choices | Number | Text


@dataclass(frozen=True, slots=True)
class Setting:
    """One named thing a record holds."""

    id: str
    name: str
    kind: Kind
    functions: tuple[str, ...]
    known_from: Literal["maker", "club", "guess"]
    about: str = ""
    search_words: tuple[str, ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)
