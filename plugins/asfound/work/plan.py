"""Plans: several recipes merged into one job, with the fewest visits to modules.

Each record is written once, with the edits of all recipes composed. Records are written in an order that
keeps each recipe's own, and what a recipe needs before what needs it. Where that would go round in a circle
the two are done together, since a need is satisfied by that too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from ..car.completions import TooManyFacts
from ..car.conditions import TRUE, All, Condition, Vehicle
from ..car.fitting import Answer, answer, satisfiable
from ..car.known import Known
from ..car.records import Layout, Module, Record, RecordPath, SettingPath
from ..car.rewrite import conjunction
from ..car.vehicles import Power, VehicleLine
from ..car.world import World
from . import wording
from .compiled import (
    NO_CHOICES,
    Edit,
    EditProblem,
    NamesEdit,
    compile_edit,
    compile_names,
    compose,
    compose_names,
)
from .forms import Form, forms
from .frame import frame_of, minutes
from .gather import Gathered, Trouble, gather
from .jobs import Job, Times
from .operations import Operation
from .order import Circle, Route, fewest_visits
from .procedure import violations
from .recipes import Recipe

NOTHING = Known()
_NO_FIT = "Leave it out, or correct what is said of the car."
_NO_CAR = "Make a job of each, or correct what is said of the car."
_NO_LAYOUT = "Ask the club; never guess a layout."
_TOO_MANY = "Together these recipes ask more about the car than can be weighed at once."
_SAY_MORE = "Say more of the car, or make several jobs of them."


@dataclass(frozen=True, slots=True)
class PlannedRecord:
    """One record of the job: the edit of all recipes for each layout it can have (one, by names, without).

    ``recipes`` are those that change it.
    """

    path: RecordPath
    record: Record
    layouts: tuple[Layout, ...]
    edits: tuple[Edit | NamesEdit, ...]
    recipes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Charge:
    """What the job takes out of the battery and what it can spare, in ampere-hours, by measured current."""

    needed: Fraction
    spare: Fraction

    @property
    def enough(self) -> bool:
        """Whether the battery alone will do."""
        return self.needed <= self.spare


@dataclass(frozen=True, slots=True)
class Question:
    """What must be known of the car: for which recipe, and the condition that decides."""

    recipe: str
    decides: Condition


@dataclass(frozen=True, slots=True)
class Plan:
    """Several recipes as one job.

    With ``troubles`` there is no job, and what could not be worked out is empty. ``fits`` says whether the
    car fits all recipes; ``questions`` what must be known before a job can be made at all. ``proven`` is
    whether no order has fewer visits; if not, ``at_least`` are needed. ``charge`` is None where the club has
    measured nothing. ``supply`` says why a battery supply is advised; () when it is not. ``together`` are
    pairs of recipes of which the second needs the first but both are written at once.
    """

    jobs: tuple[Job, ...]
    needed_by: Mapping[str, tuple[str, ...]]
    troubles: tuple[Trouble, ...]
    fits: Answer
    questions: tuple[Question, ...] = ()
    records: tuple[PlannedRecord, ...] = ()
    visits: tuple[tuple[RecordPath, ...], ...] = ()
    at_least: int = 0
    operations: tuple[Operation, ...] = ()
    minutes: int = 0
    key_on_minutes: int = 0
    charge: Charge | None = None
    supply: tuple[str, ...] = ()
    together: tuple[tuple[str, str], ...] = ()

    @property
    def proven(self) -> bool:
        """Whether no order has fewer visits."""
        return len(self.visits) == self.at_least


@dataclass(frozen=True, slots=True)
class Shop:
    """What plans are made from: the club's recipes, modules and vehicle lines, and its times.

    ``long_key_on`` is from how many minutes with the key on the club asks for a supply. ``forms`` may answer
    from memory.
    """

    recipes: Mapping[str, Recipe]
    modules: Mapping[str, Module]
    lines: Mapping[str, VehicleLine]
    times: Times
    long_key_on: int
    places: wording.Places
    forms: Callable[[str], tuple[Form, ...]] | None = None

    def forms_of(self, recipe: Recipe) -> tuple[Form, ...]:
        """The ways the recipe's job can run."""
        return self.forms(recipe.id) if self.forms else forms(recipe, self.modules, self.lines)


def plan(
    asked: Sequence[str],
    shop: Shop,
    known: Known = NOTHING,
    choose: Mapping[SettingPath, str] = NO_CHOICES,
) -> Plan:
    """The recipes asked for, and those they need, as one job on a car of which this is known."""
    gathered = gather(asked, shop.recipes)
    return _Planner(shop, known, choose, gathered).plan()


def alone(
    recipe: str, shop: Shop, known: Known = NOTHING, choose: Mapping[SettingPath, str] = NO_CHOICES
) -> Plan:
    """One recipe without those it needs, which are taken to be done."""
    if recipe not in shop.recipes:
        return plan((recipe,), shop, known, choose)
    bare = replace(shop.recipes[recipe], needs=())
    return plan((recipe,), replace(shop, recipes={**shop.recipes, recipe: bare}), known, choose)


