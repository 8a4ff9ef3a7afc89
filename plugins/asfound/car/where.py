"""Where in a record something lies, in words: pages and reviews say it alike."""

from __future__ import annotations

from .bits import Part, Place

_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"),
    *("eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth"),
    *("eighteenth", "nineteenth", "twentieth"),
)


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
