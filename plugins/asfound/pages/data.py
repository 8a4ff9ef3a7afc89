"""Data for the reader's tools, as classic scripts that assign: from a folder a page loads nothing else.

``asfound.data["world"]`` and ``["index"]`` are one script each, every recipe and module has its own, the
search has several (``search``), so that a page loads only what it needs. Keys of files begin with that of
``links.DATA``'s folder.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from types import MappingProxyType

from ..book import Book
from . import compiled, links
from .document import Document

FOLDER = links.DATA.rpartition("/")[0]


def documents(book: Book, labels: Callable[[], Mapping[str, tuple[str, str]]]) -> Iterator[Document]:
    """Every script but those of the search; ``labels``: kind and words by recipe."""

    def one(name: str, make: Callable[[], object], about: str = "") -> Document:
        return Document.of(key(name), lambda: script(name, make())[1], about)

    yield one("world", lambda: compiled.world(book))
    yield one("index", lambda: compiled.index(book, labels()))
    for module in book.modules:
        yield one(f"modules/{module}", partial(compiled.module, book, module), module)
    for recipe in book.recipes:
        yield one(f"recipes/{recipe}", partial(compiled.recipe, book, recipe), recipe)


def scripts(
    book: Book, labels: Mapping[str, tuple[str, str]] = MappingProxyType({})
) -> Iterator[tuple[str, bytes]]:
    """Key and content of the same."""
    return ((one.key, one.content()) for one in documents(book, lambda: labels))


def key(name: str) -> str:
    """The key of a script's file."""
    return f"{FOLDER}/{name}.js"


def needed(book: Book, page: str) -> tuple[str, ...]:
    """What a page, by its key, loads at once, without folder and ending; the rest is loaded when needed."""
    if links.is_reference(page):
        return ()
    kind, _, id = page.partition("/")
    if kind == "recipes" and id in book.recipes:
        return "world", *(f"modules/{m}" for m in _modules(book, id)), f"recipes/{id}"
    return ("world", "index") if page == links.PLANNER else ("world",)


def _modules(book: Book, recipe: str) -> tuple[str, ...]:
    return tuple(m for m in compiled.modules_of(book.recipes[recipe]) if m in book.modules)


def script(name: str, document: object) -> tuple[str, bytes]:
    """ASCII throughout: JSON may hold line separators that older scripts may not."""
    text = json.dumps(document, separators=(",", ":"))
    start = "window.asfound=window.asfound||{};asfound.data=asfound.data||{};"
    return key(name), f"{start}asfound.data[{json.dumps(name)}]={text};\n".encode("ascii")
