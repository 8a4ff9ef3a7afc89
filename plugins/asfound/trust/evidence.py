"""What the reports say of a recipe: which of them count, how many succeeded, which tell of trouble.

A report counts where the work it was done with is still the work: its sheet code is the present one, or a
past one of which the work codes of all layouts its car can have are the present ones. Evidence for one
variant is never evidence for another. Members who report are no fair sample of those who tried; every wording
says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from math import sqrt
from typing import Literal

from ..car.conditions import Condition
from ..car.fitting import satisfiable, truth
from ..car.known import Known
from ..car.vehicles import VehicleLine
from ..speech import gettext, ngettext
from ..work.forms import Form
from ..work.held import HeldProblem, parse_held
from ..work.recipes import Hazard
from .codes import ALWAYS, MEDIA, Codes, check_code
from .reports import PastCode, Report, ReportedCar

Cell = tuple[str, str, str]  # line, model, phase
Weight = Literal["counts", "superseded", "earlier", "unknown code", "mistyped", "other car"]

BAD = ("no-effect", "refused", "could-not-put-back")  # what a club limits by ``most_bad``
_DAYS = {"D": 1.0, "W": 7.0, "M": 365.2425 / 12, "Y": 365.2425}  # Gregorian mean


def wilson(k: int, n: int, z: float = 1.959964) -> tuple[float, float]:
    """Wilson's interval for k successes in n trials (Newcombe 1998, method 3); z = 1.959964 gives 95 %.

    (0, 1) for n = 0: nothing is known. ValueError unless 0 ≤ k ≤ n.
    """
    if not 0 <= k <= n:
        raise ValueError(f"{k} successes in {n} trials")
    if n == 0:
        return 0.0, 1.0
    middle = 2 * k + z * z
    spread = z * sqrt(z * z + 4 * k * (n - k) / n)
    low, high = ((middle + sign * spread) / (2 * (n + z * z)) for sign in (-1, 1))
    return (0.0 if k == 0 else low), (1.0 if k == n else high)


@dataclass(frozen=True, slots=True)
class Weighed:
    """A report and what it weighs.

    ``layouts``: the keys of the work codes it is about, as far as its car is known; ``sure``: those of them
    that are the only possible one of their record. *superseded*: the same member reported on the same car
    later. *other car*: the recipe does nothing on the reported car.
    """

    report: Report
    weight: Weight
    layouts: tuple[str, ...] = ()
    sure: tuple[str, ...] = ()

    @property
    def cell(self) -> Cell:
        """The variant it was done on."""
        return cell_of(self.report)

    @property
    def trouble(self) -> bool:
        """Whether it says anything that must not be averaged away: any outcome but a plain success."""
        return self.report.outcome != "worked" or bool(self.report.side_effects)


@dataclass(frozen=True, slots=True)
class Count:
    """Some reports that count, taken together."""

    reports: tuple[Report, ...]

    @property
    def total(self) -> int:
        """How many."""
        return len(self.reports)

    @property
    def worked(self) -> int:
        """How many say that it worked, without reserve."""
        return sum(r.outcome == "worked" for r in self.reports)

    @property
    def bad(self) -> int:
        """How many say that it had no effect, was refused or could not be put back."""
        return sum(r.outcome in BAD for r in self.reports)

    @property
    def members(self) -> int:
        """How many different members reported."""
        return len({r.by for r in self.reports})

    @property
    def members_worked(self) -> int:
        """How many different members reported that it worked."""
        return len({r.by for r in self.reports if r.outcome == "worked"})

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's 95 % interval for the share that worked."""
        return wilson(self.worked, self.total)

    @property
    def words(self) -> str:
        """``7 of 8 members who reported; were they a fair sample, 53–98 %``."""
        if not self.total:
            return gettext("nobody has reported")
        low, high = (f"{share * 100:.0f}" for share in self.interval)
        many = self.total > 1
        who = ngettext("{n} member who reported", "{n} members who reported", self.total)
        if self.members < self.total:
            who = gettext("{n} cars that members reported on", n=self.total)
        sample = gettext("were they a fair sample") if many else gettext("were this a fair sample")
        return gettext(
            "{worked} of {who}; {sample}, {low}–{high} %",
            worked=self.worked,
            who=who,
            sample=sample,
            low=low,
            high=high,
        )

    @property
    def longest_in_use(self) -> str | None:
        """The longest time it has been in use where it worked, wholly or partly: an ISO 8601 duration."""
        lived = [r.in_use for r in self.reports if r.in_use and r.outcome in ("worked", "partly")]
        return max(lived, key=days, default=None)


