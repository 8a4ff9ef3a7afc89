"""The book: everything loaded, indexed and cross-linked, with each answer computed once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Set
from functools import cached_property
from typing import Any

from ..car.conditions import Condition
from ..car.fitting import Answer, answer, has_module
from ..car.known import Known
from ..car.origin import Origin
from ..car.phrases import in_place
from ..car.records import Layout, Module, Record, RecordPath, SettingPath
from ..car.settings import Setting
from ..car.vehicles import VehicleLine
from ..car.words import Names
from ..car.world import World
from ..source.limits import PICTURE_BYTES
from ..source.loader import Loaded
from ..trust.codes import Codes, codes
from ..trust.evidence import Evidence, reported_hazards, tally
from ..trust.reports import Club, PastCode, Report, Signature
from ..trust.standing import functions, key_on, standing_hazards
from ..trust.vetting import Examined, Standing, examine, vetted
from ..work.compiled import Edit, EditProblem, NamesEdit, compile_edit, compile_names
from ..work.forms import Form, forms, reached, variants
from ..work.frame import Operation, frame, minutes, place_names
from ..work.interactions import Index, Meeting
from ..work.plan import Shop
from ..work.recipes import Hazard, Recipe

Cell = tuple[str, str, str]  # line, model, phase
_FRAMES = 100  # recipes whose jobs are kept: asked for a few times in a row, and as large as half a recipe


class Book:
    """Answers questions about everything loaded.

    Ids are unknown to the book only where the rules have reported them; the methods that take a recipe's id
    raise KeyError for one that is not there. ValueError when no club was loaded. Methods that compile edits
    raise ``EditProblem``. ``original``: the book of which this is a translation, whose codes it has.
    """

    def __init__(self, loaded: Loaded, original: Book | None = None) -> None:
        if loaded.club is None:
            raise ValueError("a book needs a club")
        self.loaded = loaded
        self.original = original
        self.club: Club = loaded.club
        self.lines: Mapping[str, VehicleLine] = loaded.lines
        self.modules: Mapping[str, Module] = loaded.modules
        self.recipes: Mapping[str, Recipe] = loaded.recipes
        self.world = World.of(loaded.lines)
        self._forms: dict[str, tuple[Form, ...]] = {}
        self._edits: dict[str, tuple[Edit | NamesEdit, ...]] = {}
        self._frames: dict[str, tuple[tuple[Operation, ...], ...]] = {}
        self._minutes: dict[str, tuple[int, int]] = {}
        self._codes: dict[str, Codes] = {}
        self._evidence: dict[str, Evidence] = {}
        self._functions: dict[str, tuple[str, ...]] = {}
        self.memo: dict[object, Any] = {}  # what rooms above work out once, under keys of theirs

    def take_over(self, other: Book, changed: Set[str]) -> None:
        """Takes over what ``other``, the book before some change, has worked out.

        ``changed`` names every recipe of which anything may come out otherwise.
        """
        if self.lines != other.lines or self.club != other.club:
            return
        self.world = other.world
        same = self.recipes.keys() - changed
        pairs: tuple[tuple[dict[str, Any], dict[str, Any]], ...] = (
            (self._forms, other._forms),
            (self._edits, other._edits),
            (self._minutes, other._minutes),
            (self._codes, other._codes),
            (self._evidence, other._evidence),
            (self._functions, other._functions),
        )
        for mine, theirs in pairs:
            mine.update((id, had) for id, had in theirs.items() if id in same)

    def let_go(self) -> None:
        """Forgets what rooms above have worked out, for whatever they asked about is done with."""
        self.memo.clear()

    # what was loaded

    def record(self, path: RecordPath) -> Record | None:
        """The record at ``module/record``, whatever the place."""
        module = self.modules.get(path.module)
        return module.record(path.record) if module else None

    def setting(self, path: SettingPath) -> Setting | None:
        """The setting at ``module/record/setting``."""
        record = self.record(path.record_path)
        return record.setting(path.setting) if record else None

    @cached_property
    def settings(self) -> Mapping[SettingPath, Setting]:
        """Every setting of every module."""
        return {
            SettingPath(module.id, record.id, setting.id): setting
            for module in self.modules.values()
            for record in module.records
            for setting in record.settings
        }

    def reports(self, recipe: str) -> tuple[Report, ...]:
        """The reports on a recipe, oldest first."""
        return tuple(self.loaded.reports.get(recipe, ()))

    def signatures(self, recipe: str) -> tuple[Signature, ...]:
        """The signatures under a recipe, whether they count or not."""
        return tuple(self.loaded.signatures.get(recipe, ()))

    def past_codes(self, recipe: str) -> tuple[PastCode, ...]:
        """The codes the recipe had when it was published, oldest first."""
        return tuple(self.loaded.past_codes.get(recipe, ()))

    def pictures(self, recipe: str) -> tuple[str, ...]:
        """The picture files that lie in a recipe's folder, declared or not."""
        return self.loaded.pictures.get(recipe, ())

    def picture(self, recipe: str, name: str) -> bytes:
        """A picture's content as it lies in the recipe's folder."""
        return self.loaded.tree.read(f"changes/{recipe}/{name}", PICTURE_BYTES)

    def codes_origin(self, recipe: str) -> Origin:
        """Where the recipe's past codes are written."""
        return Origin(f"changes/{recipe}/codes.yml")

    def broken(self, kind: str, name: str) -> str | None:
        """The key of the finding that kept a file (line, module, recipe …) from being built, if any."""
        return self.loaded.broken.get((kind, name)) or self.loaded.broken.get((kind, ""))

    def any_broken(self, kind: str) -> bool:
        """Whether any file of a kind could not be built."""
        return any(k == kind for k, _ in self.loaded.broken)

    def places(self, module: str) -> frozenset[str]:
        """The places in which any vehicle line has the module; empty where it is fitted once."""
        return frozenset(
            place.id
            for line in self.lines.values()
            for fitted in line.fitted
            if fitted.module == module
            for place in fitted.places
        )

    def fitted(self, module: str) -> Condition:
        """Which cars have the module."""
        return has_module(module, self.world)

    @cached_property
    def names(self) -> Names:
        """How lines, models, phases, markets, equipment, modules and settings are called."""
        return Names.of(self.lines, self.modules)

    @cached_property
    def place_names(self) -> Mapping[tuple[str, str], tuple[str, str | None]]:
        """Name and diagnostic address by module and place, for modules fitted more than once."""
        return place_names(self.lines.values())

    def unit(self, module: str, place: str | None) -> str:
        """A control module's name, with that of its place where it has several."""
        known = self.modules.get(module)
        name, _ = self.place_names.get((module, place or ""), (place, None))
        return in_place(known.name if known else module, name)

    # the work

    def forms(self, recipe: str) -> tuple[Form, ...]:
        """The ways the recipe's job can run."""
        if recipe not in self._forms:
            self._forms[recipe] = forms(self.recipes[recipe], self.modules, self.world)
        return self._forms[recipe]

    def reached(self, recipe: str) -> tuple[tuple[RecordPath, Layout | None], ...]:
        """Every record and layout the recipe reaches; None where only names are known."""
        return reached(self.forms(recipe))

    def edits(self, recipe: str) -> tuple[Edit | NamesEdit, ...]:
        """The compiled edits, one for each record, layout and set of changes; or all their problems."""
        if recipe not in self._edits:
            edits: list[Edit | NamesEdit] = []
            problems: list[object] = []
            for path, layout in self.reached(recipe):
                record = self.record(path)
                if record is None:
                    continue
                for changes in variants(self.forms(recipe), path, layout.id if layout else None):
                    try:
                        edits.append(
                            compile_edit(record, path, layout, changes)
                            if layout
                            else compile_names(record, path, changes)
                        )
                    except EditProblem as error:
                        problems.extend(error.problems)
            if problems:
                raise EditProblem(dict.fromkeys(problems))  # type: ignore[arg-type]
            self._edits[recipe] = tuple(edits)
        return self._edits[recipe]

    def frames(self, recipe: str) -> tuple[tuple[Operation, ...], ...]:
        """The generated job for each form, in the order of ``forms``."""
        if recipe not in self._frames:
            if len(self._frames) >= _FRAMES:
                del self._frames[next(iter(self._frames))]
            self._frames[recipe] = tuple(
                frame(self.recipes[recipe], form, self.modules, self.club.times, self.place_names)
                for form in self.forms(recipe)
            )
        return self._frames[recipe]

    @cached_property
    def shop(self) -> Shop:
        """What plans are made from."""
        times, long = self.club.times, self.club.long_key_on
        return Shop(self.recipes, self.modules, self.world, times, long, self.place_names, self.forms)

    def minutes(self, recipe: str) -> tuple[int, int]:
        """How long the longest form takes, and how long the key is on in it, in minutes."""
        if recipe not in self._minutes:
            times = [minutes(operations) for operations in self.frames(recipe)] or [(0, 0)]
            self._minutes[recipe] = max(t for t, _ in times), max(k for _, k in times)
        return self._minutes[recipe]

    # what to think of it

    def functions(self, recipe: str) -> tuple[str, ...]:
        """What the recipe acts on, inherited and added."""
        if recipe not in self._functions:
            self._functions[recipe] = functions(self.recipes[recipe], self.settings)
        return self._functions[recipe]

    def standing_hazards(self, recipe: str) -> tuple[Hazard, ...]:
        """The hazards that come by rule."""
        return standing_hazards(
            self.recipes[recipe],
            self.settings,
            self.functions(recipe),
            self.minutes(recipe)[1],
            self.club.long_key_on,
        )

    def hazards(self, recipe: str) -> tuple[Hazard, ...]:
        """The author's hazards, then those that come by rule, then what reports tell of."""
        return (
            self.recipes[recipe].hazards
            + self.standing_hazards(recipe)
            + reported_hazards(self.evidence(recipe).count())
        )

    def job_hazards(self, recipes: Iterable[str], key_on_minutes: int) -> dict[Hazard, list[str]]:
        """The hazards of one job made of those recipes, with the ids of those that bring each.

        How long the key is on is a matter of the whole job: that hazard is the job's own, of no recipe.
        """
        found: dict[Hazard, list[str]] = {}
        for recipe in recipes:
            alone = key_on(self.minutes(recipe)[1])
            for hazard in self.hazards(recipe):
                if hazard != alone:
                    found.setdefault(hazard, []).append(recipe)
        if key_on_minutes >= self.club.long_key_on:
            found[key_on(key_on_minutes)] = []
        return found

    def codes(self, recipe: str) -> Codes:
        """The present sheet code and work codes."""
        if self.original is not None:
            return self.original.codes(recipe)
        if recipe not in self._codes:
            self._codes[recipe] = codes(self.recipes[recipe], self.modules, self.lines, self.forms(recipe))
        return self._codes[recipe]

    def know(self, codes: Mapping[str, Codes]) -> None:
        """Takes over what ``codes`` said elsewhere of the same book."""
        (self.original or self)._codes.update(codes)

    def evidence(self, recipe: str) -> Evidence:
        """The reports, weighed against the present codes."""
        if recipe not in self._evidence:
            self._evidence[recipe] = tally(
                self.reports(recipe),
                self.codes(recipe),
                self.past_codes(recipe),
                self.forms(recipe),
                self.world,
            )
        return self._evidence[recipe]

    def standing(self, recipe: str, cell: Cell) -> Standing:
        """Whether the club vouches for the recipe on one variant, and why."""
        return vetted(
            self.recipes[recipe],
            self.club,
            self.codes(recipe).sheet,
            self.signatures(recipe),
            self.evidence(recipe).count(cell),
        )

    def examined(self, recipe: str) -> tuple[Examined, ...]:
        """Each signature and whether it counts."""
        return examine(self.signatures(recipe), self.recipes[recipe], self.club, self.codes(recipe).sheet)

    # which cars

    def cells(self, recipe: str) -> Mapping[Cell, Answer]:
        """For every variant of every line the recipe names: does it fit?"""
        condition = self.recipes[recipe].fits
        return {
            (line.id, model, phase): answer(condition, Known.of_variant(line.id, model, phase), self.world)
            for line in self.lines.values()
            for model, phase in line.variants()
        }

    # indices

    @cached_property
    def index(self) -> Index:
        """Every edit of every recipe that is not withdrawn and can be compiled, by record and layout."""
        return Index(
            (recipe.id, edit)
            for recipe in self.recipes.values()
            if recipe.status != "withdrawn"
            for edit in self.edits(recipe.id)
        )

    def meetings(self, recipe: str) -> tuple[Meeting, ...]:
        """Where the recipe meets others in a record, itself first; empty for a withdrawn one."""
        return self.index.meetings_of(recipe)

    @cached_property
    def by_module(self) -> Mapping[str, tuple[str, ...]]:
        """The recipes that touch each module, by title."""
        return self._index(
            lambda recipe: (
                [c.setting.module for c in recipe.changes] + ([recipe.media.module] if recipe.media else [])
            )
        )

    @cached_property
    def by_function(self) -> Mapping[str, tuple[str, ...]]:
        """The recipes that touch each function, by title."""
        return self._index(lambda recipe: self.functions(recipe.id))

    def _index(self, keys: object) -> Mapping[str, tuple[str, ...]]:
        out: dict[str, list[Recipe]] = defaultdict(list)
        for recipe in sorted(self.recipes.values(), key=lambda r: (r.title, r.id)):
            for key in dict.fromkeys(keys(recipe)):  # type: ignore[operator]
                out[key].append(recipe)
        return {key: tuple(r.id for r in recipes) for key, recipes in out.items()}
