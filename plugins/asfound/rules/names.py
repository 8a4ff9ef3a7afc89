"""Names: what each stands for, every place that uses one, and which of the two is misspelt."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ..car.origin import Origin
from ..source.findings import path_text
from .base import Problem, key
from .twice import ID as TWICE

SHOWN = 8  # so many known names are listed
ALSO = 3  # so many uses are listed beside a definition


@dataclass(frozen=True, slots=True)
class Use:
    """A name used at ``origin`` for a ``what`` ("setting") among those of ``scope`` ("living-area/lamps").

    ``form`` is what is written around the name there, as in ``living-area/lamps/{}``.
    """

    what: str
    scope: str
    name: str
    origin: Origin
    form: str = "{}"

    @property
    def shown(self) -> str:
        """The name as messages repeat it."""
        return f"{self.name} of {self.scope}" if self.what == "value" else self.form.replace("{}", self.name)


@dataclass(slots=True)
class Names:
    """All definitions by what and scope, and all uses."""

    defined: dict[tuple[str, str], dict[str, Origin]] = field(default_factory=lambda: defaultdict(dict))
    doubled: dict[tuple[str, str], Origin] = field(default_factory=dict)
    uses: list[Use] = field(default_factory=list)

    def define(self, what: str, scope: str, names: Iterable[tuple[str, Origin]]) -> None:
        """Things of a kind that may be named; an empty scope is a scope nonetheless."""
        known = self.defined[what, scope]
        for name, origin in names:
            if known.setdefault(name, origin) is not origin:
                self.doubled[what, scope] = origin

    def problems(self, rule_id: str) -> Iterator[Problem]:
        """For each used name that is not defined: the use is misspelt, or the definition is.

        Several uses agree with each other against a definition that nothing uses: the definition is at fault,
        and the uses are consequences. One use against such a definition: either could be. Where another name
        is defined twice, which is a finding by itself, that may be all there is to it.
        """
        used: dict[tuple[str, str], set[str]] = defaultdict(set)
        unknown: dict[tuple[str, str, str], list[Use]] = defaultdict(list)
        for use in self.uses:
            if use.name in self.defined[use.what, use.scope]:
                used[use.what, use.scope].add(use.name)
            else:
                unknown[use.what, use.scope, use.name].append(use)
        for (what, scope, name), uses in unknown.items():
            known = self.defined[what, scope]
            idle = [other for other in known if other not in used[what, scope]]
            meant = _meant(name, idle)
            twice = self.doubled.get((what, scope))
            because = None if twice is None else f"{twice.file}#{path_text(twice.path)}#{TWICE}"
            if meant is None or len(uses) == 1:
                also = (known[meant],) if meant is not None else ()
                for use in uses:
                    repair = write_near(what, name, known, use.form)
                    yield Problem(use.origin, f"there is no {what} {use.shown}", repair, also, because)
                continue
            cause = Problem(
                known[meant],
                f"nothing names {what} {meant}, but {len(uses)} places name {uses[0].shown},"
                " which is not there",
                f"write {name} here, or correct those places",
                tuple(use.origin for use in uses[:ALSO]),
            )
            yield cause
            for use in uses:
                yield Problem(
                    use.origin,
                    f"there is no {what} {use.shown}",
                    f"first look at {what} {meant}",
                    (known[meant],),
                    because=key(rule_id, cause),
                )


def _meant(name: str, idle: Sequence[str]) -> str | None:
    """The definition nothing uses that may be the misspelt one: one that is near, or the only one left."""
    if len(idle) == 1 and len(name) <= 2:
        return idle[0]  # too short to be near anything
    return next(iter(difflib.get_close_matches(name, idle, n=1, cutoff=0.6)), None)


def write_near(what: str, name: str, known: Iterable[str], form: str = "{}") -> str:
    """What to write for an unknown name: the nearest known one, or one of all, each in its ``form``."""
    listed = sorted(known)
    near = difflib.get_close_matches(name, listed, n=1, cutoff=0.6)
    if near:
        return f"write {form.replace('{}', near[0])}"
    if not listed:
        return f"remove it; there is no {what} here"
    more = f" and {len(listed) - SHOWN} more" if len(listed) > SHOWN else ""
    return f"write one of: {', '.join(form.replace('{}', each) for each in listed[:SHOWN])}{more}"
