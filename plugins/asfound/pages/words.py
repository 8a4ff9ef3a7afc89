"""How pages say bytes, times and sizes; positions are said as everywhere."""

from __future__ import annotations

import re
from collections.abc import Iterable

from ..car.phrases import list_words as list_words
from ..car.phrases import minutes_words as minutes_words
from ..car.where import byte_words as byte_words
from ..car.where import ordinal as ordinal
from ..car.where import part_words as part_words
from ..car.where import place_words as place_words
from ..speech import Original, gettext, ngettext, number_words

UNITS = (
    *("V", "mV", "A", "mA", "Ah", "W", "kW", "Ω", "kΩ", "Hz", "kHz", "°C", "K", "%"),
    *("s", "ms", "min", "h", "u", "d"),
    *("m", "mm", "cm", "km", "km/h", "m/s", "1/min", "bar", "kPa", "Pa", "N", "Nm", "g", "kg", "L", "l"),
    *("B", "kB", "MB", "GB"),
)
"""Symbols that follow a number; of the SI, and beside it. "u" is the hour where Dutch is spoken."""
# The blank first and then what is beside it: the order that searches a page in a fifth of the time.
_FIRST = re.escape("".join(sorted({unit[0] for unit in UNITS})))
_TORN = re.compile(rf" (?<=[0-9] )(?=[{_FIRST}])(?=(?:{'|'.join(map(re.escape, UNITS))})(?![\w/])[^<>]*<)")


def unbroken(html: str) -> str:
    """HTML in which no number is parted from its unit at the end of a line (ISO 80000-1, 7.2.2).

    Text alone is changed, never what stands inside a tag. What a browser draws: ``asfound.words.unbroken``.
    """
    return _TORN.sub("\u00a0", html)


def count_words(n: int, one: str, many: str) -> str:
    """``no report``, ``1 report``, ``3 reports``; the words as for ``ngettext``."""
    return f"{n or gettext('no')} {ngettext(one, many, n or 1)}"


def duration_words(iso: str) -> str:
    """An ISO 8601 duration of whole years, months, weeks or days: ``P1Y6M`` is ``1 year 6 months``."""
    parts: list[str] = []
    number = ""
    for letter in iso.removeprefix("P"):
        if letter.isdigit():
            number += letter
        elif letter in "YMWD" and number:
            parts.append(_span(letter, int(number)))
            number = ""
        else:
            return iso
    return " ".join(parts) or iso


def _span(unit: str, n: int) -> str:
    match unit:
        case "Y":
            return ngettext("{n} year", "{n} years", n)
        case "M":
            return ngettext("{n} month", "{n} months", n)
        case "W":
            return ngettext("{n} week", "{n} weeks", n)
    return ngettext("{n} day", "{n} days", n)


def size_words(size: int) -> str:
    """``1,234,567 bytes (1.2 MB)``, SI units."""
    exact = gettext("{size} bytes", size=f"{size:,}".replace(",", " "))
    for factor, unit in ((10**9, "GB"), (10**6, "MB"), (10**3, "kB")):
        if size >= factor:
            return f"{exact} ({number_words(f'{size / factor:.1f}')} {unit})"
    return exact


def join_text(parts: Iterable[str]) -> str:
    """The non-empty ones, with single blanks: text for the search index."""
    return " ".join(part for part in parts if part)


def in_its_language(made: str, text: str) -> str:
    """What was made of a text, in the language of that text."""
    return Original(made, text.tag) if isinstance(text, Original) else made


def capital(text: str) -> str:
    """The text with a capital at its beginning; other capitals stay, since languages have them in names."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The text with a capital at its beginning and a full stop at its end, unless a quotation has one."""
    said = text.strip()
    ended = not said or said.rstrip('”"').endswith((".", "!", "?", "…"))
    return in_its_language(capital(said if ended else f"{said}."), text)
