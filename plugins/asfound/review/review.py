"""What a review is: what changed in the car, what only owners may change, what must be looked at by hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from ..source.findings import Finding
from .kinds import ASKS, FINDINGS, KINDS, OWNERS, Need

Area = Literal["club", "line", "module", "recipe"]
How = Literal["added", "changed", "removed"]
State = Literal["added", "changed", "removed", "untouched"]


@dataclass(frozen=True, slots=True)
class Commit:
    """What git says of a commit. A name and an address can be anything; neither proves who somebody is."""

    id: str
    author: str
    email: str


@dataclass(frozen=True, slots=True)
class Subject:
    """What a change is about. ``state``: that of its own file, *untouched* when only others changed."""

    area: Area
    id: str
    title: str
    state: State


@dataclass(frozen=True, slots=True)
class Fact:
    """One particular of a change: ``before``, ``after``, ``gained``, ``why`` … and what it is."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed in the car or in what the club says of it, in a plain sentence.

    ``kind`` is one of ``kinds.KINDS``; ``need`` is *look* where a person must look at it, else *note*.
    """

    subject: Subject
    kind: str
    need: Need
    says: str
    facts: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnersFile:
    """A file that only owners may change, from the top of the repository, and what it is to the club."""

    path: str
    how: How
    what: str


@dataclass(frozen=True, slots=True)
class FindingChange:
    """A finding that one side has and the other has not."""

    state: Literal["new", "fixed"]
    finding: Finding


@dataclass(frozen=True, slots=True)
class Look:
    """Something to look at by hand: a question, and what it is to be asked of."""

    ask: str
    of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Review:
    """Two books compared. ``folder``: the book's, in the repository; ``notes``: on the comparing itself.

    ``site``: where the club's site is found, as the base says; the other side may be anybody's.
    """

    base: str
    head: str
    folder: str
    notes: tuple[str, ...]
    owners: tuple[OwnersFile, ...]
    changes: tuple[Change, ...]
    findings: tuple[FindingChange, ...]
    site: str | None = None

    @property
    def sections(self) -> tuple[tuple[Subject, tuple[Change, ...]], ...]:
        """The changes by what they are about, in order; what a person must look at first."""
        out: dict[Subject, list[Change]] = {}
        for change in self.changes:
            out.setdefault(change.subject, []).append(change)
        return tuple((s, tuple(sorted(of, key=lambda c: c.need != "look"))) for s, of in out.items())

    @property
    def looks(self) -> tuple[Look, ...]:
        """What must be looked at by hand, in order."""
        of: dict[str, dict[str, None]] = {}
        if self.owners:
            of[OWNERS] = dict.fromkeys(file.path for file in self.owners)
        for found in self.findings:
            if found.state == "new":
                of.setdefault(FINDINGS, {})[f"{self.folder}/{found.finding.file}"] = None
        for change in self.changes:
            ask = KINDS[change.kind].ask
            if change.need == "look" and ask:
                of.setdefault(ask, {})[named(change.subject)] = None
        return tuple(Look(ASKS[ask], tuple(of[ask])) for ask in ASKS if ask in of)

    @property
    def needs_a_human(self) -> bool:
        """Whether anything must be looked at by hand."""
        return bool(self.looks)


def named(subject: Subject) -> str:
    """How a subject is called in a list: ``module living-area``; a recipe by its name alone."""
    if subject.area == "club":
        return "club.yml"
    return subject.id if subject.area == "recipe" else f"{subject.area} {subject.id}"


def facts(*pairs: tuple[str, str | Iterable[str]]) -> tuple[Fact, ...]:
    """Facts from (label, text) or (label, texts); empty texts are left out."""
    out: list[Fact] = []
    for label, text in pairs:
        out.extend(Fact(label, one) for one in ((text,) if isinstance(text, str) else text) if one)
    return tuple(out)


def from_to(was: object, now: object) -> tuple[Fact, ...]:
    """Something before and after; what is not there is *none*."""
    return tuple(
        Fact(label, "none" if value is None or value == "" else str(value))
        for label, value in (("before", was), ("after", now))
    )
