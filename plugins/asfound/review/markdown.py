"""A review as Markdown for a comment on a pull request, in which nothing of the data becomes markup.

Forges add rules of their own to CommonMark: mentions, numbers of issues, bare addresses. Escaping does not
reach those, code spans do. So a word with anything but letters, digits and plain punctuation stands in one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from . import words
from .review import Review

_PLAIN = re.compile(r"[“‘(]*[^\W_]+(?:[-–'’/.,][^\W_]+)*[”’),.;:?!]*\Z|[–—→·]\Z|\d+ ?%\Z")
_LINK = re.compile(r"://|www\.|\.(?:com|org|net|io)\b", re.IGNORECASE)


def as_markdown(review: Review) -> str:
    """The whole review; headings and lists are ours, all else is text."""
    return "\n".join(_lines(review)) + "\n"


def _lines(review: Review) -> Iterator[str]:
    yield f"## {plain(words.compared(review))}"
    yield ""
    for note in review.notes:
        yield from (plain(note), "")
    yield plain(words.counts(review))
    if review.owners:
        yield from ("", f"### {words.OWNERS}", "")
        for how, path, what in words.owners(review):
            yield f"- {how} {code(path)} {plain(what)}".rstrip() if how else f"- {plain(path)}"
    for subject, changes in review.sections:
        kind, id, title = words.heading(subject)
        yield from ("", f"### {kind} {code(id)}: {plain(title)}", "")
        for change in changes:
            said = plain(change.says)
            yield f"- **Look:** {said}" if change.need == "look" else f"- Note: {said}"
            for fact in change.facts:
                yield f"    - {fact.label}: {plain(fact.text)}"
    if review.findings:
        yield from ("", f"### {words.FINDINGS}", "")
        for state, where, what in (words.finding(review, found) for found in review.findings):
            yield f"- {state} {code(where)} {plain(what)}"
        if explained := words.explained(review):
            yield ""
            yield f"{words.EXPLAINED}: {', '.join(f'[{id}]({page})' for id, page in explained)}"
    if not (review.changes or review.findings or review.owners):
        yield from ("", words.NOTHING_CHANGED)
    yield ""
    if not review.looks:
        yield words.NOTHING_BY_HAND
        return
    yield from (f"### {words.BY_HAND}", "")
    for number, look in enumerate(review.looks, 1):
        yield f"{number}. {plain(look.ask)} {', '.join(map(code, look.of[: words.MOST_FILES]))}"


def plain(text: str) -> str:
    """Text as it is, with every word that could be markup in a code span."""
    out: list[str] = []
    odd: list[str] = []
    for word in text.split():
        if _PLAIN.match(word) and not _LINK.search(word) and (out or odd or not re.match(r"\d+[.)]", word)):
            if odd:
                out.append(code(" ".join(odd)))
                odd.clear()
            out.append(word)
        else:
            odd.append(word)
    if odd:
        out.append(code(" ".join(odd)))
    return " ".join(out)


def code(text: str) -> str:
    """A code span, fenced by more backticks than the text has in a row."""
    text = re.sub(r"\s", " ", text)
    fence = "`" * (max((len(run) for run in re.findall("`+", text)), default=0) + 1)
    inner = f" {text} " if text.startswith("`") or text.endswith("`") else text
    return f"{fence}{inner}{fence}"
