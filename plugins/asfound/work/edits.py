"""Edits at work: what a record holds now, what to write, and the way back.

To write = as found with the masked bits replaced and the checksum recomputed. Outside the checksum's bytes
twice is once, undo after write gives the record as found, edits on disjoint bits commute, and no other bit
ever moves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ..car.bits import combine, hex_pairs, replace
from ..car.checksums import Checksum
from ..car.phrases import counted
from ..car.records import SettingPath
from ..car.values import ValueProblem, accept, decode, encode
from .compiled import (
    Edit,
    EditProblem,
    FieldEdit,
    NamesEdit,
    NamesFieldEdit,
    Problem,
    compile_edit,
    compile_names,
    compose,
    compose_names,
    position,
)
from .recipes import Alternative

__all__ = [
    "Assessment",
    "Edit",
    "EditProblem",
    "FieldEdit",
    "FieldState",
    "NamesEdit",
    "NamesFieldEdit",
    "Problem",
    "State",
    "Stop",
    "UndoProblem",
    "WrongChecksum",
    "WrongLength",
    "alternative_raw",
    "assess",
    "assess_names",
    "compile_edit",
    "compile_names",
    "compose",
    "compose_names",
    "position",
    "put_back_by_value",
    "put_back_names",
    "touched",
    "undo",
    "write",
    "write_names",
]

State = Literal["ready", "already done", "another offered value", "unexpected"]


class Stop(Exception):
    """Nothing may be written: ``reason`` says why, ``repair`` what to do; one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(reason)
        self.reason = reason
        self.repair = repair


class WrongLength(Stop):
    """The record has not as many bytes as the layout."""


class WrongChecksum(Stop):
    """The record as read fails its own checksum: misread, mistyped, or not of this layout."""


class UndoProblem(Stop):
    """The way back cannot be computed safely."""


@dataclass(frozen=True, slots=True)
class FieldState:
    """What one setting holds now, in words; ``known`` False when the value has no known meaning."""

    setting: SettingPath
    state: State
    present: str
    known: bool


@dataclass(frozen=True, slots=True)
class Assessment:
    """What a record as found means for an edit.

    ``state`` is *unexpected* as soon as one setting is or the checksum is wrong; *already done* when all are;
    *another offered value* when one is; else *ready*. ``checksum_ok`` is None for a layout without checksum.
    ``stops`` says in words why not to write; empty when writing may go on.
    """

    state: State
    fields: tuple[FieldState, ...]
    checksum_ok: bool | None
    stops: tuple[str, ...] = ()


def touched(edit: Edit) -> bytes:
    """Every bit that may differ between found and written: the mask and the checksum's bytes."""
    if edit.checksum is None:
        return edit.mask
    return combine((edit.mask, edit.checksum.place.mask(edit.length)), edit.length)


def assess(edit: Edit, found: bytes, alternatives: Sequence[Alternative] = ()) -> Assessment:
    """What ``found`` means for the edit.

    With ``from: any`` every value with a known meaning is *ready*: one without may well be a sign of another
    layout, so it is *unexpected*. An asked setting that holds a legal value other than the chosen one, or a
    setting that holds one of the recipe's ``alternatives``, is *another offered value*. WrongLength when the
    lengths differ; EditProblem when an alternative cannot be stored.
    """
    _length(edit, found)
    states = []
    for one in edit.fields:
        raw = one.place.gather(found)
        meaning = decode(one.definition, raw, one.place.width)
        offered = {alternative_raw(one, other) for other in alternatives if other.setting == one.setting}
        if raw == one.to_raw:
            state: State = "already done"
        elif raw == one.before_raw or (one.before_raw is None and meaning.known):
            state = "ready"
        elif raw in offered or (one.asked and meaning.known):
            state = "another offered value"
        else:
            state = "unexpected"
        states.append(FieldState(one.setting, state, meaning.words, meaning.known))
    ok = None if edit.checksum is None else edit.checksum.matches(found)
    stops = [
        _unexpected(one.definition.name, now, one.before_words, one.to_words)
        for one, now in zip(edit.fields, states, strict=True)
        if now.state == "unexpected"
    ]
    if edit.checksum is not None and not ok:
        stops.insert(0, _checksum_words(edit.checksum, found))
    return Assessment("unexpected" if stops else _overall(states), tuple(states), ok, tuple(stops))


def assess_names(
    edit: NamesEdit, found: Mapping[SettingPath, str], alternatives: Sequence[Alternative] = ()
) -> Assessment:
    """As ``assess``, for a record read by name; a setting missing from ``found`` is *unexpected*."""
    states = []
    for one in edit.fields:
        present = found.get(one.setting, "")
        known = _legal(one, present)
        offered = {other.to for other in alternatives if other.setting == one.setting}
        if present == one.to_words:
            state: State = "already done"
        elif present == one.before_words or (one.before_words is None and known):
            state = "ready"
        elif present in offered or (one.asked and known):
            state = "another offered value"
        else:
            state = "unexpected"
        states.append(FieldState(one.setting, state, present, known))
    stops = tuple(
        _unexpected(one.definition.name, now, one.before_words, one.to_words)
        for one, now in zip(edit.fields, states, strict=True)
        if now.state == "unexpected"
    )
    return Assessment("unexpected" if stops else _overall(states), tuple(states), None, stops)


def write(edit: Edit, found: bytes) -> bytes:
    """What to write. WrongLength, WrongChecksum: nothing may be written.

    Pure arithmetic: whether the record *should* be written is for ``assess`` to say.
    """
    _length(edit, found)
    _checksum(edit, found, "as found")
    return _sealed(edit, replace(found, edit.mask, edit.bits))


