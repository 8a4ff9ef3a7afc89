"""The frame of a job: every operation from having things ready to reading the faults for the last time.

Generated, not authored: nothing is written before every record is noted, nothing is left without being read
back. Authored prechecks, steps and checks go in at their moments. ``procedure`` proves the order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from ..car.origin import NOWHERE, Origin
from ..car.phrases import join_words
from ..car.records import Module, RecordPath, SettingPath
from ..car.settings import Setting
from ..car.vehicles import FittedPlace, VehicleLine
from ..speech import gettext, number_words
from . import loading, wording
from .assembly import Assembly
from .compiled import NO_CHOICES
from .forms import Form
from .jobs import Job, Target, Times, targets_of
from .operations import Operation, UnitKey, minutes
from .recipes import Media, Moment, Recipe

__all__ = ["Job", "Operation", "Times", "frame", "frame_of", "minutes", "place_names"]


def frame(
    recipe: Recipe,
    form: Form,
    modules: Mapping[str, Module],
    times: Times,
    places: wording.Places | None = None,
    choose: Mapping[SettingPath, str] = NO_CHOICES,
) -> tuple[Operation, ...]:
    """The whole job of one recipe in one form. ``places`` names places of modules fitted more than once."""
    return frame_of((Job(recipe, form, choose),), modules, times, places)


def frame_of(
    jobs: Sequence[Job],
    modules: Mapping[str, Module],
    times: Times,
    places: wording.Places | None = None,
    visits: Sequence[Sequence[RecordPath]] | None = None,
) -> tuple[Operation, ...]:
    """The whole job of several recipes.

    ``visits`` are the records to write in each visit to a module, all records once. Without them each module
    is visited once, in the order of the first change.
    """
    return _Frame(jobs, modules, times, places or {}, visits).operations()


def place_names(lines: Iterable[VehicleLine]) -> dict[tuple[str, str], tuple[str, str | None]]:
    """Names and diagnostic addresses of the places of modules fitted more than once.

    Where lines differ on a place, all its names and all its addresses: which one holds is for the car to say.
    """
    found: dict[tuple[str, str], list[FittedPlace]] = {}
    for line in lines:
        for fitted in line.fitted:
            for place in fitted.places:
                found.setdefault((fitted.module, place.id), []).append(place)
    return {
        at: (
            join_words(dict.fromkeys(place.name for place in of), "or"),
            join_words(dict.fromkeys(place.address for place in of if place.address), "or") or None,
        )
        for at, of in found.items()
    }


class _Frame(Assembly):
    def __init__(
        self,
        jobs: Sequence[Job],
        modules: Mapping[str, Module],
        times: Times,
        places: wording.Places,
        visits: Sequence[Sequence[RecordPath]] | None,
    ) -> None:
        super().__init__(jobs, modules, places)
        self.times = times
        self.targets = targets_of(jobs, visits)
        self.media = [
            (j, j.recipe.media) for j in jobs if j.recipe.media and j.recipe.media.module in modules
        ]
        self.visits = dict.fromkeys(t.unit for t in self.targets)
        self.groups = [tuple(group) for _, group in groupby(self.targets, key=lambda t: t.unit)]
        self.loaded = dict.fromkeys((m.module, None) for _, m in self.media)

    def operations(self) -> tuple[Operation, ...]:
        self.prepare()
        self.look()
        self.note()
        for job, media in self.media:
            self.load(job, media)
        for group in self.groups:
            self.visit(group)
        self.strays()
        self.prove()
        return tuple(self.out)

    def prepare(self) -> None:
        items: dict[str, tuple[str, Origin]] = {}
        for job in self.jobs:
            for i, item in enumerate(job.recipe.ready):
                items.setdefault(item, (job.recipe.id, job.recipe.origin.at("ready", i)))
        for target in self.targets:
            if target.record.access_code is not None:
                text = wording.access(self.unit(target.unit), target.record.access_code)
                items.setdefault(text, (target.changes[0][0].recipe.id, target.origin))
        for job, media in self.media:
            for text in loading.needs(media):
                items.setdefault(text, (job.recipe.id, media.origin))
        for text, (recipe, origin) in items.items():
            self.put(Operation("have-ready", text, recipe=recipe, origin=origin))
        self.steps("start")

    def look(self) -> None:
        """Identify, read faults, measure, and prove what must be proved before."""
        for key in dict.fromkeys((*self.loaded, *self.visits)):
            unit = self.unit(key)
            mine = [(t.record, t.layouts) for t in self.targets if t.unit == key]
            expect = wording.identify_expect(mine)
            otherwise = gettext("If it does not answer, check key and plug.")
            if wording.layout_asked(mine):
                otherwise += " " + gettext(
                    "If no layout is that of your car, write nothing: ask the club, never guess."
                )
            self.put(
                Operation(
                    "identify",
                    gettext(
                        "Choose {unit}, and note its part number and its software version.",
                        unit=unit.addressed,
                    ),
                    expect=expect,
                    otherwise=otherwise,
                    module=key[0],
                    place=key[1],
                    power="key-on",
                    minutes=0 if key in self.visits else self.times.module,
                    origin=self.origin(key),
                )
            )
        first = self.jobs[0].recipe.origin if self.jobs else NOWHERE
        self.put(
            Operation(
                "read-faults",
                gettext("Read the stored faults of all modules and note every code."),
                otherwise=gettext("If a module to be written has a fault stored, find its cause first."),
                power="key-on",
                minutes=self.times.faults,
                origin=first,
            )
        )
        self.put(
            Operation(
                "measure-voltage",
                gettext("Measure the voltage at the battery and note it."),
                expect=gettext("{volts} or more.", volts=number_words(wording.LEAST_VOLTAGE)),
                otherwise=gettext("Connect a supply or charge the battery before going on."),
                power="key-on",
                minutes=self.times.check,
                origin=first,
            )
        )
        for job in self.jobs:
            for one in job.recipe.before:
                self.put(
                    Operation(
                        "precheck",
                        one.precheck,
                        expect=one.expect,
                        otherwise=one.otherwise,
                        power=one.power,
                        minutes=self.times.check,
                        recipe=job.recipe.id,
                        origin=one.origin,
                    )
                )
        for job, media in self.media:
            self.put(loading.check_card(media, job.recipe.id, self.times))

    def note(self) -> None:
        for target in self.targets:
            unit = self.unit(target.unit)
            settings = target.settings()
            self.put(
                Operation(
                    "note",
                    wording.note(target.record, target.layouts, _once(s for _, _, s in settings), unit),
                    expect=wording.note_expect([(c, s) for _, c, s in settings]),
                    otherwise=wording.note_otherwise(),
                    power="key-on",
                    module=target.path.module,
                    place=target.path.place,
                    record=target.path,
                    origin=target.origin,
                )
            )
        for job, media in self.media:
            self.put(loading.note_version(media, job.recipe.id, self.times))
        self.steps("noted")

    def load(self, job: Job, media: Media) -> None:
        key = (media.module, None)
        own_steps = not any(module == media.module for module, _ in self.visits)
        if own_steps:
            self.steps("opened", key)
            self.steps("unlocked", key)
        self.put(loading.load_file(media, job.recipe.id, self.unit(key)))
        self.put(loading.read_version(media, job.recipe.id, self.times))
        if own_steps:
            self.steps("written", key)
            self.steps("restarted", key)

    def visit(self, mine: Sequence[Target]) -> None:
        key = mine[0].unit
        unit = self.unit(key)
        self.put(
            Operation(
                "open",
                gettext("Open {unit}, for writing (extended diagnostic session).", unit=unit.addressed),
                otherwise=wording.see_refusals(),
                power="key-on",
                minutes=self.times.module,
                origin=mine[0].origin,
                module=key[0],
                place=key[1],
            )
        )
        self.steps("opened", key, self.whose("opened", mine))
        locked = next((t for t in mine if t.record.access_code is not None), None)
        if locked is not None:
            self.unlock(locked, unit)
        self.steps("unlocked", key, self.whose("unlocked", mine))
        code = locked and locked.record.access_code
        for target in mine:
            if target.record.access_code not in (None, code):
                self.unlock(target, unit)
                code = target.record.access_code
            self.put(
                Operation(
                    "write",
                    wording.write(target.record, target.layouts, target.wishes(), unit),
                    expect=gettext("The module accepts it."),
                    otherwise=wording.see_refusals(),
                    power="key-on",
                    minutes=self.times.record,
                    access=target.record.access_code is not None,
                    restarts=target.record.takes_effect == "after-restart",
                    module=target.path.module,
                    place=target.path.place,
                    record=target.path,
                    origin=target.origin,
                )
            )
            self.read_back(target, unit, restarted=False)
        again = [t for t in mine if t.record.takes_effect == "after-restart"]
        if not again:
            self.put(
                Operation(
                    "close",
                    gettext("Leave {unit}.", unit=unit.name),
                    origin=mine[0].origin,
                    module=key[0],
                    place=key[1],
                )
            )
        self.steps("written", key, self.whose("written", mine))
        if again:
            self.put(
                Operation(
                    "restart",
                    gettext("Restart {unit}: {how}", unit=unit.name, how=unit.module.restart_how),
                    minutes=unit.module.restart_minutes,
                    origin=unit.module.origin.at("restart"),
                    module=key[0],
                    place=key[1],
                )
            )
            self.power = None  # how the key stands after it is the module's affair
        self.steps("restarted", key, self.whose("restarted", mine))
        for target in again:
            self.read_back(target, unit, restarted=True)

    def unlock(self, target: Target, unit: wording.Unit) -> None:
        self.put(
            Operation(
                "unlock",
                wording.unlock(unit, target.record.access_code or ""),
                expect=gettext("The module grants access."),
                otherwise=gettext(
                    "Never guess a code: do what the recipe says "
                    "under “If the module refuses or goes silent”."
                ),
                power="key-on",
                origin=target.origin,
                module=target.path.module,
                place=target.path.place,
            )
        )

    def whose(self, moment: Moment, mine: Sequence[Target]) -> list[Job]:
        """Whose steps of this moment belong to this visit, where a module is visited more than once.

        A job's own first visit for what comes before writing, its own last for what comes after.
        """
        groups = [group for group in self.groups if group[0].unit == mine[0].unit]
        out = []
        for job in self.jobs:
            own = [g for g in groups if any(by is job for t in g for by, _ in t.changes)] or groups[-1:]
            if own[0 if moment in ("opened", "unlocked") else -1] is mine:
                out.append(job)
        return out

    def read_back(self, target: Target, unit: wording.Unit, restarted: bool) -> None:
        self.put(
            Operation(
                "read-back",
                wording.read_back(target.record, unit, restarted),
                expect=wording.read_back_expect(target.record, target.wishes()),
                otherwise=wording.read_back_otherwise(),
                power="key-on",
                module=target.path.module,
                place=target.path.place,
                record=target.path,
                origin=target.origin,
            )
        )

    def strays(self) -> None:
        """Steps about modules the job never visits: put where ``procedure`` finds fault with them."""
        visited = {module for module, _ in (*self.visits, *self.loaded)}
        every = (step for job in self.jobs for step in job.recipe.steps)
        for moment, module in dict.fromkeys((s.at, s.module) for s in every):
            if module is not None and module not in visited:
                self.steps(moment, (module, None))

    def prove(self) -> None:
        for job in self.jobs:
            failed = (
                gettext("If not, go the way back and ask the club.")
                if job.recipe.way_back != "none"
                else gettext("If not, stop and ask the club: there is no way back.")
            )
            for check in job.recipe.checks:
                self.put(
                    Operation(
                        "check",
                        check.check,
                        expect=check.expect,
                        otherwise=failed,
                        power=check.power,
                        minutes=self.times.check,
                        recipe=job.recipe.id,
                        origin=check.origin,
                    )
                )
        self.steps("end")
        self.put(
            Operation(
                "read-faults-last",
                gettext(
                    "Read the stored faults of all modules once more and compare them with the first reading."
                ),
                expect=wording.faults_expect([f for job in self.jobs for f in job.recipe.faults_to_expect]),
                otherwise=gettext("Note the new codes and ask the club before driving."),
                power="key-on",
                minutes=self.times.faults,
                origin=self.jobs[0].recipe.origin if self.jobs else NOWHERE,
            )
        )

    def origin(self, key: UnitKey) -> Origin:
        found = [t.origin for t in self.targets if t.unit == key]
        return (found or [m.origin for _, m in self.media if m.module == key[0]])[0]


def _once(settings: Iterable[Setting]) -> list[Setting]:
    return list({s.id: s for s in settings}.values())
