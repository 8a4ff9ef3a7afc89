"""Fault codes as people read them (SAE J2012, ISO 15031-6): a letter, a digit, three hexadecimal digits."""

from __future__ import annotations

import re

_LETTERS = "PCBU"  # powertrain, chassis, body, network
_CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}\Z")


def decode_fault(number: int) -> str:
    """The code of a two-byte number: top two bits the letter, next two the digit. ValueError outside."""
    if not 0 <= number <= 0xFFFF:
        raise ValueError(f"{number} does not fit into two bytes")
    return f"{_LETTERS[number >> 14]}{number >> 12 & 3}{number & 0xFFF:03X}"


def encode_fault(code: str) -> int:
    """The inverse of ``decode_fault``. ValueError for anything but a code in capitals."""
    if not _CODE.match(code):
        raise ValueError("a fault code is P, C, B or U, a digit from 0 to 3 and three of 0-9, A-F")
    return _LETTERS.index(code[0]) << 14 | int(code[1]) << 12 | int(code[2:], 16)
