"""Compiling changes: what a recipe does to one record, as positions, mask and bits or by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import NamedTuple

from ..car.bits import Place
from ..car.checksums import Checksum
from ..car.origin import NOWHERE, Origin
from ..car.records import Layout, Record, RecordPath, SettingPath
from ..car.settings import Setting
from ..car.values import Stored, ValueProblem, accept, encode
from .recipes import Ask, Change


class Problem(NamedTuple):
    """Why a change cannot be compiled, where it was written, and what to write instead; one line each."""

    origin: Origin
    reason: str
    repair: str


class EditProblem(Exception):
    """Changes that cannot be compiled for a layout; all problems at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(p.reason for p in self.problems))


@dataclass(frozen=True, slots=True)
class FieldEdit:
    """One setting of one layout: where it lies, what it must hold before and what it becomes.

    ``before_raw`` and ``before_words`` are None when every value with a known meaning will do. ``exact`` is
    False when the wish had to be rounded to what the module can store; ``to_words`` is what it stores.
    """

    setting: SettingPath
    place: Place
    before_raw: int | None
    to_raw: int
    before_words: str | None
    to_words: str
    exact: bool
    asked: bool = False  # the reader chose ``to``
    definition: Setting = field(compare=False, kw_only=True)
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Edit:
    """All changes to one record in one layout. ``mask`` and ``bits`` have ``length`` bytes.

    ``mask`` never covers the checksum, which is computed anew on writing.
    """

    record: RecordPath
    layout: str
    length: int
    mask: bytes
    bits: bytes
    fields: tuple[FieldEdit, ...]
    checksum: Checksum | None
    asked: tuple[SettingPath, ...]


@dataclass(frozen=True, slots=True)
class NamesFieldEdit:
    """One setting of a record of which only names are known; ``before_words`` None when any will do."""

    setting: SettingPath
    before_words: str | None
    to_words: str
    asked: bool = False
    definition: Setting = field(compare=False, kw_only=True)
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class NamesEdit:
    """All changes to one record of which only names are known."""

    record: RecordPath
    fields: tuple[NamesFieldEdit, ...]


NO_CHOICES: Mapping[SettingPath, str] = MappingProxyType({})


def compile_edit(
    record: Record,
    path: RecordPath,
    layout: Layout,
    changes: Sequence[Change],
    choose: Mapping[SettingPath, str] = NO_CHOICES,
) -> Edit:
    """The changes, all to settings of ``record``, as one edit in ``layout``.

    A value the reader is asked for is taken from ``choose``, else what the author suggests. Changes that
    touch the same bits are merged when they agree. EditProblem, with every problem, when they clash, or a
    setting is unknown, has no place in the layout or lies outside the record or in its checksum, or a value
    cannot be stored. ValueError when a change belongs to another record.
    """
    problems: list[Problem] = []
    fields: list[FieldEdit] = []
    problems.extend(_layout_problems(layout))
    for change in changes:
        _same_record(change, path)
        try:
            fields.append(_field(record, layout, change, choose))
        except EditProblem as error:
            problems.extend(error.problems)
    if problems:
        raise EditProblem(problems)
    return _edit(path, layout.id, layout.length, layout.checksum, fields)


def compile_names(
    record: Record,
    path: RecordPath,
    changes: Sequence[Change],
    choose: Mapping[SettingPath, str] = NO_CHOICES,
) -> NamesEdit:
    """The changes to a record of which only names are known; errors as ``compile_edit``."""
    problems: list[Problem] = []
    fields: list[NamesFieldEdit] = []
    for change in changes:
        _same_record(change, path)
        try:
            fields.append(_names_field(record, change, choose))
        except EditProblem as error:
            problems.extend(error.problems)
    if problems:
        raise EditProblem(problems)
    return _names_edit(path, fields)


def compose(edits: Sequence[Edit]) -> Edit:
    """Several edits of one record in one layout as one, to be written once.

    EditProblem when they clash; ValueError when there are none or they are not of one record and layout.
    """
    kinds = {(e.record, e.layout, e.length, e.checksum) for e in edits}
    if len(kinds) != 1:
        raise ValueError("only edits of one record and layout can be composed")
    first = edits[0]
    fields = [f for e in edits for f in e.fields]
    return _edit(first.record, first.layout, first.length, first.checksum, fields)


