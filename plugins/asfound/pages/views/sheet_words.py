"""Places, digits and shares of numbers in words, as sheets say them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...car.conditions import Holds
from ...speech import N_, gettext
from ...work.byhand import AllowedText, Cell, DigitWork, Lookup, Share, Span
from .. import prose
from ..words import byte_words, in_its_language, list_words, ordinal, sentence

_HALF = (N_("first digit"), N_("second digit"))


@dataclass(frozen=True, slots=True)
class LookupRow:
    """A lookup: where, and for each of 0…F what to write; "" where the digit found is a stop."""

    where: str
    write: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShareRow:
    """One share of a decimal number, in the words of arithmetic.

    ``table`` has (remainder, what to do) where there are few; else ``times`` and ``may``. ``to`` is what it
    becomes, ``add`` that times the divisor.
    """

    divide: int
    modulo: int
    to: int
    add: int
    table: tuple[tuple[int, str], ...]
    may: str


def plain_sentence(text: str) -> str:
    """A text of the book as a sentence without markup."""
    return in_its_language(sentence(prose.plain(text)), text)


def holds_words(one: Holds) -> str:
    """What a byte must hold, digit by digit: ``byte 0, the first pair, first digit: 0 to 7``."""
    out = []
    for half, shift in ((0, 4), (1, 0)):
        mask, value = one.mask >> shift & 15, one.value >> shift & 15
        if mask:
            may = frozenset(d for d in range(16) if d & mask == value)
            out.append(f"{byte_words(one.byte)}, {gettext(_HALF[half])}: {digit_words(may)}")
    return f" {gettext('and')} ".join(out)


def bytes_words(first: int, last: int) -> str:
    """``byte 4, the fifth pair`` or ``bytes 2 to 9, the third to tenth pair``."""
    if first == last:
        return byte_words(first)
    if last == first + 1:
        return gettext(
            "bytes {first} and {last}, the {ordinal} and {ordinal2} pairs",
            first=first, last=last, ordinal=ordinal(first + 1), ordinal2=ordinal(last + 1),
        )  # fmt: skip
    return gettext(
        "bytes {first} to {last}, the {ordinal} to {ordinal2} pair",
        first=first, last=last, ordinal=ordinal(first + 1), ordinal2=ordinal(last + 1),
    )  # fmt: skip


def digit_words(digits: frozenset[int] | None) -> str:
    """``0 to 4, 8 or C``; ``any`` for None."""
    if digits is None:
        return gettext("any")
    return list_words([_range(a, b, "X") for a, b in _runs(digits)], "or")


def span_words(spans: Sequence[Span]) -> str:
    """``1950 to 2300 or 65535``."""
    return list_words([_range(a, b, "d") for a, b in spans], "or")


def _range(a: int, b: int, form: str) -> str:
    link = gettext("or") if b == a + 1 else gettext("to")
    return f"{a:{form}}" if a == b else f"{a:{form}} {link} {b:{form}}"


def _runs(digits: frozenset[int]) -> list[Span]:
    runs: list[Span] = []
    for d in sorted(digits):
        if runs and d == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], d)
        else:
            runs.append((d, d))
    return runs


def _cell(cell: Cell) -> str:
    return f"{byte_words(cell[0])}, {gettext(_HALF[cell[1]])}"


def cells_words(cells: Sequence[Cell]) -> str:
    """Digits in the order in which they are compared; the two of one byte together."""
    out: list[str] = []
    for at, cell in enumerate(cells):
        if cell[1] == 1 and at and cells[at - 1] == (cell[0], 0):
            out[-1] = f"{byte_words(cell[0])}, {gettext('both digits')}"
        else:
            out.append(_cell(cell))
    return f"; {gettext('then')} ".join(out)


def pattern_words(patterns: Sequence[Sequence[frozenset[int] | None]]) -> str:
    """What digits may be together: ``0 then D then 2 to F; or 1 then 0 then 0``."""
    then = f" {gettext('then')} "
    return f"; {gettext('or')} ".join(then.join(map(digit_words, one)) for one in patterns)


def lookup_row(one: Lookup) -> LookupRow:
    """A lookup as it is printed."""
    return LookupRow(_cell(one.cell), tuple("" if d is None else f"{d:X}" for d in one.write))


def fixed_words(work: DigitWork) -> tuple[tuple[str, str], ...]:
    """Digits to write whatever was found, runs of whole bytes together: (where, what)."""
    digits = {f.cell: f"{f.digit:X}" for f in work.fixed}
    whole = sorted({byte for byte, half in digits if (byte, 1 - half) in digits})
    out: list[tuple[int, int, str, str]] = []  # sorted by where they begin
    for first, last in _runs(frozenset(whole)):
        said = " ".join(digits[byte, 0] + digits[byte, 1] for byte in range(first, last + 1))
        out.append((first, 0, bytes_words(first, last), said))
    out += [(c[0], c[1], _cell(c), d) for c, d in digits.items() if c[0] not in whole]
    return tuple((where, what) for _, _, where, what in sorted(out))


def text_words(one: AllowedText) -> tuple[str, str, str]:
    """A text: its setting, where it lies, what fills it up."""
    return one.setting.name, bytes_words(one.first, one.last), one.pad


def share_row(one: Share) -> ShareRow:
    """A share of a number as it is printed."""
    table = []
    if 0 < one.modulo <= 4:
        for held in range(one.modulo):
            ok = any(a <= held <= b for a, b in one.allowed)
            table.append((held, _move((one.to - held) * one.divide) if ok else gettext("stop")))
    may = span_words(one.allowed) if one.allowed else ""
    return ShareRow(one.divide, one.modulo, one.to, one.to * one.divide, tuple(table), may)


def _move(by: int) -> str:
    if not by:
        return gettext("already as wanted, add nothing")
    return gettext("add {n}", n=by) if by > 0 else gettext("subtract {n}", n=-by)
