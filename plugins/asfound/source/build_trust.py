"""From validated data to the club, reports, signatures and past codes."""

from __future__ import annotations

from typing import Any as Data

from ..car.origin import Origin
from ..trust.reports import Club, PastCode, Report, ReportedCar, Reviewer, Signature, Times, Vetting


def club(data: Data, origin: Origin) -> Club:
    """The club's file."""
    vetting, policy, times = data["vetting"], data["policy"], data["times"]
    return Club(
        id=data["club"],
        name=data["name"],
        about=data["about"],
        contact=data["contact"],
        reviewers=tuple(
            Reviewer(each["handle"], each["since"], each.get("until")) for each in data["reviewers"]
        ),
        vetting=Vetting(vetting["signatures"], vetting["reports"], vetting["most_bad"]),
        access_codes=policy["access_codes"],
        publish_unvetted=policy["publish_unvetted"],
        refuse_functions=tuple(policy["refuse_functions"]),
        times=Times(times["faults"], times["module"], times["record"], times["check"]),
        long_key_on=data["long_key_on"],
        site=data.get("site"),
        language=data.get("language", "en"),
        origin=origin,
    )


def report(data: Data, origin: Origin) -> Report:
    """A report's file."""
    return Report(
        id=data["report"],
        recipe=data["recipe"],
        sheet_code=data["sheet_code"],
        by=data["by"],
        date=data["date"],
        car=_car(data["car"]),
        outcome=data["outcome"],
        found=data.get("found", {}),
        left=data.get("left", {}),
        side_effects=data.get("side_effects", ""),
        in_use=data.get("in_use"),
        note=data.get("note", ""),
        origin=origin,
    )


def _car(data: Data) -> ReportedCar:
    modules = data.get("modules", {})
    return ReportedCar(
        line=data["line"],
        model=data["model"],
        phase=data["phase"],
        market=data.get("market"),
        built=data.get("built"),
        equipment=tuple(data.get("equipment", ())),
        without=tuple(data.get("without", ())),
        software={module: said["software"] for module, said in modules.items() if "software" in said},
        parts={module: said["part"] for module, said in modules.items() if "part" in said},
    )


def signature(data: Data, origin: Origin) -> Signature:
    """A signature's file."""
    note = data.get("note", "")
    return Signature(data["recipe"], data["by"], data["sheet_code"], data["date"], note, origin)


def codes(data: Data, origin: Origin) -> tuple[PastCode, ...]:
    """The file of a recipe's past codes, oldest first."""
    return tuple(
        PastCode(each["sheet_code"], each["date"], each["work"], each.get("what", ""), each.get("fits", {}))
        for each in data["codes"]
    )
