"""Vehicle lines and modules in the form of their files; see ``fileform``."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any as Data

from ..car.bits import Part, Place
from ..car.checksums import Checksum
from ..car.records import Layout, Module, Record
from ..car.settings import Choice, Choices, Kind, Number, Setting
from ..car.values import decimal
from ..car.vehicles import Equipment, Fitted, VehicleLine
from ..car.vin import VinPattern, VinSays
from .compiled import condition, months

Object = dict[str, Data]


def lean(**keys: Data) -> Object:
    """A map without the keys that have nothing to say; a trailing ``_`` stands for names Python keeps."""
    return {
        key.rstrip("_"): value
        for key, value in keys.items()
        if value is not None and value != "" and value != [] and value != {}
    }


def line(one: VehicleLine) -> Object:
    """A vehicle line's file."""
    out = lean(
        line=one.id,
        name=one.name,
        about=one.about,
        phases=[
            {"phase": p.id, "name": p.name, "built": months(p.built), "look": p.look} for p in one.phases
        ],
        models=[lean(model=m.id, name=m.name, phases=list(m.phases), look=m.look) for m in one.models],
        markets=[{"market": m.id, "name": m.name, "look": m.look} for m in one.markets],
        fitted=[_fitted(each) for each in one.fitted],
        power=one.power
        and {
            "key_on_amps": decimal(one.power.key_on_amps),
            "spare_amp_hours": decimal(one.power.spare_amp_hours),
            "measured": one.power.measured,
        },
        vin=_vin(one.vin) if one.vin else None,
    )
    return out | {"equipment": [_equipment(each) for each in one.equipment]}


def _equipment(one: Equipment) -> Object:
    return lean(
        item=one.id,
        name=one.name,
        look=one.look,
        models=list(one.models),
        phases=list(one.phases),
        standard=[lean(model=model, phase=phase) for model, phase in one.standard],
    )


def _fitted(one: Fitted) -> Object:
    return lean(
        module=one.module,
        for_=condition(one.fits) if one.fits is not None else None,
        places=[lean(place=p.id, name=p.name, address=p.address) for p in one.places],
    )


def _vin(one: VinPattern) -> Object:
    year = one.model_year
    return lean(
        begins=list(one.begins),
        check_digit=one.check_digit,
        positions=[
            {
                "at": [group.first, group.last],
                "codes": [{"code": code, **_says(says)} for code, says in group.codes.items()],
            }
            for group in one.positions
        ],
        model_year=year and {"at": year.at, "starts": year.starts},
        serials=[
            lean(
                at=[each.first, each.last],
                from_=each.low,
                to=each.high,
                where=[{"at": at, "is": code} for at, code in each.where],
                **_says(each.says),
            )
            for each in one.serials
        ],
    )


def _says(one: VinSays) -> Object:
    return lean(
        models=list(one.models),
        phases=list(one.phases),
        markets=list(one.markets),
        built=months(one.built),
        equipment=list(one.equipment),
        without=list(one.without),
    )


# modules


def module(one: Module, publish_codes: bool = False) -> Object:
    """A module's file; access codes only where the club publishes them."""
    return lean(
        module=one.id,
        name=one.name,
        duty=one.duty,
        address=one.address,
        where=one.where,
        restart={"how": one.restart_how, "minutes": one.restart_minutes},
        records=[_record(each, publish_codes) for each in one.records],
    )


def _record(one: Record, publish_codes: bool) -> Object:
    identifier, shown = one.identifier, one.shown_as
    as_bytes = None if one.names_only else "bytes"
    code = one.access_code if publish_codes else "ask the club"
    return lean(
        record=one.id,
        name=one.name,
        identifier={"number": identifier} if isinstance(identifier, int) else identifier,
        shown_as={"number": shown.size, "order": shown.order} if shown else as_bytes,
        access={"code": code} if one.access_code is not None else None,
        takes_effect=one.takes_effect,
        names_only=one.names_only or None,
        settings=[_setting(each) for each in one.settings],
        layouts=[_layout(each) for each in one.layouts],
    )


def _setting(one: Setting) -> Object:
    return lean(
        setting=one.id,
        name=one.name,
        about=one.about,
        **_kind(one.kind),
        functions=list(one.functions),
        known_from=one.known_from,
        search_words=list(one.search_words),
    )


def _kind(kind: Kind) -> Object:
    match kind:
        case Choices(choices):
            return {"choices": _choices(choices)}
        case Number():
            return {
                "number": lean(
                    factor=decimal(kind.factor),
                    offset=decimal(kind.offset),
                    unit=kind.unit,
                    min=decimal(kind.min),
                    max=decimal(kind.max),
                    signed=kind.signed,
                    special=_choices(kind.special),
                )
            }
        case _:
            return {"text": {"length": kind.length, "pad": kind.pad}}


def _choices(choices: Iterable[Choice]) -> list[Object]:
    return [lean(raw=choice.raw, means=choice.means) for choice in choices]


def _layout(one: Layout) -> Object:
    return lean(
        layout=one.id,
        for_=condition(one.fits) if one.fits is not None else None,
        length=one.length,
        checksum=_checksum(one.checksum) if one.checksum else None,
        places={setting: place(where) for setting, where in one.places.items()},
    )


def _checksum(one: Checksum) -> Object:
    return {"kind": one.kind, "over": [one.first, one.last], "at": one.at, "order": one.order, "by": one.by}


def place(one: Place) -> Data:
    """One part, or a list of them; runs of whole bytes as one."""
    parts: list[Object] = []
    run: list[int] = []

    def close() -> None:
        if len(run) > 1:
            parts.append({"bytes": [run[0], run[-1]]})
        elif run:
            parts.append({"byte": run[0]})
        run.clear()

    for part in one.parts:
        whole = part.width == 8
        if not whole or (run and not _goes_on(run, part)):
            close()
        if whole:
            run.append(part.byte)
        elif part.width == 1:
            parts.append({"byte": part.byte, "bit": part.low})
        else:
            parts.append({"byte": part.byte, "bits": [part.low, part.high]})
    close()
    return parts[0] if len(parts) == 1 else parts


def _goes_on(run: list[int], part: Part) -> bool:
    step = part.byte - run[-1]
    return step == run[-1] - run[-2] if len(run) > 1 else abs(step) == 1
