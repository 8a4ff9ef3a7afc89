"""What the drawings share: a frame with a text alternative, boxes, and words broken into lines.

SVG breaks no lines and a page does not know its reader's font, so widths are estimated generously and names
that would not fit are cut with an ellipsis; the words beside the drawing always have them in full.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from html import escape
from textwrap import wrap

from markupsafe import Markup

WIDTH = 340  # of a drawing that must still be readable on a phone without scaling
LINE = 13  # from one line of text to the next
_LETTER = 6.0  # mean width of a letter at the drawings' size of 11, in common sans-serif fonts


def frame(width: int, height: int, css: str, alternative: str, parts: Iterable[str]) -> Markup:
    """The drawing as one picture for screen readers, described by ``alternative``."""
    return Markup(
        f'<svg class="asf-drawing {css}" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-label="{escape(alternative)}">{"".join(parts)}</svg>'
    )


@lru_cache(maxsize=8192)
def box(css: str, x: float, y: float, width: float, height: float) -> str:
    """A rectangle; ``css`` gives it fill and line."""
    return f'<rect class="{css}" x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}"/>'


@lru_cache(maxsize=8192)
def words(css: str, x: float, y: float, text: str) -> str:
    """One line of text, its base line at ``y``; ``css`` says from where it is set."""
    return f'<text class="{css}" x="{x:g}" y="{y:g}">{escape(text, quote=False)}</text>'


@lru_cache(maxsize=4096)
def lines(text: str, width: float, most: int) -> tuple[str, ...]:
    """``text`` in at most ``most`` lines of ``width``; what does not fit gives way to an ellipsis."""
    letters = max(4, int(width / _LETTER))
    out = wrap(text, letters, break_on_hyphens=True)
    if len(out) > most:
        last = out[most - 1][: letters - 1].rstrip(" ,;")
        out = [*out[: most - 1], f"{last}…"]
    return tuple(out)
