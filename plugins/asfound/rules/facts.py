"""What a report says of its car, and where."""

from __future__ import annotations

from collections.abc import Iterable

from ..car.conditions import Equipped, Holds, Leaf, PartNumber, SettingIs, Software, Vehicle
from ..car.origin import Origin
from ..trust.reports import Report


def about(leaf: Leaf) -> frozenset[tuple[str, str]]:
    """What a leaf asks about, without what it wants the answer to be."""
    match leaf:
        case Vehicle():
            asked = {"model": leaf.models, "phase": leaf.phases, "market": leaf.markets}
            given = [key for key, values in asked.items() if values]
            given += ["built"] if leaf.built != (None, None) else []
            return frozenset((leaf.line, key) for key in given or ["line"])
        case Equipped(item):
            return frozenset((("equipped", item),))
        case Software(module):
            return frozenset((("software", module),))
        case PartNumber(module):
            return frozenset((("part", module),))
        case Holds():
            return frozenset((("holds", leaf.record),))
        case SettingIs():
            return frozenset((("setting", leaf.setting),))


def facts(asked: Iterable[Leaf], report: Report) -> tuple[Origin, ...]:
    """Where a report says what the leaves of a condition ask; the whole car where it says nothing of it."""
    car, at = report.car, report.origin.at
    out: list[Origin] = []
    for leaf in asked:
        match leaf:
            case Vehicle():
                limited = {"model": leaf.models, "phase": leaf.phases, "market": leaf.markets}
                out += (at("car", key) for key, values in limited.items() if values)
                out += (at("car", "built"),) if leaf.built != (None, None) else ()
            case Equipped(item):
                out += (at("car", "equipment", n) for n, name in enumerate(car.equipment) if name == item)
                out += (at("car", "without", n) for n, name in enumerate(car.without) if name == item)
            case Software(module):
                out += (at("car", "modules", module, "software"),) if module in car.software else ()
            case PartNumber(module):
                out += (at("car", "modules", module, "part"),) if module in car.parts else ()
    return tuple(dict.fromkeys(out)) or (at("car"),)
