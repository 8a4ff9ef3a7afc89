"""How far the club stands behind a recipe, over all its variants and in one word for lists."""

from __future__ import annotations

from collections.abc import Mapping

from ...speech import N_, Original, gettext
from ...trust.vetting import Standing
from ...work.recipes import Recipe
from .. import links, prose
from ..languages import said_name
from ..links import Link
from ..words import list_words, sentence
from .common import Ref, Stamp, Status, StatusKind, Withdrawal
from .desk import Desk, VariantKey

LABELS: dict[StatusKind, str] = {
    "vetted": N_("VETTED"),
    "partly": N_("VETTED IN PART"),
    "not-vetted": N_("NOT VETTED"),
    "draft": N_("DRAFT"),
    "own-notes": N_("OWN NOTES"),
    "withdrawn": N_("WITHDRAWN"),
}
_TO_DO = {"put-back": N_("PUT IT BACK"), "do-not-drive": N_("DO NOT DRIVE")}
IF_DONE = {
    "keep": N_("You may keep it."),
    "put-back": N_("Put it back: the way back on the recipe's page still holds."),
    "do-not-drive": N_("Do not drive the car before it is put back."),
}


def label(kind: StatusKind) -> str:
    """The words of the label."""
    return gettext(LABELS[kind])


def status(desk: Desk, recipe: Recipe) -> Status:
    """The label, what it means for which variants, why, and who signed when."""
    kind, of_variants = desk.kind(recipe), desk.standings(recipe.id)
    vetted = [key for key, standing in of_variants.items() if standing.vetted]
    rest = [key for key, standing in of_variants.items() if not standing.vetted]
    if kind in ("draft", "own-notes"):
        reasons = dict.fromkeys(r for standing in of_variants.values() for r in standing.reasons)
        says = sentence(list_words(list(reasons)))
        return Status(kind, label(kind), says)
    if kind == "withdrawn":
        return Status(kind, label(kind), "")
    if kind == "vetted":
        says = gettext("The club vouches for it on every variant it fits.")
    elif kind == "partly":
        says = gettext(
            "The club vouches for it on {variants} only.",
            variants=list_words([desk.variant(key) for key in vetted]),
        )
    else:
        says = gettext(
            "The club does not vouch for this recipe on any car. Treat every line of it as unproved."
        )
    return Status(
        kind, label(kind), says, _reasons(desk, of_variants, rest), _signed(desk, recipe, of_variants)
    )


def stamp(desk: Desk, recipe: Recipe) -> Stamp:
    """The label beside the recipe's name in lists; for a withdrawn one also what is to be done."""
    kind = desk.kind(recipe)
    words = label(kind)
    if recipe.withdrawn and recipe.withdrawn.if_done != "keep":
        words = f"{words}: {gettext(_TO_DO[recipe.withdrawn.if_done])}"
    return Stamp(kind, words)


def withdrawal(desk: Desk, recipe: Recipe, link: Link) -> Withdrawal | None:
    """Why it is withdrawn and what follows; None for a recipe that is not."""
    gone = recipe.withdrawn
    if recipe.status != "withdrawn" or gone is None:
        return None
    instead = desk.book.recipes.get(gone.instead) if gone.instead else None
    return Withdrawal(
        gone.on,
        prose.render(gone.because, lambda other: link(links.recipe(other))),
        gettext(IF_DONE[gone.if_done]),
        Ref(instead.title, link(links.recipe(instead.id))) if instead else None,
    )


def _reasons(
    desk: Desk, of_variants: Mapping[VariantKey, Standing], keys: list[VariantKey]
) -> tuple[str, ...]:
    """Why it is not vetted, variants with the same reasons together."""
    grouped: dict[tuple[str, ...], list[VariantKey]] = {}
    for key in keys:
        grouped.setdefault(of_variants[key].reasons, []).append(key)
    return tuple(
        gettext(
            "{variants}, not vetted: {reasons}.",
            variants=list_words([desk.variant(key) for key in same]),
            reasons="; ".join(reasons),
        )
        for reasons, same in grouped.items()
    )


def _signed(desk: Desk, recipe: Recipe, of_variants: Mapping[VariantKey, Standing]) -> tuple[str, ...]:
    names = dict.fromkeys(name for standing in of_variants.values() for name in standing.signed_by)
    on = {signature.by: signature.on for signature in desk.book.signatures(recipe.id)}
    if not names:
        return ()
    said = list_words(
        [gettext("{name} on {day}", name=name, day=on[name]) if name in on else name for name in names]
    )
    return (gettext("This sheet was signed by {names}.", names=said),)


def untranslated(recipe: Recipe) -> str:
    """That nobody has translated a recipe, for the head of its page and sheet; "" where somebody has."""
    if not isinstance(recipe.title, Original):
        return ""
    return gettext(
        "Not translated yet: the recipe's own words are in {language}.", language=said_name(recipe.title.tag)
    )