class _Planner:
    def __init__(
        self, shop: Shop, known: Known, choose: Mapping[SettingPath, str], gathered: Gathered
    ) -> None:
        self.shop, self.known, self.choose, self.gathered = shop, known, choose, gathered
        self.lines = World.of(shop.lines)
        self.troubles = list(gathered.troubles)
        self.questions: list[Question] = []

    def plan(self) -> Plan:
        try:
            return self.merged()
        except TooManyFacts:
            names = tuple(one.id for one in self.gathered.recipes)
            self.troubles.append(Trouble("facts", names, _TOO_MANY, _SAY_MORE))
        return Plan((), self.gathered.needed_by, tuple(self.troubles), Answer("if"))

    def merged(self) -> Plan:
        """TooManyFacts when the recipes together ask more than can be weighed."""
        recipes = self.gathered.recipes
        fits = self.fits(recipes)
        jobs = tuple(job for one in recipes if (job := self.job(one)) is not None)
        records = () if self.troubles or self.questions else self.records(jobs)
        bare = Plan(jobs, self.gathered.needed_by, tuple(self.troubles), fits, tuple(self.questions))
        if self.troubles or self.questions or not jobs:
            return bare
        route, together = self.route(jobs, [r.path for r in records])
        if route is None:
            return replace(bare, troubles=tuple(self.troubles))
        visits = tuple(tuple(records[i].path for i in visit) for visit in route.visits)
        operations = frame_of(jobs, self.shop.modules, self.shop.times, self.shop.places, visits)
        for violation in violations(operations):
            named = (violation.origin.file.split("/")[1],) if violation.origin.file.count("/") > 1 else ()
            self.troubles.append(Trouble("procedure", named, violation.message, violation.repair))
        if self.troubles:
            return replace(bare, troubles=tuple(self.troubles))
        total, key_on = minutes(operations)
        charge = self.charge(jobs, key_on)
        return replace(
            bare,
            records=records,
            visits=visits,
            at_least=route.at_least,
            operations=operations,
            minutes=total,
            key_on_minutes=key_on,
            charge=charge,
            supply=tuple(self.supply(jobs, key_on, charge)),
            together=together,
        )

    # which car, which form

    def fits(self, recipes: Sequence[Recipe]) -> Answer:
        """Whether the car fits all of them; a trouble for each it does not fit."""
        for one in recipes:
            own = answer(one.fits, self.known, self.lines)
            if own.kind == "no":
                self.troubles.append(
                    Trouble("fit", (one.id,), f"{one.id} does not fit the car.", _NO_FIT, own.because)
                )
        every = answer(conjunction(one.fits for one in recipes), self.known, self.lines)
        if every.kind == "no" and not any(t.kind == "fit" for t in self.troubles):
            names = tuple(one.id for one in recipes)
            self.troubles.append(Trouble("fit", names, "No one car fits all of these recipes.", _NO_CAR))
        return every

    def job(self, recipe: Recipe) -> Job | None:
        """The recipe in the one form that the car can have, its layouts narrowed to those it can have."""
        possible = [f for f in self.shop.forms_of(recipe) if satisfiable(f.condition, self.lines, self.known)]
        sure = [f for f in possible if answer(f.condition, self.known, self.lines).kind == "fits"]
        chosen = sure[:1] or possible
        if len(chosen) == 1:
            return Job(recipe, self.narrowed(recipe, chosen[0]), self.choose)
        if not chosen:
            if not any(recipe.id in t.recipes for t in self.troubles):
                reason = f"{recipe.id} does nothing on this car."
                self.troubles.append(Trouble("fit", (recipe.id,), reason, _NO_FIT))
            return None
        for form in chosen[:-1]:
            decides = answer(form.condition, self.known, self.lines).residual
            if decides is not None:
                self.questions.append(Question(recipe.id, decides))
        return None

    def narrowed(self, recipe: Recipe, form: Form) -> Form:
        out = []
        for one in form.records:
            layouts = tuple(
                x
                for x in one.layouts
                if satisfiable(All((form.condition, x.fits or TRUE)), self.lines, self.known)
            )
            if not layouts and not one.record.names_only:
                reason = f"No layout of {one.path} is known for this car, so {recipe.id} cannot be done."
                self.troubles.append(Trouble("layout", (recipe.id,), reason, _NO_LAYOUT))
            out.append(replace(one, layouts=layouts))
        return Form(form.condition, tuple(out))

    # one write for each record

    def records(self, jobs: Sequence[Job]) -> tuple[PlannedRecord, ...]:
        by_path: dict[RecordPath, list[Job]] = {}
        for job in jobs:
            for one in job.form.records:
                by_path.setdefault(one.path, []).append(job)
        return tuple(found for path, own in by_path.items() if (found := self.record(path, own)) is not None)

    def record(self, path: RecordPath, jobs: Sequence[Job]) -> PlannedRecord | None:
        parts = [(job, next(r for r in job.form.records if r.path == path)) for job in jobs]
        record = parts[0][1].record
        names = tuple(job.recipe.id for job in jobs)
        layouts = tuple(
            x for x in parts[0][1].layouts if all(any(x.id == y.id for y in r.layouts) for _, r in parts)
        )
        edits: list[Edit | NamesEdit] = []
        try:
            if record.names_only:
                own = [compile_names(record, path, r.changes, job.choose) for job, r in parts]
                edits.append(compose_names(own))
            for layout in layouts:
                some = [compile_edit(record, path, layout, r.changes, job.choose) for job, r in parts]
                edits.append(compose(some))
        except EditProblem as error:
            for problem in dict.fromkeys((p.reason, p.repair) for p in error.problems):
                self.troubles.append(Trouble("clash", names, *problem))
            return None
        if not edits:
            reason = f"No car has a layout of {path} that suits all of {', '.join(names)}."
            self.troubles.append(Trouble("layout", names, reason, "Make them jobs of their own."))
            return None
        return PlannedRecord(path, record, layouts, tuple(edits), names)

    # the order

    def route(
        self, jobs: Sequence[Job], paths: Sequence[RecordPath]
    ) -> tuple[Route | None, tuple[tuple[str, str], ...]]:
        """The fewest visits; None after a trouble; and the needs that are satisfied by doing both at once."""
        number = {path: i for i, path in enumerate(paths)}
        units = list(dict.fromkeys((p.module, p.place) for p in paths))
        classes = [units.index((p.module, p.place)) for p in paths]
        own: dict[tuple[int, int], str] = {}
        ends: dict[str, tuple[int, int]] = {}
        for job in jobs:
            row = [number[r.path] for r in job.form.records]
            own |= {pair: job.recipe.id for pair in pairwise(row)}
            if row:
                ends[job.recipe.id] = (row[0], row[-1])
        needs = {
            (name, job.recipe.id): (ends[name][1], ends[job.recipe.id][0])
            for job in jobs
            for name in job.recipe.needs
            if name in ends and job.recipe.id in ends and ends[name][1] != ends[job.recipe.id][0]
        }
        self.files_after_writing(jobs, ends)
        together: list[tuple[str, str]] = []
        while not self.troubles:
            try:
                return fewest_visits(classes, (*own, *needs.values())), tuple(together)
            except Circle as found:
                steps = set(zip(found.of, (*found.of[1:], found.of[0]), strict=True))
                dropped = [pair for pair, step in needs.items() if step in steps and step not in own]
                for pair in dropped:
                    del needs[pair]
                together += dropped
                if not dropped:
                    self.opposite([(paths[a], paths[b], own[a, b]) for a, b in steps])
        return None, ()

    def opposite(self, steps: Sequence[tuple[RecordPath, RecordPath, str]]) -> None:
        """Recipes whose own orders contradict each other."""
        said = "; ".join(f"{who} writes {first} before {second}" for first, second, who in sorted(steps))
        names = tuple(dict.fromkeys(who for _, _, who in sorted(steps)))
        repair = "Make them jobs of their own, one after the other."
        self.troubles.append(
            Trouble("order", names, f"They write the same records in opposite orders: {said}.", repair)
        )

    def files_after_writing(self, jobs: Sequence[Job], ends: Mapping[str, object]) -> None:
        """Files are loaded before anything is written, so a file that needs writing first is another job."""
        for job in jobs:
            late = [name for name in job.recipe.needs if name in ends] if job.recipe.media else []
            if late:
                reason = f"{job.recipe.id} loads a file, which comes before the writing that it needs."
                repair = f"Do {', '.join(late)} first, as a job of its own."
                self.troubles.append(Trouble("order", (job.recipe.id, *late), reason, repair))

    # the battery

    def charge(self, jobs: Sequence[Job], key_on: int) -> Charge | None:
        """By the line that comes out worst, where the line is not known; None where one was not measured."""
        conditions = tuple(job.form.condition for job in jobs)
        powers = [
            line.power
            for line in self.lines.values()
            if satisfiable(All((Vehicle(line.id), *conditions)), self.lines, self.known)
        ]
        measured = [power for power in powers if power is not None]
        if not measured or len(measured) < len(powers):
            return None
        return worst(charge_of(power, key_on) for power in measured)

    def supply(self, jobs: Sequence[Job], key_on: int, charge: Charge | None) -> list[str]:
        out = []
        if any(job.recipe.media for job in jobs):
            out.append("A file is loaded, which must not be interrupted.")
        if charge is not None and not charge.enough:
            out.append("The job takes more out of the battery than it can spare.")
        if key_on >= self.shop.long_key_on:
            out.append(f"The key is on for {self.shop.long_key_on} minutes or longer.")
        return out


def charge_of(power: Power, key_on: int) -> Charge:
    """What so many minutes with the key on take: current × time."""
    return Charge(power.key_on_amps * key_on / 60, power.spare_amp_hours)


def worst(charges: Iterable[Charge]) -> Charge:
    """The one that leaves least in the battery, or lacks most; so it is enough only where all are."""
    return max(charges, key=lambda charge: charge.needed - charge.spare)
