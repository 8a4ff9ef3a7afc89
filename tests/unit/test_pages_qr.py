"""The mask found by counting bits is the one segno finds module by module (ISO/IEC 18004, 7.8.3)."""

from __future__ import annotations

import random
import re

import pytest
import segno

from asfound.pages import qr

ALPHABETS = (
    "0123456789",
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 $%*+-./:",
    "abcdefghijklmnopqrstuvwxyz0123456789/:.-#",
    "aé✓日本 xyz",
)


def by_segno(text: str) -> list[str]:
    code = segno.make(text, error="m", boost_error=False, micro=False)
    return ["".join(map(str, row)) for row in code.matrix]


@pytest.mark.parametrize("seed", range(4))
def test_every_module_is_as_segno_has_it(seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(120):
        alphabet = chance.choice(ALPHABETS)
        text = "".join(chance.choice(alphabet) for _ in range(int(10 ** chance.uniform(0, 2.3))))
        text = chance.choice(("", "https://club.example/code.html#", "PLAIN#")) + text
        assert qr.modules(text) == by_segno(text), text


@pytest.mark.parametrize("version", (1, 2, 6, 7, 14, 21, 28, 40))  # at each, something is added
def test_versions(version: int) -> None:
    text = "8" * (segno_holds(version) - 1)
    assert qr.modules(text) == by_segno(text)
    assert len(qr.modules(text)) == 17 + 4 * version


def segno_holds(version: int) -> int:
    """The digits that fill a version: the first length that asks for the next."""
    low, high = 1, 5597  # of digits, version 40 holds 5,596 at level M (table 7)
    while low < high:
        middle = (low + high) // 2
        try:
            segno.make_qr("8" * middle, error="m", boost_error=False, version=version, mask=0)
            low = middle + 1
        except segno.DataOverflowError:
            high = middle
    return low


def test_of_two_overlapping_finders_one_counts() -> None:
    assert qr._finders(int("0000101110111010000", 2)) == 1
    assert qr._finders(int("00001011101000010111010000", 2)) == 2
    assert qr._finders(int("1101110110111011", 2)) == 0


def test_the_path_draws_what_is_dark() -> None:
    size, path = qr.drawing("https://club.example/code.html#K7Q2-M3P8")
    lines = qr.modules("https://club.example/code.html#K7Q2-M3P8")
    drawn = {
        (int(x) + at - qr.QUIET, int(y) - qr.QUIET)
        for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path)
        for at in range(int(wide))
    }
    assert size == len(lines) + 8
    assert drawn == {(x, y) for y, line in enumerate(lines) for x, one in enumerate(line) if one == "1"}
