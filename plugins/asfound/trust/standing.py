"""Hazards that follow from a recipe by rule, whether or not its author thought of them.

They come as ordinary hazards. No text of a recipe can remove or weaken them. They defer to the maker's
workshop information, to local law and to licensed practice, and never say what is allowed where. How likely
and how bad each is taken to be is this project's own estimate; no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from ..car.functions import FUNCTIONS, Category, category, words
from ..car.phrases import minutes_words
from ..car.records import SettingPath
from ..car.settings import Setting
from ..speech import gettext
from ..work.recipes import Hazard, Media, Recipe

_NAMED = 6  # how many guessed settings a hazard names before it only counts the rest


def changed_settings(recipe: Recipe, settings: Mapping[SettingPath, Setting]) -> tuple[Setting, ...]:
    """The settings a recipe changes or offers another value for, each once, in order of writing.

    ``settings`` maps every known path to its setting; unknown paths are left out: the rules report them.
    """
    paths = [c.setting for c in recipe.changes] + [a.setting for a in recipe.alternatives]
    return tuple(settings[path] for path in dict.fromkeys(paths) if path in settings)


def functions(recipe: Recipe, settings: Mapping[SettingPath, Setting]) -> tuple[str, ...]:
    """What a recipe acts on: its settings' functions and those it adds, in the order of ``FUNCTIONS``."""
    named = set(recipe.functions).union(*(s.functions for s in changed_settings(recipe, settings)))
    return tuple(f for f in FUNCTIONS if f in named)


def standing_hazards(
    recipe: Recipe,
    settings: Mapping[SettingPath, Setting],
    functions: Iterable[str],
    key_on_minutes: int,
    long_key_on: int,
) -> tuple[Hazard, ...]:
    """The hazards that come by rule, gravest subject first.

    ``functions``: as ``functions()`` gives them. ``key_on_minutes``: how long the key is on during the job.
    ``long_key_on``: from how many minutes on the club asks for a battery supply.
    """
    by_category: dict[Category, list[str]] = {}
    for function in functions:
        by_category.setdefault(category(function), []).append(function)
    guessed = [s.name for s in changed_settings(recipe, settings) if s.known_from == "guess"]
    hazards: list[Hazard] = []
    if safety := by_category.get("safety"):
        hazards.append(_safety(safety))
    if security := by_category.get("security"):
        hazards.append(_security(security))
    if environment := by_category.get("environment"):
        hazards.append(_environment(environment))
    if guessed:
        hazards.append(_guessed(guessed))
    if recipe.media:
        hazards.extend(_file(recipe.media))
    if recipe.way_back == "none":
        hazards.append(_no_way_back())
    if key_on_minutes >= long_key_on:
        hazards.append(key_on(key_on_minutes))
    return tuple(hazards)


def _safety(functions: Sequence[str]) -> Hazard:
    # A trapped hand or a fall is the worst that doors, steps and windows do; the others can kill.
    harm: Literal["serious", "death"] = "serious" if set(functions) == {"entry"} else "death"
    outcome = gettext("seriously hurt") if harm == "serious" else gettext("killed or seriously hurt")
    return Hazard(
        hazard=gettext(
            "This job changes something that keeps people safe: {functions}.",
            functions=_list(map(words, functions)),
        ),
        consequence=gettext(
            "If it no longer works as the maker meant it to, people could be {outcome}.", outcome=outcome
        ),
        avoid=(
            gettext(
                "Follow the maker's workshop information. Where local law or licensed practice asks for a"
                " qualified person or a fresh inspection, get one. Carry out every check before you rely on"
                " it."
            )
        ),
        harm=harm,
        certainty="could",
        likelihood="remote",
    )


def _security(functions: Sequence[str]) -> Hazard:
    return Hazard(
        hazard=gettext(
            "This job changes something that protects the car: {functions}.",
            functions=_list(map(words, functions)),
        ),
        consequence=gettext("The car could be easier to steal, or could lock you out or refuse to start."),
        avoid=(
            gettext(
                "Keep a working key outside the car and a door open while you work. Follow the maker's"
                " workshop information, and ask your insurer if its terms name this protection."
            )
        ),
        harm="none",
        certainty="could",
        likelihood="remote",
        loss="critical",
    )


