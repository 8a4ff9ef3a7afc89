"""What a schema cannot say: real days and months, ranges that some version satisfies, pairs in order."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..car.phrases import counted
from ..car.versions import RangeProblem, parse_range
from .findings import plainly
from .guards import visible

Path = tuple[str | int, ...]
_MONTH = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])\Z")


@dataclass(frozen=True, slots=True)
class Wrong:
    """Something wrong at ``path``: the id of the finding, what is wrong and what to write.

    ``also`` are paths of what could be wrong just as well.
    """

    id: str
    path: Path
    message: str
    repair: str
    at_key: bool = False
    also: tuple[Path, ...] = ()


def day(text: str) -> tuple[str, str] | None:
    """What is wrong with an ISO 8601 day of the right form, and the repair; None when it exists."""
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return f"the calendar has no day {text}", "write a day that exists, as year-month-day"
    return None


def months(text: str) -> tuple[str, str] | None:
    """What is wrong with an interval of months of the right form, and the repair."""
    ends = [end for end in text.split("/") if end != ".."]
    for end in ends:
        if not _MONTH.match(end):
            return f"there is no month {end}", "write months from 01 to 12"
    if len(ends) == 2 and ends[0] > ends[1]:
        return f"{ends[0]} comes after {ends[1]}", f"write {ends[1]}/{ends[0]}, earlier month first"
    return None


def software_range(text: str) -> tuple[str, str] | None:
    """What is wrong with a range of software versions of the right form, and the repair."""
    try:
        parse_range(text)
    except RangeProblem as problem:
        return plainly(problem.reason), plainly(problem.repair)
    return None


def words(text: str) -> tuple[str, str] | None:
    """What is wrong with a text that readers are to see, and the repair."""
    if not visible(text):
        return "nothing in it can be seen", "write words, or leave the key out"
    return None


# By the name of the definition in common.schema.json.
OF_TEXT: Mapping[str, Callable[[str], tuple[str, str] | None]] = {
    "date": day,
    "months": months,
    "software-range": software_range,
    "line": words,
    "prose": words,
    "value": words,
}


def of_file(kind: str, data: Any) -> Iterator[Wrong]:
    """What is wrong with data that satisfies the schema of its kind."""
    check = _OF_KIND.get(kind)
    if check is not None:
        yield from check(data)


def _club(data: Any) -> Iterator[Wrong]:
    for index, reviewer in enumerate(data["reviewers"]):
        if reviewer.get("until", reviewer["since"]) < reviewer["since"]:
            yield Wrong(
                "wrong-order",
                ("reviewers", index, "until"),
                f"the last day {reviewer['until']} comes before the first, {reviewer['since']}",
                "write a later day, or leave the key out while the signature counts",
            )


def _module(data: Any) -> Iterator[Wrong]:
    for r, record in enumerate(data["records"]):
        for s, setting in enumerate(record["settings"]):
            if "number" in setting:
                yield from _number(setting["number"], ("records", r, "settings", s, "number"))
        for n, layout in enumerate(record.get("layouts", ())):
            if "for" in layout:
                yield from _condition(layout["for"], ("records", r, "layouts", n, "for"), own=True)


def _number(number: Any, path: Path) -> Iterator[Wrong]:
    if Fraction(number["factor"]) == 0:
        yield Wrong(
            "not-allowed-value",
            (*path, "factor"),
            "with factor 0 every stored number means the same",
            'write the unit\'s share of one stored step, such as "0.05"',
        )
    if Fraction(number["min"]) > Fraction(number["max"]):
        yield Wrong(
            "wrong-order",
            (*path, "min"),
            f"the smallest value {number['min']} is above the largest, {number['max']}",
            f'write min: "{number["max"]}" and max: "{number["min"]}", or put right the wrong one',
        )


def _line(data: Any) -> Iterator[Wrong]:
    for index, fitted in enumerate(data["fitted"]):
        if "for" in fitted:
            yield from _condition(fitted["for"], ("fitted", index, "for"))
    if "vin" in data:
        yield from _vin(data["vin"])


def _vin(vin: Any) -> Iterator[Wrong]:
    for index, group in enumerate(vin.get("positions", ())):
        path: Path = ("vin", "positions", index)
        yield from _positions(group["at"], path)
        width = group["at"][1] - group["at"][0] + 1
        codes = [code["code"] for code in group["codes"]]
        for n, code in enumerate(codes):
            if len(code) != width > 0:
                yield Wrong(
                    "contradiction",
                    (*path, "codes", n, "code"),
                    f"the code {code} is not as long as its {counted(width, 'position')}",
                    "write a character for each position, or correct the positions",
                    also=((*path, "at"),),
                )
            if code in codes[:n]:
                yield Wrong(
                    "duplicate-entry",
                    (*path, "codes", n, "code"),
                    f"the code {code} stands here a second time",
                    "keep one of the two",
                )
    for index, serials in enumerate(vin.get("serials", ())):
        path = ("vin", "serials", index)
        yield from _positions(serials["at"], path)
        width = serials["at"][1] - serials["at"][0] + 1
        for key in ("from", "to"):
            if len(serials[key]) != width > 0:
                yield Wrong(
                    "contradiction",
                    (*path, key),
                    f"the number {serials[key]} is not as long as its {counted(width, 'position')}",
                    "write a digit for each position, with leading zeros, or correct the positions",
                    also=((*path, "at"),),
                )
        if len(serials["from"]) == len(serials["to"]) and serials["from"] > serials["to"]:
            yield Wrong(
                "wrong-order",
                (*path, "from"),
                f"{serials['from']} comes after {serials['to']}",
                f'write from: "{serials["to"]}" and to: "{serials["from"]}"',
            )


def _positions(at: list[int], path: Path) -> Iterator[Wrong]:
    if at[0] > at[1]:
        yield Wrong(
            "wrong-order",
            (*path, "at"),
            f"position {at[0]} comes after {at[1]}",
            f"write [{at[1]}, {at[0]}], first position first",
        )


def _recipe(data: Any) -> Iterator[Wrong]:
    yield from _condition(data["fits"], ("fits",))
    for index, change in enumerate(data.get("changes", ())):
        if "for" in change:
            yield from _condition(change["for"], ("changes", index, "for"))
    card = data.get("media", {}).get("card", {})
    if card.get("largest_gb", card.get("smallest_gb", 0)) < card.get("smallest_gb", 0):
        yield Wrong(
            "wrong-order",
            ("media", "card", "largest_gb"),
            f"the largest card, {card['largest_gb']} GB, is below the smallest, {card['smallest_gb']} GB",
            "write a larger number, or leave the key out",
        )


def _report(data: Any) -> Iterator[Wrong]:
    has = data["car"].get("equipment", ())
    for index, item in enumerate(data["car"].get("without", ())):
        if item in has:
            yield Wrong(
                "contradiction",
                ("car", "without", index),
                f"{item} stands under equipment and under without",
                "keep one of the two",
            )


def _log(data: Any) -> Iterator[Wrong]:
    for index, entry in enumerate(data["entries"]):
        for kind in ("wrote", "put_back", "read"):
            if kind in entry:
                yield from _contents(entry[kind], ("entries", index, kind))


def _contents(entry: Any, path: Path) -> Iterator[Wrong]:
    """Bytes with a layout, words without; bytes of one length."""
    said = {key: entry[key] for key in ("found", "written", "left") if key in entry}
    for key, content in said.items():
        if isinstance(content, str) != ("layout" in entry):
            yield Wrong(
                "contradiction",
                (*path, key),
                "bytes stand here, but no layout is named"
                if isinstance(content, str)
                else "words stand here, but a layout is named",
                "name the layout of bytes, and none where only names are known",
            )
        elif isinstance(content, str) and len(content) != len(said["found"]):
            yield Wrong(
                "contradiction",
                (*path, key),
                "these are more or fewer bytes than were found",
                "write all bytes of the record",
            )


def _condition(condition: Any, path: Path, own: bool = False) -> Iterator[Wrong]:
    """``own``: the condition of a layout, in which the record need not be named."""
    for joint in ("all", "any"):
        for index, part in enumerate(condition.get(joint, ())):
            yield from _condition(part, (*path, joint, index), own)
    if "not" in condition:
        yield from _condition(condition["not"], (*path, "not"), own)
    if "holds" in condition:
        holds, path = condition["holds"], (*path, "holds")
        if "record" not in holds and not own:
            yield Wrong(
                "missing-key",
                path,
                "the key record is missing: only a layout's own condition may leave it out",
                "add record: module/record",
                at_key=True,
            )
        value, mask = int(holds["is"], 16), int(holds.get("mask", "FF"), 16)
        if value & ~mask:
            yield Wrong(
                "contradiction",
                (*path, "is"),
                f"{holds['is']} has bits that the mask {holds['mask']} leaves out, so this is never true",
                f'write "{value & mask:02X}", or widen the mask',
            )


_OF_KIND: Mapping[str, Callable[[Any], Iterator[Wrong]]] = {
    "club": _club,
    "line": _line,
    "module": _module,
    "recipe": _recipe,
    "report": _report,
    "log": _log,
}
