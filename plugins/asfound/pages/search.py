"""The search: what pages are found by, as data of which a page loads only what a question needs.

``search`` is one document: the pages besides the recipes, and at which word each shard of the words begins.
``words/0`` and so on are the shards, in the order of the words: for each word the pages that say it, by
number, recipes first. Titles are found without them: those of recipes are in ``compiled.index``, and a title
counts more than all else. Counterpart: ``tools-39-search.js``.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import unescape

from ..speech import N_, gettext
from .compiled_car import Object

_WORD = re.compile(r"[^\W_]+")
_MARKS = re.compile("[\u0300-\u036f]")
# Letters that have no decomposition in Unicode, as they are usually typed without.
_LETTERS = str.maketrans(
    {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ı": "i"}
)
_TAG = re.compile(r"<[^>]*>")
_SECTION = re.compile(r'<h([23]) id="([^"]+)">(.*?)</h\1>', re.DOTALL)

SHARD = 24_000  # characters, about


@dataclass(frozen=True, slots=True)
class Entry:
    """A page or a part of one: ``address`` below the site, with its anchor; ``kind`` of page in words;
    ``body`` what it is about, ``names`` of what it touches; ``of`` the title of the page it is part of."""

    address: str
    title: str
    kind: str
    body: str
    names: str = ""
    of: str = ""


def plain(text: str) -> str:
    """Small letters without accents."""
    apart = unicodedata.normalize("NFD", text.lower())
    return _MARKS.sub("", apart).translate(_LETTERS)


def words(text: str) -> list[str]:
    """Its words, plain: letters and digits."""
    return _WORD.findall(plain(text))


def guide(address: str, title: str, html: str) -> Iterator[Entry]:
    """A hand-written page and each of its sections that can be linked to."""
    parts = _SECTION.split(html)
    yield Entry(address, title, N_("guide"), _text(parts[0]))
    for at in range(1, len(parts), 4):
        _, anchor, heading, text = parts[at : at + 4]
        yield Entry(f"{address}#{anchor}", _text(heading), "guide", _text(text), of=title)


def documents(
    recipes: Sequence[tuple[str, str]], pages: Sequence[Entry], shard: int = SHARD
) -> Iterator[tuple[str, Object]]:
    """Name and content of every document. ``recipes``: body and names of each, in the order of the index.

    ``shard``: about how many characters a shard has.
    """
    said = [*recipes, *((page.body, page.names) for page in pages)]
    found: dict[str, tuple[list[int], list[int]]] = {}
    for number, (body, names) in enumerate(said):
        own = set(words(body))
        for word in own:
            found.setdefault(word, ([], []))[0].append(number)
        for word in set(words(names)) - own:
            found.setdefault(word, ([], []))[1].append(number)
    starts: list[str] = []
    shards: list[dict[str, object]] = []
    size = shard
    for word in sorted(found, key=lambda one: one.encode("utf-16-be")):  # the order of the browser's language
        in_body, in_names = found[word]
        value = [_steps(in_body), _steps(in_names)] if in_names else [_steps(in_body)]
        if size >= shard:
            size = 0
            starts.append(word)
            shards.append({})
        shards[-1][word] = value
        size += len(json.dumps({word: value}, separators=(",", ":")))
    kinds = list(dict.fromkeys(page.kind for page in pages))
    rows = [
        [page.address, page.title, kinds.index(page.kind), *([page.of] if page.of else [])] for page in pages
    ]
    yield "search", {"kinds": [gettext(kind) for kind in kinds], "pages": rows, "starts": starts}
    for number, held in enumerate(shards):
        yield f"words/{number}", held


def _steps(numbers: Iterable[int]) -> list[int]:
    """Rising numbers as the first and the step to each next: shorter."""
    out, before = [], 0
    for number in numbers:
        out.append(number - before)
        before = number
    return out


def _text(html: str) -> str:
    return " ".join(unescape(_TAG.sub(" ", html)).split())