@dataclass(frozen=True, slots=True)
class Evidence:
    """All reports on a recipe, weighed; the latest first."""

    weighed: tuple[Weighed, ...]

    def count(self, cell: Cell | None = None, layout: str | None = None) -> Count:
        """The reports that count, for one variant, for one layout (key of a work code), for both, or for all.

        A report whose car could have either of two layouts counts for its variant but for neither layout.
        """
        return Count(
            tuple(
                one.report
                for one in self.weighed
                if one.weight == "counts"
                and (cell is None or one.cell == cell)
                and (layout is None or layout in one.sure)
            )
        )


def tally(
    reports: Iterable[Report],
    codes: Codes,
    past: Sequence[PastCode],
    ways: Sequence[Form],
    lines: Mapping[str, VehicleLine],
) -> Evidence:
    """Weigh the reports on one recipe; ``ways``: its forms; ``past``: its past codes, oldest first."""
    had = {code.sheet_code: code for code in past}
    weighed = [_weigh(report, codes, had, ways, lines) for report in reports]
    weighed.sort(key=lambda one: (one.report.date, one.report.id), reverse=True)
    kept: list[tuple[str, ReportedCar]] = []  # members and their cars
    out: list[Weighed] = []
    for one in weighed:
        if one.weight == "counts":
            if any(by == one.report.by and same_car(car, one.report.car) for by, car in kept):
                one = replace(one, weight="superseded")
            else:
                kept.append((one.report.by, one.report.car))
        out.append(one)
    return Evidence(tuple(out))


def cell_of(report: Report) -> Cell:
    """The variant a report is about."""
    return report.car.line, report.car.model, report.car.phase


def same_car(one: ReportedCar, other: ReportedCar) -> bool:
    """Whether two reports of one member may be about one car: nothing that stays with a car tells them apart.

    Software and part numbers do not, since a workshop changes them. Where in doubt it is the same car: a
    member must not count twice for having said less.
    """
    if (one.line, one.model, one.phase) != (other.line, other.model, other.phase):
        return False
    if any(a and b and a != b for a, b in ((one.market, other.market), (one.built, other.built))):
        return False
    return not (set(one.equipment) & set(other.without) or set(other.equipment) & set(one.without))


def days(duration: str) -> float:
    """An ISO 8601 duration of days, weeks, months or years (``P3M``) in days, by the mean Gregorian year."""
    return int(duration[1:-1]) * _DAYS[duration[-1]]


def known_of(car: ReportedCar) -> Known:
    """What a report says of its car, as knowledge of a car."""
    return Known(
        lines=frozenset((car.line,)),
        models=frozenset((car.model,)),
        phases=frozenset((car.phase,)),
        markets=frozenset((car.market,)) if car.market else None,
        built=car.built,
        equipment={**dict.fromkeys(car.equipment, True), **dict.fromkeys(car.without, False)},
        software=car.software,
        parts=car.parts,
    )


def reported_hazards(counted: Count) -> tuple[Hazard, ...]:
    """Hazards that members have met, so that the banner tells of them: NOTICE at least."""
    avoid = gettext("Read what they say, and compare their car with yours, before you begin.")
    out: list[Hazard] = []
    if stuck := [r for r in counted.reports if r.outcome == "could-not-put-back"]:
        hazard = ngettext(
            "One member reports that it could not be put back.",
            "{n} members report that it could not be put back.",
            len(stuck),
        )
        consequence = gettext("The car may stay as it is, or need a workshop.")
        out.append(Hazard(hazard, consequence, avoid, "none", "could", "occasional", "critical"))
    if effects := [r for r in counted.reports if r.side_effects]:
        hazard = ngettext(
            "One member reports side effects, the latest: “{latest}”",
            "{n} members report side effects, the latest: “{latest}”",
            len(effects),
            latest=effects[0].side_effects,
        )
        consequence = gettext("Something besides what you want may change.")
        out.append(Hazard(hazard, consequence, avoid, "none", "could", "occasional", "marginal"))
    if partly := [r for r in counted.reports if r.outcome == "partly"]:
        hazard = ngettext(
            "One member reports that it worked only partly.",
            "{n} members report that it worked only partly.",
            len(partly),
        )
        consequence = gettext("The car may do less than you want, or do it only at times.")
        out.append(Hazard(hazard, consequence, avoid, "none", "could", "occasional", "negligible"))
    return tuple(out)


