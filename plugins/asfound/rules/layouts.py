"""What must hold inside module and vehicle files: places, layouts, numbers, phases."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from ..book import Book
from ..car.records import Layout, Module, Record
from ..car.settings import Choices, Number, Setting, Text
from ..car.values import ValueProblem, decimal, encode
from ..car.vehicles import VehicleLine
from .ask import a_car, can_be
from .base import Problem, Rule


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
            )
            return
        if not checksum.first <= checksum.last < layout.length:
            yield Problem(
                origin.at("over"),
                f"bytes {checksum.first} to {checksum.last} are not a run of bytes of this record",
                f"write the first and the last byte, between 0 and {layout.length - 1}",
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
                    also=() if other == "the checksum" else (layout.origin.at("places", other),),
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
                    also=(one.origin.at("for"),) if one.fits is not None else (),
                )
        for layout in record.layouts:
            if layout.fits is not None and not can_be(book, layout.fits):
                yield Problem(
                    layout.origin.at("for"),
                    f"layout {layout.id} fits no car",
                    "widen the condition or remove the layout",
                )


def settings_fit(book: Book, module: Module) -> Iterator[Problem]:
    """What a setting can be fits into its bits; raw values and meanings are distinct."""
    for record in module.records:
        for setting in record.settings:
            yield from _values_distinct(record, setting)
            for layout in record.layouts:
                if setting.id in layout.places:
                    yield from _fits(setting, layout)
        placed = {name for layout in record.layouts for name in layout.places}
        for setting in record.settings:
            if not record.names_only and setting.id not in placed:
                yield Problem(
                    setting.origin.at("setting"),
                    f"no layout of {module.id}/{record.id} says where {setting.id} lies",
                    "add its place to a layout, or remove the setting",
                )
        size = record.shown_as.size if record.shown_as else None
        for layout in record.layouts:
            if size is not None and layout.length != size:
                yield Problem(
                    layout.origin.at("length"),
                    f"the record is shown as a number of {size} bytes, the layout has {layout.length}",
                    f"write {size}",
                    also=(record.origin.at("shown_as"),),
                )


def _values_distinct(record: Record, setting: Setting) -> Iterator[Problem]:
    kind = setting.kind
    if isinstance(kind, Text):
        return
    key, choices = ("choices", kind.choices) if isinstance(kind, Choices) else ("number", kind.special)
    seen_raw: set[int] = set()
    seen_means: set[str] = set()
    for index, choice in enumerate(choices):
        origin = (
            setting.origin.at("choices", index)
            if key == "choices"
            else setting.origin.at("number", "special", index)
        )
        if record.names_only != (choice.raw is None):
            yield Problem(
                origin.at("raw") if choice.raw is not None else origin,
                "a stored value in a record of which only names are known"
                if record.names_only
                else f"choice {choice.means} has no stored value",
                "remove raw" if record.names_only else "add raw: the number the bits hold",
            )
        if choice.raw is not None and choice.raw in seen_raw:
            yield Problem(
                origin.at("raw"), f"stored value {choice.raw} is named twice", "give each meaning its own"
            )
        if choice.means in seen_means:
            yield Problem(origin.at("means"), f"{choice.means} is named twice", "use different words")
        if choice.raw is not None:
            seen_raw.add(choice.raw)
        seen_means.add(choice.means)


def _fits(setting: Setting, layout: Layout) -> Iterator[Problem]:
    place, kind = layout.places[setting.id], setting.kind
    if any(part.width < 1 for part in place.parts):
        return
    width, where = place.width, layout.origin.at("places", setting.id)
    if isinstance(kind, Text):
        if width != 8 * kind.length:
            yield Problem(
                where,
                f"{setting.id} is a text of {kind.length} bytes, its place has {width} bits",
                f"name {kind.length} whole bytes",
                also=(setting.origin.at("text", "length"),),
            )
        return
    choices = kind.choices if isinstance(kind, Choices) else kind.special
    for index, choice in enumerate(choices):
        if choice.raw is not None and choice.raw >> width:
            origin = (
                setting.origin.at("choices", index, "raw")
                if isinstance(kind, Choices)
                else setting.origin.at("number", "special", index, "raw")
            )
            yield Problem(
                origin,
                f"{choice.raw} does not fit into the {width} bits of {setting.id} in layout {layout.id}",
                f"write at most {(1 << width) - 1}, or give it more bits",
                also=(where,),
            )
    if isinstance(kind, Number):
        for key, value in (("min", kind.min), ("max", kind.max)):
            try:
                encode(setting, decimal(value), width)
            except ValueProblem as problem:
                yield Problem(setting.origin.at("number", key), problem.reason, problem.repair, also=(where,))


def phases_apart(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """Phases stand oldest first and their months do not overlap."""
    for one, other in zip(line.phases, line.phases[1:], strict=False):
        end, start = one.built[1], other.built[0]
        if end is None or start is None or end >= start:
            yield Problem(
                other.origin.at("built"),
                f"phase {other.id} begins before phase {one.id} ends",
                f"begin after {end}" if end else f"let phase {one.id} end before phase {other.id} begins",
                also=(one.origin.at("built"),),
            )


def ids_distinct(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """Within a line no id stands twice."""
    for what, things in (
        ("phase", line.phases),
        ("model", line.models),
        ("market", line.markets),
        ("item", line.equipment),
    ):
        seen: set[str] = set()
        for thing in things:
            if thing.id in seen:
                yield Problem(thing.origin.at(what), f"{what} {thing.id} is named twice", "use another name")
            seen.add(thing.id)
    fitted: set[str] = set()
    for each in line.fitted:
        if each.module in fitted:
            yield Problem(
                each.origin.at("module"),
                f"module {each.module} is fitted twice",
                "name its places in one entry",
            )
        fitted.add(each.module)


def ids_distinct_in_module(book: Book, module: Module) -> Iterator[Problem]:
    """Within a module no record, within a record no setting or layout stands twice."""
    groups: list[tuple[str, tuple[Record, ...] | tuple[Setting, ...] | tuple[Layout, ...]]] = [
        ("record", module.records)
    ]
    for record in module.records:
        groups += [("setting", record.settings), ("layout", record.layouts)]
    for what, things in groups:
        seen: set[str] = set()
        for thing in things:
            if thing.id in seen:
                yield Problem(thing.origin.at(what), f"{what} {thing.id} is named twice", "use another name")
            seen.add(thing.id)
    identifiers: dict[str | int, str] = {}
    for record in module.records:
        if record.identifier is None:
            continue
        other = identifiers.setdefault(record.identifier, record.id)
        if other != record.id:
            yield Problem(
                record.origin.at("identifier"),
                f"records {other} and {record.id} have the same identifier",
                "look up which is which",
            )


RULES = (
    Rule(
        "place-outside-or-shared",
        "In a layout every place lies inside the record and no bit belongs to two settings.",
        "Writing one setting would change another.",
        "module",
        places_inside,
    ),
    Rule(
        "layouts-overlap",
        "Layouts of one record exclude each other.",
        "A reader could not tell which bytes are meant.",
        "module",
        layouts_exclude,
    ),
    Rule(
        "value-does-not-fit",
        "Every value a setting can have fits into its bits and is told apart from the others.",
        "The module would store something else than the page says.",
        "module",
        settings_fit,
    ),
    Rule(
        "phases-overlap",
        "Phases stand oldest first and do not overlap.",
        "One car would be in two phases.",
        "line",
        phases_apart,
    ),
    Rule(
        "named-twice",
        "Names in a vehicle file are unique.",
        "One would hide the other.",
        "line",
        ids_distinct,
    ),
    Rule(
        "named-twice",
        "Names in a module file are unique.",
        "One would hide the other.",
        "module",
        ids_distinct_in_module,
    ),
)
