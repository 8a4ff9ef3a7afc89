"""What a record holds, as written in files and on paper: hex pairs, a decimal number, or words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from ..car.bits import hex_pairs
from ..car.phrases import counted
from ..car.records import Record

# ASCII classes and \Z on purpose: int() and $ would also take other scripts' digits or a trailing newline.
_PAIRS = re.compile(r"[0-9A-F]{2}(?: [0-9A-F]{2})*\Z")
_DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,19})\Z")  # 8 bytes need 20 digits
_LONGEST = 256 * 3  # 256 bytes as pairs with spaces


class HeldProblem(ValueError):
    """Text that is no content of the record: ``reason`` and ``repair``, one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(reason)
        self.reason = reason
        self.repair = repair


def parse_held(record: Record, length: int | None, text: str) -> bytes:
    """The bytes of a record written as its tool shows it.

    ``length`` is the layout's, None when the layout is not known. HeldProblem for anything but pairs of
    capital hexadecimal digits with single spaces between, or a plain decimal number that fits the record.
    """
    if record.names_only:
        raise HeldProblem(f"Of record {record.id!r} only names are known.", "Write the words that are shown.")
    shown = record.shown_as
    if shown is not None:
        limit = 256**shown.size - 1
        number = f"Write a number from 0 to {limit}."
        if not _DECIMAL.match(text):
            reason = f"{_cut(text)} is no decimal number."
            raise HeldProblem(reason, f"{number[:-1]}, without leading zeros or spaces.")
        if int(text) > limit:
            raise HeldProblem(f"{text} does not fit into {counted(shown.size, 'byte')}.", number)
        out = int(text).to_bytes(shown.size, shown.order)
    else:
        if len(text) > _LONGEST or not _PAIRS.match(text):
            reason = f"{_cut(text)} is no row of bytes."
            raise HeldProblem(reason, "Write pairs such as '01 4A 00': digits and capitals, single spaces.")
        out = bytes.fromhex(text)
    if length is not None and len(out) != length:
        raise HeldProblem(
            f"{counted(len(out), 'byte')} instead of {length}.", "Write every byte of the record."
        )
    return out


def show_held(record: Record, held: bytes) -> str:
    """The record as its tool shows it: the inverse of ``parse_held``."""
    if record.shown_as is not None:
        return str(int.from_bytes(held, record.shown_as.order))
    return hex_pairs(held)


def parse_names(settings: Sequence[str], text: str) -> dict[str, str]:
    """What each setting of a names-only record shows, by setting id.

    For one setting the text is its words. For several it is ``first: words; second: words``, in any order,
    each once; words may hold colons and semicolons. HeldProblem when a setting is missing or named twice.
    """
    if len(settings) == 1:
        return {settings[0]: text}
    wanted = f"Write '{'; '.join(f'{s}: …' for s in settings)}'."
    names = "|".join(re.escape(s) for s in sorted(settings, key=len, reverse=True))
    starts = list(re.finditer(rf"(?:\A|; )({names}): ", text)) if settings else []
    if not starts or starts[0].start() != 0:
        raise HeldProblem(f"{_cut(text)} does not start with a setting.", wanted)
    out: dict[str, str] = {}
    for one, following in zip(starts, [*starts[1:], None], strict=True):
        words = text[one.end() : following.start() if following else len(text)]
        if one[1] in out or not words:
            raise HeldProblem(f"{one[1]!r} stands there twice or without words.", wanted)
        out[one[1]] = words
    if missing := [s for s in settings if s not in out]:
        raise HeldProblem(f"Nothing is said of {', '.join(missing)}.", wanted)
    return out


def show_names(settings: Sequence[str], words: Mapping[str, str]) -> str:
    """The inverse of ``parse_names``."""
    if len(settings) == 1:
        return words[settings[0]]
    return "; ".join(f"{s}: {words[s]}" for s in settings)


def _cut(text: str) -> str:
    """An untrusted value, escaped and shortened for a message."""
    return ascii(text if len(text) <= 40 else f"{text[:39]}…").replace("\\u2026", "…")
