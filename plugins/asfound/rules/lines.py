"""What must hold inside a vehicle line's file."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..book import Book
from ..car.origin import Origin
from ..car.vehicles import VehicleLine
from ..car.world import iso_month, month_number
from .base import Problem, Rule, Stage

CHECK_DIGIT = 9  # position, from 1; 49 CFR 565.15(b)(2)


def phases_follow(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """Phases stand oldest first, and each begins in the month after the one before it ends."""
    for one, other in pairwise(line.phases):
        end, start = one.built[1], other.built[0]
        if end is not None and start is not None and month_number(start) == month_number(end) + 1:
            continue
        early = end is None or start is None or end >= start
        yield Problem(
            other.origin.at("built"),
            f"phase {other.id} begins before phase {one.id} ends"
            if early
            else f"no phase is said for cars built between {end} and {start}",
            f"begin in {iso_month(month_number(end) + 1)}, or correct the end of phase {one.id}"
            if end
            else f"let phase {one.id} end before phase {other.id} begins",
            also=(one.origin.at("built"),),
        )


def addresses_differ(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """No two modules of a line answer at one address, and places name theirs all or none."""
    seen: dict[str, tuple[str, Origin]] = {}
    for fitted in line.fitted:
        module = book.modules.get(fitted.module)
        named: list[tuple[str, str, Origin]] = [
            (f"{fitted.module} {place.id}", place.address, fitted.origin.at("places", n, "address"))
            for n, place in enumerate(fitted.places)
            if place.address is not None
        ]
        if named and len(named) < len(fitted.places):
            without = next(n for n, place in enumerate(fitted.places) if place.address is None)
            yield Problem(
                fitted.origin.at("places", without),
                f"place {fitted.places[without].id} has no address and {named[0][0]} has one",
                "write the address of each place, or of none",
            )
        if module is not None and module.address is not None:
            if named:
                yield Problem(
                    named[0][2],
                    f"module {module.id} has an address, and so has its place",
                    "write the address in one of the two files; where each place has its own, in this one",
                    also=(module.origin.at("address"),),
                )
                continue
            named.append((module.id, module.address, module.origin.at("address")))
        for who, address, origin in named:
            other = seen.setdefault(address, (who, origin))
            if other[0] != who:
                yield Problem(
                    origin,
                    f"{who} and {other[0]} have the same address {address}",
                    "look up which is which",
                    also=(other[1],),
                )


def vin_positions_apart(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """No position of a VIN is said to mean two things."""
    if line.vin is None:
        return
    at = line.vin.origin.at
    taken: dict[int, tuple[str, Origin]] = {}
    longest = max(range(len(line.vin.begins)), key=lambda n: len(line.vin.begins[n]) if line.vin else 0)
    spans = [("the beginning", at("begins", longest), 1, len(line.vin.begins[longest]))]
    if line.vin.check_digit:
        spans.append(("the check digit", at("check_digit"), CHECK_DIGIT, CHECK_DIGIT))
    if line.vin.model_year is not None:
        year = line.vin.model_year.at
        spans.append(("the model year", at("model_year", "at"), year, year))
    spans += (
        ("another code", group.origin.at("at"), group.first, group.last) for group in line.vin.positions
    )
    beside = {
        position: ("what a serial number asks for", serials.origin.at("where", n, "at"), position, position)
        for serials in reversed(line.vin.serials)
        for n, (position, _) in enumerate(serials.where)
    }
    spans += beside.values()
    ranges = dict.fromkeys((serials.first, serials.last) for serials in line.vin.serials)
    spans += (("the serial number", at("serials"), first, last) for first, last in ranges)
    for what, origin, first, last in spans:
        for position in range(first, last + 1):
            other, where = taken.setdefault(position, (what, origin))
            if where is not origin:
                yield Problem(
                    origin,
                    f"position {position} is taken already, for {other}",
                    "correct one of the two",
                    also=(where,),
                )
                break


def vin_serials_apart(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """No serial number of a VIN tells two things."""
    serials = line.vin.serials if line.vin is not None else ()
    for index, other in enumerate(serials):
        for one in serials[:index]:
            clash = any(
                position in dict(other.where) and dict(other.where)[position] != sign
                for position, sign in one.where
            )
            if (one.first, one.last) != (other.first, other.last) or clash:
                continue
            low, high = max(one.low, other.low), min(one.high, other.high)
            if low <= high:
                yield Problem(
                    other.origin.at("from"),
                    f"serial numbers from {low} to {high} stand in two ranges",
                    "let each range begin after the one before it",
                    also=(one.origin.at("to"), other.origin.at("to"), one.origin.at("from")),
                )


RULES = (
    Rule(
        "phases-do-not-follow",
        "Phases stand oldest first and follow each other without overlap or gap.",
        "One car would be in two phases, or in none.",
        "Let each phase begin in the month after the one before it ends.",
        "line",
        phases_follow,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "address-twice",
        "No two modules of a car answer at one address.",
        "A reader would open the wrong module.",
        "Look up which module has which address.",
        "line",
        addresses_differ,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "vin-position-twice",
        "No position of a VIN means two things.",
        "A reader who types a VIN would be told of another car.",
        "Correct one of the two positions.",
        "line",
        vin_positions_apart,
        Stage.SHAPE,
    ),
    Rule(
        "vin-serial-twice",
        "No serial number of a VIN means two things.",
        "A reader who types a VIN would be told of another car.",
        "Let each range begin after the one before it ends.",
        "line",
        vin_serials_apart,
        Stage.SHAPE,
    ),
)
