"""Who can be hurt: hazards and their levels, the banner, and what a recipe acts on."""

from __future__ import annotations

from collections.abc import Iterator

from ..car.functions import category, words
from ..trust.risk import LEVELS, LIKELIHOODS, SIGNAL_WORDS, banner, risk, signal_word
from ..work.recipes import Hazard, Recipe
from .both import Both, change
from .kinds import Need
from .pairs import pair
from .recipes import hazards_of
from .review import Change, Subject, facts, from_to


def hazards(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The author's hazards, those that come by rule and those that members report."""
    old, new = hazards_of(both.before, was.id), hazards_of(both.after, now.id)
    own = {h.hazard for r in (was, now) for h in r.hazards}
    found = pair(old, new, lambda hazard: hazard.hazard)

    def by(hazard: Hazard) -> str:
        return "" if hazard.hazard in own else "a rule or reports, not the author"

    for one, other in found.changed:
        kind, says = _softer(one, other)
        yield change(
            subject, kind, says, (*from_to(_words(one), _words(other)), *facts(("comes from", by(other))))
        )
    for one in found.removed:
        yield change(
            subject,
            "hazard-removed",
            "A hazard is gone.",
            facts(("was", _words(one)), ("comes from", by(one))),
        )
    for one in found.added:
        yield change(
            subject, "hazard-added", "A hazard is new.", facts(("new", _words(one)), ("comes from", by(one)))
        )
    before, after = banner(old), banner(new)
    if before != after:
        lower = _rank(after) > _rank(before)
        says = (
            "The banner's signal word is a lower one."
            if lower
            else "The banner's signal word is a higher one."
        )
        yield change(subject, "banner-lowered" if lower else "banner-raised", says, from_to(before, after))


def _rank(word: str | None) -> int:
    """The place from the top; none stands below all."""
    return len(SIGNAL_WORDS) if word is None else [*map(str, SIGNAL_WORDS)].index(word)


def _softer(was: Hazard, now: Hazard) -> tuple[str, str]:
    """Whether a hazard is told lower or higher than before: signal word, level, then how likely."""
    ranks = [
        (
            _rank(signal_word(h)),
            LEVELS.index(risk(h)),
            LIKELIHOODS.index(h.likelihood),
            h.certainty == "could",
        )
        for h in (was, now)
    ]
    if any(new > old for old, new in zip(*ranks, strict=True)):
        return "hazard-softened", "A hazard is told as a lesser one."
    if ranks[0] != ranks[1]:
        return "hazard-hardened", "A hazard is told as a graver one."
    return "hazard-reworded", "A hazard reads otherwise."


def _words(hazard: Hazard) -> str:
    harm = f"loss {hazard.loss}" if hazard.harm == "none" else f"harm {hazard.harm}"
    told = f"{signal_word(hazard)}, {risk(hazard)} ({harm}, {hazard.certainty}, {hazard.likelihood})"
    return f"{told}: {hazard.hazard} · {hazard.consequence} · {hazard.avoid}"


def acts_on(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """What it acts on, by its settings and by itself."""
    old, new = both.before.functions(was.id), both.after.functions(now.id)
    for kind, says, some in (
        ("functions-lost", "It is no longer said to act on", [f for f in old if f not in new]),
        ("functions-gained", "It is now said to act on", [f for f in new if f not in old]),
    ):
        if some:
            grave = [words(f) for f in some if category(f) != "ordinary"]
            particulars = facts(("safety, security, environment", ", ".join(grave)))
            need: Need = "look" if grave else "note"
            yield change(subject, kind, f"{says}: {', '.join(map(words, some))}.", particulars, need)
