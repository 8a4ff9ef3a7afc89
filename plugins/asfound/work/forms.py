"""The forms a job can take: which changes apply to which cars, and which layouts their records can have.

A recipe may change other settings on other cars (``for``), modules may be fitted to some cars only or in
several places, and records lie in several layouts. Every combination that some car can have is a form; forms
that do the same to the same records are one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ..car.conditions import FALSE, All, Any, Condition, Not, Vehicle
from ..car.fitting import satisfiable
from ..car.records import Layout, Module, Record, RecordPath
from ..car.vehicles import Fitted, VehicleLine
from ..car.world import World
from .recipes import Change, Recipe

Lines = Mapping[str, VehicleLine]


@dataclass(frozen=True, slots=True)
class RecordForm:
    """One record to be written (``path`` names the place of a module fitted more than once).

    ``layouts`` are those the record can have on these cars; () where only names are known. ``changes`` all
    lie in this record.
    """

    path: RecordPath
    record: Record
    layouts: tuple[Layout, ...]
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """One way the job can run, on the cars that satisfy ``condition``; no records for a file alone."""

    condition: Condition
    records: tuple[RecordForm, ...]

    @property
    def changes(self) -> tuple[Change, ...]:
        """Every change, each once, in the order of the records."""
        return tuple(dict.fromkeys(c for r in self.records for c in r.changes))


def forms(recipe: Recipe, modules: Mapping[str, Module], lines: Lines) -> tuple[Form, ...]:
    """Every form of the job, in the order of the vehicle lines; exact, by enumeration.

    Changes of unknown modules or records are passed over: that is for the rules to report. TooManyFacts when
    the conditions name more facts at once than can be weighed exactly.
    """
    lines = World.of(lines)
    merged: dict[tuple[object, ...], Form] = {}
    for line in lines.values():
        for condition, records in _in_line(recipe, modules, line, lines):
            key = tuple((r.path, r.changes) for r in records)
            known = merged.get(key)
            one = Form(condition, records)
            merged[key] = one if known is None else _union(known, one)
    return tuple(merged.values())


def reached(all_forms: Sequence[Form]) -> tuple[tuple[RecordPath, Layout | None], ...]:
    """Every record, without place, and layout some forms reach, each once; None: only names are known."""
    out: dict[tuple[str, str, str | None], tuple[RecordPath, Layout | None]] = {}
    for form in all_forms:
        for one in form.records:
            bare = one.path.bare
            for layout in one.layouts or ((None,) if one.record.names_only else ()):
                key = (bare.module, bare.record, layout.id if layout else None)
                out.setdefault(key, (bare, layout))
    return tuple(out.values())


def variants(
    all_forms: Sequence[Form], record: RecordPath, layout: str | None
) -> tuple[tuple[Change, ...], ...]:
    """The distinct sets of changes that forms make to a record in a layout (None: names), in any place."""
    return tuple(
        dict.fromkeys(
            one.changes
            for form in all_forms
            for one in form.records
            if (one.path.module, one.path.record) == (record.module, record.record)
            and record.place in (None, one.path.place)
            and (layout is None if one.record.names_only else any(x.id == layout for x in one.layouts))
        )
    )


def _in_line(
    recipe: Recipe, modules: Mapping[str, Module], line: VehicleLine, lines: Lines
) -> Iterator[tuple[Condition, tuple[RecordForm, ...]]]:
    start = _narrow((recipe.fits,), Vehicle(line.id), lines)
    if start is None:
        return
    conditions = tuple(dict.fromkeys(c.fits for c in recipe.changes if c.fits is not None))
    for holding, pieces in _truths(start, conditions, lines):
        changes = tuple(c for c in recipe.changes if c.fits is None or c.fits in holding)
        if not changes and recipe.media is None:
            continue
        touched = dict.fromkeys(c.setting.module for c in changes if c.setting.module in modules)
        if recipe.media is not None:
            touched.setdefault(recipe.media.module)
        for fitted, all_pieces in _fittings(pieces, tuple(touched), line, lines):
            condition = all_pieces[0] if len(all_pieces) == 1 else All(all_pieces)
            records = tuple(_records(changes, fitted, modules, condition, lines))
            if records or recipe.media is not None:
                yield condition, records


def _narrow(pieces: tuple[Condition, ...], more: Condition, lines: Lines) -> tuple[Condition, ...] | None:
    """The pieces and one more, which is left out when it follows from them; None when they exclude it."""
    if not satisfiable(All((*pieces, more)), lines):
        return None
    return (*pieces, more) if satisfiable(All((*pieces, Not(more))), lines) else pieces


def _truths(
    pieces: tuple[Condition, ...], conditions: tuple[Condition, ...], lines: Lines
) -> Iterator[tuple[frozenset[Condition], tuple[Condition, ...]]]:
    """Every combination of the conditions some car can have: those that hold, and all that is then known."""
    if not conditions:
        yield frozenset(), pieces
        return
    first, rest = conditions[0], conditions[1:]
    with_it = _narrow(pieces, first, lines)
    if with_it is not None:
        for holding, known in _truths(with_it, rest, lines):
            yield holding | {first}, known
    without_it = _narrow(pieces, Not(first), lines)
    if without_it is not None:
        yield from _truths(without_it, rest, lines)


def _fittings(
    pieces: tuple[Condition, ...], touched: tuple[str, ...], line: VehicleLine, lines: Lines
) -> Iterator[tuple[dict[str, Fitted], tuple[Condition, ...]]]:
    """Every way in which all the modules can be fitted."""
    if not touched:
        yield {}, pieces
        return
    for fitted in line.fitted:
        if fitted.module != touched[0]:
            continue
        known = pieces if fitted.fits is None else _narrow(pieces, fitted.fits, lines)
        if known is not None:
            for others, all_known in _fittings(known, touched[1:], line, lines):
                yield {touched[0]: fitted, **others}, all_known


def _records(
    changes: tuple[Change, ...],
    fitted: Mapping[str, Fitted],
    modules: Mapping[str, Module],
    condition: Condition,
    lines: Lines,
) -> Iterator[RecordForm]:
    """The records to write: modules in the order of their first change, then places, then records."""
    for module_id in dict.fromkeys(c.setting.module for c in changes):
        if module_id not in fitted:
            continue
        mine = [c for c in changes if c.setting.module == module_id]
        places: list[str | None] = [p.id for p in fitted[module_id].places] or [None]
        layouts: dict[str, tuple[Layout, ...]] = {}
        for place in places:
            here = [c for c in mine if c.place is None or c.place == place]
            for record_id in dict.fromkeys(c.setting.record for c in here):
                record = modules[module_id].record(record_id)
                if record is None:
                    continue
                if record_id not in layouts:
                    layouts[record_id] = tuple(
                        x
                        for x in record.layouts
                        if x.fits is None or satisfiable(All((condition, x.fits)), lines)
                    )
                own = tuple(c for c in here if c.setting.record == record_id)
                yield RecordForm(RecordPath(module_id, record_id, place), record, layouts[record_id], own)


def _union(one: Form, other: Form) -> Form:
    of = one.condition.of if isinstance(one.condition, Any) and one.condition != FALSE else (one.condition,)
    records = tuple(
        RecordForm(
            a.path,
            a.record,
            tuple(x for x in a.record.layouts if any(x is y for y in (*a.layouts, *b.layouts))),
            a.changes,
        )
        for a, b in zip(one.records, other.records, strict=True)
    )
    return Form(Any((*of, other.condition)), records)
