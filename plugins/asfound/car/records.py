"""Control modules, the records they keep, and the layouts of those records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from .bits import Place
from .checksums import Checksum
from .conditions import Condition
from .origin import NOWHERE, Origin
from .settings import Setting


@dataclass(frozen=True, slots=True)
class Layout:
    """Where in a record each setting lies, for the cars that satisfy ``fits`` (None: all cars)."""

    id: str
    fits: Condition | None
    length: int
    places: Mapping[str, Place]
    checksum: Checksum | None = None
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class ShownAsNumber:
    """The tool shows the record as one decimal number of ``size`` bytes."""

    size: int
    order: Literal["big", "little"]


@dataclass(frozen=True, slots=True)
class Record:
    """A byte string a module keeps under one identifier, read and written whole (ISO 14229-1 data record)."""

    id: str
    name: str
    settings: tuple[Setting, ...]
    layouts: tuple[Layout, ...] = ()
    identifier: str | int | None = None
    shown_as: ShownAsNumber | None = None  # None: bytes, or names where only names are known
    names_only: bool = False
    access_code: str | None = None  # None: no code needed; "ask the club"; or the code
    takes_effect: Literal["at-once", "after-restart"] = "after-restart"
    origin: Origin = field(default=NOWHERE, compare=False)

    def setting(self, setting_id: str) -> Setting | None:
        """The setting of that name, if the record has it."""
        return next((s for s in self.settings if s.id == setting_id), None)

    def layout(self, layout_id: str) -> Layout | None:
        """The layout of that name, if the record has it."""
        return next((x for x in self.layouts if x.id == layout_id), None)


@dataclass(frozen=True, slots=True)
class Module:
    """A networked controller in the car."""

    id: str
    name: str
    duty: str
    restart_how: str
    restart_minutes: int
    records: tuple[Record, ...]
    address: str | None = None
    where: str = ""
    origin: Origin = field(default=NOWHERE, compare=False)

    def record(self, record_id: str) -> Record | None:
        """The record of that name, if the module keeps it."""
        return next((r for r in self.records if r.id == record_id), None)


@dataclass(frozen=True, slots=True, order=True)
class RecordPath:
    """``module/record``, or ``module@place/record`` for one of several places."""

    module: str
    record: str
    place: str | None = None

    def __str__(self) -> str:
        return f"{self.module}@{self.place}/{self.record}" if self.place else f"{self.module}/{self.record}"

    @property
    def bare(self) -> RecordPath:
        """The record whatever the place: its layouts and codes are the same in all."""
        return self if self.place is None else RecordPath(self.module, self.record)

    @classmethod
    def parse(cls, text: str) -> RecordPath:
        """From text the schema has already accepted."""
        module, record = text.split("/")
        name, _, place = module.partition("@")
        return cls(name, record, place or None)


@dataclass(frozen=True, slots=True, order=True)
class SettingPath:
    """``module/record/setting``."""

    module: str
    record: str
    setting: str

    def __str__(self) -> str:
        return f"{self.module}/{self.record}/{self.setting}"

    @property
    def record_path(self) -> RecordPath:
        """The record the setting lies in."""
        return RecordPath(self.module, self.record)

    @classmethod
    def parse(cls, text: str) -> SettingPath:
        """From text the schema has already accepted."""
        return cls(*text.split("/"))
