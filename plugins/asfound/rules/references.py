"""Every name that stands for something else must stand for something that is there."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator

from ..book import Book
from ..car.conditions import Condition, Equipped, Holds, PartNumber, SettingIs, Software, Vehicle, leaves
from ..car.origin import Origin
from ..car.records import Module, Record, RecordPath, SettingPath
from ..car.settings import Choices, Number
from ..car.vehicles import VehicleLine
from ..car.vin import VinSays
from ..trust.reports import Report
from ..work.held import HeldProblem, parse_names
from ..work.recipes import Ask, Recipe
from .base import Problem, Rule, Stage
from .names import Names, Use, write_near
from .twice import values_of

ID = "unknown-name"
_NUMBER = re.compile(r"[-+]?[0-9]")


def names_stand_for_something(book: Book) -> Iterator[Problem]:
    """Names in vehicle, module, recipe and report files."""
    search = _Search(book)
    for line in book.lines.values():
        search.line(line)
    for module in book.modules.values():
        search.module(module)
    for recipe in book.recipes.values():
        search.recipe(recipe)
        for report in book.reports(recipe.id):
            search.report(report)
    yield from search.whole
    yield from search.names.problems(ID)


class _Search:
    """Goes through everything that was loaded and gathers definitions and uses.

    ``whole`` are problems with names of whole files; a file's own name was compared with its path on reading,
    so there it is always the use that is wrong.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        self.whole: list[Problem] = []
        known = all(f.module in book.modules for line in book.lines.values() for f in line.fitted)
        self.places_known = known and not book.any_broken("line")
        self.names = Names()
        for line in book.lines.values():
            self._define("model", line.id, ((m.id, m.origin.at("model")) for m in line.models))
            self._define("phase", line.id, ((p.id, p.origin.at("phase")) for p in line.phases))
            self._define("market", line.id, ((m.id, m.origin.at("market")) for m in line.markets))
            self._define("equipment", "", ((e.id, e.origin.at("item")) for e in line.equipment))
            for fitted in line.fitted:
                places = ((p.id, fitted.origin.at("places", n, "place")) for n, p in enumerate(fitted.places))
                self._define("place", fitted.module, places)
        for module in book.modules.values():
            self._define("record", module.id, ((r.id, r.origin.at("record")) for r in module.records))
            for record in module.records:
                self._record_contents(f"{module.id}/{record.id}", record)

    def _record_contents(self, path: str, record: Record) -> None:
        self._define("setting", path, ((s.id, s.origin.at("setting")) for s in record.settings))
        self._define("layout", path, ((x.id, x.origin.at("layout")) for x in record.layouts))
        for setting in record.settings:
            self._define("value", f"{path}/{setting.id}", values_of(setting))

    def _define(self, what: str, scope: str, names: Iterable[tuple[str, Origin]]) -> None:
        self.names.define(what, scope, names)

    def _use(self, what: str, scope: str, name: str, origin: Origin, form: str = "{}") -> None:
        self.names.uses.append(Use(what, scope, name, origin, form))

    # what names something

    def line(self, line: VehicleLine) -> None:
        """Names in a vehicle line's file."""
        for model in line.models:
            self._listed("phase", line.id, model.phases, model.origin.at("phases"))
        for item in line.equipment:
            self._listed("model", line.id, item.models, item.origin.at("models"))
            self._listed("phase", line.id, item.phases, item.origin.at("phases"))
            for index, (model_id, phase_id) in enumerate(item.standard):
                if model_id is not None:
                    self._use("model", line.id, model_id, item.origin.at("standard", index, "model"))
                if phase_id is not None:
                    self._use("phase", line.id, phase_id, item.origin.at("standard", index, "phase"))
        for fitted in line.fitted:
            self._file("module", fitted.module, fitted.origin.at("module"))
            self._condition(fitted.fits)
        if line.vin is not None:
            for group in line.vin.positions:
                for index, says in enumerate(group.codes.values()):
                    self._vin(line.id, says, group.origin.at("codes", index))
            for serials in line.vin.serials:
                self._vin(line.id, serials.says, serials.origin)

    def _vin(self, line: str, says: VinSays, origin: Origin) -> None:
        self._listed("model", line, says.models, origin.at("models"))
        self._listed("phase", line, says.phases, origin.at("phases"))
        self._listed("market", line, says.markets, origin.at("markets"))
        self._listed("equipment", "", says.equipment, origin.at("equipment"))
        self._listed("equipment", "", says.without, origin.at("without"))

    def module(self, module: Module) -> None:
        """Names in a module's file."""
        for record in module.records:
            for layout in record.layouts:
                self._condition(layout.fits, f"{module.id}/{record.id}")
                for setting in layout.places:
                    self._use(
                        "setting", f"{module.id}/{record.id}", setting, layout.origin.at("places", setting)
                    )

    def recipe(self, recipe: Recipe) -> None:
        """Names in a recipe's file, except those of other recipes and pictures."""
        self._condition(recipe.fits)
        for change in recipe.changes:
            self._setting(str(change.setting), change.origin.at("setting"))
            self._condition(change.fits)
            if change.place is not None and self.places_known:
                self._use("place", change.setting.module, change.place, change.origin.at("place"))
            if change.before is not None:
                self._value(change.setting, change.before, change.origin.at("from"))
            if isinstance(change.to, Ask):
                self._value(change.setting, change.to.suggest, change.origin.at("to", "suggest"))
            else:
                self._value(change.setting, change.to, change.origin.at("to"))
        if recipe.media:
            self._file("module", recipe.media.module, recipe.media.origin.at("module"))
        if all(self.book.setting(change.setting) is not None for change in recipe.changes):
            self._within(recipe)

    def _within(self, recipe: Recipe) -> None:
        """Names of what the recipe itself changes."""
        changed = {str(change.setting) for change in recipe.changes}
        for alternative in recipe.alternatives:
            origin = alternative.origin.at("setting")
            if self._own("setting changed by this recipe", str(alternative.setting), changed, origin):
                self._value(alternative.setting, alternative.to, alternative.origin.at("to"))
        of_the_job = {change.setting.module for change in recipe.changes}
        of_the_job |= {recipe.media.module} if recipe.media else set()
        for step in recipe.steps:
            if step.module is not None:
                self._own("module in this job", step.module, of_the_job, step.origin.at("module"))
        self._examples(recipe)

    def _examples(self, recipe: Recipe) -> None:
        records = {str(change.setting.record_path) for change in recipe.changes}
        asked = {str(change.setting) for change in recipe.changes if isinstance(change.to, Ask)}
        reports = {report.id: report.origin for report in self.book.reports(recipe.id)}
        for example in recipe.worked_examples:
            at = example.origin.at
            if self._own("record changed by this recipe", str(example.record), records, at("record")):
                if example.layout is not None and self.book.record(example.record) is not None:
                    self._use("layout", str(example.record), example.layout, at("layout"))
            if example.read_on != "made-up" and self.book.broken("report", example.read_on) is None:
                self._own("report on this recipe", example.read_on, {*reports, "made-up"}, at("read_on"))
            for setting, value in example.choose:
                origin = at("choose", str(setting))
                if self._own("setting the reader is asked for", str(setting), asked, origin):
                    self._value(setting, value, origin)

    def report(self, report: Report) -> None:
        """Names in a report's file."""
        car, at = report.car, report.origin.at
        self._file("line", car.line, at("car", "line"))
        if car.line in self.book.lines:
            self._use("model", car.line, car.model, at("car", "model"))
            self._use("phase", car.line, car.phase, at("car", "phase"))
            if car.market is not None:
                self._use("market", car.line, car.market, at("car", "market"))
        if not self.book.any_broken("line"):
            self._listed("equipment", "", car.equipment, at("car", "equipment"))
            self._listed("equipment", "", car.without, at("car", "without"))
        for module in {**car.software, **car.parts}:
            self._file("module", module, at("car", "modules", module))
        for key, held in (("found", report.found), ("left", report.left)):
            for name, text in held.items():
                self._held(RecordPath.parse(name), text, at(key, name))

    def _held(self, path: RecordPath, text: str, origin: Origin) -> None:
        self._record(str(path.bare), origin)
        places = self.book.places(path.module)
        if not self.places_known:
            pass
        elif path.place is not None:
            self._use("place", path.module, path.place, origin, f"{path.module}@{{}}/{path.record}")
        elif places:
            self.whole.append(
                Problem(
                    origin,
                    f"module {path.module} is fitted more than once",
                    f"name the place: {path.module}@{sorted(places)[0]}/{path.record}",
                )
            )
        record = self.book.record(path)
        if record is not None and record.names_only:
            try:
                said = parse_names([setting.id for setting in record.settings], text)
            except HeldProblem:
                return  # the rules on reports say so
            for setting, value in said.items():
                self._value(SettingPath(path.module, path.record, setting), value, origin)

    # kinds of names

    def _listed(self, what: str, scope: str, names: tuple[str, ...], origin: Origin) -> None:
        for index, name in enumerate(names):
            self._use(what, scope, name, origin.at(index))

    def _own(self, what: str, name: str, known: Collection[str], origin: Origin) -> bool:
        """A name that must be among a few that this recipe has."""
        if name not in known:
            self.whole.append(Problem(origin, f"{name} is no {what}", write_near(what, name, known)))
        return name in known

    def _file(self, kind: str, name: str, origin: Origin) -> None:
        known = self.book.lines if kind == "line" else self.book.modules
        self.whole += named_file(self.book, kind, name, origin, known)

    def _record(self, path: str, origin: Origin) -> None:
        module, _, record = path.partition("/")
        if module in self.book.modules:
            self._use("record", module, record, origin, f"{module}/{{}}")
        else:
            self._file("module", module, origin)

    def _setting(self, path: str, origin: Origin) -> None:
        record, _, setting = path.rpartition("/")
        if self.book.record(RecordPath.parse(record)) is None:
            self._record(record, origin)
        else:
            self._use("setting", record, setting, origin, f"{record}/{{}}")

    def _value(self, path: SettingPath, words: str, origin: Origin) -> None:
        """Words that name a value; numbers and texts are no names."""
        setting = self.book.setting(path)
        if setting is None:
            return
        kind = setting.kind
        if isinstance(kind, Choices) or (
            isinstance(kind, Number) and kind.special and not _NUMBER.match(words)
        ):
            self._use("value", str(path), words, origin)

    def _condition(self, condition: Condition | None, own_record: str = "") -> None:
        """``own_record``: that of the layout whose condition this is, which need not be named."""
        for leaf in leaves(condition) if condition is not None else ():
            at = leaf.origin.at
            match leaf:
                case Vehicle():
                    self._file("line", leaf.line, at("line"))
                    if leaf.line in self.book.lines:
                        for key in ("models", "phases", "markets"):
                            self._listed(key[:-1], leaf.line, getattr(leaf, key), at(key))
                case Equipped():
                    if not self.book.any_broken("line"):
                        self._use("equipment", "", leaf.item, at("equipped"))
                case Software():
                    self._file("module", leaf.module, at("software"))
                case PartNumber():
                    self._file("module", leaf.module, at("part"))
                case Holds(record=record) if record != own_record:
                    self._record(leaf.record, at("holds", "record"))
                case SettingIs():
                    self._setting(leaf.setting, at("setting"))
                    for index, value in enumerate(leaf.values):
                        self._value(SettingPath.parse(leaf.setting), value, at("is", index))


def named_file(book: Book, kind: str, name: str, origin: Origin, known: Collection[str]) -> Iterator[Problem]:
    """A name that stands for a whole file; one that exists but is broken makes this a consequence."""
    what = "vehicle line" if kind == "line" else kind
    cause = book.broken(kind, name)
    if name in known:
        return
    if cause is not None:
        one = (kind, name) in book.loaded.broken
        yield Problem(
            origin,
            f"this could not be checked, because {what} {name} has findings of its own"
            if one
            else f"this could not be checked, because no {what} was found",
            "repair those first" if one else "repair that first",
            because=cause,
        )
    else:
        yield Problem(origin, f"there is no {what} {name}", write_near(what, name, known))


WHY = "A reader would follow a link to nowhere, or a change would silently not be made."
RULES = (
    Rule(
        ID,
        "Every name in a vehicle, module, recipe or report file stands for something.",
        WHY,
        "Write the name that is meant, or add what it stands for.",
        "book",
        names_stand_for_something,
        Stage.NAMES,
        grounds=True,
    ),
)
