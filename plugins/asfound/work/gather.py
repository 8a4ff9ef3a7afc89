"""Which recipes a plan is made of: those asked for, those they need, and what keeps them from one job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from ..car.conditions import Condition
from ..car.phrases import list_words
from .order import circle
from .recipes import Recipe

TroubleKind = Literal[
    "unknown",  # no such recipe
    "circle",  # recipes that need each other
    "withdrawn",
    "alone",  # must be a job of its own
    "replaced",  # one takes the place of the other
    "stated",  # authors say they must not be combined
    "clash",  # the same bits, or the same name, in different ways
    "fit",  # the car does not fit
    "facts",  # together they ask about more than can be weighed
    "layout",  # no layout is known for the car
    "order",  # no order of writing suits all
    "procedure",  # the merged job breaks a rule of the procedure
]


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why there is no such job: the recipes concerned, what is wrong, what to do; one line each.

    ``because``, of *fit*: conditions that the car cannot satisfy.
    """

    kind: TroubleKind
    recipes: tuple[str, ...]
    reason: str
    repair: str
    because: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Gathered:
    """Recipes in an order in which each comes after those it needs; ``needed_by`` for those pulled in."""

    recipes: tuple[Recipe, ...]
    needed_by: Mapping[str, tuple[str, ...]]
    troubles: tuple[Trouble, ...]


def gather(asked: Sequence[str], recipes: Mapping[str, Recipe]) -> Gathered:
    """The recipes asked for and all they need, each once; troubles where they cannot be one job."""
    troubles = [_unknown(name, recipes) for name in dict.fromkeys(asked) if name not in recipes]
    found: dict[str, Recipe] = {}
    for name in dict.fromkeys(asked):
        if name in recipes:
            _pull(recipes[name], recipes, found, set())
    needed_by = {
        name: tuple(other.id for other in found.values() if name in other.needs)
        for name in found
        if name not in asked
    }
    chosen = tuple(found.values())
    troubles += _circular(chosen)
    troubles += _withdrawn(chosen, needed_by)
    troubles += _together(chosen)
    return Gathered(chosen, needed_by, tuple(troubles))


def _pull(one: Recipe, recipes: Mapping[str, Recipe], found: dict[str, Recipe], waiting: set[str]) -> None:
    """What a recipe needs, then itself; a circle is cut here and reported elsewhere."""
    if one.id in found or one.id in waiting:
        return
    waiting.add(one.id)
    for name in one.needs:
        if name in recipes:
            _pull(recipes[name], recipes, found, waiting)
    found[one.id] = one


def _unknown(name: str, recipes: Mapping[str, Recipe]) -> Trouble:
    near = get_close_matches(name, recipes, n=3, cutoff=0.6)
    repair = f"Write {' or '.join(near)}." if near else "Write a recipe's name as its folder is called."
    return Trouble("unknown", (name,), f"There is no recipe {name[:64]!a}.", repair)


def _circular(chosen: Sequence[Recipe]) -> list[Trouble]:
    place = {one.id: i for i, one in enumerate(chosen)}
    before = [(place[name], place[one.id]) for one in chosen for name in one.needs if name in place]
    found = tuple(chosen[i].id for i in circle(len(chosen), before))
    if not found:
        return []
    return [
        Trouble(
            "circle",
            found,
            f"{list_words(found)} need each other in a circle.",
            "Ask the club to put it right.",
        )
    ]


def _withdrawn(chosen: Sequence[Recipe], needed_by: Mapping[str, tuple[str, ...]]) -> list[Trouble]:
    out = []
    for one in chosen:
        if one.status == "withdrawn":
            because = one.withdrawn.because if one.withdrawn else "The club no longer offers it."
            by = needed_by.get(one.id)
            needed = f", needed by {list_words(by)}," if by else ""
            instead = one.withdrawn.instead if one.withdrawn else None
            repair = f"Do {instead} instead." if instead else "Leave it out."
            out.append(Trouble("withdrawn", (one.id,), f"{one.id}{needed} is withdrawn: {because}", repair))
    return out


def _together(chosen: Sequence[Recipe]) -> list[Trouble]:
    """What authors say of recipes that must not be combined."""
    out = []
    names = {one.id for one in chosen}
    for one in chosen:
        if one.alone and len(chosen) > 1:
            others = list_words([other.id for other in chosen if other is not one])
            out.append(
                Trouble(
                    "alone",
                    (one.id,),
                    f"{one.id} must be done alone, not with {others}.",
                    "Make it a job of its own.",
                )
            )
        for old in one.replaces:
            if old in names:
                out.append(
                    Trouble(
                        "replaced", (one.id, old), f"{one.id} takes the place of {old}.", f"Leave {old} out."
                    )
                )
    said: set[frozenset[str]] = set()
    for one in chosen:
        for clash in one.clashes:
            pair = frozenset((one.id, clash.recipe))
            if clash.recipe in names and pair not in said:
                said.add(pair)
                reason = f"{one.id} and {clash.recipe} must not be combined: {clash.because}"
                out.append(Trouble("stated", (one.id, clash.recipe), reason, "Leave one of the two out."))
    return out
