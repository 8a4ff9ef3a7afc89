"""A book checked and rendered, on every core where that pays, with the same outcome as on one.

Each copy of the process asks the rules about its share of the book, and then renders the pages and documents
of the same share, so that what it worked out for the one serves the other. Only what many pages say of a
recipe is told to all: how far the club stands behind it, and its codes.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Generic, TypeVar
from zlib import crc32

from ..book import Book
from ..rules.run import run, sound
from ..source.cache import CACHE
from ..source.crew import Crew, cores
from ..source.findings import Finding
from ..source.loader import FolderTree, Loaded, load
from ..source.names import forget
from ..source.remembered import Remembered
from ..speech import speak
from . import languages
from .build import Pages, Rendered
from .document import Document
from .links import Link
from .views.desk import Said

_PAYS = 60

T = TypeVar("T")
Write = Callable[[bytes, str], None]
Relative = Callable[[str, str], str]  # an address in the site, and the page that names it


class Studio:
    """What a build makes of a book. ``close`` it at the end."""

    def __init__(self, loaded: Loaded, book: Book | None = None, crew: bool = False) -> None:
        self.loaded = loaded
        self._turns = {id: turn for turn, id in enumerate(loaded.recipes)}
        self._bench = _Bench(book or (Book(loaded) if loaded.club else None))
        self._crew = Crew(self._bench, cores() if crew and len(self._turns) >= _PAYS else 1, busy=True)

    @classmethod
    def of(cls, folder: Path, crew: bool = True) -> Studio:
        """Of the book in a folder; ``crew``: on every core."""
        loaded = load(FolderTree(folder), Remembered(crew))
        forget()
        return cls(loaded, crew=crew)

    @property
    def pages(self) -> Pages:
        """The pages, once ``open`` has been called."""
        return self._bench.pages

    def findings(self) -> tuple[Finding, ...]:
        """All findings, as ``rules.run.check_book`` has them; pages can be made only where there are none."""
        if self.loaded.findings or self._bench.book is None:
            return (*self.loaded.findings, *(run(self._bench.book) if self._bench.book else ()))
        shares = self._crew.shares
        if shares > 1 and all(self._crew.each(_sound, [(turn, shares) for turn in range(shares)])):
            return ()
        return (*self.loaded.findings, *run(self._bench.book))

    def open(
        self,
        templates: str | Path | None,
        hand_written: frozenset[str],
        language: str = languages.SOURCE,
        below: str = "",
        site: tuple[str, ...] = (),
    ) -> None:
        """Makes ready for rendering; arguments as for ``Pages``. TemplateFault as there.

        From then on the language is spoken, here too, until ``close``.
        """
        self._crew.everyone(_open, templates, hand_written, language, below, site)
        if self._crew.size > 1:
            recipes = list(self.pages.book.recipes)
            said = dict(zip(recipes, self._crew.each(_said, recipes, self._turn), strict=True))
            self._crew.everyone(_tell, said)

    def addresses(self, urls: Mapping[str, str], relative: Relative, documents: dict[str, Document]) -> None:
        """Where every page and file lies, and the function (of a module) that makes that relative; all
        documents by their keys, which each copy lists for itself."""
        self._crew.everyone(_addresses, urls, relative)
        self._bench.documents = documents

    def html(self, keys: Sequence[str]) -> Iterator[Rendered]:
        """The pages of those keys, in order, begun when the first is asked for; errors as ``Pages.html``."""
        yield from self._crew.each(_html, keys, lambda key: self._turn(key.partition("/")[2]))

    def contents(
        self, documents: Sequence[Document], folder: str, write: Write
    ) -> Iterator[Iterator[bytes | None]]:
        """The parts of documents, in order; those of one must be taken before those of the next.

        Whoever makes the only part of a document writes it into the site's folder, and None comes instead;
        that begins at once. ``write``: a function (of a module) of content and path.
        """
        self._crew.everyone(_into, folder, write)
        parts = [(one.key, at) for one in documents for at in range(len(one.parts))]
        about = {one.key: [subject for subject, _ in one.parts] for one in documents}
        made = self._crew.each(_part, parts, lambda part: self._turn(about[part[0]][part[1]]))
        return (islice(made, len(one.parts)) for one in documents)

    def close(self) -> None:
        """Ends the copies, which write down what they have worked out for the first time."""
        self._crew.close()
        CACHE.flush()

    def _turn(self, subject: str) -> int:
        found = self._turns.get(subject)
        return crc32(subject.encode()) if found is None else found


class Ahead(Generic[T]):
    """What is made ahead, in the order in which it will most likely be asked for."""

    def __init__(self, keys: Iterable[str] = (), made: Iterator[T] | None = None) -> None:
        self._keys, self._made = deque(keys), made or iter(())

    def take(self, key: str, make: Callable[[], T]) -> T:
        """What belongs to the key; out of turn it is made here and now."""
        if self._keys and self._keys[0] == key:
            self._keys.popleft()
            return next(self._made)
        return make()


class _Bench:
    """What each copy works at."""

    def __init__(self, book: Book | None) -> None:
        self.book = book
        self.pages: Pages
        self.urls: Mapping[str, str] = {}
        self.documents: dict[str, Document] = {}
        self.folder: str
        self.write: Write

    def addresses(self, urls: Mapping[str, str], relative: Relative) -> None:
        self.urls = urls
        self.documents = {}
        # From all pages of a folder an address looks the same.
        self._relative = lru_cache(1 << 12)(lambda url, folder: relative(url, f"{folder}x.html"))

    def link(self, page: str) -> Link:
        folder = page[: page.rfind("/") + 1]
        return lambda key: self._relative(self.urls[key], folder)

    def document(self, key: str) -> Document:
        if not self.documents:
            made = (*self.pages.pictures(), *self.pages.documents(self.urls.__getitem__))
            self.documents = {one.key: one for one in made}
        return self.documents[key]


def _sound(bench: _Bench, share: tuple[int, int]) -> bool:
    assert bench.book is not None
    return sound(bench.book, *share)


def _open(
    bench: _Bench,
    templates: str | Path | None,
    hand_written: frozenset[str],
    language: str,
    below: str,
    site: tuple[str, ...],
) -> None:
    assert bench.book is not None
    speak(languages.language(language))
    bench.pages = Pages(bench.book, templates, hand_written, language, below, site)


def _said(bench: _Bench, recipe: str) -> Said:
    return bench.pages.said(recipe)


def _tell(bench: _Bench, said: Mapping[str, Said]) -> None:
    bench.pages.know(said)


def _addresses(bench: _Bench, urls: Mapping[str, str], relative: Relative) -> None:
    bench.addresses(urls, relative)


def _html(bench: _Bench, key: str) -> Rendered:
    return bench.pages.html(key, bench.link(bench.urls[key]))


def _into(bench: _Bench, folder: str, write: Write) -> None:
    bench.folder, bench.write = folder, write


def _part(bench: _Bench, part: tuple[str, int]) -> bytes | None:
    key, at = part
    parts = bench.document(key).parts
    content = parts[at][1]()
    if len(parts) > 1:
        return content
    bench.write(content, os.path.join(bench.folder, key))
    return None
