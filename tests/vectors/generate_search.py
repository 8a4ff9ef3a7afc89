"""Vectors of the search: words of any script, and what is found in small sets of pages."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

import run_search

Vectors = Iterator[Any]
SCRIPTS = "aáâÄbçdðeéèEfgİiılłmnñoøőpqrsßSşþtuüvwxyzæœŒžµ²½Ⅷ0123459 _-–,.'’\u0301\u0327αβΓжЩ漢字かナ한𝛼"
STEMS = ("lamp", "door", "step", "awning", "tow", "cut", "heat", "höhe", "sill", "key", "map", "e", "a", "ø")
ENDS = ("", "", "", "s", "ing", "er", "-off", "light", "é")


def words(draw: Random) -> Vectors:
    """Texts of letters that fold, decompose or stay."""
    for _ in range(80):
        yield {"do": "plain-words", "given": {"text": "".join(draw.choices(SCRIPTS, k=draw.randint(0, 24)))}}


def _text(draw: Random, most: int) -> str:
    return " ".join(draw.choice(STEMS) + draw.choice(ENDS) for _ in range(draw.randint(0, most)))


def found(draw: Random) -> Vectors:
    """Questions of one to four words, whole, begun or strange, asked of up to a dozen pages."""
    for _ in range(60):
        pages = [[_text(draw, 5), _text(draw, 12), _text(draw, 6)] for _ in range(draw.randint(1, 12))]
        for _ in range(2):
            asked = [draw.choice(STEMS) + draw.choice(ENDS) for _ in range(draw.randint(1, 4))]
            asked = [one[: draw.randint(1, len(one))] if draw.random() < 0.5 else one for one in asked]
            if draw.random() < 0.1:
                asked.append("xylophone")
            text = " ".join(one.upper() if draw.random() < 0.3 else one for one in asked)
            data = run_search.shards(pages, draw.choice((40, 200, 24_000)))
            yield {"do": "found", "given": {"asked": text, "pages": pages, **data}}


def search(draw: Random) -> Vectors:
    """Both."""
    yield from words(draw)
    yield from found(draw)
