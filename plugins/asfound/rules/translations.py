"""What must hold for translations: each is of something, says it once, and leads nowhere else."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from ..book import Book
from ..source.findings import plainly
from ..source.prose import ProseProblem, render
from ..source.translations import Said, Translation, folded
from .base import Problem, Rule, Stage
from .references import named_file

_HREF = re.compile(r'href="([^"]*)"')
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)*")


def _every(book: Book) -> Iterator[tuple[str, Translation]]:
    for files in book.loaded.translations.values():
        yield from files.items()


def _kind(of: str) -> tuple[str, str]:
    folder, _, name = of.rpartition("/")
    return {"vehicles": "line", "modules": "module", "changes": "recipe"}.get(folder, "club"), name


def translates_something(book: Book) -> Iterator[Problem]:
    """There is an original."""
    for of, translation in _every(book):
        kind, name = _kind(of)
        there = {"line": book.lines, "module": book.modules, "recipe": book.recipes, "club": {"club": 0}}[
            kind
        ]
        if name in there:
            continue
        if book.broken(kind, name) is not None:  # it is there, but could not be built
            yield from named_file(book, kind, name, translation.origin, there)
        else:
            file = f"{of}/recipe.yml" if kind == "recipe" else f"{of}.yml"
            yield Problem(
                translation.origin,
                f"this translates {file}, which is not there",
                "name the file as its original, or remove it",
            )


def said_once(book: Book) -> Iterator[Problem]:
    """No text has two translations in one file."""
    for _, translation in _every(book):
        times = Counter(folded(one.text) for one in translation.entries)
        seen: set[str] = set()
        for one in translation.entries:
            text = folded(one.text)
            if times[text] > 1 and text in seen:
                yield Problem(
                    one.origin.at("text"), "this text is translated twice here", "leave one of them out"
                )
            seen.add(text)


def says_the_same(book: Book) -> Iterator[Problem]:
    """Numbers, links and lines are those of the original."""
    for _, translation in _every(book):
        for one in translation.entries:
            yield from _differs(one)


def _differs(one: Said) -> Iterator[Problem]:
    where = one.origin.at("says")
    if "\n" in one.says.strip() and "\n" not in one.text.strip():
        yield Problem(where, "the original is one line, this has several", "write it as one line")
    lost = Counter(_numbers(one.text)) - Counter(_numbers(one.says))
    if lost:
        numbers = ", ".join(lost)
        yield Problem(
            where,
            f"the original says {numbers}, this does not",
            "write every number in figures, as there",
            also=(one.origin.at("text"),),
        )
    try:
        links = set(_links(one.says)) - set(_links(one.text))
    except ProseProblem as problem:
        yield Problem(where, plainly(problem.reason), plainly(problem.repair))
        return
    if links:
        yield Problem(
            where, "this has a link that the original has not", "link only to where the original does"
        )


def _numbers(text: str) -> list[str]:
    return [number.replace(",", ".") for number in _NUMBER.findall(text)]


def _links(text: str) -> list[str]:
    if "](" not in text:
        return []
    return _HREF.findall(render(text, lambda recipe: f"{recipe}.html"))


RULES = (
    Rule(
        "translation-of-nothing",
        "A translation lies in the place of a file that is there.",
        "A warning translated for nothing is read by nobody.",
        "Give the file the name of its original.",
        "book",
        translates_something,
        Stage.NAMES,
    ),
    Rule(
        "translation-twice",
        "Each text has one translation in a file.",
        "Two translations of one sentence say different things, and one of them is shown.",
        "Leave one of them out.",
        "book",
        said_once,
        Stage.NAMES,
    ),
    Rule(
        "translation-differs",
        "A translation has the numbers of its original, no other links, and one line where that has one.",
        "A voltage or a count lost in translation hurts somebody, and a link could lead readers astray.",
        "Write the numbers in figures, as the original does, and only its links.",
        "book",
        says_the_same,
        Stage.NAMES,
    ),
)