def compose_names(edits: Sequence[NamesEdit]) -> NamesEdit:
    """As ``compose``, for a record of which only names are known."""
    if len({e.record for e in edits}) != 1:
        raise ValueError("only edits of one record can be composed")
    return _names_edit(edits[0].record, [f for e in edits for f in e.fields])


def wanted(change: Change, choose: Mapping[SettingPath, str]) -> str:
    """What the setting is to become, in words: the author's value, the reader's choice, or the suggestion."""
    if isinstance(change.to, Ask):
        return choose.get(change.setting, change.to.suggest)
    return change.to


def position(byte: int, bit: int) -> str:
    """A bit as it is named everywhere: ``byte 4 bit 2``."""
    return f"byte {byte} bit {bit}"


def _same_record(change: Change, path: RecordPath) -> None:
    if (change.setting.module, change.setting.record) != (path.module, path.record):
        raise ValueError(f"{change.setting} does not lie in {path}")


def _problem(origin: Origin, reason: str, repair: str) -> EditProblem:
    return EditProblem([Problem(origin, reason, repair)])


def _layout_problems(layout: Layout) -> list[Problem]:
    """A checksum that cannot be computed within the layout; the places are looked at change by change."""
    checksum, origin = layout.checksum, layout.origin.at("checksum")
    if checksum is None:
        return []
    problems = []
    if checksum.last >= layout.length or checksum.at + checksum.size > layout.length:
        reason = f"The checksum of layout {layout.id!r} reaches beyond its {layout.length} bytes."
        problems.append(Problem(origin, reason, f"Name bytes from 0 to {layout.length - 1}."))
    if checksum.first <= checksum.last and not (
        checksum.at > checksum.last or checksum.at + checksum.size <= checksum.first
    ):
        reason = f"The checksum of layout {layout.id!r} lies among the bytes it covers."
        problems.append(Problem(origin, reason, "Leave its own bytes out of 'over'."))
    return problems


def _definition(record: Record, change: Change) -> Setting:
    definition = record.setting(change.setting.setting)
    if definition is None:
        names = ", ".join(s.id for s in record.settings)
        reason = f"Record '{change.setting.record_path}' has no setting {change.setting.setting!r}."
        raise _problem(change.origin.at("setting"), reason, f"Name one of: {names}.")
    return definition


def _place(layout: Layout, change: Change) -> Place:
    place = layout.places.get(change.setting.setting)
    origin, name = change.origin.at("setting"), change.setting.setting
    if place is None:
        reason = f"Layout {layout.id!r} has no place for {name!r}."
        raise _problem(
            origin, reason, "Give it a place there, or say under 'for' on which cars it is changed."
        )
    if any(not 0 <= p.low <= p.high <= 7 for p in place.parts) or len(set(place.bits())) < place.width:
        reason = f"In layout {layout.id!r} the place of {name!r} is no proper run of bits."
        raise _problem(origin, reason, "Name each bit once, from low to high, between 0 and 7.")
    if any(p.byte >= layout.length for p in place.parts):
        reason = f"In layout {layout.id!r} {name!r} lies beyond the {layout.length} bytes of the record."
        raise _problem(origin, reason, f"Name bytes from 0 to {layout.length - 1}.")
    checksum = layout.checksum
    if checksum is not None and set(place.bits()) & set(checksum.place.bits()):
        reason = f"In layout {layout.id!r} {name!r} lies in the checksum."
        raise _problem(origin, reason, "Correct its place, or that of the checksum.")
    return place


def _field(record: Record, layout: Layout, change: Change, choose: Mapping[SettingPath, str]) -> FieldEdit:
    definition = _definition(record, change)
    place = _place(layout, change)
    before, problems = None, []
    if change.before is not None:
        try:
            before = encode(definition, change.before, place.width)
            if not before.exact:
                reason = f"{definition.name!r} is never {change.before!r}; the nearest is {before.shown!r}."
                problems.append(Problem(change.origin.at("from"), reason, f"Write {before.shown!r}."))
        except ValueProblem as error:
            problems.append(Problem(change.origin.at("from"), error.reason, error.repair))
    to: Stored | None = None
    try:
        to = encode(definition, wanted(change, choose), place.width)
    except ValueProblem as error:
        problems.append(Problem(change.origin.at("to"), error.reason, error.repair))
    if to is None or problems:
        raise EditProblem(problems)
    return FieldEdit(
        setting=change.setting,
        place=place,
        before_raw=None if before is None else before.raw,
        to_raw=to.raw,
        before_words=None if before is None else before.shown,
        to_words=to.shown,
        exact=to.exact,
        asked=isinstance(change.to, Ask),
        definition=definition,
        origin=change.origin,
    )


