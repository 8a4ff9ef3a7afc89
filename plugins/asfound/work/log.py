"""The log of a car: every record as found, as written and as left, every file loaded, every later reading.

Values are kept twice: as the record's bytes, and in words for each setting changed, so that the log can still
be read when the club describes the module differently one day.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ..car.known import Known
from ..car.origin import NOWHERE, Origin
from ..car.records import RecordPath, SettingPath
from ..car.values import decode
from .compiled import Edit, NamesEdit
from .plan import Plan, PlannedRecord

Content = bytes | Mapping[str, str]
"""What a record holds: its bytes; or words by setting, where only names are known."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A setting, by its name in the record, and its value in words before and after."""

    setting: str
    before: str
    to: str


@dataclass(frozen=True, slots=True)
class Did:
    """What one recipe did to a record; ``sheet_code`` is that of the sheet followed."""

    recipe: str
    sheet_code: str
    changes: tuple[Moved, ...]


@dataclass(frozen=True, slots=True)
class Wrote:
    """A record that was written, for recipes or to put values back; ``left`` None: not read back.

    ``layout`` is None where only names are known. ``software`` and ``part`` are the module's at that time.
    """

    date: str
    record: RecordPath
    layout: str | None
    found: Content
    written: Content
    left: Content | None
    did: tuple[Did, ...]
    put_back: bool = False
    software: str | None = None
    part: str | None = None
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class LoadedFile:
    """A file that was loaded, and the versions shown before and after."""

    date: str
    module: str
    recipe: str
    sheet_code: str
    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Read:
    """A record that was only read."""

    date: str
    record: RecordPath
    layout: str | None
    found: Content
    software: str | None = None


Entry = Wrote | LoadedFile | Read


@dataclass(frozen=True, slots=True)
class Log:
    """All that was done to a car, in the order in which it was done; and what was known of the car."""

    entries: tuple[Entry, ...]
    car: Known = field(default_factory=Known)
    name: str = ""


@dataclass(frozen=True, slots=True)
class Standing:
    """A change that stands by the log: ``original`` is what was found before the first change."""

    setting: SettingPath
    place: str | None
    original: str
    to: str
    date: str
    did: Did
    wrote: Wrote


def standing(log: Log) -> tuple[Standing, ...]:
    """The changes that were made and not put back, each setting once, as it was changed last."""
    first: dict[tuple[RecordPath, str], str] = {}
    last: dict[tuple[RecordPath, str], Standing] = {}
    for wrote, did, moved in changes(log):
        key = (wrote.record, moved.setting)
        original = first.setdefault(key, moved.before)
        last.pop(key, None)
        if wrote.put_back:
            if moved.to == original:
                first.pop(key)
                continue
        path = SettingPath(wrote.record.module, wrote.record.record, moved.setting)
        last[key] = Standing(path, wrote.record.place, original, moved.to, wrote.date, did, wrote)
    return tuple(last.values())


def changes(log: Log) -> Iterator[tuple[Wrote, Did, Moved]]:
    """Every change of every writing, oldest first."""
    for entry in log.entries:
        if isinstance(entry, Wrote):
            for did in entry.did:
                for moved in did.changes:
                    yield entry, did, moved


def last_held(log: Log, record: RecordPath) -> tuple[str | None, Content] | None:
    """Layout and content of a record when it was last seen, by the log; None when it never was."""
    for entry in reversed(log.entries):
        if isinstance(entry, Wrote) and entry.record == record:
            return entry.layout, entry.left if entry.left is not None else entry.written
        if isinstance(entry, Read) and entry.record == record:
            return entry.layout, entry.found
    return None


def log_job(
    plan: Plan,
    date: str,
    found: Mapping[RecordPath, Content],
    written: Mapping[RecordPath, Content],
    left: Mapping[RecordPath, Content],
    layouts: Mapping[RecordPath, str],
    codes: Mapping[str, str],
    known: Known,
) -> tuple[Wrote, ...]:
    """The entries of a job: for each record what was found, written and left, by record path.

    ``layouts`` names the layout of each record of bytes, ``codes`` the sheet code of each recipe. Records
    that were never written are left out.
    """
    return tuple(
        _entry(plan, record, date, found, written, left, layouts.get(record.path), codes, known)
        for record in plan.records
        if record.path in written
    )


def _entry(
    plan: Plan,
    record: PlannedRecord,
    date: str,
    found: Mapping[RecordPath, Content],
    written: Mapping[RecordPath, Content],
    left: Mapping[RecordPath, Content],
    layout: str | None,
    codes: Mapping[str, str],
    known: Known,
) -> Wrote:
    path = record.path
    edit = next(e for e in record.edits if isinstance(e, NamesEdit) or e.layout == layout)
    moved = {one.setting: one for one in moves(edit, found[path])}
    did = []
    for job in plan.jobs:
        own = [c.setting.setting for r in job.form.records if r.path == path for c in r.changes]
        if own:
            changed = tuple(moved[name] for name in dict.fromkeys(own))
            did.append(Did(job.recipe.id, codes[job.recipe.id], changed))
    return Wrote(
        date,
        path,
        layout,
        found[path],
        written[path],
        left.get(path),
        tuple(did),
        software=known.software.get(path.module),
        part=known.parts.get(path.module),
    )


def moves(edit: Edit | NamesEdit, found: Content) -> tuple[Moved, ...]:
    """The settings an edit changes, with their values in words as found and as wished."""
    if isinstance(edit, NamesEdit):
        assert not isinstance(found, bytes)
        return tuple(Moved(f.setting.setting, found[f.setting.setting], f.to_words) for f in edit.fields)
    assert isinstance(found, bytes)
    return tuple(
        Moved(
            f.setting.setting,
            decode(f.definition, f.place.gather(found), f.place.width).words,
            f.to_words,
        )
        for f in edit.fields
    )
