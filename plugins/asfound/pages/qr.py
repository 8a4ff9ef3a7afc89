"""QR symbols (ISO/IEC 18004) for paper: level M, quiet zone of four modules, as inline SVG."""

from __future__ import annotations

from functools import lru_cache

import segno
from markupsafe import Markup

from ..source.cache import CACHE, digest

QUIET = 4  # modules of white on every side (ISO/IEC 18004, 9.1)


@lru_cache(64)  # several documents of a recipe show the same one
def drawing(text: str) -> tuple[int, str]:
    """The side of the symbol with its quiet zone, in modules, and the path of its dark modules.

    Through the cache: to find the mask with the fewest faults takes as long as all else of a sheet.
    """
    kept = CACHE.get("qr", key := digest(text.encode()))
    if kept is not None:
        side, _, path = kept.decode().partition(" ")
        return int(side), path
    made = _drawing(text)
    CACHE.put("qr", key, f"{made[0]} {made[1]}".encode())
    return made


def _drawing(text: str) -> tuple[int, str]:
    code = segno.make(text, error="m", boost_error=False, micro=False)
    return int(code.symbol_size(border=QUIET)[0]), "".join(_runs(code))


def symbol(text: str, says: str) -> Markup:
    """The symbol of a text; ``says``: what it holds, for those who do not see it."""
    size, path = drawing(text)
    return Markup(
        '<svg class="qr" role="img" aria-label="{}" viewBox="0 0 {} {}" shape-rendering="crispEdges">'
        '<rect width="{}" height="{}" fill="#fff"/><path d="{}" fill="#000"/></svg>'
    ).format(says, size, size, size, size, path)


def _runs(code: segno.QRCode) -> list[str]:
    """Each row's dark modules as runs, one module high."""
    out = []
    for y, row in enumerate(code.matrix):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                out.append(f"M{start + QUIET} {y + QUIET}h{x - start}v1h-{x - start}z")
            x += 1
    return out
