"""Drift: a later reading against the log. Which changes stand, which were lost, what else moved.

In the layout the record had when it was last seen, everything is compared by bits. In another layout, as
after an update of the module, it is compared by value. What was lost is put back the same way, or not at all
where that cannot be done safely.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ..car.bits import differing
from ..car.records import Layout, Module, Record, RecordPath
from ..car.settings import Setting
from ..car.values import ValueProblem, decode, encode
from .compiled import Edit, EditProblem, NamesEdit, compile_edit, compile_names
from .edits import Stop, assess, assess_names, write, write_names
from .log import Content, Log, Moved, Standing, last_held, standing
from .recipes import Change


@dataclass(frozen=True, slots=True)
class Present:
    """A record as it was read later; ``layout`` None where only names are known."""

    layout: str | None
    content: Content


@dataclass(frozen=True, slots=True)
class Mark:
    """One change of the log and what is there now, in words."""

    standing: Standing
    state: Literal["stands", "lost", "cannot tell"]
    now: str


@dataclass(frozen=True, slots=True)
class Restore:
    """How to put back what was lost: what to write, and by what; or ``refused``, why not and what to do."""

    by: Literal["bits", "value", "names"]
    write: Content | None
    edit: Edit | NamesEdit | None
    refused: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class RecordDrift:
    """What became of one record.

    ``moved`` are settings that changed without any entry of the log; ``bits`` those changed bits (byte, bit)
    that belong to no known setting. ``restore`` is None when nothing was lost. ``problem`` says why nothing
    could be compared.
    """

    record: RecordPath
    by: Literal["bits", "value", "names"]
    marks: tuple[Mark, ...]
    moved: tuple[Moved, ...] = ()
    bits: tuple[tuple[int, int], ...] = ()
    restore: Restore | None = None
    problem: str = ""


def drift(
    log: Log, present: Mapping[RecordPath, Present], modules: Mapping[str, Module]
) -> tuple[RecordDrift, ...]:
    """What became of every record that was read again and that the log knows, in the reading's order."""
    stand = standing(log)
    out = []
    for path, now in present.items():
        seen = last_held(log, path)
        module = modules.get(path.module)
        record = module.record(path.record) if module else None
        own = tuple(s for s in stand if s.wrote.record == path)
        if seen is None:
            continue
        if record is None:
            out.append(_nothing(path, own, f"The club no longer describes the record {path}."))
        elif record.names_only:
            out.append(_by_names(path, record, own, seen[1], now))
        else:
            out.append(_by_bytes(path, record, own, seen, now))
    return tuple(out)


def unread(log: Log, present: Mapping[RecordPath, Present]) -> tuple[RecordPath, ...]:
    """The records with standing changes that were not read again."""
    return tuple(dict.fromkeys(s.wrote.record for s in standing(log) if s.wrote.record not in present))


def _nothing(path: RecordPath, own: Sequence[Standing], problem: str) -> RecordDrift:
    return RecordDrift(path, "value", tuple(Mark(s, "cannot tell", "") for s in own), problem=problem)


def _by_bytes(
    path: RecordPath,
    record: Record,
    own: Sequence[Standing],
    seen: tuple[str | None, Content],
    now: Present,
) -> RecordDrift:
    layout = record.layout(now.layout or "")
    old = record.layout(seen[0] or "")
    if layout is None or not isinstance(now.content, bytes) or len(now.content) != layout.length:
        return _nothing(path, own, f"What was read is no layout of {path} that the club knows.")
    was = _bytes(seen[1], old)
    same = old is not None and was is not None and old.id == layout.id
    marks = tuple(_mark(record, layout, one, now.content) for one in own)
    wanted = {one.setting.setting for one in own}
    moved: list[Moved] = []
    bits: tuple[tuple[int, int], ...] = ()
    if old is not None and was is not None:
        for setting in record.settings:
            if setting.id not in wanted and (pair := _values(setting, old, was, layout, now.content)):
                moved.append(pair)
    if same and was is not None:
        bits = _loose(layout, was, now.content)
    by: Literal["bits", "value"] = "bits" if same else "value"
    lost = [m.standing for m in marks if m.state == "lost"]
    restore = _restore(path, record, layout, lost, now.content, by) if lost else None
    return RecordDrift(path, by, marks, tuple(moved), bits, restore)


