"""Trials of the work by worked examples; what could be wrong when an edit does not lead where it should."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ..book import Book
from ..car.origin import Origin
from ..car.records import Layout, Record, SettingPath
from ..car.settings import Choices, Number, Text
from ..car.values import decode
from ..source.findings import plainly
from ..work.compiled import Edit, FieldEdit, NamesEdit
from ..work.edits import alternative_raw, touched
from ..work.examples import run_example
from ..work.held import HeldProblem, parse_held
from ..work.recipes import Alternative, Recipe
from .base import Problem
from .blame import Trial


def of_examples(book: Book, recipe: Recipe) -> Iterator[Trial]:
    """One trial for each worked example of a recipe."""
    reached = {(str(path), layout.id if layout else None) for path, layout in book.reached(recipe.id)}
    for number, example in enumerate(recipe.worked_examples):
        record = book.record(example.record)
        if record is None or (str(example.record), example.layout) not in reached:
            continue  # said by other rules
        result = run_example(recipe, example, book.modules, book.forms(recipe.id))
        name = f"example {number + 1} of {recipe.id}"
        asked = dict(example.choose)
        found, written = example.origin.at("found"), example.origin.at("write")
        layout = record.layout(example.layout) if example.layout is not None else None
        if isinstance(result.edit, Edit) and layout is not None:
            chosen = {
                path: (
                    example.origin.at("choose", str(path)),
                    *(c.origin.at("to") for c in recipe.changes if c.setting == path and path not in asked),
                )
                for path in result.edit.asked
            }
            change = Passage(record, layout, result.edit, found, written, chosen=chosen)
        else:
            change = None
        if result.ok:
            part = change.everything() if change else _by_name(result.edit, found, written)
            yield Trial(name, part)
            continue
        if change is not None:
            part = change.suspects(example.found, example.write)
        else:
            part = _by_name(result.edit, written, found)
        own = part[0] if part[0] in (found, written) else written
        yield Trial(name, part, Problem(own, plainly(result.message), plainly(result.repair)))


def _by_name(edit: object, *own: Origin) -> tuple[Origin, ...]:
    """Where values go by name: what the author wrote, and the changes."""
    if not isinstance(edit, NamesEdit):
        return own
    return (*own, *(one.origin.at(key) for one in edit.fields for key in ("to", "from")))


@dataclass(frozen=True, slots=True)
class Passage:
    """One record in one layout, as found and as written, and the edit between the two."""

    record: Record
    layout: Layout
    edit: Edit
    found: Origin
    written: Origin
    free: frozenset[SettingPath] = frozenset()  # settings for which another value may have been chosen
    offered: Sequence[Alternative] = ()  # values that may have been written instead
    chosen: Mapping[SettingPath, tuple[Origin, ...]] = field(
        default_factory=dict
    )  # where it is written which

    def comes_out(self, found: bytes, written: bytes) -> bool:
        """Whether the edit leads from one to the other."""
        stray = any(a & ~m for a, m in zip(_moved(found, written), touched(self.edit), strict=True))
        return not stray and all(self._as_after(one, one.place.gather(written)) for one in self.edit.fields)

    def everything(self) -> tuple[Origin, ...]:
        """All that takes part when the edit is carried out."""
        out = [self.found, self.written, *self._length(), *self._checksum(), *self._order()]
        for one in self.edit.fields:
            out += (self._place(one), *self._before(one))
            several = one.setting in self.free or any(o.setting == one.setting for o in self.offered)
            out += () if several else self._after(one)  # another value would have done as well
        return tuple(dict.fromkeys(out))

    def suspects(self, found_text: str, written_text: str) -> tuple[Origin, ...]:
        """What could be wrong when the edit does not lead from one to the other, most likely first.

        A right checksum vouches for the bytes it covers, two wrong ones speak against the checksum's
        description; a bit that moved outside every place speaks against the places; a value that is not the
        one the change tells of, against the place, the value's description and the change.
        """
        try:
            found = parse_held(self.record, None, found_text)
        except HeldProblem:
            return (self.found,)
        try:
            written = parse_held(self.record, None, written_text)
        except HeldProblem:
            return (self.written,)
        wrong = [length != self.edit.length for length in (len(found), len(written))]
        if any(wrong):
            return self._length() if all(wrong) else ((self.found,) if wrong[0] else (self.written,))
        vouched = False
        if self.edit.checksum is not None:
            wrong = [not self.edit.checksum.matches(held) for held in (found, written)]
            if any(wrong):
                texts = (self.found, self.written)
                return (*self._checksum(), *texts) if all(wrong) else texts[:1] if wrong[0] else texts[1:]
            vouched = True
        out: list[Origin] = []
        stray = any(a & ~m for a, m in zip(_moved(found, written), touched(self.edit), strict=True))
        before, after = [], []
        if stray:
            out += self._order()
        for one in self.edit.fields:
            if stray:
                out.append(self._place(one))
            if not _as_before(one, one.place.gather(found)):
                before.append(one)
            if not self._as_after(one, one.place.gather(written)):
                after.append(one)
        for one in dict.fromkeys((*after, *before)):
            out += self._after(one) if one in after else ()
            out += self._before(one) if one in before else ()
            out.append(self._place(one))
        out += self._order()
        if not vouched:
            out[:0] = (self.written, self.found) if after or stray else (self.found, self.written)
        return tuple(dict.fromkeys(out)) or (self.written, self.found)

    def _as_after(self, one: FieldEdit, raw: int) -> bool:
        """Whether a setting may hold this after the change."""
        if one.setting in self.free:
            return decode(one.definition, raw, one.place.width).known
        others = (alternative_raw(one, other) for other in self.offered if other.setting == one.setting)
        return raw == one.to_raw or raw in others

    def _length(self) -> tuple[Origin, ...]:
        shown = () if self.record.shown_as is None else (self.record.origin.at("shown_as", "number"),)
        return (self.layout.origin.at("length"), *shown, self.found, self.written)

    def _checksum(self) -> tuple[Origin, ...]:
        return checksum_parts(self.layout)

    def _order(self) -> tuple[Origin, ...]:
        """Where it is written in which order the tool's number has its bytes."""
        shown = self.record.shown_as
        return () if shown is None or shown.size == 1 else (self.record.origin.at("shown_as", "order"),)

    def _place(self, one: FieldEdit) -> Origin:
        return self.layout.origin.at("places", one.setting.setting)

    def _before(self, one: FieldEdit) -> tuple[Origin, ...]:
        stored = () if one.before_raw is None else _value(one, one.before_raw)
        return (one.origin.at("from"), *stored)

    def _after(self, one: FieldEdit) -> tuple[Origin, ...]:
        wish = self.chosen.get(one.setting, (one.origin.at("to"),))
        return (*wish, *_value(one, one.to_raw))


