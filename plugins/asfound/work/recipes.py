"""Recipes: changes to settings, or a file to load, with all that belongs to doing it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from ..car.conditions import Condition
from ..car.origin import NOWHERE, Origin
from ..car.records import RecordPath, SettingPath

PowerState = Literal["key-off", "key-on", "engine-running"]
Arises = Literal["start", "voltage", "writing", "loading", "checks"]
Moment = Literal["start", "noted", "opened", "unlocked", "written", "restarted", "end"]


@dataclass(frozen=True, slots=True)
class Ask:
    """The reader chooses the value; ``suggest`` is what most choose."""

    question: str
    suggest: str


@dataclass(frozen=True, slots=True)
class Change:
    """One setting and what it becomes; ``before`` None when any value will do."""

    setting: SettingPath
    before: str | None
    to: str | Ask
    place: str | None = None
    fits: Condition | None = None
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another value worth offering for a change."""

    setting: SettingPath
    to: str
    does: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Media:
    """A file loaded into a module from a memory card; the version on the screen is its as-found."""

    module: str
    name: str
    version: str
    size: int
    sha256: str
    origin_from: Literal["maker", "club", "member", "unknown"]
    origin_how: str
    file_system: Literal["FAT32", "exFAT"]
    smallest_gb: int
    largest_gb: int | None
    menu: tuple[str, ...]
    minutes: int
    reading_where: str
    reading_before: tuple[str, ...]
    reading_after: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Hazard:
    """What can happen, with what consequence, and how to avoid it (ANSI Z535.6, ISO 3864-2).

    ``arises``: where in the job it has to be read; an author's own before starting.
    """

    hazard: str
    consequence: str
    avoid: str
    harm: Literal["none", "minor", "serious", "death"]
    certainty: Literal["will", "could"]
    likelihood: Literal["frequent", "probable", "occasional", "remote", "improbable", "eliminated"]
    loss: Literal["negligible", "marginal", "critical", "catastrophic"] | None = None
    arises: Arises = "start"
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Precheck:
    """Something to prove before anything is written."""

    precheck: str
    expect: str
    otherwise: str
    power: PowerState
    proves: str | None = None
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Step:
    """A special step of the recipe at one moment of the generated frame."""

    step: str
    at: Moment
    module: str | None = None
    power: PowerState | None = None
    minutes: int = 0
    picture: str | None = None
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Check:
    """What proves that it worked."""

    check: str
    expect: str
    power: PowerState
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Message:
    """A normal message and what it means."""

    message: str
    means: str


@dataclass(frozen=True, slots=True)
class ExpectedFault:
    """A fault code that may be stored during the job."""

    code: str
    when: str
    do: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class WorkedExample:
    """A record as found and what must be written; ``layout`` None where only names are known."""

    record: RecordPath
    layout: str | None
    found: str
    write: str
    read_on: str
    choose: tuple[tuple[SettingPath, str], ...] = ()
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Picture:
    """A declared raster picture in the recipe's folder."""

    file: str
    alt: str
    credit: str = ""
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Clash:
    """A recipe that must not be combined with this one, and why."""

    recipe: str
    because: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Why a recipe is no longer to be done, and what those do who have done it."""

    on: str
    because: str
    if_done: Literal["keep", "put-back", "do-not-drive"]
    instead: str | None = None


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """A day (ISO 8601) and what changed in the recipe."""

    on: str
    what: str


@dataclass(frozen=True, slots=True)
class Recipe:
    """Changes to settings, or a file to load, with purpose, conditions, hazards, steps, checks, way back.

    ``way_back`` is "automatic", "none", or the steps to take.
    """

    id: str
    title: str
    by: str
    purpose: str
    annoyance: str
    fits: Condition
    checks: tuple[Check, ...]
    way_back: Literal["automatic", "none"] | tuple[str, ...]
    status: Literal["draft", "offered", "withdrawn"]
    history: tuple[HistoryEntry, ...]
    changes: tuple[Change, ...] = ()
    media: Media | None = None
    alternatives: tuple[Alternative, ...] = ()
    functions: tuple[str, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    ready: tuple[str, ...] = ()
    before: tuple[Precheck, ...] = ()
    steps: tuple[Step, ...] = ()
    may_show: tuple[Message, ...] = ()
    faults_to_expect: tuple[ExpectedFault, ...] = ()
    worked_examples: tuple[WorkedExample, ...] = ()
    pictures: tuple[Picture, ...] = ()
    needs: tuple[str, ...] = ()
    clashes: tuple[Clash, ...] = ()
    replaces: tuple[str, ...] = ()
    alone: bool = False
    withdrawn: Withdrawal | None = None
    origin: Origin = field(default=NOWHERE, compare=False)