def write_names(edit: NamesEdit, found: Mapping[SettingPath, str]) -> dict[SettingPath, str]:
    """What each setting is to show afterwards: ``found`` with the changed ones replaced."""
    return {**found, **{one.setting: one.to_words for one in edit.fields}}


def undo(edit: Edit, noted: bytes, present: bytes) -> bytes:
    """What to write to take the edit back: ``present`` with the masked bits from the note.

    Bits outside the mask stay as they are now, since something else may have changed them meanwhile.
    UndoProblem when ``present`` is not what the edit wrote, or the note fails its checksum; WrongLength,
    WrongChecksum as ``write``.
    """
    _length(edit, noted)
    _length(edit, present)
    _checksum(edit, noted, "as noted")
    _checksum(edit, present, "as it is now")
    _must_be_to(edit, present)
    return _sealed(edit, replace(present, edit.mask, noted))


def put_back_by_value(old: Edit, noted: bytes, new: Edit, present: bytes) -> bytes:
    """The way back after the module changed its layout: each noted value through ``old``, into ``new``.

    ``old`` and ``new`` are the same changes compiled for the layout then and now. UndoProblem when a setting
    has no place in the new layout, its noted value has no known meaning, or the new place cannot hold it.
    """
    _length(old, noted)
    _length(new, present)
    _checksum(old, noted, "as noted")
    _checksum(new, present, "as it is now")
    _must_be_to(new, present)
    places = {one.setting: one for one in new.fields}
    out = present
    for one in old.fields:
        target = places.get(one.setting)
        name = one.definition.name
        if target is None:
            raise UndoProblem(f"Layout {new.layout!r} has no place for {name!r}.", _ASK)
        was = decode(one.definition, one.place.gather(noted), one.place.width)
        if not was.known:
            raise UndoProblem(f"{name!r} was noted as {was.words!r}, which has no known meaning.", _ASK)
        try:
            stored = encode(target.definition, was.words, target.place.width)
        except ValueProblem as error:
            raise UndoProblem(f"{name!r} was {was.words!r}. {error.reason}", _ASK) from error
        if not stored.exact:
            raise UndoProblem(
                f"{name!r} was {was.words!r}, which layout {new.layout!r} cannot hold exactly.", _ASK
            )
        out = target.place.scatter(out, stored.raw)
    return _sealed(new, out)


def put_back_names(
    edit: NamesEdit, noted: Mapping[SettingPath, str], present: Mapping[SettingPath, str]
) -> dict[SettingPath, str]:
    """``undo`` by name. UndoProblem when a setting is not what the edit chose, or was never noted."""
    out = dict(present)
    for one in edit.fields:
        now = present.get(one.setting, "")
        if now != one.to_words:
            reason = (
                f"{one.definition.name!r} shows {now!r}, not {one.to_words!r}: something else has changed it."
            )
            raise UndoProblem(reason, _ASK)
        if one.setting not in noted:
            raise UndoProblem(f"{one.definition.name!r} was never noted.", _ASK)
        out[one.setting] = noted[one.setting]
    return out


_ASK = "Leave the record as it is and ask the club."


def _length(edit: Edit, record: bytes) -> None:
    if len(record) != edit.length:
        raise WrongLength(
            f"The record has {counted(len(record), 'byte')}; layout {edit.layout!r} has {edit.length}.",
            "Read it again; if the number of bytes stays, this layout is not that of the car: stop and ask.",
        )


def _checksum(edit: Edit, record: bytes, which: str) -> None:
    if edit.checksum is not None and not edit.checksum.matches(record):
        raise WrongChecksum(
            f"The record {which} fails its checksum. {_checksum_words(edit.checksum, record)}",
            "Read it again; if the checksum stays wrong, this layout is not that of the car: stop and ask.",
        )


def _checksum_words(checksum: Checksum, record: bytes) -> str:
    held, right = (
        hex_pairs(v.to_bytes(checksum.size, "big")) for v in (checksum.held(record), checksum.compute(record))
    )
    return f"The checksum is {held}, but the bytes it covers give {right}."


def _sealed(edit: Edit, record: bytes) -> bytes:
    return record if edit.checksum is None else edit.checksum.applied(record)


def _must_be_to(edit: Edit, present: bytes) -> None:
    """The present value must be what the edit wrote, else taking it back would undo someone else's work."""
    for one in edit.fields:
        raw = one.place.gather(present)
        if raw != one.to_raw:
            now = decode(one.definition, raw, one.place.width).words
            reason = (
                f"{one.definition.name!r} is {now!r}, not {one.to_words!r}: something else has changed it."
            )
            raise UndoProblem(reason, _ASK)


def alternative_raw(one: FieldEdit, other: Alternative) -> int:
    """The number the module stores for another offered value. EditProblem when it cannot."""
    try:
        return encode(one.definition, other.to, one.place.width).raw
    except ValueProblem as error:
        raise EditProblem([Problem(other.origin.at("to"), error.reason, error.repair)]) from error


def _legal(one: NamesFieldEdit, words: str) -> bool:
    try:
        return accept(one.definition, words) == words
    except ValueProblem:
        return False


def _overall(states: Sequence[FieldState]) -> State:
    kinds = {one.state for one in states}
    if kinds <= {"already done"}:
        return "already done"
    return "another offered value" if "another offered value" in kinds else "ready"


def _unexpected(name: str, now: FieldState, before: str | None, to: str) -> str:
    holds = repr(now.present) if now.known else f"{now.present!r}, which has no known meaning"
    awaited = (
        "a value with a known meaning" if before is None else f"{before!r} (before) or {to!r} (afterwards)"
    )
    return f"{name!r} holds {holds}; {awaited} was expected."
