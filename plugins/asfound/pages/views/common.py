"""Parts that several kinds of page share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

StatusKind = Literal["vetted", "partly", "not-vetted", "draft", "own-notes", "withdrawn"]
CellKind = Literal["fits", "if", "no", "not-made"]


@dataclass(frozen=True, slots=True)
class Ref:
    """A link and its words; ``note`` follows it in plain text."""

    text: str
    href: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Signal:
    """A signal word; ``alert`` when people can be hurt, so that the safety alert symbol goes with it."""

    word: str
    alert: bool
    css: str


@dataclass(frozen=True, slots=True)
class HazardRow:
    """One hazard of the table, numbered from 1; ``source`` is empty for the author's, else "by rule" or
    "from reports".
    """

    signal: Signal
    hazard: str
    consequence: str
    avoid: str
    harm: str
    likelihood: str
    level: str
    source: str
    number: int


@dataclass(frozen=True, slots=True)
class Status:
    """How far the club stands behind a recipe: the words on the label, why, and who signed."""

    kind: StatusKind
    label: str
    says: str
    reasons: tuple[str, ...] = ()
    signed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stamp:
    """A status in one or a few words, beside a recipe's name."""

    kind: StatusKind
    label: str


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Why a recipe is no longer to be done, and what those do who have done it."""

    on: str
    because: Markup
    if_done: str
    instead: Ref | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a matrix: its words, the mark of its footnote and where that stands, and a second line."""

    kind: CellKind
    words: str
    mark: str = ""
    href: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a matrix."""

    head: Ref
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Matrix:
    """Models or recipes against phases or variants."""

    caption: str
    corner: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Footnote:
    """What a marked cell depends on, and how to find out."""

    mark: str
    id: str
    words: str
    look: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fact:
    """A term and what is said of it; ``words`` may be ready HTML."""

    term: str
    words: str | Markup | tuple[str | Markup, ...]

    @property
    def lines(self) -> tuple[str | Markup, ...]:
        """One or several lines."""
        return self.words if isinstance(self.words, tuple) else (self.words,)
