"""Small drawings of numbers, beside the words that say them."""

from __future__ import annotations

from markupsafe import Markup

LEFT, SPAN = 3, 100  # of the scale, in the drawing's own units


def interval(low: float, share: float, high: float) -> Markup:
    """A share and its interval, all from 0 to 1, on a scale from none to all, with a mark at the half.

    Drawn in the text's colour, so that it prints; hidden from screen readers, since words say the same.
    """
    at = [f"{LEFT + SPAN * value:.1f}" for value in (low, share, high)]
    middle = LEFT + SPAN / 2
    return Markup(
        '<svg class="asf-plot" viewBox="0 0 106 12" width="106" height="12" aria-hidden="true">'
        '<path class="asf-plot__scale" d="M{0} 6H{1}M{0} 3v6M{1} 3v6M{2:g} 4v4"/>'
        '<path class="asf-plot__range" d="M{3} 6H{5}"/><circle cx="{4}" cy="6" r="2.5"/></svg>'
    ).format(LEFT, LEFT + SPAN, middle, *at)