def _bytes(content: Content, layout: Layout | None) -> bytes | None:
    """The bytes a log keeps, if they still are of that layout."""
    fits = isinstance(content, bytes) and layout is not None and len(content) == layout.length
    return content if fits and isinstance(content, bytes) else None


def _words(setting: Setting, layout: Layout, content: bytes) -> str | None:
    place = layout.places.get(setting.id)
    return None if place is None else decode(setting, place.gather(content), place.width).words


def _mark(record: Record, layout: Layout, one: Standing, content: bytes) -> Mark:
    setting = record.setting(one.setting.setting)
    place = layout.places.get(one.setting.setting)
    if setting is None or place is None:
        return Mark(one, "cannot tell", "")
    raw = place.gather(content)
    now = decode(setting, raw, place.width)
    try:
        stands = encode(setting, one.to, place.width).raw == raw
    except ValueProblem:  # the value has lost its name, or the place its width: then it is not there
        stands = False
    return Mark(one, "stands" if stands else "lost", now.words)


def _values(setting: Setting, old: Layout, was: bytes, new: Layout, now: bytes) -> Moved | None:
    """A setting whose value in words is another than it was, as far as both can be told."""
    before, after = _words(setting, old, was), _words(setting, new, now)
    if before is None or after is None or before == after:
        return None
    return Moved(setting.id, before, after)


def _loose(layout: Layout, was: bytes, now: bytes) -> tuple[tuple[int, int], ...]:
    """Bits that changed and belong neither to a setting nor to the checksum."""
    told = {at for place in layout.places.values() for at in place.bits()}
    told |= set(layout.checksum.place.bits()) if layout.checksum else set()
    return tuple(at for at in differing(was, now) if at not in told)


def _restore(
    path: RecordPath,
    record: Record,
    layout: Layout,
    lost: Sequence[Standing],
    content: bytes,
    by: Literal["bits", "value"],
) -> Restore:
    changes = [Change(one.setting, None, one.to) for one in lost]
    try:
        edit = compile_edit(record, path, layout, changes)
        if stops := assess(edit, content).stops:
            return Restore(by, None, edit, (stops[0], _ASK))
        return Restore(by, write(edit, content), edit)
    except EditProblem as error:
        return Restore(by, None, None, (error.problems[0].reason, _ASK))
    except Stop as error:
        return Restore(by, None, None, (error.reason, error.repair))


_ASK = "Leave the record as it is and ask the club."


def _by_names(
    path: RecordPath, record: Record, own: Sequence[Standing], seen: Content, now: Present
) -> RecordDrift:
    words = now.content
    if isinstance(words, bytes):
        return _nothing(path, own, f"Of {path} only names are known, and bytes were read.")
    marks = []
    for one in own:
        there = words.get(one.setting.setting)
        state: Literal["stands", "lost", "cannot tell"] = (
            "cannot tell" if there is None else "stands" if there == one.to else "lost"
        )
        marks.append(Mark(one, state, there or ""))
    was = {} if isinstance(seen, bytes) else seen
    wanted = {one.setting.setting for one in own}
    moved = tuple(
        Moved(name, was[name], value)
        for name, value in words.items()
        if name not in wanted and name in was and was[name] != value
    )
    lost = [m.standing for m in marks if m.state == "lost"]
    restore = _restore_names(path, record, lost, words) if lost else None
    return RecordDrift(path, "names", tuple(marks), moved, restore=restore)


def _restore_names(
    path: RecordPath, record: Record, lost: Sequence[Standing], words: Mapping[str, str]
) -> Restore:
    try:
        edit = compile_names(record, path, [Change(one.setting, None, one.to) for one in lost])
    except EditProblem as error:
        return Restore("names", None, None, (error.problems[0].reason, _ASK))
    found = {f.setting: words[f.setting.setting] for f in edit.fields}
    if stops := assess_names(edit, found).stops:
        return Restore("names", None, edit, (stops[0], _ASK))
    to = {path_.setting: value for path_, value in write_names(edit, found).items()}
    return Restore("names", {**words, **to}, edit)
