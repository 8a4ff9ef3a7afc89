"""The sentences that every format of a review has in common."""

from __future__ import annotations

from collections.abc import Sequence

from ..car.phrases import counted
from ..source.address import of_kind
from ..source.report import place_text
from .review import FindingChange, Review, Subject

OWNERS = "Only owners may change these files"
FINDINGS = "Findings"
EXPLAINED = "What they mean"
BY_HAND = "To look at by hand, in this order"
NOTHING_CHANGED = "Nothing changed in the car, nor in what the club says of it."
NOTHING_BY_HAND = "Nothing here needs a human."
MOST_FILES = 20  # named in a report for people; the JSON has all

_AREAS = {"club": "The club", "line": "Vehicle line", "module": "Module", "recipe": "Recipe"}
_FILES = {"added": "new", "removed": "gone", "changed": "", "untouched": "its own file is untouched"}


def compared(review: Review) -> str:
    """What was compared."""
    return f"Review of {review.folder}: from {review.base}, to {review.head}."


def counts(review: Review) -> str:
    """How much there is to look at, in one sentence."""
    looks = sum(change.need == "look" for change in review.changes)
    notes = len(review.changes) - looks
    new = sum(found.state == "new" for found in review.findings)
    fixed = len(review.findings) - new
    parts = [
        f"{counted(looks, 'change')} to look at, {notes} only noted",
        f"{counted(len(review.owners), 'file')} for owners only" if review.owners else "",
        f"{counted(new, 'new finding')}" if new else "",
        f"{counted(fixed, 'finding')} fixed" if fixed else "",
    ]
    return f"{'; '.join(filter(None, parts))}."


def heading(subject: Subject) -> tuple[str, str, str]:
    """The kind of thing, how files call it, and how people do, with what became of its file."""
    state = _FILES[subject.state]
    return _AREAS[subject.area], subject.id, f"{subject.title}{f' ({state})' if state else ''}"


def owners(review: Review) -> tuple[tuple[str, str, str], ...]:
    """How each of the owners' files differs, its path, and what it is; the last may count the rest."""
    rows = [(file.how, file.path, file.what) for file in review.owners]
    more = len(rows) - MOST_FILES
    return (*rows[:MOST_FILES], ("", f"and {more} more", "")) if more > 0 else tuple(rows)


def finding(review: Review, found: FindingChange) -> tuple[str, str, str]:
    """*new* or *fixed*, where, and what."""
    return (
        found.state,
        place_text(found.finding, review.folder),
        f"{found.finding.message} [{found.finding.id}]",
    )


def explained(review: Review) -> tuple[tuple[str, str], ...]:
    """Each kind of new finding, and where the club's site explains it; nothing without a site."""
    kinds = dict.fromkeys(found.finding.id for found in review.findings if found.state == "new")
    return tuple((id, of_kind(id, review.site)) for id in kinds if review.site)


def listed(names: Sequence[str]) -> str:
    """``a, b``; beyond a number, how many more."""
    more = len(names) - MOST_FILES
    return ", ".join(names[:MOST_FILES]) + (f" and {more} more" if more > 0 else "")