def _weigh(
    report: Report,
    codes: Codes,
    had: Mapping[str, PastCode],
    ways: Sequence[Form],
    lines: Mapping[str, VehicleLine],
) -> Weighed:
    if check_code(report.sheet_code) == "mistyped":
        return Weighed(report, "mistyped")
    past = had.get(report.sheet_code)
    if report.sheet_code != codes.sheet and past is None:
        return Weighed(report, "unknown code")
    by_record = _layouts(report, codes, ways, lines)
    if not by_record or not all(by_record.values()):
        return Weighed(report, "other car")
    keys = tuple(key for of in by_record.values() for key in of)
    sure = tuple(of[0] for of in by_record.values() if len(of) == 1)
    stands = report.sheet_code == codes.sheet or (past is not None and _same_job(by_record, codes, past))
    return Weighed(report, "counts" if stands else "earlier", keys, sure)


def _layouts(
    report: Report, codes: Codes, ways: Sequence[Form], lines: Mapping[str, VehicleLine]
) -> dict[str, list[str]]:
    """By record, whatever its place, the keys of the work codes that the reported car can be about."""
    known = replace(known_of(report.car), records=_records(report, ways))
    out: dict[str, list[str]] = {MEDIA: [MEDIA]} if MEDIA in codes.work else {}
    for way in ways:
        if not _possible(way.condition, known, lines):
            continue
        for one in way.records:
            record = str(one.path.bare)
            keys = out.setdefault(record, [])
            if one.record.names_only and record not in keys:
                keys.append(record)
            for layout in one.layouts:
                key = f"{record}/{layout.id}"
                if key not in keys and (layout.fits is None or _possible(layout.fits, known, lines)):
                    keys.append(key)
    return out


def _records(report: Report, ways: Sequence[Form]) -> dict[str, bytes]:
    """The records as found, which may tell the layout; unreadable ones are for the rules to report."""
    held: dict[str, bytes] = {}
    for one in (record for way in ways for record in way.records):
        found = report.found.get(str(one.path))
        if found is not None and not one.record.names_only:
            with suppress(HeldProblem):
                held[str(one.path)] = parse_held(one.record, None, found)
    return held


def _possible(test: Condition, known: Known, lines: Mapping[str, VehicleLine]) -> bool:
    """Whether some car like this satisfies the condition."""
    plain = truth(test, known, lines)
    return satisfiable(test, lines, known) if plain is None else plain


def _same_job(now: Mapping[str, Sequence[str]], codes: Codes, past: PastCode) -> bool:
    """Whether a past sheet did on a car what the present one does; ``now``: its keys today, by record.

    Work codes say what was done in a layout, not which layout the car had or which records were changed on
    it. That is the same today as long as the conditions are. A past code without conditions is taken at its
    work codes.
    """
    if any(past.work.get(key) != codes.work.get(key) for keys in now.values() for key in keys):
        return False
    if not all(_had_layout(key, codes, past) for keys in now.values() for key in keys):
        return False
    then, still = ({_record(key) for key in keys} for keys in (past.work, (*codes.work, *codes.fits)))
    for record in then | set(now):
        was = past.fits.get(record)
        unchanged = not past.fits or was == codes.fits.get(record)
        if record in now:
            if not unchanged and was != ALWAYS:
                return False
        elif record not in still or not unchanged:
            return False  # it may have been changed on this car, and no longer is
    return True


def _had_layout(key: str, codes: Codes, past: PastCode) -> bool:
    """Whether a car that has a layout today had it then.

    It did when the layout's condition is unchanged; or else when those of all other layouts the record had
    then are, since they exclude this car today as they did.
    """
    others = [k for k in past.fits if k != key and k.count("/") == 2 and _record(k) == _record(key)]
    return past.fits.get(key) in (None, codes.fits.get(key)) or all(
        past.fits[k] == codes.fits.get(k) for k in others
    )


def _record(key: str) -> str:
    """``module/record`` of the key of a work code; ``media`` itself."""
    return "/".join(key.split("/")[:2])
