"""The home page."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...speech import gettext
from .. import links, prose
from ..feed import has_feed
from ..links import Link
from ..words import count_words, sentence
from .common import Fact, Ref, Withdrawal
from .desk import Desk
from .lists import RecipeItem, recipe_item
from .status import withdrawal

_NEWEST = 6
_GONE = 30  # of those withdrawn; the list of recipes has the others


@dataclass(frozen=True, slots=True)
class Gone:
    """A withdrawn recipe, to be told to those who have done it."""

    ref: Ref
    withdrawal: Withdrawal


@dataclass(frozen=True, slots=True)
class HomePage:
    """What the home page says; ``cautions`` and ``feed`` are "" where the site has none.

    ``more_withdrawn``: how many more there are, "" if none.
    """

    title: str
    about: Markup
    find: str
    board: str
    cautions: str
    feed: str
    counts: str
    withdrawn: tuple[Gone, ...]
    more_withdrawn: str
    labels: tuple[Fact, ...]
    newest: tuple[RecipeItem, ...]
    contact: str


def home_page(desk: Desk, link: Link, cautions: bool) -> HomePage:
    """The club, how to use its recipes safely, the newest, and those withdrawn, the latest first."""
    club = desk.book.club
    recipes = desk.book.recipes.values()
    gone = sorted(
        (recipe for recipe in recipes if recipe.status == "withdrawn" and recipe.withdrawn),
        key=lambda recipe: (recipe.withdrawn.on if recipe.withdrawn else "", recipe.id),
        reverse=True,
    )
    current = [recipe for recipe in recipes if recipe.status == "offered"]
    newest = sorted(
        current, key=lambda recipe: (max(entry.on for entry in recipe.history), recipe.id), reverse=True
    )
    withdrawals = ((recipe, withdrawal(desk, recipe, link)) for recipe in gone[:_GONE])
    return HomePage(
        title=club.name,
        about=prose.render(club.about, lambda recipe: link(links.recipe(recipe))),
        find=link(links.FIND),
        board=link(links.BOARD),
        cautions=link("cautions") if cautions else "",
        feed=link(links.FEED) if has_feed(desk) else "",
        counts=_counts(desk, len(recipes) - len(gone), len(gone)),
        withdrawn=tuple(
            Gone(Ref(recipe.title, link(links.recipe(recipe.id))), why) for recipe, why in withdrawals if why
        ),
        more_withdrawn=count_words(len(gone) - _GONE, "withdrawn recipe", "withdrawn recipes")
        if len(gone) > _GONE
        else "",
        labels=_labels(desk),
        newest=tuple(recipe_item(desk, recipe, link) for recipe in newest[:_NEWEST]),
        contact=club.contact,
    )


def _counts(desk: Desk, current: int, gone: int) -> str:
    reports = sum(len(desk.book.reports(recipe)) for recipe in desk.book.recipes)
    counted = (
        count_words(current, "recipe", "recipes"),
        count_words(gone, "withdrawn recipe", "withdrawn recipes"),
        count_words(reports, "report", "reports"),
        count_words(len(desk.book.modules), "module", "modules"),
        count_words(len(desk.book.lines), "vehicle line", "vehicle lines"),
    )
    return sentence(", ".join(counted))


def _not_vetted(desk: Desk) -> tuple[str, ...]:
    says = gettext("Something of that is missing. The page says what. It may be right; nobody has proved it.")
    if desk.book.club.publish_unvetted:
        return (says,)
    return (says, gettext("Recipes that are so for every variant are not published here."))


def _labels(desk: Desk) -> tuple[Fact, ...]:
    others = (
        Fact(gettext("DRAFT"), gettext("Not offered yet. Its author still works on it.")),
        Fact(
            gettext("WITHDRAWN"), gettext("Do not do it any more. The page stays for those who have done it.")
        ),
    )
    if not desk.book.club.reviewers:
        return (
            Fact(gettext("OWN NOTES"), gettext("One owner's notes. Nobody else has looked at them.")),
            *others,
        )
    vetting = desk.book.club.vetting
    signed = count_words(vetting.signatures, "reviewer", "reviewers")
    asks = [
        gettext("{reviewers} or more signed exactly this sheet, none of them its author", reviewers=signed)
    ]
    if vetting.reports:
        asks.append(
            gettext(
                "{members} or more reported that it worked on that very variant",
                members=count_words(vetting.reports, "member", "members"),
            )
        )
    bad = (
        gettext("no report")
        if not vetting.most_bad
        else gettext("at most {reports}", reports=count_words(vetting.most_bad, "report", "reports"))
    )
    asks.append(
        gettext(
            "{reports} of that variant says that it was refused, had no effect or could not be put back",
            reports=bad,
        )
    )
    return (
        Fact(
            gettext("VETTED"), (*map(sentence, asks), gettext("The site computes this; nobody can write it."))
        ),
        Fact(gettext("VETTED IN PART"), gettext("So for some variants. The recipe's matrix says for which.")),
        Fact(gettext("NOT VETTED"), _not_vetted(desk)),
        *others,
    )
