"""What a search must find, by looking at every word of every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from asfound.pages.search import documents, words

Json = Any


def _words(given: Json) -> Json:
    return {"words": words(given["text"])}


def _worth(word: str, title: list[str], body: list[str], names: list[str]) -> int:
    """What the best place of a word on a page is worth; see ``tools-39-search.js``."""
    tells = len(word) > 1 or word > "\u02ff"
    places = [
        (64, word in title),
        (48, any(one.startswith(word) for one in title)),
        (24, len(word) > 2 and any(word in one for one in title)),
        (8, tells and word in body),
        (6, tells and any(one.startswith(word) for one in body)),
        (3, tells and word in names),
        (2, tells and any(one.startswith(word) for one in names)),
    ]
    return max((worth for worth, there in places if there), default=0)


def _found(given: Json) -> Json:
    asked = list(dict.fromkeys(words(given["asked"])))
    pages = [[words(text) for text in page] for page in given["pages"]]
    sums = [[_worth(word, *page) for word in asked] for page in pages]
    hits = [sum(map(bool, worths)) for worths in sums]
    most = max(hits, default=0)
    found = [n for n, count in enumerate(hits) if most and count == most]
    found.sort(key=lambda n: (-sum(sums[n]), len(pages[n][0]), n))
    return {"all": most == len(asked), "found": found}


def shards(pages: Json, size: int) -> Json:
    """The search's data for pages of title, body and names: ``starts`` and ``shards``."""
    made = dict(documents([(body, names) for _, body, names in pages], [], size))
    starts = made["search"]["starts"]
    return {"starts": starts, "shards": [made[f"words/{n}"] for n in range(len(starts))]}


DO: dict[str, Callable[[Json], Json]] = {"plain-words": _words, "found": _found}
