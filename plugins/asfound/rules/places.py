"""What must hold for layouts: where each setting lies, and which layout a car has."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from ..book import Book
from ..car.records import Layout, Module, Record
from .ask import a_car, can_be, conditions_of
from .base import Problem, Rule, Stage


def places_inside(book: Book, module: Module) -> Iterator[Problem]:
    """Every part lies inside the record and no bit is named twice within a layout."""
    for record in module.records:
        for layout in record.layouts:
            yield from _places_inside(layout)


def _places_inside(layout: Layout) -> Iterator[Problem]:
    taken: dict[tuple[int, int], str] = {}
    checksum = layout.checksum
    if checksum is not None:
        origin = layout.origin.at("checksum")
        last = checksum.at + checksum.size - 1
        if last >= layout.length:
            yield Problem(
                origin.at("at"),
                f"the checksum ends in byte {last}, but the record ends with byte {layout.length - 1}",
                f"write at most {layout.length - checksum.size}, or a longer length",
                also=(layout.origin.at("length"),),
            )
            return
        if not checksum.first <= checksum.last < layout.length:
            yield Problem(
                origin.at("over"),
                f"bytes {checksum.first} to {checksum.last} are not a run of bytes of this record",
                f"write the first and the last byte, between 0 and {layout.length - 1}",
                also=(layout.origin.at("length"),),
            )
        elif checksum.first <= last and checksum.at <= checksum.last:
            yield Problem(
                origin.at("over"),
                "the checksum covers its own bytes",
                f"leave out bytes {checksum.at} to {last}",
            )
        taken |= dict.fromkeys(checksum.place.bits(), "the checksum")
    for setting, place in layout.places.items():
        origin = layout.origin.at("places", setting)
        inside = True
        for part in place.parts:
            if part.byte >= layout.length:
                inside = False
                yield Problem(
                    origin,
                    f"byte {part.byte} lies outside the record, which ends with byte {layout.length - 1}",
                    "write a byte inside the record, or a longer length",
                    also=(layout.origin.at("length"),),
                )
            if part.width < 1:
                inside = False
                yield Problem(
                    origin,
                    f"bits {part.low} to {part.high} run the wrong way",
                    f"write [{part.high}, {part.low}]: lowest bit first",
                )
        if not inside:
            continue
        for byte, bit in place.bits():
            other = taken.get((byte, bit))
            if other is not None:
                yield Problem(
                    origin,
                    f"byte {byte} bit {bit} is named twice by {setting}"
                    if other == setting
                    else f"byte {byte} bit {bit} already belongs to {other}",
                    "give each setting bits of its own",
                    also=(
                        layout.origin.at("checksum")
                        if other == "the checksum"
                        else layout.origin.at("places", other),
                    ),
                )
                break
            taken[byte, bit] = setting


def layouts_exclude(book: Book, module: Module) -> Iterator[Problem]:
    """Two layouts of a record never fit the same car."""
    for record in module.records:
        for one, other in combinations(record.layouts, 2):
            car = a_car(book, one.fits, other.fits)
            if car is not None:
                yield Problem(
                    other.origin.at("for") if other.fits is not None else other.origin.at("layout"),
                    f"layouts {one.id} and {other.id} of {module.id}/{record.id} both fit a car: {car}",
                    "make their conditions exclude each other, for instance with not",
                    also=conditions_of(one),
                )
        for layout in record.layouts:
            if layout.fits is not None and not can_be(book, layout.fits):
                yield Problem(
                    layout.origin.at("for"),
                    f"layout {layout.id} fits no car",
                    "widen the condition or remove the layout",
                )


def identifiers_differ(book: Book, module: Module) -> Iterator[Problem]:
    """No two records of a module are kept under one identifier."""
    seen: dict[str | int, Record] = {}
    for record in module.records:
        if record.identifier is None:
            continue
        other = seen.setdefault(record.identifier, record)
        if other is not record:
            yield Problem(
                record.origin.at("identifier"),
                f"records {other.id} and {record.id} have the same identifier",
                "look up which is which",
                also=(other.origin.at("identifier"),),
            )


RULES = (
    Rule(
        "place-outside-or-shared",
        "In a layout every place lies inside the record and no bit belongs to two settings.",
        "Writing one setting would change another.",
        "Write a place inside the record, and give each setting bits of its own.",
        "module",
        places_inside,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "layouts-overlap",
        "Layouts of one record exclude each other.",
        "A reader could not tell which bytes are meant.",
        "Make the conditions of the layouts exclude each other, for instance with not.",
        "module",
        layouts_exclude,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "identifier-twice",
        "Records of a module have identifiers of their own.",
        "A reader would write one record's bytes into another.",
        "Look up which record has which identifier.",
        "module",
        identifiers_differ,
        Stage.SHAPE,
        grounds=True,
    ),
)
