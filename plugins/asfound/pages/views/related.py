"""Recipes that meet a recipe, strongest reason first."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...speech import N_, gettext, ngettext
from ...work.interactions import CLASHES, KINDS, Meeting, strongest
from ...work.recipes import Recipe
from .. import links
from ..figures.neighbours import Tie
from ..links import Link
from ..words import list_words, sentence
from .common import Stamp
from .desk import Desk
from .drawn import Tied, around
from .status import stamp

_LABEL = {
    "same bits, clash": N_("Clash: same bits"),
    "same name, clash": N_("Clash: same setting"),
    "same bits, agree": N_("Same bits, same value"),
    "same name, agree": N_("Same setting, same value"),
    "same byte, other bits": N_("Same byte, other bits"),
    "same record": N_("Same record, other bytes"),
}


_MOST_NEAR = 12  # recipes that merely share a record; the module's page lists the rest


@dataclass(frozen=True, slots=True)
class RelatedRow:
    """Another recipe and why it is named; ``kind`` is clash, needs or near."""

    kind: Tie
    label: str
    href: str
    text: str
    reason: str
    stamp: Stamp | None = None


@dataclass(frozen=True, slots=True)
class Related:
    """The recipes tied to one, as a list and, where there are several, drawn."""

    rows: tuple[RelatedRow, ...]
    figure: Markup


def related(desk: Desk, recipe: Recipe, link: Link) -> Related:
    """What it needs, what it clashes with, what replaces what, what else shares its records."""
    rows: list[RelatedRow] = []
    tied: list[Tied] = []

    def add(kind: Tie, label: str, other: str, reason: str = "") -> None:
        if other in desk.book.recipes:
            found = desk.book.recipes[other]
            href = link(links.recipe(other))
            rows.append(RelatedRow(kind, label, href, found.title, reason, stamp(desk, found)))
            tied.append(Tied(found.title, kind, label, _records(desk, meetings.get(other, []))))

    meetings: dict[str, list[Meeting]] = {}
    for meeting in desk.book.meetings(recipe.id):
        meetings.setdefault(meeting.other, []).append(meeting)
    for other in recipe.needs:
        add("needs", gettext("Needs, done before"), other)
    stated = {clash.recipe: clash.because for clash in recipe.clashes}
    for other, because in stated.items():
        shared = _shared(desk, meetings.get(other, []))
        add("clash", gettext("Clash"), other, " ".join(part for part in (sentence(because), shared) if part))
    for other in recipe.replaces:
        add("near", gettext("Replaces"), other)
    for other in desk.replaced_by.get(recipe.id, ()):
        add("near", gettext("Replaced by"), other)
    for other in desk.needed_by.get(recipe.id, ()):
        add("near", gettext("Needed by"), other)
    left = _MOST_NEAR
    closest = ((other, strongest(of).kind) for other, of in meetings.items() if other not in stated)
    for other, kind in sorted(closest, key=lambda one: (-KINDS.index(one[1]), one[0])):
        if kind not in CLASHES:
            left -= 1
            if left < 0:
                continue
        add(
            "clash" if kind in CLASHES else "near",
            gettext(_LABEL[kind]),
            other,
            _shared(desk, [m for m in meetings[other] if m.kind == kind]),
        )
    if left < 0:
        modules = dict.fromkeys(meeting.record.module for of in meetings.values() for meeting in of)
        for module in modules:
            href = link(links.module(module))
            reason = ngettext(
                "{n} more recipe shares a record with this one; its page lists all.",
                "{n} more recipes share a record with this one; its page lists all.",
                -left,
            )
            rows.append(RelatedRow("near", gettext("More"), href, desk.unit(module, None), reason))
    return Related(tuple(rows), around(tied))


def _shared(desk: Desk, meetings: list[Meeting]) -> str:
    """Which records, and where they share bits or names which settings."""
    if not meetings:
        return ""
    names = dict.fromkeys(
        setting.name
        for m in meetings
        for path in m.settings
        if (setting := desk.book.setting(path)) is not None
    )
    if names:
        return sentence(gettext("Shared: {settings}", settings=list_words(list(names))))
    return sentence(
        list_words(
            [
                gettext("{record} in {module}", record=record, module=module)
                for module, record in _records(desk, meetings)
            ]
        )
    )


def _records(desk: Desk, meetings: list[Meeting]) -> tuple[tuple[str, str], ...]:
    """The records shared, each once, as the names of module and record."""
    return tuple(
        dict.fromkeys(
            (desk.book.modules[m.record.module].name, record.name)
            for m in meetings
            if (record := desk.book.record(m.record)) is not None
        )
    )
