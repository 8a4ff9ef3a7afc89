"""Evidence as an interval: how many of those who report say that it worked, and how little that may mean."""

from __future__ import annotations

from markupsafe import Markup

LEFT, SPAN = 4, 200  # of the scale, in the drawing's own units


def interval(low: float, share: float, high: float) -> Markup:
    """A share and its interval, all from 0 to 1, on a scale from none to all, with a mark at each quarter.

    Every one is as wide, so that those below each other share a scale. Drawn in the text's colour, so that it
    prints; hidden from screen readers, since the words beside it say the same.
    """
    at = [f"{LEFT + SPAN * value:.1f}" for value in (low, share, high)]
    quarters = "".join(f"M{LEFT + SPAN * n // 4} 8v4" for n in (1, 2, 3))
    return Markup(
        '<svg class="asf-plot" viewBox="0 0 208 20" width="208" height="20" aria-hidden="true">'
        '<path class="asf-plot__scale" d="M{0} 10H{1}M{0} 5v10M{1} 5v10{2}"/>'
        '<path class="asf-plot__range" d="M{3} 10H{5}M{3} 6v8M{5} 6v8"/>'
        '<circle cx="{4}" cy="10" r="4"/></svg>'
    ).format(LEFT, LEFT + SPAN, quarters, *at)
