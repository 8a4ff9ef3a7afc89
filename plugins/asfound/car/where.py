"""Where in a record something lies, in words: pages and reviews say it alike."""

from __future__ import annotations

from ..speech import N_, gettext, spoken
from .bits import Part, Place

_ORDINALS = (
    *(
        N_("first"),
        N_("second"),
        N_("third"),
        N_("fourth"),
        N_("fifth"),
        N_("sixth"),
        N_("seventh"),
        N_("eighth"),
        N_("ninth"),
        N_("tenth"),
    ),
    *(
        N_("eleventh"),
        N_("twelfth"),
        N_("thirteenth"),
        N_("fourteenth"),
        N_("fifteenth"),
        N_("sixteenth"),
        N_("seventeenth"),
    ),
    *(N_("eighteenth"), N_("nineteenth"), N_("twentieth")),
)


def ordinal(n: int) -> str:
    """``fifth``; from 21 on with figures, ``21st``."""
    if 1 <= n <= len(_ORDINALS):
        return gettext(_ORDINALS[n - 1])
    if spoken() != "en":
        return gettext("{n}th", n=n)
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def byte_words(byte: int) -> str:
    """``byte 4, the fifth pair``: said twice, since tools count from 0 or from 1."""
    return gettext("byte {byte}, the {ordinal} pair", byte=byte, ordinal=ordinal(byte + 1))


def part_words(part: Part) -> str:
    """``byte 4, the fifth pair; bit 2, third from the right``."""
    where = byte_words(part.byte)
    if part.width == 8:
        return where
    if part.width == 1:
        return gettext(
            "{where}; bit {low}, {ordinal} from the right",
            where=where,
            low=part.low,
            ordinal=ordinal(part.low + 1),
        )
    return gettext(
        "{where}; bits {high} to {low}, {ordinal} to {ordinal2} from the right",
        where=where,
        high=part.high,
        low=part.low,
        ordinal=ordinal(part.high + 1),
        ordinal2=ordinal(part.low + 1),
    )


def place_words(place: Place) -> tuple[str, ...]:
    """One line for each part, most significant first; runs of whole bytes in one line."""
    lines: list[str] = []
    run: list[Part] = []

    def close() -> None:
        if len(run) > 2:
            first, last = run[0].byte, run[-1].byte
            lines.append(
                gettext(
                    "bytes {first} to {last}, the {ordinal} to {ordinal2} pair",
                    first=first,
                    last=last,
                    ordinal=ordinal(first + 1),
                    ordinal2=ordinal(last + 1),
                )
            )
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
        lines.append(gettext("the first of these holds the most significant bits"))
    return tuple(lines)
