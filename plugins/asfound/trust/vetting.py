"""Whether the club vouches for a recipe on one variant: computed from signatures and evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from ..car.phrases import list_words
from ..speech import N_, gettext, ngettext
from ..work.recipes import Recipe
from .codes import check_code
from .evidence import Count
from .reports import Club, Signature

Label = Literal["vetted", "not vetted", "draft", "withdrawn", "own notes"]
LABELS: tuple[Label, ...] = (
    N_("vetted"), N_("not vetted"), N_("draft"), N_("withdrawn"), N_("own notes"),
)  # fmt: skip
Validity = Literal["counts", "earlier sheet", "mistyped", "by the author", "no reviewer that day", "twice"]

_SMALL = (
    *(N_("no"), N_("one"), N_("two"), N_("three"), N_("four"), N_("five"), N_("six"), N_("seven")),
    *(N_("eight"), N_("nine"), N_("ten")),
)


@dataclass(frozen=True, slots=True)
class Examined:
    """A signature and whether it counts, or why not."""

    signature: Signature
    validity: Validity


@dataclass(frozen=True, slots=True)
class Standing:
    """What the club says of a recipe on one variant, and why, in words that need no other context.

    *own notes*: one owner's book, where nobody vouches for anything.
    """

    label: Label
    reasons: tuple[str, ...]
    signed_by: tuple[str, ...] = ()

    @property
    def vetted(self) -> bool:
        """Whether the club vouches for it."""
        return self.label == "vetted"


def examine(
    signatures: Iterable[Signature], recipe: Recipe, club: Club, sheet_code: str | None
) -> tuple[Examined, ...]:
    """Each signature and whether it counts: of the present sheet, by a reviewer that day, not by the author.

    The first of several by one reviewer counts. ``sheet_code`` None: the recipe has no code, so none counts.
    """
    seen: set[str] = set()
    out: list[Examined] = []
    for one in sorted(signatures, key=lambda s: (s.on, s.by)):
        validity = _validity(one, recipe, club, sheet_code)
        if validity == "counts" and one.by in seen:
            validity = "twice"
        elif validity == "counts":
            seen.add(one.by)
        out.append(Examined(one, validity))
    return tuple(out)


def vetted(
    recipe: Recipe, club: Club, sheet_code: str | None, signatures: Iterable[Signature], evidence: Count
) -> Standing:
    """The standing of a recipe on one variant; ``evidence``: the reports that count for that variant.

    ``sheet_code`` is None for a recipe whose changes cannot be compiled; nobody can vouch for it.
    """
    if recipe.status == "withdrawn":
        because = recipe.withdrawn.because if recipe.withdrawn else ""
        return Standing(
            "withdrawn",
            (gettext("withdrawn: {because}", because=because) if because else gettext("withdrawn"),),
        )
    if recipe.status == "draft":
        return Standing("draft", (gettext("a draft, not yet for others"),))
    if not club.reviewers:
        return Standing("own notes", (gettext("one owner's notes; nobody else has looked at them"),))
    signed_by = tuple(
        one.signature.by for one in examine(signatures, recipe, club, sheet_code) if one.validity == "counts"
    )
    missing = _missing(recipe, club, sheet_code, len(signed_by), evidence)
    if missing:
        return Standing("not vetted", missing, signed_by)
    return Standing("vetted", _given(signed_by, evidence), signed_by)


def _validity(one: Signature, recipe: Recipe, club: Club, sheet_code: str | None) -> Validity:
    if check_code(one.sheet_code) == "mistyped":
        return "mistyped"
    if one.sheet_code != sheet_code:
        return "earlier sheet"
    if one.by == recipe.by:
        return "by the author"
    # ISO 8601 days of four-digit years sort as text.
    if not any(
        r.handle == one.by and r.since <= one.on and (r.until is None or one.on <= r.until)
        for r in club.reviewers
    ):
        return "no reviewer that day"
    return "counts"


def _missing(
    recipe: Recipe, club: Club, sheet_code: str | None, signed: int, evidence: Count
) -> tuple[str, ...]:
    """What keeps the club from vouching, most fundamental first."""
    demands = club.vetting
    out: list[str] = []
    if sheet_code is None:
        out.append(gettext("its changes cannot be computed"))
    if recipe.media and recipe.media.origin_from == "member":
        out.append(gettext("its file was passed on by a member, and the club vouches for no such file"))
    if recipe.media and recipe.media.origin_from == "unknown":
        out.append(gettext("nobody knows where its file comes from"))
    if signed < demands.signatures:
        out.append(
            ngettext(
                "{signed} signature of {asked}",
                "{signed} signatures of {asked}",
                signed or 1,
                signed=_small(signed),
                asked=_small(demands.signatures),
            )
        )
    worked = evidence.members_worked
    if worked < demands.reports:
        if not evidence.total:
            out.append(gettext("nobody has reported on this variant"))
        else:
            out.append(
                ngettext(
                    "{worked}, {asked} is asked for",
                    "{worked}, {asked} are asked for",
                    demands.reports,
                    worked=_worked(worked),
                    asked=_small(demands.reports),
                )
            )
    if evidence.bad > demands.most_bad:
        allowed = gettext("none") if demands.most_bad == 0 else _small(demands.most_bad)
        out.append(
            ngettext(
                "{bad} report says that it failed on this variant; the club allows {allowed}",
                "{bad} reports say that it failed on this variant; the club allows {allowed}",
                evidence.bad,
                bad=_small(evidence.bad),
                allowed=allowed,
            )
        )
    return tuple(out)


def _given(signed_by: tuple[str, ...], evidence: Count) -> tuple[str, ...]:
    signed = gettext("signed by {names}", names=list_words(signed_by))
    if not evidence.members_worked:
        return signed, gettext("the club asks for no report on this variant, and nobody says that it worked")
    return signed, _worked(evidence.members_worked)


def _worked(members: int) -> str:
    if not members:
        return gettext("nobody says that it worked on this variant")
    return ngettext(
        "{who} member says that it worked on this variant",
        "{who} members say that it worked on this variant",
        members,
        who=_small(members),
    )


def _small(number: int) -> str:
    """A small number in words."""
    return gettext(_SMALL[number]) if number < len(_SMALL) else str(number)
