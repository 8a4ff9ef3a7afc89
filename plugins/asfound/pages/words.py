"""How pages say positions, bytes, times and sizes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..car.bits import Part, Place

_ORDINALS = [
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
    "seventeenth",
    "eighteenth",
    "nineteenth",
    "twentieth",
]


def ordinal(n: int) -> str:
    """``fifth``; from 21 on with figures, ``21st``."""
    if 1 <= n <= len(_ORDINALS):
        return _ORDINALS[n - 1]
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def byte_words(byte: int) -> str:
    """``byte 4, the fifth pair``: said twice, since tools count from 0 or from 1."""
    return f"byte {byte}, the {ordinal(byte + 1)} pair"


def part_words(part: Part) -> str:
    """``byte 4, the fifth pair; bit 2, third from the right``."""
    where = byte_words(part.byte)
    if part.width == 8:
        return where
    if part.width == 1:
        return f"{where}; bit {part.low}, {ordinal(part.low + 1)} from the right"
    return (
        f"{where}; bits {part.high} to {part.low}, "
        f"{ordinal(part.high + 1)} to {ordinal(part.low + 1)} from the right"
    )


def place_words(place: Place) -> tuple[str, ...]:
    """One line for each part, most significant first; runs of whole bytes in one line."""
    lines: list[str] = []
    run: list[Part] = []

    def close() -> None:
        if len(run) > 2:
            first, last = run[0].byte, run[-1].byte
            lines.append(f"bytes {first} to {last}, the {ordinal(first + 1)} to {ordinal(last + 1)} pair")
        else:
            lines.extend(part_words(part) for part in run)
        run.clear()

    for part in place.parts:
        joins = not run or (part.byte - run[-1].byte) in (
            {1, -1} if len(run) == 1 else {run[1].byte - run[0].byte}
        )
        if part.width != 8 or not joins:
            close()
        if part.width == 8:
            run.append(part)
        else:
            lines.append(part_words(part))
    close()
    if len(place.parts) > 1:
        lines.append("the first of these holds the most significant bits")
    return tuple(lines)


def bits_of(byte: int, mask: int = 0xFF) -> str:
    """Eight binary digits with a gap in the middle; a bit outside ``mask`` is ``·``, meaning as found."""
    digits = "".join(str(byte >> bit & 1) if mask >> bit & 1 else "·" for bit in range(7, -1, -1))
    return f"{digits[:4]} {digits[4:]}"


def list_words(words: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def minutes_words(minutes: int) -> str:
    """``25 min``, ``1 h 5 min``."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def count_words(n: int, one: str, many: str = "") -> str:
    """``no report``, ``1 report``, ``3 reports``."""
    return f"{n or 'no'} {one if n == 1 or not n else many or one + 's'}"


def duration_words(iso: str) -> str:
    """An ISO 8601 duration of whole years, months, weeks or days: ``P1Y6M`` is ``1 year 6 months``."""
    units = {"Y": "year", "M": "month", "W": "week", "D": "day"}
    parts: list[str] = []
    number = ""
    for letter in iso.removeprefix("P"):
        if letter.isdigit():
            number += letter
        elif letter in units and number:
            n = int(number)
            parts.append(f"{n} {units[letter]}{'' if n == 1 else 's'}")
            number = ""
        else:
            return iso
    return " ".join(parts) or iso


def size_words(size: int) -> str:
    """``1,234,567 bytes (1.2 MB)``, SI units."""
    exact = f"{size:,} bytes".replace(",", " ")
    for factor, unit in ((10**9, "GB"), (10**6, "MB"), (10**3, "kB")):
        if size >= factor:
            return f"{exact} ({size / factor:.1f} {unit})"
    return exact


def join_text(parts: Iterable[str]) -> str:
    """The non-empty ones, with single blanks: text for the search index."""
    return " ".join(part for part in parts if part)


def sentence(text: str) -> str:
    """The text with a capital at its beginning and a full stop at its end."""
    text = text.strip()
    ended = text if not text or text[-1] in ".!?" else f"{text}."
    return ended[:1].upper() + ended[1:]
