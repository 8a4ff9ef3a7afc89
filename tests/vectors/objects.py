"""From the compiled data of ``asfound.pages.compiled`` back to the objects, for the vectors only."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from asfound.car.bits import Part, Place
from asfound.car.checksums import Checksum
from asfound.car.conditions import All, Condition
from asfound.car.conditions import Any as AnyOf
from asfound.car.known import Known
from asfound.car.origin import NOWHERE
from asfound.car.records import Layout, Module, Record, RecordPath, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Kind, Number, Setting, Text
from asfound.car.vehicles import Equipment, Fitted, FittedPlace, Market, Model, Phase, Power, VehicleLine
from asfound.source.build_car import condition as built_condition
from asfound.source.build_vin import months, vin_pattern
from asfound.work.compiled import Edit, FieldEdit, NamesEdit, NamesFieldEdit
from asfound.work.recipes import Alternative


def condition(data: Any) -> Condition:
    """A condition; the file form, and the constants that files do not have."""
    match data:
        case {"all": []}:
            return All(())
        case {"any": []}:
            return AnyOf(())
    return built_condition(data, NOWHERE)


def place(data: Any) -> Place:
    return Place(tuple(Part(*part) for part in data))


def checksum(data: Any) -> Checksum | None:
    if data is None:
        return None
    return Checksum(data["kind"], *data["over"], data["at"], data["order"], data["by"])


def setting(data: Any) -> Setting:
    return Setting(
        data["id"], data["name"], kind(data), ("comfort",), "guess" if data.get("guess") else "club"
    )


def kind(data: Any) -> Kind:
    match data:
        case {"choices": choices}:
            return Choices(_choices(choices))
        case {"number": n}:
            factor, offset, low, high = (Fraction(n[key]) for key in ("factor", "offset", "min", "max"))
            special = _choices(n.get("special", ()))
            return Number(factor, offset, n["unit"], low, high, n.get("signed", False), special)
    return Text(data["text"]["length"], data["text"]["pad"])


def _choices(data: Any) -> tuple[Choice, ...]:
    return tuple(Choice(means, None if raw is None else int(raw)) for raw, means in data)


def layout(data: Any) -> Layout:
    return Layout(
        data["id"],
        condition(data["for"]) if "for" in data else None,
        data["length"],
        {name: place(where) for name, where in data["places"].items()},
        checksum(data.get("checksum")),
    )


def record(data: Any) -> Record:
    return Record(
        data["id"],
        data["name"],
        tuple(map(setting, data["settings"])),
        tuple(map(layout, data.get("layouts", ()))),
        data.get("identifier"),
        ShownAsNumber(*data["shown_as"]) if "shown_as" in data else None,
        data.get("names_only", False),
        "ask the club" if data.get("locked") else None,
        data["takes_effect"],
    )


def module(data: Any) -> Module:
    restart = data["restart"]
    records = tuple(map(record, data["records"]))
    return Module(
        data["id"], data["name"], "", restart["how"], restart["minutes"], records, data.get("address")
    )


def path(setting_id: str, of: str) -> SettingPath:
    where = RecordPath.parse(of)
    return SettingPath(where.module, where.record, setting_id)


def edit(data: Any, settings: Any) -> Edit | NamesEdit:
    """An edit; ``settings`` are those of its record."""
    defined = {one["id"]: setting(one) for one in settings}
    where = RecordPath.parse(data["record"])
    if "layout" not in data:
        return NamesEdit(
            where,
            tuple(
                NamesFieldEdit(
                    path(f["setting"], data["record"]),
                    f.get("before_words"),
                    f["to_words"],
                    f.get("asked", False),
                    definition=defined[f["setting"]],
                )
                for f in data["fields"]
            ),
        )
    fields = tuple(
        FieldEdit(
            path(f["setting"], data["record"]),
            place(f["place"]),
            int(f["before"]) if "before" in f else None,
            int(f["to"]),
            f.get("before_words"),
            f["to_words"],
            not f.get("rounded", False),
            f.get("asked", False),
            definition=defined[f["setting"]],
        )
        for f in data["fields"]
    )
    return Edit(
        where,
        data["layout"],
        data["length"],
        bytes.fromhex(data["mask"]),
        bytes.fromhex(data["bits"]),
        fields,
        checksum(data.get("checksum")),
        tuple(f.setting for f in fields if f.asked),
    )


def alternatives(data: Any) -> tuple[Alternative, ...]:
    return tuple(Alternative(SettingPath.parse(one["setting"]), one["to"], one["does"]) for one in data)


def line(data: Any) -> VehicleLine:
    return VehicleLine(
        data["id"],
        data["name"],
        "",
        tuple(Phase(p["id"], p["name"], months(p.get("built")), p["look"]) for p in data["phases"]),
        tuple(Model(m["id"], m["name"], m["look"], tuple(m.get("phases", ()))) for m in data["models"]),
        tuple(
            Equipment(
                e["id"],
                e["name"],
                e["look"],
                tuple(e.get("models", ())),
                tuple(e.get("phases", ())),
                tuple((model, phase) for model, phase in e.get("standard", ())),
            )
            for e in data.get("equipment", ())
        ),
        tuple(
            Fitted(
                f["module"],
                condition(f["for"]) if "for" in f else None,
                tuple(FittedPlace(p["id"], p["name"], p.get("address")) for p in f.get("places", ())),
            )
            for f in data.get("fitted", ())
        ),
        tuple(Market(m["id"], m["name"], m["look"]) for m in data.get("markets", ())),
        power(data.get("power")),
        vin_pattern({"check_digit": False, **data["vin"]}, NOWHERE) if "vin" in data else None,
    )


def power(data: Any) -> Power | None:
    if data is None:
        return None
    return Power(Fraction(data["key_on_amps"]), Fraction(data["spare_amp_hours"]), data["measured"])


def known(data: Any) -> Known:
    """What is known of a car; keys as in the car file, those left out unknown."""

    def sets(name: str) -> frozenset[str] | None:
        return frozenset(data[name]) if name in data else None

    modules = data.get("modules", {})
    return Known(
        sets("lines"),
        sets("models"),
        sets("phases"),
        sets("markets"),
        data.get("built"),
        data.get("equipment", {}),
        {name: m["software"] for name, m in modules.items() if "software" in m},
        {name: m["part"] for name, m in modules.items() if "part" in m},
        {name: bytes.fromhex(held) for name, held in data.get("records", {}).items()},
        data.get("settings", {}),
    )
