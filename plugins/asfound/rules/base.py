"""What a rule is: one small object with a name, what it demands, and a check that yields problems."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from ..book import Book
from ..car.origin import Origin

Subject = Literal["book", "line", "module", "recipe"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong at ``origin``, and what to write instead.

    ``also`` are other places that could be at fault just as well, when the check cannot tell which. ``because``
    is the key of the finding of which this is only a consequence.
    """

    origin: Origin
    message: str
    repair: str
    also: tuple[Origin, ...] = ()
    because: str | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A demand on the book.

    ``check`` gets the book and, unless ``subject`` is "book", one vehicle line, module or recipe, so that a
    changed file can be checked without the rest.
    """

    id: str
    demand: str  # one sentence: what must hold
    why: str  # one sentence: what goes wrong in the garage otherwise
    subject: Subject
    check: Callable[..., Iterator[Problem]]

    def problems(self, book: Book, subject: Any = None) -> Iterator[Problem]:
        """The rule's problems with one subject, or with the whole book."""
        if self.subject == "book":
            yield from self.check(book)
        elif subject is not None:
            yield from self.check(book, subject)
        else:
            for each in subjects(book, self.subject):
                yield from self.check(book, each)


def subjects(book: Book, subject: Subject) -> tuple[Any, ...]:
    """Every vehicle line, module or recipe of the book."""
    match subject:
        case "line":
            return tuple(book.lines.values())
        case "module":
            return tuple(book.modules.values())
        case "recipe":
            return tuple(book.recipes.values())
        case "book":
            return (book,)
