"""From validated data to how a vehicle line's VINs are made."""

from __future__ import annotations

from typing import Any as Data

from ..car.origin import Origin
from ..car.vehicles import Months
from ..car.vin import VinCodes, VinModelYear, VinPattern, VinSays, VinSerials


def months(text: str | None) -> Months:
    """``2019-03/..`` as its first and last month, None where open."""
    if text is None:
        return (None, None)
    first, _, last = text.partition("/")
    return (None if first == ".." else first, None if last == ".." else last)


def vin_pattern(data: Data, origin: Origin) -> VinPattern:
    """The ``vin`` of a vehicle line."""
    positions, serials = origin.at("positions"), origin.at("serials")
    year = data.get("model_year")
    return VinPattern(
        begins=tuple(data["begins"]),
        check_digit=data["check_digit"],
        positions=tuple(
            VinCodes(
                each["at"][0],
                each["at"][1],
                {one["code"]: _says(one) for one in each["codes"]},
                positions.at(n),
            )
            for n, each in enumerate(data.get("positions", ()))
        ),
        model_year=VinModelYear(year["at"], year["starts"]) if year else None,
        serials=tuple(
            VinSerials(
                each["at"][0],
                each["at"][1],
                each["from"],
                each["to"],
                _says(each),
                tuple((one["at"], one["is"]) for one in each.get("where", ())),
                serials.at(n),
            )
            for n, each in enumerate(data.get("serials", ()))
        ),
        origin=origin,
    )


def _says(data: Data) -> VinSays:
    return VinSays(
        models=tuple(data.get("models", ())),
        phases=tuple(data.get("phases", ())),
        markets=tuple(data.get("markets", ())),
        built=months(data.get("built")),
        equipment=tuple(data.get("equipment", ())),
        without=tuple(data.get("without", ())),
    )
