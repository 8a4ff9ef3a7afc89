"""Data for the reader's tools, as classic scripts that assign: from a folder a page loads nothing else.

``asfound.data["world"]`` and ``["index"]`` are one script each, every recipe and module has its own, so that
a page loads only what it needs. Keys of files begin with that of ``links.DATA``'s folder.
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
    """Key and content of every script; ``labels`` are kind and words by recipe, where it is not vetted."""
    yield _script("world", compiled.world(book))
    yield _script(
        "index", compiled.index(book) | {"labels": {name: list(one) for name, one in labels.items()}}
    )
    for module in book.modules:
        yield _script(f"modules/{module}", compiled.module(book, module))
    for recipe in book.recipes:
        yield _script(f"recipes/{recipe}", compiled.recipe(book, recipe))


def needed(book: Book, key: str) -> tuple[str, ...]:
    """What the page of that key loads, without folder and ending: () where the tools have nothing to do."""
    if links.is_reference(key):
        return ()
    kind, _, id = key.partition("/")
    if kind == "recipes" and id in book.recipes:
        return "world", *(f"modules/{m}" for m in _modules(book, id)), f"recipes/{id}"
    return "world", "index"


def _modules(book: Book, recipe: str) -> tuple[str, ...]:
    return tuple(m for m in compiled.modules_of(book.recipes[recipe]) if m in book.modules)


def _script(name: str, document: object) -> tuple[str, bytes]:
    """ASCII throughout: JSON may hold line separators that older scripts may not."""
    text = json.dumps(document, separators=(",", ":"))
    start = "window.asfound=window.asfound||{};asfound.data=asfound.data||{};"
    return f"{FOLDER}/{name}.js", f"{start}asfound.data[{json.dumps(name)}]={text};\n".encode("ascii")
