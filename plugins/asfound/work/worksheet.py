"""The worksheet of a job: each record as found, what it holds in words, and what to write.

Nothing to write is given before every record of the job is noted and none of them is a stop: a value that was
not noted cannot be put back, and a job half forbidden is not begun.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..car.bits import differing, hex_pairs
from ..car.conditions import TRUE
from ..car.fitting import satisfiable
from ..car.known import Known
from ..car.phrases import counted
from ..car.records import Layout, Record, RecordPath, SettingPath
from ..car.values import decode, with_unit
from ..car.vehicles import VehicleLine
from .compiled import Edit, NamesEdit
from .edits import Assessment, Stop, assess, assess_names, write, write_names
from .log import Content
from .plan import Plan, PlannedRecord
from .recipes import Alternative
from .typed import Match, matches, readings

Typed = str | Mapping[str, str]
"""A record as it was typed: text as the tool shows it, or words by setting."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a setting holds, in words with its unit; ``known`` False when that has no known meaning."""

    setting: str
    name: str
    words: str
    known: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One record. ``layout`` and ``found`` are None until it is clear what was read.

    ``told`` are all settings the layout has a place for. ``asks`` say what is unclear, ``stops`` why nothing
    may be written; whole sentences. ``write`` is None until the whole worksheet is ready; ``changed`` are the
    bits (byte, bit) in which it differs from what was found.
    """

    path: RecordPath
    record: Record
    layout: str | None = None
    found: Content | None = None
    edit: Edit | NamesEdit | None = None
    assessment: Assessment | None = None
    told: tuple[Told, ...] = ()
    asks: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    write: Content | None = None
    changed: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Worksheet:
    """The records of a job in the order of writing, and those that are not noted yet."""

    rows: tuple[Row, ...]
    missing: tuple[RecordPath, ...]

    @property
    def ready(self) -> bool:
        """Whether what to write may be shown."""
        return not self.missing and not any(row.stops or row.asks for row in self.rows)


def worksheet(
    plan: Plan, typed: Mapping[RecordPath, Typed], lines: Mapping[str, VehicleLine], known: Known
) -> Worksheet:
    """The worksheet of a plan without troubles, from what was typed for each record."""
    by_path = {record.path: record for record in plan.records}
    alternatives = tuple(a for job in plan.jobs for a in job.recipe.alternatives)
    order = [by_path[path] for visit in plan.visits for path in visit]
    rows = tuple(
        _row(one, typed[one.path], alternatives, lines, known)
        if one.path in typed
        else Row(one.path, one.record)
        for one in order
    )
    sheet = Worksheet(rows, tuple(one.path for one in order if one.path not in typed))
    return replace(sheet, rows=tuple(map(_to_write, rows))) if sheet.ready else sheet


def layouts_read(
    path: RecordPath,
    record: Record,
    layouts: Sequence[Layout],
    text: str,
    lines: Mapping[str, VehicleLine],
    known: Known,
) -> tuple[Match, ...]:
    """The ways to read a text that such a car can hold: by length, checksum and the layouts' conditions."""
    out = []
    for match in matches(record, layouts, text):
        held = {**known.records, str(path.bare): match.reading.held}
        if satisfiable(match.layout.fits or TRUE, lines, replace(known, records=held)):
            out.append(match)
    return tuple(out)


def tell(record: Record, layout: Layout, held: bytes) -> tuple[Told, ...]:
    """What every setting with a place in the layout holds."""
    out = []
    for setting in record.settings:
        place = layout.places.get(setting.id)
        if place is not None:
            meaning = decode(setting, place.gather(held), place.width)
            out.append(Told(setting.id, setting.name, with_unit(setting, meaning.words), meaning.known))
    return tuple(out)


def _row(
    one: PlannedRecord,
    typed: Typed,
    alternatives: Sequence[Alternative],
    lines: Mapping[str, VehicleLine],
    known: Known,
) -> Row:
    bare = Row(one.path, one.record)
    if one.record.names_only:
        return _names_row(bare, one, typed, alternatives)
    if not isinstance(typed, str):
        return replace(bare, asks=(f"{one.path}: write the bytes, not words.",))
    found = layouts_read(one.path, one.record, one.layouts, typed, lines, known)
    if not found:
        return replace(bare, stops=(_no_layout(one, typed),))
    if len(found) > 1:
        return replace(bare, asks=(_unclear(one.path, found),))
    match = found[0]
    edit = next(e for e in one.edits if isinstance(e, Edit) and e.layout == match.layout.id)
    held = match.reading.held
    assessment = assess(edit, held, alternatives)
    return replace(
        bare,
        layout=match.layout.id,
        found=held,
        edit=edit,
        assessment=assessment,
        told=tell(one.record, match.layout, held),
        stops=tuple(f"{one.path}: {stop}" for stop in assessment.stops),
    )


def _names_row(bare: Row, one: PlannedRecord, typed: Typed, alternatives: Sequence[Alternative]) -> Row:
    edit = next(e for e in one.edits if isinstance(e, NamesEdit))
    ids = [f.setting.setting for f in edit.fields]
    if isinstance(typed, str):
        if len(ids) > 1:
            return replace(bare, asks=(f"{one.path}: say what each of {', '.join(ids)} shows.",))
        typed = {ids[0]: typed}
    words = {SettingPath(one.path.module, one.path.record, name): text for name, text in typed.items()}
    assessment = assess_names(edit, words, alternatives)
    told = tuple(
        Told(f.setting.setting, f.definition.name, state.present, state.known)
        for f, state in zip(edit.fields, assessment.fields, strict=True)
    )
    stops = tuple(f"{one.path}: {stop}" for stop in assessment.stops)
    return replace(bare, found=dict(typed), edit=edit, assessment=assessment, told=told, stops=stops)


def _no_layout(one: PlannedRecord, typed: str) -> str:
    read = readings(one.record, typed)
    lengths = " or ".join(str(n) for n in sorted({x.length for x in one.layouts}))
    if not read:
        return f"{one.path}: this is no row of bytes. Write {lengths} pairs such as 01 4A 00."
    if all(len(r.held) not in {x.length for x in one.layouts} for r in read):
        return (
            f"{one.path}: {counted(len(read[0].held), 'byte')} instead of {lengths}. Read it again; if the"
            " number stays, no layout known here is that of the car: ask the club."
        )
    return f"{one.path}: no layout known here is that of such a car. Write nothing: ask the club."


def _unclear(path: RecordPath, found: Sequence[Match]) -> str:
    layouts = dict.fromkeys(m.layout.id for m in found)
    if len(layouts) > 1:
        return f"{path}: this can be layout {' or '.join(layouts)}. Say more of the car."
    ways = " or ".join(f"{hex_pairs(m.reading.held)} (read as {m.reading.how})" for m in found)
    return f"{path}: this can be {ways}. Write hex pairs with 0x before each."


def _to_write(row: Row) -> Row:
    if isinstance(row.edit, Edit) and isinstance(row.found, bytes):
        to = write(row.edit, row.found)
        return replace(row, write=to, changed=differing(row.found, to))
    if isinstance(row.edit, NamesEdit) and row.found is not None and not isinstance(row.found, bytes):
        words = {
            SettingPath(row.path.module, row.path.record, name): text for name, text in row.found.items()
        }
        after = {path.setting: text for path, text in write_names(row.edit, words).items()}
        return replace(row, write=after)
    raise Stop("The record is not noted.", "Note it first.")
