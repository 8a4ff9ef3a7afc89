"""What must hold for settings: every value can be stored and is told apart from the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..book import Book
from ..car.origin import Origin
from ..car.records import Layout, Module, Record
from ..car.settings import Choices, Number, Setting, Text
from ..car.values import ValueProblem, decimal, decode, encode
from ..source.findings import plainly
from .base import Problem, Rule, Stage


def settings_fit(book: Book, module: Module) -> Iterator[Problem]:
    """What a setting can be fits into its bits; raw values and meanings are distinct."""
    for record in module.records:
        for setting in record.settings:
            yield from _values_distinct(record, setting)
            said: set[tuple[Origin, str]] = set()
            for layout in record.layouts:
                for problem in _fits(setting, layout) if setting.id in layout.places else ():
                    if (problem.origin, problem.message) not in said:
                        said.add((problem.origin, problem.message))
                        yield problem
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
    if isinstance(kind, Choices):
        choices, list_ = kind.choices, setting.origin.at("choices")
    else:
        choices, list_ = kind.special, setting.origin.at("number", "special")
    first: dict[int, int] = {}
    for index, choice in enumerate(choices):
        at = list_.at(index).at
        if record.names_only != (choice.raw is None):
            yield Problem(
                at("raw") if choice.raw is not None else at(),
                "a stored value in a record of which only names are known"
                if record.names_only
                else f"choice {choice.means} has no stored value",
                "remove raw" if record.names_only else "add raw: the number the bits hold",
                also=(record.origin.at("names_only"),) if record.names_only else (),
            )
        before = index if choice.raw is None else first.setdefault(choice.raw, index)
        if before != index:
            yield Problem(
                at("raw"),
                f"stored value {choice.raw} is named twice",
                "give each meaning its own",
                also=(list_.at(before, "raw"),),
            )


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
        yield from _limits_are_storable(setting, kind, layout, width)
        yield from _special_is_no_number(setting, kind, layout, width)


def _limits_are_storable(setting: Setting, kind: Number, layout: Layout, width: int) -> Iterator[Problem]:
    where = layout.origin.at("places", setting.id)
    for key, value in (("min", kind.min), ("max", kind.max)):
        origin = setting.origin.at("number", key)
        scale = tuple(setting.origin.at("number", each) for each in ("factor", "offset"))
        try:
            stored = encode(setting, decimal(value), width)
        except ValueProblem as problem:
            special = setting.origin.at("number", "special")
            raws = (special.at(index, "raw") for index in range(len(kind.special)))
            also = (where, setting.origin.at("number", "signed"), *scale, *raws)
            yield Problem(origin, plainly(problem.reason), plainly(problem.repair), also)
        else:
            if not stored.exact:
                yield Problem(
                    origin,
                    f"{decimal(value)} {kind.unit} cannot be stored; the nearest is {stored.shown}",
                    f"write {stored.shown}",
                    also=scale,
                )


def _special_is_no_number(setting: Setting, kind: Number, layout: Layout, width: int) -> Iterator[Problem]:
    for index, special in enumerate(kind.special):
        if special.raw is None or special.raw >> width:
            continue
        plain = replace(setting, kind=replace(kind, special=()))
        meaning = decode(plain, special.raw, width)
        if meaning.known:
            yield Problem(
                setting.origin.at("number", "special", index, "raw"),
                f"{special.raw} means {special.means}, but in layout {layout.id} also "
                f"{meaning.words} {kind.unit}",
                "write another number, or narrow min and max",
                also=tuple(setting.origin.at("number", key) for key in ("min", "max")),
            )


RULES = (
    Rule(
        "value-does-not-fit",
        "Every value a setting can have fits into its bits and is told apart from the others.",
        "The module would store something else than the page says.",
        "Write a value that fits, or give the setting more bits.",
        "module",
        settings_fit,
        Stage.SHAPE,
        grounds=True,
    ),
)
