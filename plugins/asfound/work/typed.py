"""What somebody types or pastes of a record, read as tools show records: hex, decimal or binary.

Files are strict (``held``); people are not. Where the text can be read in several ways, or the record can
have several layouts, all that fit are given: which one is meant is for the reader to say, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from ..car.records import Layout, Record, ShownAsNumber

How = Literal["hex", "decimal", "binary"]

LONGEST = 4096  # characters; a record of 255 bytes in binary with spaces has 2,294

_BETWEEN = re.compile(r"[ \t\r\n,;:_-]+")
_HEX = re.compile(r"(?:0[xX])?((?:[0-9A-Fa-f]{2})+)\Z")
_BINARY = re.compile(r"(?:0[bB])?((?:[01]{8})+)\Z")
_BYTE = re.compile(r"(?:0|[1-9][0-9]{0,2})\Z")
_DIGITS = re.compile(r"[0-9]+\Z")


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read what was typed: the bytes, and how the text was understood."""

    held: bytes
    how: How


@dataclass(frozen=True, slots=True)
class Match:
    """A reading that can be the record in one of its layouts; ``checksum_ok`` None without a checksum."""

    reading: Reading
    layout: Layout
    checksum_ok: bool | None


def readings(record: Record, text: str) -> tuple[Reading, ...]:
    """Every way to read the text as bytes, each content once; () when there is none.

    Hex pairs and groups of eight binary digits may stand together or apart, with 0x or 0b before a group;
    capital or small. A single row of decimal digits is the number of a record shown as one, and nothing
    else. Elsewhere decimal is a number from 0 to 255 for each byte, without leading zeros, so that most rows
    of hex pairs are nothing else.
    """
    if len(text) > LONGEST:
        return ()
    groups = [group for group in _BETWEEN.split(text) if group]
    if record.shown_as is not None and len(groups) == 1 and _DIGITS.match(groups[0]):
        number = _number(record.shown_as, groups[0])
        return (number,) if number else ()
    found: dict[bytes, Reading] = {}
    for reading in (_hex(groups), _decimal(groups), _binary(groups)):
        if reading is not None:
            found.setdefault(reading.held, reading)
    return tuple(found.values())


def matches(record: Record, layouts: Sequence[Layout], text: str) -> tuple[Match, ...]:
    """The readings with the layouts they can have, by length and checksum.

    When some reading satisfies its layout's checksum, those that fail theirs are left out; when all fail,
    all are given, so that a wrong checksum can be told. () when no length fits.
    """
    fitting = [
        Match(reading, layout, layout.checksum.matches(reading.held) if layout.checksum else None)
        for reading in readings(record, text)
        for layout in layouts
        if layout.length == len(reading.held)
    ]
    sound = tuple(one for one in fitting if one.checksum_ok is not False)
    return sound or tuple(fitting)


def _whole(pattern: re.Pattern[str], groups: Iterable[str]) -> str:
    """The digits of all groups together; "" when a group has another form."""
    found = [pattern.match(group) for group in groups]
    return "".join(one[1] for one in found if one) if all(found) else ""


def _hex(groups: Sequence[str]) -> Reading | None:
    digits = _whole(_HEX, groups)
    return Reading(bytes.fromhex(digits), "hex") if digits else None


def _binary(groups: Sequence[str]) -> Reading | None:
    digits = _whole(_BINARY, groups)
    return Reading(int(digits, 2).to_bytes(len(digits) // 8, "big"), "binary") if digits else None


def _decimal(groups: Sequence[str]) -> Reading | None:
    if not groups or not all(_BYTE.match(group) and int(group) < 256 for group in groups):
        return None
    return Reading(bytes(map(int, groups)), "decimal")


def _number(shown: ShownAsNumber, digits: str) -> Reading | None:
    number = int(digits[:32])
    fits = len(digits) <= 32 and number < 256**shown.size
    return Reading(number.to_bytes(shown.size, shown.order), "decimal") if fits else None
