"""Files of the site that are no pages: made part by part, none before its turn, so that none is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

Part = tuple[str, Callable[[], bytes]]  # the id of what it is about, "" for no one thing; and how to make it


@dataclass(frozen=True, slots=True)
class Document:
    """A file: its key as in ``links``, and the parts that make up its content, in order."""

    key: str
    parts: tuple[Part, ...]

    @classmethod
    def of(cls, key: str, make: Callable[[], bytes], about: str = "") -> Document:
        """A document in one part."""
        return cls(key, ((about, make),))

    def __iter__(self) -> Iterator[Any]:
        """Unpacks as key and content."""
        yield self.key
        yield self.content()

    def content(self) -> bytes:
        """The whole content."""
        return b"".join(self.pieces())

    def pieces(self) -> Iterator[bytes]:
        """The content, part by part."""
        return (make() for _, make in self.parts)