def _value(one: FieldEdit, raw: int) -> tuple[Origin, ...]:
    """Where it is written what a stored number means."""
    at = one.definition.origin.at
    match one.definition.kind:
        case Choices(choices):
            return tuple(at("choices", n, "raw") for n, choice in enumerate(choices) if choice.raw == raw)
        case Number() as number:
            special = [n for n, choice in enumerate(number.special) if choice.raw == raw]
            if special:
                return tuple(at("number", "special", n, "raw") for n in special)
            signed = (at("number", "signed"),) if number.signed else ()
            return (at("number", "factor"), at("number", "offset"), *signed)
        case Text():
            return (at("text"),)


def _as_before(one: FieldEdit, raw: int) -> bool:
    """Whether a setting may have held this before the change."""
    if raw == one.to_raw:
        return False
    if one.before_raw is not None:
        return raw == one.before_raw
    return decode(one.definition, raw, one.place.width).known


def _moved(one: bytes, other: bytes) -> bytes:
    return bytes(a ^ b for a, b in zip(one, other, strict=True))


def checksum_parts(layout: Layout) -> tuple[Origin, ...]:
    """Where a layout's checksum is described, each key by itself."""
    if layout.checksum is None:
        return ()
    return tuple(layout.origin.at("checksum", key) for key in ("kind", "over", "at", "order"))
