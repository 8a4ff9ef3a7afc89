"""The pages that are the same on every site: what the words mean, what files may hold, what findings mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..rules.kinds import Example, Group, every_example, every_kind, groups
from ..source.catalogue import Entry
from ..source.fields import REFERENCE, Field, about, fields
from ..source.schemas import KINDS, READERS
from ..speech import gettext
from . import links
from .glossary import Term, terms
from .links import Link
from .views.common import Ref

_GROUPS = (
    ("book", "Files of a book", "What a club writes, in the folder recipes/.", tuple(KINDS)),
    ("inside", "Inside them", "What stands in several kinds of file.", ("condition",)),
    ("readers", "Files a reader keeps", "What the pages export and asfound reads.", tuple(READERS)),
    ("programs", "Files for other programs", "What asfound writes, as JSON.", ("book", "review")),
)


@dataclass(frozen=True, slots=True)
class GlossaryPage:
    """All words."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding."""

    id: str
    entry: Entry
    example: Example


@dataclass(frozen=True, slots=True)
class FindingsPage:
    """Every kind of finding, in groups; ``fields``: where the fields of files are described."""

    groups: tuple[tuple[Group, tuple[Kind, ...]], ...]
    fields: str


@dataclass(frozen=True, slots=True)
class FieldsGroup:
    """Kinds of file that belong together."""

    id: str
    title: str
    about: str
    refs: tuple[Ref, ...]


@dataclass(frozen=True, slots=True)
class FieldsIndex:
    """All kinds of file."""

    groups: tuple[FieldsGroup, ...]
    findings: str


@dataclass(frozen=True, slots=True)
class FieldsPage:
    """One kind of file: each field at its top, with all inside it. ``index``: the page of all kinds.

    ``hrefs`` leads to the pages of other kinds.
    """

    title: str
    about: str
    schema: str
    parts: tuple[tuple[Field, tuple[Field, ...]], ...]
    index: str
    hrefs: dict[str, str]


def outlines() -> Iterator[tuple[str, str, str, str]]:
    """Key, title and description of each page, and the words readers find it by; none: they need not."""
    words = ", ".join(term.word for term in terms())
    yield links.GLOSSARY, gettext("Glossary"), gettext("What the words on these pages mean"), words
    yield links.FINDINGS, "Findings", "What the check can find: meaning, reason, repair, example", ""
    yield links.FIELDS, "Fields", "Every kind of file and what it may hold", ""
    for kind in REFERENCE:
        title, says = about(kind)
        yield links.fields_of(kind), f"Fields: {title}", says, ""


def view(key: str, link: Link) -> tuple[str, object] | None:
    """Template and context of the page of that key; None when it is not one of these."""
    match key:
        case links.GLOSSARY:
            return "glossary.html", GlossaryPage(terms())
        case links.FINDINGS:
            kinds, examples = every_kind(), every_example()
            shown = (
                (group, tuple(Kind(id, kinds[id], examples[id]) for id in group.kinds)) for group in groups()
            )
            return "findings.html", FindingsPage(tuple(shown), link(links.FIELDS))
        case links.FIELDS:
            found = (FieldsGroup(id, title, says, _refs(kinds, link)) for id, title, says, kinds in _GROUPS)
            return "reference-index.html", FieldsIndex(tuple(found), link(links.FINDINGS))
    kind = next((kind for kind in REFERENCE if key == links.fields_of(kind)), None)
    return None if kind is None else ("reference.html", _page(kind, link))


def _refs(kinds: tuple[str, ...], link: Link) -> tuple[Ref, ...]:
    return tuple(Ref(about(kind)[0], link(links.fields_of(kind)), about(kind)[1]) for kind in kinds)


def _page(kind: str, link: Link) -> FieldsPage:
    parts: list[tuple[Field, list[Field]]] = []
    for field in fields(kind):
        if field.depth == 0:
            parts.append((field, []))
        else:
            parts[-1][1].append(field)
    title, says = about(kind)
    return FieldsPage(
        title,
        says,
        REFERENCE[kind].partition("#")[0],
        tuple((top, tuple(inside)) for top, inside in parts),
        link(links.FIELDS),
        {other: link(links.fields_of(other)) for other in REFERENCE},
    )
