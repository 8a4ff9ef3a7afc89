"""The garage sheet: a recipe, or a plan of several, on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from urllib.parse import urljoin

from markupsafe import Markup

from ...car.conditions import Condition
from ...car.known import Known
from ...car.records import RecordPath, SettingPath
from ...speech import gettext, ngettext, number_words, spoken
from ...trust import risk
from ...work.compiled import NO_CHOICES, compile_edit, compile_names
from ...work.forms import Form
from ...work.operations import Operation, OperationKind, minutes
from ...work.plan import NOTHING, Plan
from ...work.recipes import Arises, Hazard, Message, Recipe
from ...work.refusals import Brief, panel
from ...work.worksheet import Row as Typed
from .. import links
from ..links import Link
from ..qr import symbol
from ..words import list_words, minutes_words, sentence
from .common import Signal, Status, Withdrawal
from .desk import Desk
from .recipe import SIGNALS
from .sheet_car import Tick, Way, besides, car_words, ticks, way
from .sheet_job import Parts, parts, pictures_of
from .sheet_records import Block, RecordRef, Written, record_refs
from .sheet_words import plain_sentence
from .status import label, status, untranslated, withdrawal

_AUTHORED = frozenset({"step", "precheck", "check", "restart"})
_LETTERS, _ROOMY = 115, 56  # letters on a line; lines beyond which a sheet is set closely
_LONGER = 8  # lines that the sheet's own words may take more in another language than in English
NOTHING_TYPED: Mapping[RecordPath, Typed] = MappingProxyType({})
_MARKS = "ABCDEFGHJKMNPQRSTVWXYZ"


@dataclass(frozen=True, slots=True)
class Part:
    """One recipe of the sheet; ``number`` is empty when it is the only one."""

    number: str
    id: str
    title: str
    code: str
    qr: Markup
    address: str
    status: Status
    withdrawal: Withdrawal | None
    needed_by: str
    untranslated: str
    annoyance: str
    way_back: str | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Danger:
    """One safety message."""

    hazard: str
    consequence: str
    avoid: str
    of: str


@dataclass(frozen=True, slots=True)
class Panel:
    """The messages of one signal word."""

    signal: Signal
    dangers: tuple[Danger, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What stands on the paper, in its order.

    ``codes`` are those of its recipes; ``panels`` by where in the job they are read. ``typed``: as-found
    values were given and what to write is printed. ``live`` False: withdrawn, so there is no job.
    ``kinds`` of operations it has.
    """

    title: str
    club: str
    contact: str
    codes: tuple[str, ...]
    parts: tuple[Part, ...]
    live: bool
    fits: tuple[Tick, ...]
    before: tuple[Tick, ...]
    ways: tuple[Way, ...]
    panels: Mapping[Arises, tuple[Panel, ...]]
    job: Parts
    records: tuple[RecordRef, ...]
    several: bool
    messages: tuple[Message, ...]
    lasts: str
    key_on: str
    facts: tuple[str, ...]
    typed: bool
    car: str
    kinds: frozenset[OperationKind]

    @property
    def panel(self) -> tuple[Brief, ...]:
        """The refusals that can come up in this job."""
        return panel(self.kinds)

    @property
    def dense(self) -> bool:
        """Whether it takes closer lines to stay on two sides."""
        dangers = [d for panels in self.panels.values() for p in panels for d in p.dangers]
        job = self.job
        steps = (*job.first, *job.before, *job.noted, *job.work, *job.last)
        letters = sum(len(d.hazard + d.consequence + d.avoid) for d in dangers)
        ticks = [(t.words, *t.look) for of in (self.fits, self.before, self.ways) for t in of]
        letters += sum(len(words) for tick in ticks for words in tick)
        letters += sum(len(s.text + s.expect + s.otherwise) for s in steps if s.kind in _AUTHORED)
        blocks = [block for record in self.records for block in record.blocks]
        lines = letters / _LETTERS + len(steps) * 1.5 + sum(_lines(block) for block in blocks)
        return lines > (_ROOMY if spoken() == "en" else _ROOMY - _LONGER)


@dataclass(frozen=True, slots=True)
class _Run:
    """One way of the job, before it is on paper."""

    condition: Condition | None
    operations: Sequence[Operation]
    records: Sequence[Written]


