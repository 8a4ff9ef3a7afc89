"""From validated data to control modules, vehicle lines and conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any as Data

from ..car.bits import Part, Place
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
from ..car.origin import Origin
from ..car.records import Layout, Module, Record, ShownAsNumber
from ..car.settings import Choice, Choices, Kind, Number, Setting, Text
from ..car.vehicles import (
    Equipment,
    Fitted,
    FittedPlace,
    Market,
    Model,
    Phase,
    Power,
    VehicleLine,
)
from .build_vin import months, vin_pattern


def condition(data: Data, origin: Origin, own_record: str = "") -> Condition:
    """A condition; ``own_record`` is the record of the layout whose condition this is."""
    match data:
        case {"all": parts}:
            below = origin.at("all")
            return All(tuple(condition(part, below.at(n), own_record) for n, part in enumerate(parts)))
        case {"any": parts}:
            below = origin.at("any")
            return Any(tuple(condition(part, below.at(n), own_record) for n, part in enumerate(parts)))
        case {"not": part}:
            return Not(condition(part, origin.at("not"), own_record))
        case {"equipped": item}:
            return Equipped(item, origin)
        case {"software": module, "range": versions}:
            return Software(module, versions, origin)
        case {"part": module, "is": numbers}:
            return PartNumber(module, tuple(numbers), origin)
        case {"setting": setting, "is": values}:
            return SettingIs(setting, tuple(values), origin)
        case {"holds": held}:
            return Holds(
                record=held.get("record", own_record),
                byte=held["byte"],
                value=int(held["is"], 16),
                mask=int(held.get("mask", "FF"), 16),
                origin=origin,
            )
    return Vehicle(
        line=data["line"],
        models=tuple(data.get("models", ())),
        phases=tuple(data.get("phases", ())),
        built=months(data.get("built")),
        markets=tuple(data.get("markets", ())),
        origin=origin,
    )


def optional_condition(data: Data, origin: Origin, own_record: str = "") -> Condition | None:
    """The condition under ``for`` of a map, None when it has none."""
    return condition(data["for"], origin.at("for"), own_record) if "for" in data else None


def place(data: Data) -> Place:
    """One part or a list of parts, most significant first."""
    return Place(
        tuple(part for each in (data if isinstance(data, list) else [data]) for part in _parts(each))
    )


def _parts(data: Mapping[str, Data]) -> tuple[Part, ...]:
    match data:
        case {"bytes": [first, last]}:
            step = 1 if last >= first else -1
            return tuple(Part(byte) for byte in range(first, last + step, step))
        case {"byte": byte, "bit": bit}:
            return (Part(byte, bit, bit),)
        case {"byte": byte, "bits": [low, high]}:
            return (Part(byte, low, high),)
    return (Part(data["byte"]),)


def module(data: Data, origin: Origin) -> Module:
    """A module file."""
    below = origin.at("records")
    return Module(
        id=data["module"],
        name=data["name"],
        duty=data["duty"],
        restart_how=data["restart"]["how"],
        restart_minutes=data["restart"]["minutes"],
        records=tuple(_record(each, below.at(n), data["module"]) for n, each in enumerate(data["records"])),
        address=data.get("address"),
        where=data.get("where", ""),
        origin=origin,
    )


def _record(data: Data, origin: Origin, module_id: str) -> Record:
    own = f"{module_id}/{data['record']}"
    identifier, shown_as = data.get("identifier"), data.get("shown_as")
    settings, layouts = origin.at("settings"), origin.at("layouts")
    return Record(
        id=data["record"],
        name=data["name"],
        settings=tuple(_setting(each, settings.at(n)) for n, each in enumerate(data["settings"])),
        layouts=tuple(_layout(each, layouts.at(n), own) for n, each in enumerate(data.get("layouts", ()))),
        identifier=identifier["number"] if isinstance(identifier, dict) else identifier,
        shown_as=ShownAsNumber(shown_as["number"], shown_as["order"]) if isinstance(shown_as, dict) else None,
        names_only=data.get("names_only", False),
        access_code=data["access"]["code"] if "access" in data else None,
        takes_effect=data.get("takes_effect", "after-restart"),
        origin=origin,
    )


def _setting(data: Data, origin: Origin) -> Setting:
    return Setting(
        id=data["setting"],
        name=data["name"],
        kind=_kind(data),
        functions=tuple(data["functions"]),
        known_from=data["known_from"],
        about=data.get("about", ""),
        search_words=tuple(data.get("search_words", ())),
        origin=origin,
    )


def _kind(data: Data) -> Kind:
    match data:
        case {"choices": choices}:
            return Choices(_choices(choices))
        case {"number": number}:
            return Number(
                factor=Fraction(number["factor"]),
                offset=Fraction(number["offset"]),
                unit=number["unit"],
                min=Fraction(number["min"]),
                max=Fraction(number["max"]),
                signed=number["signed"],
                special=_choices(number.get("special", ())),
            )
    return Text(data["text"]["length"], data["text"]["pad"])


def _choices(data: Sequence[Data]) -> tuple[Choice, ...]:
    return tuple(Choice(each["means"], each.get("raw")) for each in data)


def _layout(data: Data, origin: Origin, own_record: str) -> Layout:
    return Layout(
        id=data["layout"],
        fits=optional_condition(data, origin, own_record),
        length=data["length"],
        places={setting: place(each) for setting, each in data["places"].items()},
        checksum=_checksum(data["checksum"]) if "checksum" in data else None,
        origin=origin,
    )


def _checksum(data: Data) -> Checksum:
    first, last = data["over"]
    return Checksum(
        kind=data["kind"],
        first=first,
        last=last,
        at=data["at"],
        order=data.get("order", "big"),
        by=data["by"],
    )


def line(data: Data, origin: Origin) -> VehicleLine:
    """A vehicle line's file."""
    return VehicleLine(
        id=data["line"],
        name=data["name"],
        about=data["about"],
        phases=tuple(
            Phase(each["phase"], each["name"], months(each["built"]), each["look"], origin.at("phases", n))
            for n, each in enumerate(data["phases"])
        ),
        models=tuple(
            Model(
                each["model"],
                each["name"],
                each["look"],
                tuple(each.get("phases", ())),
                origin.at("models", n),
            )
            for n, each in enumerate(data["models"])
        ),
        equipment=tuple(
            _equipment(each, origin.at("equipment", n)) for n, each in enumerate(data["equipment"])
        ),
        fitted=tuple(_fitted(each, origin.at("fitted", n)) for n, each in enumerate(data["fitted"])),
        markets=tuple(
            Market(each["market"], each["name"], each["look"], origin.at("markets", n))
            for n, each in enumerate(data.get("markets", ()))
        ),
        power=_power(data["power"]) if "power" in data else None,
        vin=vin_pattern(data["vin"], origin.at("vin")) if "vin" in data else None,
        origin=origin,
    )


def _equipment(data: Data, origin: Origin) -> Equipment:
    return Equipment(
        id=data["item"],
        name=data["name"],
        look=data["look"],
        models=tuple(data.get("models", ())),
        phases=tuple(data.get("phases", ())),
        standard=tuple((each.get("model"), each.get("phase")) for each in data.get("standard", ())),
        origin=origin,
    )


def _fitted(data: Data, origin: Origin) -> Fitted:
    return Fitted(
        module=data["module"],
        fits=optional_condition(data, origin),
        places=tuple(
            FittedPlace(each["place"], each["name"], each.get("address")) for each in data.get("places", ())
        ),
        origin=origin,
    )


def _power(data: Data) -> Power:
    return Power(Fraction(data["key_on_amps"]), Fraction(data["spare_amp_hours"]), data["measured"])
