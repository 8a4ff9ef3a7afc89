"""Doing what a printed sheet says: lookups and rules are read from a PDF's text and carried out.

Nothing of the project is used here but the text: it knows what a mechanic knows, that pairs are counted from
the left and that "÷ 8, drop the remainder" is a division.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass, field

DIGITS = "0123456789ABCDEF"
LOOKUP = re.compile(
    r"Byte (\d+), the \S+ pair, (first|second) digit(?: \(■: STOP\))? "
    r"found ((?:[0-9A-F] ){15}[0-9A-F]) write ((?:[0-9A-F■] ){15}[0-9A-F■])"
)
FIXED = re.compile(
    r"Bytes? (\d+)(?: to \d+)?, the (?:\S+|\S+ to \S+) pair(?:, (first|second) digit)?:"
    r" write ([0-9A-F]{1,2}(?: [0-9A-F]{2})*), whatever was found"
)
ONLY = re.compile(r"STOP unless the digits found for “[^”]*” \(([^)]*)\) are: (.*?)\.(?= |$)")
TEXT = re.compile(
    r"STOP unless “[^”]*” as found is a text: in bytes? (\d+)(?: to (\d+))?, .*? none is 7F"
    r"(; from some pair)?"
)
WHOLE = re.compile(r"Write (\d+), whatever was found\. STOP unless the number found is ([^.]*)\.")
SWITCH = re.compile(r"Number found ÷ (\d+), drop the remainder\. Odd: ([^.]*)\. Even: ([^.]*)\.")
DIVIDED = r"Number found ÷ (\d+), drop the remainder\. (?:÷ (\d+), keep only the remainder\. )?"
SHARE = re.compile(
    DIVIDED + r"STOP unless it is ([^.]*)\. From the number found take away (\d+) times it, and add (\d+)\."
)
TABLE = re.compile(DIVIDED + r"((?:\d+: [^.]*\. ?)+)")
NAME = re.compile(r"“([^”]*)”: STOP unless it shows (.*?)\.(?= |$)")


def texts(pdf: bytes) -> list[str]:
    """The text of each side in the order in which it was drawn, by Poppler."""
    said = subprocess.run(["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True)
    return said.stdout.decode().split("\f")[:-1]


class Stopped(Exception):
    """The sheet says STOP."""


@dataclass
class Hand:
    """The words printed below one record in one layout."""

    text: str
    used: list[str] = field(default_factory=list)

    def pairs(self, found: str) -> str:
        """What to write for a row of pairs. Stopped when the sheet says so."""
        digits = list("".join(found.split()))
        for where, may in ONLY.findall(self.text):
            self.used.append("only")
            held = [digits[at] for at in _cells(where)]
            if not any(_matches(held, one) for one in may.split("; or ")):
                raise Stopped(may)
        for first, last, filled in TEXT.findall(self.text):
            self.used.append("text")
            row = [digits[2 * at] + digits[2 * at + 1] for at in range(int(first), int(last or first) + 1)]
            while filled and row and row[-1] == "00":
                row.pop()
            if any(pair[0] not in "234567" or pair == "7F" for pair in row):
                raise Stopped("no text")
        out = list(digits)
        for byte, half, above, below in LOOKUP.findall(self.text):
            self.used.append("lookup")
            assert above.split() == list(DIGITS)
            at = 2 * int(byte) + (half == "second")
            to = below.split()[above.split().index(digits[at])]
            if to == "■":
                raise Stopped(f"byte {byte}")
            out[at] = to
        for byte, half, what in FIXED.findall(self.text):
            self.used.append("fixed")
            at = 2 * int(byte) + (half == "second")
            for digit in what.replace(" ", ""):
                out[at] = digit
                at += 1
        return " ".join("".join(out[at : at + 2]) for at in range(0, len(out), 2))

    def number(self, found: str) -> str:
        """What to write for a decimal number."""
        if whole := WHOLE.search(self.text):
            self.used.append("whole")
            if not any(_between(found, one) for one in re.split(r" or |, ", whole[2])):
                raise Stopped(whole[2])
            return whole[1]
        total = int(found)
        for divide, odd, even in SWITCH.findall(self.text):
            self.used.append("switch")
            total += _moved(odd if int(found) // int(divide) % 2 else even)
        for divide, modulo, may, times, add in SHARE.findall(self.text):
            self.used.append("share")
            held = _share(found, divide, modulo)
            if not any(_between(str(held), one) for one in re.split(r" or |, ", may)):
                raise Stopped(may)
            total += int(add) - held * int(times)
        for divide, modulo, rows in TABLE.findall(self.text):
            self.used.append("table")
            does = dict(row.split(": ") for row in re.findall(r"\d+: [^.]*", rows))
            total += _moved(does[str(_share(found, divide, modulo))])
        assert self.used, "no rule was printed"
        return str(total)

    def names(self, found: dict[str, str]) -> None:
        """Stopped when a setting shows what it may not."""
        for name, may in NAME.findall(self.text):
            self.used.append("names")
            if f"“{found[name]}”" not in may:
                raise Stopped(may)


def blocks(text: str) -> list[Hand]:
    """The records of a sheet in their order, from its whole text: one for each layout."""
    body = " ".join(text.split())
    body = body.partition("Note every record before writing")[2]
    body = re.split(r"When all are noted|Do the work", body)[0]
    parts = re.split(r"(?=\bR\d+ only if )", body)
    if len(parts) == 1:
        parts = [part for part in re.split(r"(?=\bR\d+ (?!only if)[A-Z])", body) if re.match(r"R\d+ ", part)]
    else:
        parts = parts[1:]
    return [Hand(part) for part in parts]


def _share(found: str, divide: str, modulo: str) -> int:
    held = int(found) // int(divide)
    return held % int(modulo) if modulo else held


def _moved(does: str) -> int:
    """What is added to a number, by the words of a rule."""
    if does.casefold() == "stop":
        raise Stopped(does)
    if does == "already as wanted, add nothing":
        return 0
    move = re.fullmatch(r"(add|subtract) (\d+)", does)
    assert move, does
    return int(move[2]) if move[1] == "add" else -int(move[2])


def _cells(where: str) -> list[int]:
    """Which digits, counted from the left, are meant by ``byte 5, the sixth pair, both digits; then …``."""
    out: list[int] = []
    for one in where.split("; then "):
        found = re.fullmatch(r"byte (\d+), the \S+ pair, (first|second|both) digits?", one)
        assert found, one
        at = 2 * int(found[1])
        out += {"first": [at], "second": [at + 1], "both": [at, at + 1]}[found[2]]
    return out


def _matches(held: list[str], pattern: str) -> bool:
    said = pattern.split(" then ")
    assert len(said) == len(held), pattern
    return all(
        may == "any" or any(_between_digits(digit, one) for one in re.split(r", | or ", may))
        for digit, may in zip(held, said, strict=True)
    )


def _between_digits(digit: str, said: str) -> bool:
    first, _, last = said.partition(" to ")
    return DIGITS.index(first) <= DIGITS.index(digit) <= DIGITS.index(last or first)


def _between(number: str, said: str) -> bool:
    first, _, last = said.partition(" to ")
    return int(first) <= int(number) <= int(last or first)
