"""The club's board: what waits for somebody, from signatures to cars on which nobody has tried a recipe."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...speech import N_, gettext, ngettext
from ...trust.vetting import Examined
from ...work.recipes import Recipe
from .. import links
from ..links import Link
from ..words import count_words, list_words, sentence
from .common import Ref
from .desk import Desk, VariantKey

_MOST = 20  # of the oldest confirmations; the rest can wait
_ROWS = 100  # of any part, for a page that a telephone can hold
_VOID = {
    "earlier sheet": N_("The instructions have changed since"),
    "mistyped": N_("The code is mistyped"),
    "by the author": N_("It is the author's own"),
    "no reviewer that day": N_("Not a reviewer on that day"),
    "twice": N_("The same reviewer has signed twice"),
}
_CONTRADICTS = {
    "partly": N_("worked only partly"),
    "no-effect": N_("had no effect"),
    "refused": N_("the module refused"),
    "put-back": N_("was put back"),
    "could-not-put-back": N_("could not be put back"),
}


@dataclass(frozen=True, slots=True)
class BoardRow:
    """A recipe, and what is to be said of it."""

    ref: Ref
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BoardPart:
    """One kind of thing that waits; ``none`` is said when nothing does, ``more`` counts rows left out."""

    id: str
    title: str
    about: str
    rows: tuple[BoardRow, ...]
    none: str
    more: int = 0


@dataclass(frozen=True, slots=True)
class BoardPage:
    """The board. A book without reviewers has only the parts that concern cars."""

    about: str
    parts: tuple[BoardPart, ...]


def board_page(desk: Desk, link: Link, unpublished: int = 0) -> BoardPage:
    """All that waits, for each kind the most pressing first; ``unpublished``: recipes not on the site."""
    vouching = (_waiting(desk, link), _voided(desk, link), _contradictions(desk, link))
    cars = (_untried(desk, link), _oldest(desk, link))
    if not desk.book.club.reviewers:
        return BoardPage(gettext("What nobody has tried yet."), tuple(map(_cut, cars)))
    about = gettext("What waits for a reviewer, a report or a second look.")
    if unpublished:
        about += " " + ngettext(
            "{n} more is not published here, since the club publishes only what it vouches for.",
            "{n} more are not published here, since the club publishes only what it vouches for.",
            unpublished,
        )
    return BoardPage(about, tuple(map(_cut, vouching + cars)))


def _cut(part: BoardPart) -> BoardPart:
    """The most pressing of a long part."""
    more = max(0, len(part.rows) - _ROWS)
    return replace(part, rows=part.rows[:_ROWS], more=more)


def _offered(desk: Desk) -> list[Recipe]:
    recipes = (recipe for recipe in desk.book.recipes.values() if recipe.status == "offered")
    return sorted(recipes, key=lambda recipe: (recipe.title.casefold(), recipe.id))


def _ref(recipe: Recipe, link: Link, anchor: str = "") -> Ref:
    return Ref(recipe.title, link(links.recipe(recipe.id)) + anchor)


def _signed(desk: Desk, recipe: Recipe) -> list[Examined]:
    """The signatures that count."""
    return [one for one in desk.book.examined(recipe.id) if one.validity == "counts"]


def _waiting(desk: Desk, link: Link) -> BoardPart:
    """Recipes with fewer signatures than asked for: those that lack one first, then the longest unchanged."""
    asked = desk.book.club.vetting.signatures
    rows = []
    for recipe in _offered(desk):
        signed = [one.signature.by for one in _signed(desk, recipe)]
        if len(signed) < asked:
            since = max(entry.on for entry in recipe.history)
            by = gettext(", by {names}", names=list_words(signed)) if signed else ""
            has = gettext(
                "{signatures} of {asked}{by}",
                signatures=count_words(len(signed), "signature", "signatures"),
                asked=asked,
                by=by,
            )
            says = (
                sentence(
                    gettext(
                        "{signed}; written by {author}, last changed on {day}",
                        signed=has,
                        author=recipe.by,
                        day=since,
                    )
                ),
            )
            rows.append((asked - len(signed), since, recipe.id, BoardRow(_ref(recipe, link), says)))
    return BoardPart(
        "waiting",
        gettext("Waiting for signatures"),
        gettext(
            "It takes {reviewers} other than the author, for exactly the present sheet.",
            reviewers=count_words(asked, "reviewer", "reviewers"),
        ),
        tuple(row for *_, row in sorted(rows, key=lambda one: one[:3])),
        gettext("Every recipe that is offered has its signatures."),
    )


def _voided(desk: Desk, link: Link) -> BoardPart:
    """Signatures that do not count: whose, since when, and why."""
    rows = []
    for recipe in _offered(desk):
        says = []
        for one in desk.book.examined(recipe.id):
            if one.validity != "counts":
                says.append(
                    gettext(
                        "Signed by {name} on {day}. {why}.",
                        name=one.signature.by,
                        day=one.signature.on,
                        why=gettext(_VOID[one.validity]),
                    )
                )
        if says:
            rows.append(BoardRow(_ref(recipe, link), tuple(says)))
    return BoardPart(
        "voided",
        gettext("Signatures that no longer count"),
        gettext(
            "A signature is for one sheet. These reviewers have looked at another one; they may look again."
        ),
        tuple(rows),
        gettext("Every signature is for the present sheet."),
    )


def _contradictions(desk: Desk, link: Link) -> BoardPart:
    """Reports that count, and say anything but a plain success, on recipes that reviewers have signed."""
    rows = []
    for recipe in _offered(desk):
        if len(_signed(desk, recipe)) < desk.book.club.vetting.signatures:
            continue
        for one in desk.book.evidence(recipe.id).weighed:
            standing = desk.standings(recipe.id).get(one.cell)
            if one.weight != "counts" or not one.trouble or standing is None:
                continue
            report = one.report
            trouble = [gettext(_CONTRADICTS[report.outcome])] if report.outcome in _CONTRADICTS else []
            trouble += [gettext("had side effects")] if report.side_effects else []
            who = f"{report.by}, {report.date}"
            says = f"{desk.variant(one.cell)}, {gettext(standing.label)}: {list_words(trouble)} ({who})"
            # Where the club vouches all the same, somebody should look first.
            order = (not standing.vetted, report.date, report.id)
            rows.append((order, BoardRow(_ref(recipe, link, f"#report-{report.id}"), (sentence(says),))))
    return BoardPart(
        "contradictions",
        gettext("Reports against the signatures"),
        gettext("Members report trouble with what reviewers have signed."),
        tuple(row for _, row in sorted(rows, key=lambda one: one[0])),
        gettext("No report contradicts what reviewers have signed."),
    )


def _fitting(desk: Desk, recipe: Recipe) -> Iterator[VariantKey]:
    return (key for key, answer in desk.cells(recipe.id).items() if answer.kind != "no")


def _untried(desk: Desk, link: Link) -> BoardPart:
    """Variants without any report that counts, the recipes with most of them first."""
    rows = []
    for recipe in _offered(desk):
        evidence = desk.book.evidence(recipe.id)
        keys = list(_fitting(desk, recipe))
        silent = [desk.variant(key) for key in keys if not evidence.count(key).total]
        if silent:
            of = gettext("every variant it fits") if len(silent) == len(keys) else list_words(silent)
            rows.append((-len(silent), BoardRow(_ref(recipe, link, "#reports"), (sentence(of),))))
    return BoardPart(
        "untried",
        gettext("Nobody has tried"),
        gettext(
            "No report that counts, from any car of these variants. If yours is one, yours would be the"
            " first."
        ),
        tuple(row for _, row in sorted(rows, key=lambda one: one[0])),
        gettext("Every recipe has been tried on every variant it fits."),
    )


def _oldest(desk: Desk, link: Link) -> BoardPart:
    """For each recipe the last day it worked for somebody, the longest ago first."""
    rows = []
    for recipe in _offered(desk):
        worked = [r for r in desk.book.evidence(recipe.id).count().reports if r.outcome == "worked"]
        if worked:
            last = max(worked, key=lambda report: (report.date, report.id))
            says = gettext("Last reported to work on {day}, by {name}", day=last.date, name=last.by)
            row = BoardRow(_ref(recipe, link, f"#report-{last.id}"), (sentence(says),))
            rows.append(((last.date, recipe.id), row))
    return BoardPart(
        "oldest",
        gettext("Confirmed longest ago"),
        gettext("Modules are updated in workshops. A fresh report tells whether these still hold."),
        tuple(row for _, row in sorted(rows, key=lambda one: one[0])[:_MOST]),
        gettext("No recipe has been reported to work so far."),
    )
