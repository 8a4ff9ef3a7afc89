"""Jobs: recipes to be done together, and the records they write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from ..car.origin import NOWHERE, Origin
from ..car.records import Layout, Record, RecordPath, SettingPath
from ..car.settings import Setting
from ..car.values import ValueProblem, accept
from .compiled import wanted
from .forms import Form, RecordForm
from .operations import UnitKey
from .recipes import Change, Recipe


class Times(Protocol):
    """Minutes the club's members take for the parts every job shares."""

    @property
    def faults(self) -> int:
        """To read faults, once before and once after."""

    @property
    def module(self) -> int:
        """To choose, open, identify and unlock one module."""

    @property
    def record(self) -> int:
        """To note, write and read back a record."""

    @property
    def check(self) -> int:
        """To check once that it worked."""


@dataclass(frozen=True, slots=True)
class Job:
    """One recipe in one of its forms, with what the reader chose."""

    recipe: Recipe
    form: Form
    choose: Mapping[SettingPath, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Target:
    """A record to write: its layouts, and the changes with the job each comes from."""

    path: RecordPath
    record: Record
    layouts: tuple[Layout, ...]
    changes: tuple[tuple[Job, Change], ...]

    @property
    def unit(self) -> UnitKey:
        """The control module, and which of its places."""
        return (self.path.module, self.path.place)

    @property
    def origin(self) -> Origin:
        """Where the first change was written."""
        return self.changes[0][1].origin if self.changes else NOWHERE

    def settings(self) -> list[tuple[Job, Change, Setting]]:
        """Every change with its job and its setting, as far as the record has it."""
        found = ((job, c, self.record.setting(c.setting.setting)) for job, c in self.changes)
        return [(job, c, s) for job, c, s in found if s is not None]

    def wishes(self) -> list[tuple[Setting, str]]:
        """Every setting and what it becomes, in words: the nearest to what is wished that it can be."""
        return [(s, _nearest(s, wanted(c, job.choose))) for job, c, s in self.settings()]


def _nearest(setting: Setting, words: str) -> str:
    try:
        return accept(setting, words)
    except ValueProblem:  # reported where it is written
        return words


def targets_of(
    jobs: Sequence[Job], visits: Sequence[Sequence[RecordPath]] | None = None
) -> tuple[Target, ...]:
    """The records of all jobs, each once: visit by visit, or module by module as they first change."""
    merged: dict[RecordPath, list[tuple[Job, RecordForm]]] = {}
    for job in jobs:
        for one in job.form.records:
            merged.setdefault(one.path, []).append((job, one))
    units = list(dict.fromkeys((p.module, p.place) for p in merged))
    in_turn = (
        sorted(merged, key=lambda path: units.index((path.module, path.place)))
        if visits is None
        else [path for visit in visits for path in visit]
    )
    return tuple(
        Target(
            path,
            found[0][1].record,
            tuple(
                x for x in found[0][1].layouts if all(any(x.id == y.id for y in f.layouts) for _, f in found)
            ),
            tuple((job, c) for job, f in found for c in f.changes),
        )
        for path in in_turn
        for found in (merged[path],)
    )
