"""Worked examples, step by step: found, mask, bits, checksum, write."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car.bits import differing, replace
from ...car.records import Layout, Record
from ...speech import gettext
from ...work.compiled import Edit, NamesEdit
from ...work.edits import touched, write
from ...work.held import parse_held, parse_names
from ...work.recipes import WorkedExample
from .. import bits
from ..words import byte_words
from .changes import CHECKSUM_NAMES
from .common import Fact

MADE_UP = "made-up"


@dataclass(frozen=True, slots=True)
class Example:
    """One worked example; ``steps`` from as found to what is written."""

    id: str
    title: str
    read_on: str | Markup
    steps: tuple[Fact, ...]


def worked(
    example: WorkedExample, edit: Edit, record: Record, layout: Layout, id: str, title: str
) -> Example:
    """The steps for a record whose bytes are known.

    The book's rules have proved before that the example comes out.
    """
    found = parse_held(record, layout.length, example.found)
    written = write(edit, found)
    kept = replace(found, edit.mask, edit.bits)
    lines = [
        Markup(gettext("{byte}: {before} becomes {after}")).format(
            byte=byte_words(at),
            before=bits.binary(found[at], changed=(found[at] ^ kept[at]) & 0xFF),
            after=bits.binary(kept[at], changed=(found[at] ^ kept[at]) & 0xFF),
        )
        for at, mask in enumerate(edit.mask)
        if mask
    ]
    steps = [
        Fact(gettext("As found"), _held(record, found, None)),
        Fact(
            gettext("Mask"),
            (bits.record_hex(edit.mask), gettext("a bit that is 1 here is written, every other stays")),
        ),
        Fact(gettext("Bits"), (bits.record_hex(edit.bits), gettext("what the masked bits become"))),
        Fact(gettext("Byte by byte"), tuple(lines)),
    ]
    if (checksum := edit.checksum) is not None:
        held, right = (
            n.to_bytes(checksum.size, "big") for n in (checksum.held(found), checksum.compute(kept))
        )
        over = kept[checksum.first : checksum.last + 1]
        name = CHECKSUM_NAMES.get(checksum.kind, checksum.kind)
        steps.append(
            Fact(
                gettext("Checksum"),
                (
                    Markup(gettext("{kind} over {bytes}")).format(kind=name, bytes=bits.record_hex(over)),
                    Markup(gettext("was {before}, becomes {after}")).format(
                        before=bits.record_hex(held), after=bits.record_hex(right)
                    ),
                ),
            )
        )
    moved = bytearray(edit.length)
    for byte, bit in differing(found, written):
        moved[byte] |= 1 << bit
    assert not any(m & ~t for m, t in zip(moved, touched(edit), strict=True))
    steps.append(Fact(gettext("To write"), _held(record, written, bytes(moved))))
    return Example(id, title, _read_on(example), tuple(steps))


def worked_names(example: WorkedExample, edit: NamesEdit, id: str, title: str) -> Example:
    """Before and after by name."""
    names = {one.setting.setting: one.definition.name for one in edit.fields}
    rows = []
    for term, text in ((gettext("As found"), example.found), (gettext("To write"), example.write)):
        shown = parse_names(tuple(names), text)
        rows.append(Fact(term, tuple(f"{names[setting]}: {words}" for setting, words in shown.items())))
    return Example(id, title, _read_on(example), tuple(rows))


def _held(record: Record, held: bytes, changed: bytes | None) -> tuple[str | Markup, ...]:
    pairs = bits.record_hex(held, changed)
    if record.shown_as is None:
        return (pairs,)
    number = int.from_bytes(held, record.shown_as.order)
    return (Markup(gettext("{number}, which is {bytes}")).format(number=number, bytes=pairs),)


def _read_on(example: WorkedExample) -> str | Markup:
    if example.read_on == MADE_UP:
        return gettext("Made up. It proves the arithmetic; it does not prove that any car holds these bytes.")
    return Markup(gettext('Read on a real car: <a href="#report-{id}">report {id}</a>.')).format(
        id=example.read_on
    )
