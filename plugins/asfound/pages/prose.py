"""Prose fields on pages: rendered by ``source.prose``, trusted from here on."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup

from ..source import prose
from ..source.prose import plain
from ..speech import Original

__all__ = ["plain", "render"]


def render(text: str, recipe: Callable[[str], str]) -> Markup:
    """The field as a balanced HTML fragment; ``recipe`` gives the href of a recipe's page.

    ProseProblem for what the rules have refused before any page is made.
    """
    html = Markup(prose.render(text, recipe))
    if isinstance(text, Original):
        return Markup('<div lang="{}">{}</div>').format(text.tag, html)
    return html
