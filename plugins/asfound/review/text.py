"""A review as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from . import words
from .review import Change, Review

WIDTH = 100
INDENT = 8  # of what belongs to a change


def as_text(review: Review) -> str:
    """The whole review, lines of at most ``WIDTH`` letters where words allow it."""
    return "\n".join(_lines(review)) + "\n"


def _lines(review: Review) -> Iterator[str]:
    yield from _wrapped(words.compared(review), "", "")
    for note in review.notes:
        yield from _wrapped(note, "", "")
    yield from _wrapped(words.counts(review), "", "")
    if review.owners:
        yield from ("", words.OWNERS)
        rows = words.owners(review)
        width = min(max(len(path) for _, path, _ in rows), 48)
        for how, path, what in rows:
            yield f"  {how:<8}{path:<{width}}  {what}".rstrip()
    for subject, changes in review.sections:
        kind, id, title = words.heading(subject)
        yield ""
        yield from _wrapped(f"{kind} {id}: {title}", "", "    ")
        for change in changes:
            yield from _change(change)
    if review.findings:
        yield from ("", words.FINDINGS)
        for state, where, what in (words.finding(review, found) for found in review.findings):
            yield f"  {state:<6}{where}"
            yield from _wrapped(what, " " * INDENT, " " * INDENT)
    if not (review.changes or review.findings or review.owners):
        yield from ("", words.NOTHING_CHANGED)
    yield ""
    if not review.looks:
        yield words.NOTHING_BY_HAND
        return
    yield words.BY_HAND
    for number, look in enumerate(review.looks, 1):
        yield from _wrapped(look.ask, f"{number:>3}. ", " " * 5)
        yield from _wrapped(words.listed(look.of), " " * 5, " " * 5)


def _change(change: Change) -> Iterator[str]:
    yield from _wrapped(change.says, f"  {change.need:<6}", " " * INDENT)
    width = max((len(fact.label) for fact in change.facts), default=0) + 2
    for fact in change.facts:
        yield from _wrapped(fact.text, f"{' ' * INDENT}{fact.label + ':':<{width}}", " " * (INDENT + width))


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    return wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
