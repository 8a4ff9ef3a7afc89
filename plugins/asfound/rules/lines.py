"""What must hold inside a vehicle line's file."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..book import Book
from ..car.origin import Origin
from ..car.vehicles import VehicleLine
from ..car.world import iso_month, month_number
from .base import Problem, Rule, Stage


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


RULES = (
    Rule(
        "phases-do-not-follow",
        "Phases stand oldest first and follow each other without overlap or gap.",
        "One car would be in two phases, or in none.",
        "line",
        phases_follow,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "address-twice",
        "No two modules of a car answer at one address.",
        "A reader would open the wrong module.",
        "line",
        addresses_differ,
        Stage.SHAPE,
        grounds=True,
    ),
)
