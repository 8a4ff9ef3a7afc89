"""Data for the reader's tools, as classic scripts that assign: from a folder a page loads nothing else.

``asfound.data["world"]`` and ``["index"]`` are one script each, every recipe and module has its own, the
search has several (``search``), so that a page loads only what it needs. Keys of files begin with that of
``links.DATA``'s folder.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from ..book import Book
from . import compiled, links

FOLDER = links.DATA.rpartition("/")[0]


def scripts(
    book: Book, labels: Mapping[str, tuple[str, str]] = MappingProxyType({})
) -> Iterator[tuple[str, bytes]]:
    """Key and content of every script but those of the search; ``labels``: kind and words by recipe."""
    yield script("world", compiled.world(book))
    yield script("index", compiled.index(book, labels))
    for module in book.modules:
        yield script(f"modules/{module}", compiled.module(book, module))
    for recipe in book.recipes:
        yield script(f"recipes/{recipe}", compiled.recipe(book, recipe))


def needed(book: Book, key: str) -> tuple[str, ...]:
    """What the page of that key loads at once, without folder and ending; the rest is loaded when needed."""
    if links.is_reference(key):
        return ()
    kind, _, id = key.partition("/")
    if kind == "recipes" and id in book.recipes:
        return "world", *(f"modules/{m}" for m in _modules(book, id)), f"recipes/{id}"
    return ("world", "index") if key == links.PLANNER else ("world",)


def _modules(book: Book, recipe: str) -> tuple[str, ...]:
    return tuple(m for m in compiled.modules_of(book.recipes[recipe]) if m in book.modules)


def script(name: str, document: object) -> tuple[str, bytes]:
    """ASCII throughout: JSON may hold line separators that older scripts may not."""
    text = json.dumps(document, separators=(",", ":"))
    start = "window.asfound=window.asfound||{};asfound.data=asfound.data||{};"
    return f"{FOLDER}/{name}.js", f"{start}asfound.data[{json.dumps(name)}]={text};\n".encode("ascii")