def _names_field(record: Record, change: Change, choose: Mapping[SettingPath, str]) -> NamesFieldEdit:
    definition = _definition(record, change)
    problems = []
    before: str | None = None
    to = ""
    if change.before is not None:
        try:
            before = accept(definition, change.before)
        except ValueProblem as error:
            problems.append(Problem(change.origin.at("from"), error.reason, error.repair))
    try:
        to = accept(definition, wanted(change, choose))
    except ValueProblem as error:
        problems.append(Problem(change.origin.at("to"), error.reason, error.repair))
    if problems:
        raise EditProblem(problems)
    asked = isinstance(change.to, Ask)
    return NamesFieldEdit(change.setting, before, to, asked, definition=definition, origin=change.origin)


def _edit(
    path: RecordPath, layout: str, length: int, checksum: Checksum | None, fields: Iterable[FieldEdit]
) -> Edit:
    """Merge the fields; EditProblem when two of them want the same bits differently, before or after."""
    merged: dict[SettingPath, FieldEdit] = {}
    after, before = _Claims("to"), _Claims("from")
    problems = []
    for one in fields:
        clash = after.claim(one, one.place, one.to_raw)
        if clash is None and one.before_raw is not None:
            clash = before.claim(one, one.place, one.before_raw)
        if clash is not None:
            problems.append(clash)
            continue
        known = merged.get(one.setting)
        if known is None:
            merged[one.setting] = one
        elif known.before_raw is None:  # the stricter of the two demands on what it holds before
            merged[one.setting] = replace(
                known,
                before_raw=one.before_raw,
                before_words=one.before_words,
                asked=known.asked or one.asked,
            )
        elif one.asked and not known.asked:
            merged[one.setting] = replace(known, asked=True)
    if problems:
        raise EditProblem(problems)
    mask, bits = after.packed(length)
    kept = tuple(merged.values())
    return Edit(path, layout, length, mask, bits, kept, checksum, tuple(f.setting for f in kept if f.asked))


class _Claims:
    """Which bit is wanted with which value, and by whom."""

    def __init__(self, what: str) -> None:
        self.what = what
        self.bits: dict[tuple[int, int], tuple[int, FieldEdit]] = {}

    def claim(self, one: FieldEdit, place: Place, raw: int) -> Problem | None:
        width = place.width
        wanted_bits = [(at, raw >> (width - 1 - i) & 1) for i, at in enumerate(place.bits())]
        for at, value in wanted_bits:
            held, other = self.bits.get(at, (value, one))
            if held != value:
                when = "become" if self.what == "to" else "be before"
                reason = (
                    f"{other.setting.setting!r} and {one.setting.setting!r} share {position(*at)},"
                    f" which cannot {when} both {held} and {value}."
                )
                return Problem(
                    one.origin.at(self.what), reason, "Leave one of the two out or make them agree."
                )
        for at, value in wanted_bits:
            self.bits.setdefault(at, (value, one))
        return None

    def packed(self, length: int) -> tuple[bytes, bytes]:
        mask, bits = bytearray(length), bytearray(length)
        for (byte, bit), (value, _) in self.bits.items():
            mask[byte] |= 1 << bit
            bits[byte] |= value << bit
        return bytes(mask), bytes(bits)


def _names_edit(path: RecordPath, fields: Iterable[NamesFieldEdit]) -> NamesEdit:
    merged: dict[SettingPath, NamesFieldEdit] = {}
    problems = []
    for one in fields:
        known = merged.setdefault(one.setting, one)
        if known.to_words != one.to_words or (
            None not in (known.before_words, one.before_words) and known.before_words != one.before_words
        ):
            what = "to" if known.to_words != one.to_words else "from"
            reason = f"{one.setting.setting!r} is changed twice, in different ways."
            problems.append(
                Problem(one.origin.at(what), reason, "Leave one of the two out or make them agree.")
            )
        else:
            before = known.before_words if known.before_words is not None else one.before_words
            merged[one.setting] = replace(known, before_words=before, asked=known.asked or one.asked)
    if problems:
        raise EditProblem(problems)
    return NamesEdit(path, tuple(merged.values()))
