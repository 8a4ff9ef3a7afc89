"""Codes that people copy by hand: seven letters of a fingerprint and a check letter.

The alphabet has 32 letters: the digits and A to Z without I, L, O and U, which are read as 1, 1, 0 and V. A
letter is an element of GF(32), its five bits the coefficients of a polynomial in α with α⁵ = α² + 1. The
polynomial x⁵ + x² + 1 is primitive, so α has order 31.

A code c₀…c₇ is right when Σ cᵢ·α⁷⁻ⁱ = 0, so the check letter is c₇ = Σ cᵢ·α⁷⁻ⁱ over i < 7. The eight weights
α⁷…α⁰ are all different and none is 0. A single wrong letter changes the sum by d·αᵏ with d ≠ 0; two letters
a ≠ b that changed places change it by (a + b)·(αʲ + αᵏ); neither is 0 in a field. So every single wrong
letter is caught, and every swap of two letters, neighbours or not.

Seven letters are 35 bits: enough to tell the sheets of a club apart, no defence against somebody who
searches for a second sheet with the same code. What a pull request changes is compared by content.
"""

from __future__ import annotations

from hashlib import sha256
from typing import Final, Literal

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH: Final = 8

_LOOK_ALIKE = str.maketrans({"I": "1", "L": "1", "O": "0", "U": "V", " ": None, "-": None})


def times_alpha(element: int) -> int:
    """The element of GF(32) times α."""
    element <<= 1
    return element ^ 0b100101 if element & 0b100000 else element


def check_letter(letters: str) -> str:
    """The last letter of a code that begins with ``letters``. ValueError for one not in the alphabet."""
    total = 0
    for letter in letters:
        total = times_alpha(total) ^ ALPHABET.index(letter)
    return ALPHABET[times_alpha(total)]


def make_code(payload: bytes) -> str:
    """The code of a document: the first 35 bits of its SHA-256 (FIPS 180-4), and the check letter."""
    bits = int.from_bytes(sha256(payload).digest()[:5], "big") >> 5
    letters = "".join(ALPHABET[bits >> shift & 31] for shift in range(30, -1, -5))
    return letters + check_letter(letters)


def normalise(typed: str) -> str:
    """What somebody typed, in capitals, without spaces and hyphens, look-alikes read as what they stand for.

    Only ASCII letters are turned into capitals; anything else stays and makes the code a mistyped one.
    """
    return "".join(c.upper() if c.isascii() else c for c in typed).translate(_LOOK_ALIKE)


def check_code(typed: str) -> Literal["ok", "mistyped"]:
    """Whether a code, once normalised, can be one: eight letters with the right check letter last."""
    code = normalise(typed)
    if len(code) != LENGTH or any(letter not in ALPHABET for letter in code):
        return "mistyped"
    return "ok" if check_letter(code[:-1]) == code[-1] else "mistyped"
