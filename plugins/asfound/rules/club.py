"""What must hold for the club's own file, for codes that open modules, and for signatures."""

from __future__ import annotations

import difflib
from collections.abc import Iterator

from ..book import Book
from ..car.records import Module
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage

ASK = "ask the club"


def access_codes(book: Book, module: Module) -> Iterator[Problem]:
    """A code stands in a module file only if the club publishes codes."""
    if book.club.access_codes == "publish":
        return
    for record in module.records:
        if record.access_code is not None and record.access_code != ASK:
            yield Problem(
                record.origin.at("access", "code"),
                "an access code is published against the club's policy",
                f"write {ASK}; the repository itself is public, so treat this code as known",
                also=(book.club.origin.at("policy", "access_codes"),),
            )


def reviewers_signed(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Whoever signs is a reviewer on that day."""
    reviewers = {reviewer.handle: (n, reviewer) for n, reviewer in enumerate(book.club.reviewers)}
    for signature in book.signatures(recipe.id):
        at = signature.origin.at
        if signature.by not in reviewers:
            near = difflib.get_close_matches(signature.by, reviewers, n=1, cutoff=0.6)
            yield Problem(
                at("by"),
                f"{signature.by} is none of the club's reviewers",
                "remove the signature, or let the owners name this reviewer in club.yml",
                also=tuple(book.club.origin.at("reviewers", reviewers[name][0], "handle") for name in near),
            )
            continue
        number, reviewer = reviewers[signature.by]
        origin = book.club.origin.at("reviewers", number)
        if signature.on < reviewer.since:
            yield Problem(
                at("date"),
                f"{signature.by} is a reviewer only since {reviewer.since}",
                "sign again, or correct the day",
                also=(origin.at("since"),),
            )
        elif reviewer.until is not None and signature.on > reviewer.until:
            yield Problem(
                at("date"),
                f"{signature.by} was a reviewer only until {reviewer.until}",
                "let another reviewer sign, or correct the day",
                also=(origin.at("until"),),
            )


def others_signed(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Nobody signs a recipe of their own."""
    for signature in book.signatures(recipe.id):
        if signature.by == recipe.by:
            yield Problem(
                signature.origin.at("by"),
                f"{signature.by} wrote this recipe, and nobody vouches for their own",
                "remove the signature; another reviewer must sign",
                also=(recipe.origin.at("by"),),
            )


def thresholds_can_be_met(book: Book) -> Iterator[Problem]:
    """There are as many reviewers as signatures asked for."""
    club = book.club
    present = [reviewer for reviewer in club.reviewers if reviewer.until is None]
    if club.reviewers and club.vetting.signatures > len(present):
        yield Problem(
            club.origin.at("vetting", "signatures"),
            f"signatures asked for: {club.vetting.signatures}; reviewers who can sign now: {len(present)}",
            f"write at most {len(present)}" if present else "name reviewers",
            also=(club.origin.at("reviewers"),),
        )


RULES = (
    Rule(
        "access-code-published",
        "An access code is published only if the club's policy says so.",
        "A code that stands in a public repository is known to everybody.",
        "Write: ask the club. The repository is public, so treat the code as known.",
        "module",
        access_codes,
        Stage.SHAPE,
    ),
    Rule(
        "not-a-reviewer",
        "Every signature is by somebody who was a reviewer on that day.",
        "A reader would see a name that stands for nothing.",
        "Remove the signature, or let the club's owners name the reviewer in club.yml.",
        "recipe",
        reviewers_signed,
        Stage.CARS,
    ),
    Rule(
        "signed-by-author",
        "No recipe is signed by its author.",
        "A second pair of eyes is what a signature stands for.",
        "Remove the signature; another reviewer must sign.",
        "recipe",
        others_signed,
        Stage.CARS,
    ),
    Rule(
        "club-unsound",
        "The club has as many reviewers as it asks for signatures.",
        "Nothing could ever be vetted.",
        "Ask for fewer signatures, or name more reviewers.",
        "book",
        thresholds_can_be_met,
        Stage.SHAPE,
    ),
)