class Maker:
    """Makes sheets. ``link`` gives addresses as seen from a sheet, ``page`` those of pages in the site."""

    def __init__(self, desk: Desk, link: Link, page: Callable[[str], str] = links.file_of) -> None:
        self.desk, self.link, self.page = desk, link, page
        self.club = desk.book.club

    def recipe(self, recipe: Recipe, choose: Mapping[SettingPath, str] = NO_CHOICES) -> Sheet:
        """The sheet of one recipe, for every car it fits. EditProblem when a choice cannot be stored."""
        book = self.desk.book
        forms, frames = book.forms(recipe.id), book.frames(recipe.id)
        runs = [
            _Run(form.condition, frame, _written(form, choose))
            for form, frame in zip(forms, frames, strict=True)
        ]
        total, key_on = book.minutes(recipe.id)
        fits = ticks(self.desk, recipe.fits)
        return self._sheet((recipe,), runs, fits, (total, key_on), (), choose, NOTHING_TYPED, {}, NOTHING)

    def plan(
        self,
        plan: Plan,
        known: Known,
        choose: Mapping[SettingPath, str],
        typed: Mapping[RecordPath, Typed],
    ) -> Sheet:
        """The sheet of a plan that has a job. ``typed`` are the rows of its worksheet."""
        order = {r.path: r for r in plan.records}
        records = [order[path] for visit in plan.visits for path in visit]
        run = _Run(None, plan.operations, [Written(r.path, r.record, r.layouts, r.edits) for r in records])
        recipes = tuple(job.recipe for job in plan.jobs)
        left = plan.fits.residual
        fits = ticks(self.desk, left) if left is not None else ()
        times = minutes(plan.operations)
        facts = tuple(_battery(plan))
        return self._sheet(recipes, [run], fits, times, facts, choose, typed, plan.needed_by, known)

    def _sheet(
        self,
        recipes: Sequence[Recipe],
        runs: Sequence[_Run],
        fits: tuple[Tick, ...],
        times: tuple[int, int],
        facts: tuple[str, ...],
        choose: Mapping[SettingPath, str],
        typed: Mapping[RecordPath, Typed],
        needed_by: Mapping[str, tuple[str, ...]],
        known: Known,
    ) -> Sheet:
        desk, several = self.desk, len(recipes) > 1
        live = all(r.status != "withdrawn" for r in recipes)
        marks = "".join((_MARKS, *map(chr, range(0x391, 0x391 + len(runs)))))[: len(runs)]
        marks = marks if len(runs) > 1 else " " * len(runs)
        numbers = {r.id: str(n) for n, r in enumerate(recipes, 1)} if several else {}
        alternatives = tuple(a for r in recipes for a in r.alternatives)
        written = list(zip(marks, (run.records for run in runs), strict=True))
        records = record_refs(desk, written, alternatives, typed) if live else ()
        keys = dict.fromkeys((w.path.module, w.path.record) for _, of in written for w in of)
        names = {key: f"R{n}" for n, key in enumerate(keys, 1)}
        refs = {w.path: names[w.path.module, w.path.record] for _, of in written for w in of}
        address = {
            f"{r.id}/{p.file}": self.link(links.picture(r.id, p.file)) for r in recipes for p in r.pictures
        }
        operations = list(zip(marks, (run.operations for run in runs), strict=True)) if live else []
        jobs = ngettext("{n} recipe in one job", "{n} recipes in one job", len(recipes))
        return Sheet(
            title=jobs if several else recipes[0].title,
            club=self.club.name,
            contact=self.club.contact,
            codes=tuple(desk.book.codes(r.id).sheet for r in recipes),
            parts=tuple(self._part(r, numbers, choose, needed_by, known) for r in recipes),
            live=live,
            fits=fits,
            before=tuple(besides(desk, recipes)) if live else (),
            ways=tuple(
                way(desk, mark, run.condition, recipes[0].fits)
                for mark, run in zip(marks, runs, strict=True)
                if run.condition is not None
            )
            if len(runs) > 1
            else (),
            panels=self._panels(recipes, numbers, times[1]),
            job=parts(desk, operations, refs, numbers, pictures_of(desk, recipes, address)),
            records=records,
            several=max((len(run.records) for run in runs), default=0) > 1,
            messages=tuple(dict.fromkeys(m for r in recipes for m in r.may_show)) if live else (),
            lasts=minutes_words(times[0]),
            key_on=minutes_words(times[1]),
            facts=facts,
            typed=bool(typed) and all(row.write is not None for row in typed.values()),
            car=", ".join(car_words(desk, known)),
            kinds=frozenset(one.kind for _, of in operations for one in of),
        )

    def _part(
        self,
        recipe: Recipe,
        numbers: Mapping[str, str],
        choose: Mapping[SettingPath, str],
        needed_by: Mapping[str, tuple[str, ...]],
        known: Known,
    ) -> Part:
        code = self.desk.book.codes(recipe.id).sheet
        address = self.address(code)
        return Part(
            numbers.get(recipe.id, ""),
            recipe.id,
            recipe.title,
            code,
            symbol(self.holds(recipe.title, code), gettext("QR symbol: {code}", code=code)),
            address,
            self._status(recipe, known),
            withdrawal(self.desk, recipe, self.link),
            list_words([numbers[by] for by in needed_by.get(recipe.id, ()) if by in numbers]),
            untranslated(recipe),
            sentence(recipe.annoyance),
            recipe.way_back if isinstance(recipe.way_back, str) else tuple(map(sentence, recipe.way_back)),
        )

    def holds(self, title: str, code: str) -> str:
        """What the QR symbol of a sheet holds: where its code leads, else title and code."""
        return self.address(code) or f"{title}\n{code}"

    def address(self, code: str) -> str:
        """Where somebody finds out whether a sheet still holds; "" for a club without an address."""
        site = self.club.site
        if site is None:
            return ""
        return f"{urljoin(site if site.endswith('/') else site + '/', links.CODE)}#{code}"

    def _status(self, recipe: Recipe, known: Known) -> Status:
        """The status of the recipe; on a car of which enough is known, that of such a car."""
        said = status(self.desk, recipe)
        if said.kind != "partly":
            return said
        cells = self.desk.standings(recipe.id)
        possible = {
            standing.label
            for (line, model, phase), standing in cells.items()
            if (known.lines is None or line in known.lines)
            and (known.models is None or model in known.models)
            and (known.phases is None or phase in known.phases)
        }
        if possible == {"vetted"}:
            return Status("vetted", label("vetted"), "", signed=said.signed)
        if possible and "vetted" not in possible:
            return Status(
                "not-vetted", label("not-vetted"), gettext("The club does not vouch for it on this car.")
            )
        return said

    # hazards

    def _panels(
        self, recipes: Sequence[Recipe], numbers: Mapping[str, str], key_on: int
    ) -> Mapping[Arises, tuple[Panel, ...]]:
        found = self.desk.book.job_hazards((recipe.id for recipe in recipes), key_on)
        out: dict[Arises, tuple[Panel, ...]] = {}
        for arises in ("start", "voltage", "writing", "loading", "checks"):
            messages = []
            for word in risk.SIGNAL_WORDS:
                dangers = tuple(
                    _danger(h, list_words([numbers.get(id, "") for id in of]))
                    for h, of in found.items()
                    if h.arises == arises and risk.signal_word(h) == word
                )
                if dangers:
                    messages.append(Panel(SIGNALS[word], dangers))
            out[arises] = tuple(messages)
        return out


