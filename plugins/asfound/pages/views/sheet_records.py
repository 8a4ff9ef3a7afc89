"""Records on paper: boxes for each byte, and the change written so that it can be made by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ...car.conditions import Holds
from ...car.records import Layout, Record, RecordPath
from ...car.settings import Choices
from ...car.values import with_unit
from ...work.byhand import DigitWork, NumberWork, by_hand
from ...work.compiled import Edit, NamesEdit
from ...work.held import show_held
from ...work.recipes import Alternative
from ...work.worksheet import Row as Typed
from ..speech import is_words
from ..words import list_words
from .desk import Desk
from .sheet_words import (
    LookupRow,
    ShareRow,
    bytes_words,
    cells_words,
    fixed_words,
    holds_words,
    lookup_row,
    pattern_words,
    share_row,
    span_words,
    text_words,
)

MOST_BOXES = 16  # side by side on one line


@dataclass(frozen=True, slots=True)
class Box:
    """One byte: its number, which of its digits change, what is printed to write, whose its checksum is.

    ``write`` has two texts, "" where the digit is written by hand; ``sum``: "tool", "reader" or "".
    """

    byte: int
    changed: tuple[bool, bool]
    write: tuple[str, str]
    sum: str


@dataclass(frozen=True, slots=True)
class Line:
    """The three rows of one place: ``place`` is empty where the module is fitted once.

    ``marks``: of the ways that write it. ``found`` and ``write`` are pairs, or one number, where they were
    typed and worked out; () otherwise.
    """

    place: str
    marks: str
    found: tuple[str, ...] = ()
    write: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NameRow:
    """A setting of a record of which only names are known."""

    name: str
    may: str
    write: str
    found: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """What becomes of one setting, in words; ``chosen``: the reader may choose another value."""

    name: str
    before: str
    to: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Block:
    """A record in one layout: rows of boxes, and the work by hand.

    ``kind``: "digits", "number", "names", "worksheet" (as found must be typed first), "typed" (it was).
    ``when`` says how to know the layout, "" when there is only one. ``lines``: places it is written in.
    """

    kind: str
    layout: str
    when: str
    marks: str
    length: int
    rows: tuple[tuple[Box, ...], ...]
    lines: tuple[Line, ...]
    changes: tuple[Change, ...]
    lookups: tuple[LookupRow, ...] = ()
    fixed: tuple[tuple[str, str], ...] = ()
    only: tuple[tuple[str, str, str], ...] = ()  # setting, digits, what they may be
    texts: tuple[tuple[str, str, str], ...] = ()  # setting, bytes, filling
    whole: str = ""
    may: str = ""
    shares: tuple[ShareRow, ...] = ()
    names: tuple[NameRow, ...] = ()
    sum: str = ""
    sum_where: str = ""
    already: bool = False


@dataclass(frozen=True, slots=True)
class RecordRef:
    """A record of the sheet: ``ref`` ("R1") is what steps call it by. ``changes``: those of every block."""

    ref: str
    unit: str
    name: str
    identifier: str
    changes: tuple[Change, ...]
    blocks: tuple[Block, ...]

    @property
    def pairs(self) -> bool:
        """Whether anything of it is written digit by digit."""
        return any(block.kind == "digits" for block in self.blocks)


@dataclass(frozen=True, slots=True)
class Written:
    """A record that one way of the job writes: its edit for each layout (one, without, by names)."""

    path: RecordPath
    record: Record
    layouts: tuple[Layout, ...]
    edits: tuple[Edit | NamesEdit, ...]


def record_refs(
    desk: Desk,
    ways: Sequence[tuple[str, Sequence[Written]]],
    alternatives: Sequence[Alternative],
    typed: Mapping[RecordPath, Typed],
) -> tuple[RecordRef, ...]:
    """The records of all ways, each once, numbered in the order of writing."""
    every = "".join(mark for mark, _ in ways)
    groups: dict[tuple[str, str], list[tuple[str, Written]]] = {}
    for mark, written in ways:
        for one in written:
            groups.setdefault((one.path.module, one.path.record), []).append((mark, one))
    out = []
    for number, (key, found) in enumerate(groups.items(), 1):
        record = found[0][1].record
        identifier = "" if record.identifier is None else str(record.identifier)
        unit = desk.unit(key[0], None)
        blocks = _blocks(desk, found, every, alternatives, typed)
        shared = blocks[0].changes if len({block.changes for block in blocks}) == 1 else ()
        if shared:
            blocks = tuple(replace(block, changes=()) for block in blocks)
        out.append(RecordRef(f"R{number}", unit, record.name, identifier, shared, blocks))
    return tuple(out)


def _blocks(
    desk: Desk,
    found: Sequence[tuple[str, Written]],
    every: str,
    alternatives: Sequence[Alternative],
    typed: Mapping[RecordPath, Typed],
) -> tuple[Block, ...]:
    variants: dict[tuple[str, object], dict[str | None, str]] = {}
    kept: dict[tuple[str, object], tuple[Written, Layout | None, Edit | NamesEdit]] = {}
    for mark, one in found:
        for edit in one.edits:
            layout = one.record.layout(edit.layout) if isinstance(edit, Edit) else None
            known = typed.get(one.path)
            if known is not None and known.layout not in (None, layout.id if layout else None):
                continue
            bare = replace(edit, record=one.path.bare)
            key: tuple[str, object] = (layout.id if layout else "", bare)
            kept.setdefault(key, (one, layout, edit))
            places = variants.setdefault(key, {})
            places[one.path.place] = places.get(one.path.place, "") + mark
    several = len({key[0] for key in variants}) > 1 or any(
        layout is not None and len(one.record.layouts) > 1 and layout.fits is not None
        for one, layout, _ in kept.values()
    )
    out = []
    for key, places in variants.items():
        one, layout, edit = kept[key]
        lines = tuple(
            _line(desk, one, place, "" if marks == every else marks, typed) for place, marks in places.items()
        )
        when = _when(desk, layout) if layout and several else ""
        of = {line.marks for line in lines}
        shared = of.pop() if len(of) == 1 else ""
        lines = tuple(replace(x, marks="") for x in lines) if shared else lines
        was = [row for place in places if (row := typed.get(replace(one.path, place=place)))]
        out.append(_block(one.record, layout, edit, when, shared, lines, alternatives, was))
    return tuple(out)


def _line(desk: Desk, one: Written, place: str | None, marks: str, typed: Mapping[RecordPath, Typed]) -> Line:
    name = desk.places.get((one.path.module, place), (place, None))[0] if place else ""
    row = typed.get(replace(one.path, place=place))
    return Line(name, marks, _shown(one.record, row and row.found), _shown(one.record, row and row.write))


def _shown(record: Record, held: object) -> tuple[str, ...]:
    if not isinstance(held, bytes):
        return ()
    return (show_held(record, held),) if record.shown_as else tuple(f"{byte:02X}" for byte in held)


def _when(desk: Desk, layout: Layout) -> str:
    """How to know the layout; a mask is said as the digits it allows."""
    if layout.fits is None:
        return ""
    if isinstance(layout.fits, Holds):
        return holds_words(layout.fits)
    return is_words(layout.fits, desk.names)


def _block(
    record: Record,
    layout: Layout | None,
    edit: Edit | NamesEdit,
    when: str,
    marks: str,
    lines: tuple[Line, ...],
    alternatives: Sequence[Alternative],
    typed: Sequence[Typed],
) -> Block:
    if isinstance(edit, NamesEdit):
        return Block(
            "names", "", when, marks, 0, (), lines, (), names=_names(edit, alternatives, typed),
            already=_already(typed),
        )  # fmt: skip
    assert layout is not None
    work = by_hand(edit, record, alternatives)
    done = bool(typed) and all(row.write is not None for row in typed)
    kind = "typed" if done else "worksheet" if work is None else "digits"
    if kind == "digits" and isinstance(work, NumberWork):
        kind = "number"
    bare = Block(
        kind, layout.id, when, marks, edit.length, _rows(edit, work if kind == "digits" else None), lines,
        _changes(edit), sum=edit.checksum.by if edit.checksum else "", sum_where=_sum_where(edit),
        already=_already(typed),
    )  # fmt: skip
    if record.shown_as is not None:
        bare = replace(bare, rows=())
    if kind == "number" and isinstance(work, NumberWork):
        shares = tuple(map(share_row, work.shares))
        whole = "" if work.whole is None else str(work.whole)
        return replace(bare, whole=whole, may=span_words(work.allowed), shares=shares)
    if kind != "digits" or not isinstance(work, DigitWork):
        return bare
    return replace(
        bare,
        lookups=tuple(map(lookup_row, work.lookups)),
        fixed=fixed_words(work),
        only=tuple((a.setting.name, cells_words(a.cells), pattern_words(a.patterns)) for a in work.allowed),
        texts=tuple(map(text_words, work.texts)),
    )


def _already(typed: Sequence[Typed]) -> bool:
    return bool(typed) and all(
        row.assessment is not None and row.assessment.state == "already done" for row in typed
    )


def _rows(edit: Edit, work: object) -> tuple[tuple[Box, ...], ...]:
    fixed = {f.cell: f"{f.digit:X}" for f in work.fixed} if isinstance(work, DigitWork) else {}
    sums = set(range(edit.checksum.at, edit.checksum.at + edit.checksum.size)) if edit.checksum else set()
    boxes = [
        Box(
            byte,
            (bool(mask >> 4), bool(mask & 15)),
            (fixed.get((byte, 0), ""), fixed.get((byte, 1), "")),
            edit.checksum.by if edit.checksum and byte in sums else "",
        )
        for byte, mask in enumerate(edit.mask)
    ]
    lines = -(-len(boxes) // MOST_BOXES)
    each = -(-len(boxes) // lines)
    return tuple(tuple(boxes[at : at + each]) for at in range(0, len(boxes), each))


def _changes(edit: Edit) -> tuple[Change, ...]:
    return tuple(
        Change(
            f.definition.name,
            "" if f.before_words is None else with_unit(f.definition, f.before_words),
            with_unit(f.definition, f.to_words),
            f.asked,
        )
        for f in edit.fields
    )


def _names(
    edit: NamesEdit, alternatives: Sequence[Alternative], typed: Sequence[Typed]
) -> tuple[NameRow, ...]:
    """What each setting may show, as ``assess_names`` has it; nothing is said of what cannot be listed."""
    found = next((row.found for row in typed if row.found is not None), {})
    out = []
    for f in edit.fields:
        kind = f.definition.kind
        known = [c.means for c in kind.choices] if isinstance(kind, Choices) else []
        may = known
        if f.before_words is not None and not f.asked:
            offered = (other.to for other in alternatives if other.setting == f.setting)
            may = [f.before_words, f.to_words, *offered]
        held = found.get(f.setting.setting, "") if isinstance(found, Mapping) else ""
        said = dict.fromkeys(with_unit(f.definition, words) for words in may)
        listed = list_words([f"“{words}”" for words in said], "or")
        out.append(NameRow(f.definition.name, listed, with_unit(f.definition, f.to_words), held))
    return tuple(out)


def _sum_where(edit: Edit) -> str:
    if edit.checksum is None:
        return ""
    first, last = edit.checksum.at, edit.checksum.at + edit.checksum.size - 1
    return bytes_words(first, last)
