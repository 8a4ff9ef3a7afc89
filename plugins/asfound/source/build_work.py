"""From validated data to recipes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any as Data
from typing import Literal, TypeVar

from ..car.origin import Origin
from ..car.records import RecordPath, SettingPath
from ..work.recipes import (
    Alternative,
    Ask,
    Change,
    Check,
    Clash,
    ExpectedFault,
    Hazard,
    HistoryEntry,
    Media,
    Message,
    Picture,
    Precheck,
    Recipe,
    Step,
    Withdrawal,
    WorkedExample,
)
from .build_car import condition, optional_condition

T = TypeVar("T")


def recipe(data: Data, origin: Origin) -> Recipe:
    """A recipe file."""

    def each(key: str, build: Callable[[Data, Origin], T]) -> tuple[T, ...]:
        return tuple(build(item, origin.at(key, n)) for n, item in enumerate(data.get(key, ())))

    return Recipe(
        id=data["recipe"],
        title=data["title"],
        by=data["by"],
        purpose=data["purpose"],
        annoyance=data["annoyance"],
        fits=condition(data["fits"], origin.at("fits")),
        checks=each("checks", _check),
        way_back=_way_back(data["way_back"]),
        status=data["status"],
        history=tuple(HistoryEntry(entry["date"], entry["what"]) for entry in data["history"]),
        changes=each("changes", _change),
        media=_media(data["media"], origin.at("media")) if "media" in data else None,
        alternatives=each("alternatives", _alternative),
        functions=tuple(data.get("functions", ())),
        hazards=each("hazards", _hazard),
        ready=tuple(data.get("ready", ())),
        before=each("before", _precheck),
        steps=each("steps", _step),
        may_show=tuple(Message(entry["message"], entry["means"]) for entry in data.get("may_show", ())),
        faults_to_expect=each("faults_to_expect", _fault),
        worked_examples=each("worked_examples", _example),
        pictures=each("pictures", _picture),
        needs=tuple(data.get("needs", ())),
        clashes=each("clashes", _clash),
        replaces=tuple(data.get("replaces", ())),
        alone=data.get("alone", False),
        withdrawn=_withdrawal(data["withdrawn"]) if "withdrawn" in data else None,
        origin=origin,
    )


def _change(data: Data, origin: Origin) -> Change:
    to = data["to"]
    return Change(
        setting=SettingPath.parse(data["setting"]),
        before=None if data["from"] == "any" else data["from"],
        to=Ask(to["ask"], to["suggest"]) if isinstance(to, dict) else to,
        place=data.get("place"),
        fits=optional_condition(data, origin),
        origin=origin,
    )


def _alternative(data: Data, origin: Origin) -> Alternative:
    return Alternative(SettingPath.parse(data["setting"]), data["to"], data["does"], origin)


def _media(data: Data, origin: Origin) -> Media:
    card, reading = data["card"], data["reading"]
    return Media(
        module=data["module"],
        name=data["name"],
        version=data["version"],
        size=data["size"],
        sha256=data["sha256"],
        origin_from=data["origin"]["from"],
        origin_how=data["origin"]["how"],
        file_system=card["file_system"],
        smallest_gb=card["smallest_gb"],
        largest_gb=card.get("largest_gb"),
        menu=tuple(data["menu"]),
        minutes=data["minutes"],
        reading_where=reading["where"],
        reading_before=tuple(reading["before"]),
        reading_after=reading["after"],
        origin=origin,
    )


def _hazard(data: Data, origin: Origin) -> Hazard:
    return Hazard(
        hazard=data["hazard"],
        consequence=data["consequence"],
        avoid=data["avoid"],
        harm=data["harm"],
        certainty=data["certainty"],
        likelihood=data["likelihood"],
        loss=data.get("loss"),
        origin=origin,
    )


def _precheck(data: Data, origin: Origin) -> Precheck:
    return Precheck(data["precheck"], data["expect"], data["else"], data["power"], data.get("proves"), origin)


def _step(data: Data, origin: Origin) -> Step:
    return Step(
        step=data["step"],
        at=data["at"],
        module=data.get("module"),
        power=data.get("power"),
        minutes=data.get("minutes", 0),
        picture=data.get("picture"),
        origin=origin,
    )


def _check(data: Data, origin: Origin) -> Check:
    return Check(data["check"], data["expect"], data["power"], origin)


def _fault(data: Data, origin: Origin) -> ExpectedFault:
    return ExpectedFault(data["code"], data["when"], data["do"], origin)


def _way_back(data: Data) -> Literal["automatic", "none"] | tuple[str, ...]:
    if isinstance(data, dict):
        return tuple(data["steps"])
    return "automatic" if data == "automatic" else "none"


def _example(data: Data, origin: Origin) -> WorkedExample:
    return WorkedExample(
        record=RecordPath.parse(data["record"]),
        layout=data.get("layout"),
        found=data["found"],
        write=data["write"],
        read_on=data["read_on"],
        choose=tuple((SettingPath.parse(path), value) for path, value in data.get("choose", {}).items()),
        origin=origin,
    )


def _picture(data: Data, origin: Origin) -> Picture:
    return Picture(data["file"], data["alt"], data.get("credit", ""), origin)


def _clash(data: Data, origin: Origin) -> Clash:
    return Clash(data["recipe"], data["because"], origin)


def _withdrawal(data: Data) -> Withdrawal:
    return Withdrawal(data["date"], data["because"], data["if_done"], data.get("instead"))