def _environment(functions: Sequence[str]) -> Hazard:
    return Hazard(
        hazard=gettext(
            "This job changes something that protects the surroundings: {functions}.",
            functions=_list(map(words, functions)),
        ),
        consequence=gettext(
            "The car could pollute more than its maker built it to, or fail its next inspection."
        ),
        avoid=(
            gettext(
                "Find out what local law says before you begin. Follow the maker's workshop information, and"
                " put the noted values back if a reading or an inspection is worse afterwards."
            )
        ),
        harm="none",
        certainty="could",
        likelihood="occasional",
        loss="marginal",
    )


def _guessed(names: Sequence[str]) -> Hazard:
    shown = [f"“{name}”" for name in names[:_NAMED]]
    if len(names) > _NAMED:
        shown.append(gettext("and {n} more", n=len(names) - _NAMED))
    return Hazard(
        hazard=gettext("Nobody is sure what this does; it is a guess: {shown}.", shown=_list(shown)),
        consequence=gettext(
            "Something else in the car could behave differently, and you may only notice later."
        ),
        avoid=(
            gettext(
                "Try it standing still, with nobody near anything that moves. Carry out every check, watch"
                " the car on the first drives, and put the noted values back at the first surprise."
            )
        ),
        harm="minor",
        certainty="could",
        likelihood="occasional",
        arises="checks",
    )


def _file(media: Media) -> tuple[Hazard, ...]:
    loading = Hazard(
        hazard=gettext("A file is loaded into a control module, which must not be interrupted."),
        consequence=gettext("If the supply fails or the card is pulled out, the module may not start again."),
        avoid=(
            gettext(
                "Connect a battery supply before you begin. Check the file's size and SHA-256. Leave key,"
                " card and doors alone until the module says it is done."
            )
        ),
        harm="none",
        certainty="could",
        likelihood="remote",
        loss="critical",
        arises="loading",
    )
    if media.origin_from == "maker":
        return (loading,)
    source = {
        "club": gettext("The file comes from the club, not from the maker of the module."),
        "member": gettext("The file was passed on by a member; its maker has not vouched for this copy."),
        "unknown": gettext("Nobody knows where the file comes from."),
    }[media.origin_from]
    content = Hazard(
        hazard=source,
        consequence=gettext(
            "It could hold something else than its name says, and the module could stop working."
        ),
        avoid=gettext("Prefer a file from the maker. Load only a file whose SHA-256 is the one given here."),
        harm="none",
        certainty="could",
        likelihood="remote" if media.origin_from == "club" else "occasional",
        loss="critical",
        arises="loading",
    )
    return (loading, content)


def _no_way_back() -> Hazard:
    return Hazard(
        hazard=gettext("There is no way back: nobody knows how to undo this job."),
        consequence=gettext(
            "A result you do not want stays, or a workshop must replace or renew the module."
        ),
        avoid=gettext(
            "Begin only if you can live with the result for good. Ask somebody who has done it on such a car."
        ),
        harm="none",
        certainty="could",
        likelihood="occasional",
        loss="critical",
        arises="writing",
    )


def key_on(minutes: int) -> Hazard:
    """The hazard of a job in which the key is on for so long, in minutes."""
    return Hazard(
        hazard=gettext(
            "The key is on for about {time}, and the battery runs down meanwhile.",
            time=minutes_words(minutes),
        ),
        consequence=gettext(
            "If the voltage drops while a record is written, the module may keep a damaged record."
        ),
        avoid=gettext(
            "Connect a battery supply before you begin, switch off what is not needed, watch the voltage."
        ),
        harm="none",
        certainty="could",
        likelihood="remote",
        loss="critical",
        arises="voltage",
    )


def _list(items: Iterable[str]) -> str:
    """``a; b; c``: semicolons, since some items hold an "and" or a comma."""
    return "; ".join(items)
