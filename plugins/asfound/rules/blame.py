"""Which of several places is at fault, when a check can only say that they do not go together.

Each trial that comes out speaks for everything that took part in it, each that does not speaks against all
that could have spoilt it. So a misprint in one example is told from a wrong place in a layout, which spoils
several. The measure is Ochiai's coefficient, as used to locate faults in programs (R. Abreu, P. Zoeteweij,
A. J. C. van Gemund, An evaluation of similarity coefficients for software fault localization, 2006).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import sqrt

from ..car.origin import Origin
from ..source.findings import plainly
from .base import Problem, key

SUSPECTS = 5  # so many other places are named beside the first


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial, as messages call it; ``problem`` is None when it came out.

    ``part``: all that took part in it, or, when it did not come out, all that could have spoilt it, most
    likely first.
    """

    name: str
    part: tuple[Origin, ...]
    problem: Problem | None = None


def fails(name: str, part: Iterable[Origin], reason: str, repair: str, own: Origin | None = None) -> Trial:
    """A trial that did not come out; what is wrong is said of ``own``, or else of the first place."""
    part = tuple(dict.fromkeys(part))
    return Trial(name, part, Problem(own or part[0], plainly(reason), plainly(repair)))


def blame(rule_id: str, trials: Iterable[Trial]) -> Iterator[Problem]:
    """For each trial that did not come out, a problem; where one place spoils several, first one there."""
    every = tuple(trials)
    failed = [trial for trial in every if trial.problem is not None]
    suspects = {origin for trial in failed for origin in trial.part}
    passes = Counter(o for t in every if failed and t.problem is None for o in t.part if o in suspects)
    while failed:
        against: dict[Origin, list[Trial]] = defaultdict(list)
        for trial in failed:
            for origin in trial.part:
                against[origin].append(trial)

        def weight(origin: Origin, against: dict[Origin, list[Trial]] = against) -> float:
            return len(against[origin]) / sqrt(len(against[origin]) + passes[origin])

        blamed = max(against, key=weight)  # the first of equals
        spoilt = against[blamed]
        others = sorted(spoilt[0].part, key=weight, reverse=True)
        yield from _blame(rule_id, blamed, spoilt, [origin for origin in others if origin != blamed])
        failed = [trial for trial in failed if trial not in spoilt]


def _blame(
    rule_id: str, blamed: Origin, spoilt: Sequence[Trial], suspects: Sequence[Origin]
) -> Iterator[Problem]:
    """One finding at the place that is most likely wrong, and under it one for each trial it spoils."""
    first = spoilt[0].problem
    assert first is not None
    files = {origin.file: origin for origin in reversed(suspects)}  # one each, for who asks about one
    also = tuple(dict.fromkeys((*suspects[:SUSPECTS], *files.values())))
    if len(spoilt) == 1:
        yield Problem(blamed, first.message, first.repair, also)
        return
    cause = Problem(
        blamed,
        f"this does not go with {spoilt[0].name} and {len(spoilt) - 1} more: {first.message}",
        "correct this, unless all of those are wrong",
        also,
    )
    yield cause
    for trial in spoilt:
        if trial.problem is not None and trial.problem.origin != blamed:
            said = trial.problem
            yield Problem(said.origin, said.message, said.repair, (blamed,), key(rule_id, cause))