def _battery(plan: Plan) -> Iterator[str]:
    """What the job takes out of the battery, and whether a supply is wanted; each goes on a line."""
    if plan.charge is not None:
        needed, spare = (
            number_words(f"{float(amount):.1f}") for amount in (plan.charge.needed, plan.charge.spare)
        )
        yield gettext(
            "takes {needed} Ah out of the battery, which can spare {spare} Ah", needed=needed, spare=spare
        )
    if plan.supply:
        yield gettext("connect a battery supply")


def _lines(block: Block) -> float:
    """About how many lines of text a record takes."""
    grids = len(block.rows) * -(-len(block.lines) // 2) or 1
    return 7.5 * grids + 2 * len(block.lookups) + len(block.only) + len(block.changes)


def _danger(hazard: Hazard, of: str) -> Danger:
    return Danger(
        plain_sentence(hazard.hazard), plain_sentence(hazard.consequence), plain_sentence(hazard.avoid), of
    )


def _written(form: Form, choose: Mapping[SettingPath, str]) -> list[Written]:
    out = []
    for one in form.records:
        record = one.record
        edits = (
            (compile_names(record, one.path, one.changes, choose),)
            if record.names_only
            else tuple(compile_edit(record, one.path, x, one.changes, choose) for x in one.layouts)
        )
        out.append(Written(one.path, record, one.layouts, edits))
    return out
