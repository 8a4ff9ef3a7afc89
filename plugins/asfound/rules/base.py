"""What a rule is: one small object with a name, what it demands, and a check that yields problems."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, Literal

from ..book import Book
from ..car.completions import TooManyFacts
from ..car.origin import Origin
from ..car.records import Module
from ..source.findings import path_text
from ..work.recipes import Recipe

Subject = Literal["book", "file", "line", "module", "recipe", "recipes"]


class Stage(IntEnum):
    """How much a rule takes for granted; each stage builds on those before it.

    A rule is not asked about a subject when a rule of an earlier stage has found that its ground does not
    hold: what it would say could only be a consequence.
    """

    NAMES = 0  # every name stands for something
    SHAPE = 1  # what a vehicle line or module says of itself makes sense
    CARS = 2  # recipes meet cars, modules and each other
    CHANGES = 3  # changes can be made
    WORK = 4  # the work comes out and can be carried out in order
    EVIDENCE = 5  # reports and signatures agree with it
    CODES = 6  # and name codes that are known


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong at ``origin``, and what to write instead.

    ``also`` are other places that could be at fault just as well, when the check cannot tell which.
    ``because`` is the key of the finding of which this is only a consequence. ``at``: line and column, where
    what is wrong stands in no value, as in a comment.
    """

    origin: Origin
    message: str
    repair: str
    also: tuple[Origin, ...] = ()
    because: str | None = None
    at: tuple[int, int] | None = None


def key(rule_id: str, problem: Problem) -> str:
    """The key that the problem's finding will have."""
    return f"{problem.origin.file}#{path_text(problem.origin.path)}#{rule_id}"


@dataclass(frozen=True, slots=True)
class Rule:
    """A demand on the book.

    ``check`` gets the book and, unless ``subject`` is "book", the path of one file, one vehicle line, module
    or recipe, or, for "recipes", all that still stand. ``grounds``: what it finds takes the ground from the
    later stages, for everything in whose files a problem lies.
    """

    id: str
    demand: str  # one sentence: what must hold
    why: str  # one sentence: what goes wrong in the garage otherwise
    helps: str  # one sentence: what usually puts it right; each finding says its own repair besides
    subject: Subject
    check: Callable[..., Iterator[Problem]]
    stage: Stage
    grounds: bool = False

    def problems(self, book: Book, subject: Any) -> tuple[Problem, ...]:
        """The rule's problems with one subject; of a rule about the whole book, ``subject`` is the book.

        Conditions that name more facts than can be weighed are a problem too.
        """
        try:
            return tuple(self.check(book) if self.subject == "book" else self.check(book, subject))
        except TooManyFacts:
            if not isinstance(subject, Module | Recipe):
                raise
        where = subject.origin.at("fits") if isinstance(subject, Recipe) else subject.origin.at("records")
        return (
            Problem(
                where,
                "the conditions that meet here ask about more facts at once than can be weighed",
                "ask about fewer; what always comes together needs only one of its facts",
            ),
        )
