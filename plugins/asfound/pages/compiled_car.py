"""Cars as plain data: conditions, vehicle lines, modules, records, settings, layouts. See ``compiled``."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any as Data
from typing import assert_never

from ..car.bits import Place
from ..car.checksums import Checksum
from ..car.conditions import (
    All,
    Any,
    Condition,
    Equipped,
    Holds,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
)
from ..car.records import Layout, Module, Record
from ..car.settings import Choice, Choices, Kind, Number, Setting, Text
from ..car.values import decimal
from ..car.vehicles import Months, Power, VehicleLine
from ..car.vin import VinPattern, VinSays

Object = dict[str, Data]


def condition(test: Condition) -> Object:
    """A condition as it is written in files."""
    match test:
        case All(of):
            return {"all": [condition(part) for part in of]}
        case Any(of):
            return {"any": [condition(part) for part in of]}
        case Not(of):
            return {"not": condition(of)}
        case Vehicle():
            return lean(
                {
                    "line": test.line,
                    "models": list(test.models),
                    "phases": list(test.phases),
                    "markets": list(test.markets),
                    "built": months(test.built),
                }
            )
        case Equipped(item):
            return {"equipped": item}
        case Software(module_id, versions):
            return {"software": module_id, "range": versions}
        case PartNumber(module_id, numbers):
            return {"part": module_id, "is": list(numbers)}
        case Holds(record_path, byte, value, mask):
            return {
                "holds": {"record": record_path, "byte": byte, "is": f"{value:02X}", "mask": f"{mask:02X}"}
            }
        case SettingIs(setting_path, values):
            return {"setting": setting_path, "is": list(values)}
        case _:
            assert_never(test)


def months(built: Months) -> str | None:
    """An interval of months, ``2019-03/..``; None when both ends are open."""
    return None if built == (None, None) else "/".join(end or ".." for end in built)


def line(one: VehicleLine) -> Object:
    """A vehicle line: what it is made in, what may be fitted, how to tell."""
    return lean(
        {
            "id": one.id,
            "name": one.name,
            "phases": [
                lean({"id": p.id, "name": p.name, "built": months(p.built), "look": p.look})
                for p in one.phases
            ],
            "models": [
                lean({"id": m.id, "name": m.name, "phases": list(m.phases), "look": m.look})
                for m in one.models
            ],
            "markets": [{"id": m.id, "name": m.name, "look": m.look} for m in one.markets],
            "equipment": [
                lean(
                    {
                        "id": e.id,
                        "name": e.name,
                        "look": e.look,
                        "models": list(e.models),
                        "phases": list(e.phases),
                        "standard": [list(where) for where in e.standard],  # [model or null, phase or null]
                    }
                )
                for e in one.equipment
            ],
            "fitted": [
                lean(
                    {
                        "module": f.module,
                        "for": condition(f.fits) if f.fits else None,
                        "places": [
                            lean({"id": p.id, "name": p.name, "address": p.address}) for p in f.places
                        ],
                    }
                )
                for f in one.fitted
            ],
            "power": _power(one.power) if one.power else None,
            "vin": _vin(one.vin) if one.vin else None,
        }
    )


def of_module(one: Module) -> Object:
    """A module with its records."""
    return lean(
        {
            "id": one.id,
            "name": one.name,
            "address": one.address,
            "restart": {"how": one.restart_how, "minutes": one.restart_minutes},
            "records": [record(r) for r in one.records],
        }
    )


def record(one: Record) -> Object:
    """A record: ``shown_as`` is [bytes, order] for one shown as a number; left out for bytes."""
    return lean(
        {
            "id": one.id,
            "name": one.name,
            "identifier": one.identifier,
            "shown_as": [one.shown_as.size, one.shown_as.order] if one.shown_as else None,
            "names_only": one.names_only,
            "locked": one.access_code is not None,
            "takes_effect": one.takes_effect,
            "settings": [setting(s) for s in one.settings],
            "layouts": [layout(x) for x in one.layouts],
        }
    )


def setting(one: Setting) -> Object:
    """A setting: exactly one of ``choices``, ``number``, ``text``; choices are [raw, words]."""
    return lean({"id": one.id, "name": one.name, **_kind(one.kind), "guess": one.known_from == "guess"})


def layout(one: Layout) -> Object:
    """A layout: ``places`` by setting."""
    return lean(
        {
            "id": one.id,
            "for": condition(one.fits) if one.fits else None,
            "length": one.length,
            "checksum": checksum(one.checksum),
            "places": {name: place(where) for name, where in one.places.items()},
        }
    )


def place(where: Place) -> list[list[int]]:
    """Parts, the most significant first."""
    return [[part.byte, part.low, part.high] for part in where.parts]


def checksum(one: Checksum | None) -> Object | None:
    """A checksum: over the bytes first to last, both included."""
    if one is None:
        return None
    return {"kind": one.kind, "over": [one.first, one.last], "at": one.at, "order": one.order, "by": one.by}


def _kind(kind: Kind) -> Object:
    match kind:
        case Choices(choices):
            return {"choices": _choices(choices)}
        case Number():
            number = lean(
                {
                    "factor": decimal(kind.factor),
                    "offset": decimal(kind.offset),
                    "unit": kind.unit,
                    "min": decimal(kind.min),
                    "max": decimal(kind.max),
                    "signed": kind.signed,
                    "special": _choices(kind.special),
                }
            )
            return {"number": number}
        case Text(length, pad):
            return {"text": {"length": length, "pad": pad}}


def _choices(choices: Iterable[Choice]) -> list[list[str | None]]:
    return [
        [None if c.raw is None else str(c.raw), c.means, *([c.shown] if c.shown else [])] for c in choices
    ]


def _power(one: Power) -> Object:
    return {
        "key_on_amps": decimal(one.key_on_amps),
        "spare_amp_hours": decimal(one.spare_amp_hours),
        "measured": one.measured,
    }


def _vin(one: VinPattern) -> Object:
    """As in the vehicle file."""
    year = one.model_year
    return lean(
        {
            "begins": list(one.begins),
            "check_digit": one.check_digit,
            "positions": [
                {
                    "at": [group.first, group.last],
                    "codes": [{"code": code, **_says(says)} for code, says in group.codes.items()],
                }
                for group in one.positions
            ],
            "model_year": {"at": year.at, "starts": year.starts} if year else None,
            "serials": [
                lean(
                    {
                        "at": [serials.first, serials.last],
                        "from": serials.low,
                        "to": serials.high,
                        "where": [{"at": at, "is": code} for at, code in serials.where],
                        **_says(serials.says),
                    }
                )
                for serials in one.serials
            ],
        }
    )


def _says(one: VinSays) -> Object:
    return lean(
        {
            "models": list(one.models),
            "phases": list(one.phases),
            "markets": list(one.markets),
            "built": months(one.built),
            "equipment": list(one.equipment),
            "without": list(one.without),
        }
    )


def lean(full: Object) -> Object:
    """Without the keys that have nothing to say."""
    return {
        key: value
        for key, value in full.items()
        if value is not None and value is not False and (value == 0 or value)
    }
