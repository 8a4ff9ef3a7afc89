"""QR symbols (ISO/IEC 18004) for paper: level M, quiet zone of four modules, as inline SVG.

segno makes the symbol. Which of its eight masks has the fewest faults (7.8.3) is found here, on the whole
symbol at once: a number with a bit for each module, a line after the other, four light ones between.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache

import segno
from markupsafe import Markup

QUIET = 4  # modules of white on every side (ISO/IEC 18004, 9.1)

_DIGITS = bytes.maketrans(b"\0\1", b"01")
_BETWEEN = bytes(QUIET)  # what lies outside counts as light, of which 7.8.3.1 wants four
_DARK = re.compile("1+")


@lru_cache(64)  # several documents of a recipe show the same one
def drawing(text: str) -> tuple[int, str]:
    """The side of the symbol with its quiet zone, in modules, and the path of its dark modules."""
    lines = modules(text)
    runs = (_run(y, *run.span()) for y, line in enumerate(lines) for run in _DARK.finditer(line))
    return len(lines) + 2 * QUIET, "".join(runs)


@lru_cache(1 << 16)
def _run(y: int, start: int, end: int) -> str:
    return f"M{start + QUIET} {y + QUIET}h{end - start}v1h-{end - start}z"


def symbol(text: str, says: str) -> Markup:
    """The symbol of a text; ``says``: what it holds, for those who do not see it."""
    size, path = drawing(text)
    return Markup(
        '<svg class="qr" role="img" aria-label="{}" viewBox="0 0 {} {}" shape-rendering="crispEdges">'
        '<rect width="{}" height="{}" fill="#fff"/><path d="{}" fill="#000"/></svg>'
    ).format(says, size, size, size, size, path)


def modules(text: str) -> list[str]:
    """The symbol of a text line by line, ``1`` for a dark module; segno.DataOverflowError for a long one."""
    version, rows, columns = _first(text)
    masks, inside, judged = _masks(version)
    size = 17 + 4 * version
    faults = [
        _faults((rows ^ across) & judged, (columns ^ down) & judged, inside, size) for across, down in masks
    ]
    best = rows ^ masks[faults.index(min(faults))][0]
    stride = size + len(_BETWEEN)
    digits = f"{best:0{size * stride}b}"
    return [digits[at : at + size] for at in range(0, len(digits), stride)]


def _first(text: str) -> tuple[int, int, int]:
    """The version of a text's symbol, and the one of the first mask in rows and in columns.

    All of a symbol is made by adding without carry. So of texts alike in length and up to ``#``, as those of
    sheets are, one tells the others: each bit that differs turns certain modules over, whatever the rest.
    """
    before, fragment, after = text.partition("#")
    if not (fragment and text.isascii() and before.islower()):  # else segno may not write it as bytes
        return _symbol(text)
    like = before + fragment
    version, rows, columns = _symbol(like + "a" * len(after))
    for at, letter in enumerate(after):
        for bit in range(7):
            if (ord(letter) ^ ord("a")) >> bit & 1:
                across, down = _turned(like, len(after), at, bit)
                rows, columns = rows ^ across, columns ^ down
    return version, rows, columns


@lru_cache(16)
def _symbol(text: str) -> tuple[int, int, int]:
    made = _make(text, 0)
    return int(made.version), *_both(made)


@lru_cache(1 << 10)
def _turned(like: str, length: int, at: int, bit: int) -> tuple[int, int]:
    """The modules that differ when one bit of one letter does."""
    letters = ["a"] * length
    letters[at] = chr(ord("a") ^ 1 << bit)
    _, rows, columns = _symbol(like + "a" * length)
    across, down = _both(_make(like + "".join(letters), 0))
    return rows ^ across, columns ^ down


def _make(text: str, mask: int, version: int | None = None) -> segno.QRCode:
    return segno.make_qr(text, error="m", boost_error=False, mask=mask, version=version)


def _both(made: segno.QRCode) -> tuple[int, int]:
    """A symbol read in rows and in columns."""
    return _number(made.matrix), _number(zip(*made.matrix, strict=True))


def _number(lines: Iterable[Iterable[int]]) -> int:
    return int(b"".join(bytes(line) + _BETWEEN for line in lines).translate(_DIGITS), 2)


@cache
def _masks(version: int) -> tuple[tuple[tuple[int, int], ...], int, int]:
    """What tells each mask's symbol from the first one's, read in rows and in columns; its format
    information too. Then all modules, and those that are there when faults are counted (7.8)."""
    both = [_both(_make("", mask, version)) for mask in range(8)]
    size = 17 + 4 * version
    later = {(8, at) for at in (*range(6), 7, 8, *range(size - 8, size))}  # the format's
    if version >= 7:
        later |= {(at, size - down) for at in range(6) for down in (9, 10, 11)}  # the version's
    later |= {(x, y) for y, x in later}
    judged = ([(y, x) not in later for x in range(size)] for y in range(size))
    masks = tuple((rows ^ both[0][0], columns ^ both[0][1]) for rows, columns in both)
    return masks, _number([[1] * size] * size), _number(judged)


def _faults(rows: int, columns: int, inside: int, size: int) -> int:
    """The penalty of a symbol (7.8.3.1, table 11)."""
    stride = size + len(_BETWEEN)
    found = 10 * int(abs(rows.bit_count() / size**2 * 100 - 50) / 5)
    for dark in (rows, columns):
        for one in (dark, inside ^ dark):
            five = one & one >> 1 & one >> 2 & one >> 3 & one >> 4
            found += five.bit_count() + 2 * (five & ~(five << 1)).bit_count()
        found += 40 * _finders(dark)
    for one in (rows, inside ^ rows):
        pair = one & one >> 1
        found += 3 * (pair & pair >> stride).bit_count()
    return found


def _finders(dark: int) -> int:
    """How often there is 1:1:3:1:1 with four light modules on a side; two that overlap are one."""
    light = ~dark
    like = dark & dark >> 2 & dark >> 3 & dark >> 4 & dark >> 6 & light >> 1 & light >> 5
    after = light << 1 & light << 2 & light << 3 & light << 4
    before = light >> 7 & light >> 8 & light >> 9 & light >> 10
    found = like & (after | before)
    return (found & ~(found >> 4 | found >> 6)).bit_count()
