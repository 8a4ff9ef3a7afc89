"""The theme around a page, rendered once for all pages of a kind: text with slots.

A theme's template says the same around every page of a folder but for a few words. So it is rendered for a
specimen, whose words are marks that stand nowhere else, and cut where they stand. Text may come out as it is
or escaped; which, a few signs inside its marks tell. Where anything else was done to it there is no frame,
and the caller renders the template for each page.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from html import escape
from itertools import chain

_SIGNS = " & ' \" "
_HEADED = "<h1>"  # themes look for one in the content, and add what is missing
_AS_WRITTEN: Mapping[str, Callable[[str], str]] = {
    "": str,
    _SIGNS: str,
    _HEADED: str,
    " &amp; &#39; &#34; ": lambda text: escape(text).replace("&quot;", "&#34;").replace("&#x27;", "&#39;"),
    " &amp; &#x27; &quot; ": escape,
    " &amp; ' &quot; ": lambda text: escape(text).replace("&#x27;", "'"),
    " &amp; ' \" ": lambda text: escape(text, quote=False),
}
_PLAIN = re.compile(r"[^\s<>\x00-\x1f]+(?: [^\s<>\x00-\x1f]+)*\Z")  # what taking out tags leaves as it is
_ENTITY = re.compile(r"&#?\w")  # what taking out tags and then entities would change
_MARK = re.compile(r"qzslot([a-z0-9]+)slotzq(?:(.{0,40}?)qzslot\1slotzq)?", re.DOTALL)


def word(slot: str) -> str:
    """The mark for words of letters, digits and strokes, which nothing changes."""
    return f"qzslot{slot}slotzq"


def text(slot: str) -> str:
    """The mark for text, which a template may escape."""
    return word(slot) + _SIGNS + word(slot)


def content(slot: str, html: str) -> str:
    """The mark for the HTML of a page."""
    return word(slot) + _HEADED + word(slot) if "<h1" in html else word(slot)


def fits(texts: Iterable[str]) -> bool:
    """Whether texts may go into slots: no tags, no entities, only single spaces inside."""
    return all(_PLAIN.match(one) and not _ENTITY.search(one) for one in texts)


class Frame:
    """A rendered specimen, cut at its marks."""

    def __init__(self, first: str, rest: list[tuple[str, Callable[[str], str], str]]) -> None:
        self._first, self._rest = first, rest

    @classmethod
    def of(cls, specimen: str) -> Frame | None:
        """The frame; None when a text was not just written or escaped."""
        pieces = _MARK.split(specimen)
        rest = []
        for slot, signs, after in zip(pieces[1::3], pieces[2::3], pieces[3::3], strict=True):
            how = _AS_WRITTEN.get(signs or "")
            if how is None:
                return None
            rest.append((slot, how, after))
        if any("qzslot" in piece.casefold() for piece in pieces[::3]):
            return None
        return cls(pieces[0], rest)

    def filled(self, values: Mapping[str, str]) -> str:
        """The page with these values in the slots; texts must be such that ``fits`` says yes."""
        parts = chain.from_iterable((how(values[slot]), after) for slot, how, after in self._rest)
        return "".join((self._first, *parts))
