"""Reports, signatures and past codes: what people say of a recipe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from ..car.origin import NOWHERE, Origin

Outcome = Literal["worked", "partly", "no-effect", "refused", "put-back", "could-not-put-back"]


@dataclass(frozen=True, slots=True)
class ReportedCar:
    """What a report says of its car; ``software`` and ``parts`` by module."""

    line: str
    model: str
    phase: str
    market: str | None = None
    built: str | None = None
    equipment: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    software: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Report:
    """One member's account of trying a recipe on one car; ``found`` and ``left`` by record path."""

    id: str
    recipe: str
    sheet_code: str
    by: str
    date: str
    car: ReportedCar
    outcome: Outcome
    found: Mapping[str, str] = field(default_factory=dict)
    left: Mapping[str, str] = field(default_factory=dict)
    side_effects: str = ""
    in_use: str | None = None
    note: str = ""
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Signature:
    """One reviewer vouches for one sheet code of a recipe."""

    recipe: str
    by: str
    sheet_code: str
    on: str
    note: str = ""
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class PastCode:
    """A sheet code a recipe had, with the work codes it stood for, by record/layout.

    ``fits`` are that day's codes of conditions: by record/layout, when a car had it; by record, when the
    recipe changed it. ``what`` is new since the code before it.
    """

    sheet_code: str
    on: str
    work: Mapping[str, str]
    what: str = ""
    fits: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reviewer:
    """A member whose signature counts from ``since`` to ``until`` (ISO dates; None: still)."""

    handle: str
    since: str
    until: str | None = None


@dataclass(frozen=True, slots=True)
class Vetting:
    """What the club demands before it vouches for a variant."""

    signatures: int
    reports: int
    most_bad: int


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes the club's members take for the parts every job shares."""

    faults: int
    module: int
    record: int
    check: int


@dataclass(frozen=True, slots=True)
class Club:
    """The club, its reviewers, thresholds and policy."""

    id: str
    name: str
    about: str
    contact: str
    reviewers: tuple[Reviewer, ...]
    vetting: Vetting
    access_codes: Literal["publish", "ask"]
    publish_unvetted: bool
    refuse_functions: tuple[str, ...]
    times: Times
    long_key_on: int
    site: str | None = None
    language: str = "en"  # in which the book is written (BCP 47)
    origin: Origin = field(default=NOWHERE, compare=False)
