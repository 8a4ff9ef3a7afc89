"""Every name that stands for something else must stand for something that is there."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator

from ..book import Book
from ..car.conditions import Condition, Equipped, Holds, PartNumber, SettingIs, Software, Vehicle, leaves
from ..car.origin import Origin
from ..car.records import Module, RecordPath, SettingPath
from ..car.vehicles import VehicleLine
from ..work.recipes import Recipe
from .ask import value_problem
from .base import Problem, Rule


def _known(origin: Origin, what: str, name: str, known: Collection[str]) -> Iterator[Problem]:
    """A problem unless ``name`` is among ``known``; proposes the nearest known name."""
    if name in known:
        return
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.6)
    if near:
        repair = f"write {near[0]}"
    elif known:
        listed = sorted(known)
        more = f" and {len(listed) - 8} more" if len(listed) > 8 else ""
        repair = f"write one of: {', '.join(listed[:8])}{more}"
    else:
        repair = f"remove it; there is no {what} here"
    yield Problem(origin, f"there is no {what} {name}", repair)


def _whole(book: Book, origin: Origin, kind: str, name: str, known: Collection[str]) -> Iterator[Problem]:
    """A name that stands for a whole file; one that exists but is broken makes this a consequence."""
    cause = book.broken(kind, name)
    what = "vehicle line" if kind == "line" else kind
    if cause is not None and name not in known:
        yield Problem(
            origin,
            f"this could not be checked, because {what} {name} has findings of its own",
            "repair those first",
            because=cause,
        )
    else:
        yield from _known(origin, what, name, known)


def _module(book: Book, origin: Origin, name: str) -> Iterator[Problem]:
    yield from _whole(book, origin, "module", name, book.modules)


def _record(book: Book, origin: Origin, path: RecordPath) -> Iterator[Problem]:
    module = book.modules.get(path.module)
    if module is None:
        yield from _module(book, origin, path.module)
    else:
        known = {f"{module.id}/{r.id}" for r in module.records}
        yield from _known(origin, "record", f"{path.module}/{path.record}", known)


def _setting(book: Book, origin: Origin, path: SettingPath) -> Iterator[Problem]:
    record = book.record(path.record_path)
    if record is None:
        yield from _record(book, origin, path.record_path)
    else:
        known = {f"{path.module}/{path.record}/{s.id}" for s in record.settings}
        yield from _known(origin, "setting", str(path), known)


def _line(book: Book, origin: Origin, name: str) -> Iterator[Problem]:
    yield from _whole(book, origin, "line", name, book.lines)


def _recipe(book: Book, origin: Origin, name: str) -> Iterator[Problem]:
    yield from _whole(book, origin, "recipe", name, book.recipes)


def _equipment(book: Book, origin: Origin, name: str) -> Iterator[Problem]:
    if not book.any_broken("line"):
        yield from _known(
            origin, "equipment", name, {e.id for line in book.lines.values() for e in line.equipment}
        )


def _condition(book: Book, condition: Condition | None) -> Iterator[Problem]:
    for leaf in leaves(condition) if condition is not None else ():
        match leaf:
            case Vehicle():
                line = book.lines.get(leaf.line)
                if line is None:
                    yield from _line(book, leaf.origin.at("line"), leaf.line)
                    continue
                for key, names, known in (
                    ("models", leaf.models, {m.id for m in line.models}),
                    ("phases", leaf.phases, {p.id for p in line.phases}),
                    ("markets", leaf.markets, {m.id for m in line.markets}),
                ):
                    for index, name in enumerate(names):
                        yield from _known(leaf.origin.at(key, index), key[:-1], name, known)
            case Equipped():
                yield from _equipment(book, leaf.origin.at("equipped"), leaf.item)
            case Software():
                yield from _module(book, leaf.origin.at("software"), leaf.module)
            case PartNumber():
                yield from _module(book, leaf.origin.at("part"), leaf.module)
            case Holds():
                yield from _record(book, leaf.origin.at("holds", "record"), RecordPath.parse(leaf.record))
            case SettingIs():
                path = SettingPath.parse(leaf.setting)
                yield from _setting(book, leaf.origin.at("setting"), path)
                if setting := book.setting(path):
                    for index, value in enumerate(leaf.values):
                        yield from value_problem(setting, value, leaf.origin.at("is", index))


def of_line(book: Book, line: VehicleLine) -> Iterator[Problem]:
    """Names in a vehicle line's file."""
    models, phases = {m.id for m in line.models}, {p.id for p in line.phases}
    for model in line.models:
        for index, phase in enumerate(model.phases):
            yield from _known(model.origin.at("phases", index), "phase", phase, phases)
    for item in line.equipment:
        for index, name in enumerate(item.models):
            yield from _known(item.origin.at("models", index), "model", name, models)
        for index, name in enumerate(item.phases):
            yield from _known(item.origin.at("phases", index), "phase", name, phases)
        for index, (model_id, phase_id) in enumerate(item.standard):
            if model_id is not None:
                yield from _known(item.origin.at("standard", index, "model"), "model", model_id, models)
            if phase_id is not None:
                yield from _known(item.origin.at("standard", index, "phase"), "phase", phase_id, phases)
    for fitted in line.fitted:
        yield from _module(book, fitted.origin.at("module"), fitted.module)
        yield from _condition(book, fitted.fits)


def of_module(book: Book, module: Module) -> Iterator[Problem]:
    """Names in a module's file."""
    for record in module.records:
        known = {s.id for s in record.settings}
        for layout in record.layouts:
            yield from _condition(book, layout.fits)
            for setting in layout.places:
                yield from _known(layout.origin.at("places", setting), "setting", setting, known)


def of_recipe(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Names in a recipe's file."""
    at = recipe.origin.at
    yield from _condition(book, recipe.fits)
    changed = {str(change.setting) for change in recipe.changes}
    for change in recipe.changes:
        yield from _setting(book, change.origin.at("setting"), change.setting)
        yield from _condition(book, change.fits)
        if change.place is not None:
            yield from _known(
                change.origin.at("place"), "place", change.place, book.places(change.setting.module)
            )
    for alternative in recipe.alternatives:
        yield from _known(
            alternative.origin.at("setting"), "changed setting", str(alternative.setting), changed
        )
    if recipe.media:
        yield from _module(book, recipe.media.origin.at("module"), recipe.media.module)
    of_the_job = {c.setting.module for c in recipe.changes} | (
        {recipe.media.module} if recipe.media else set()
    )
    declared = {picture.file for picture in recipe.pictures}
    for step in recipe.steps:
        if step.module is not None:
            yield from _known(step.origin.at("module"), "module in this job", step.module, of_the_job)
        if step.picture is not None:
            yield from _known(step.origin.at("picture"), "declared picture", step.picture, declared)
    for key, names in (("needs", recipe.needs), ("replaces", recipe.replaces)):
        for index, name in enumerate(names):
            yield from _recipe(book, at(key, index), name)
    for clash in recipe.clashes:
        yield from _recipe(book, clash.origin.at("recipe"), clash.recipe)
    if recipe.withdrawn and recipe.withdrawn.instead is not None:
        yield from _recipe(book, at("withdrawn", "instead"), recipe.withdrawn.instead)
    reports = {report.id for report in book.reports(recipe.id)} | {"made-up"}
    records = {str(change.setting.record_path) for change in recipe.changes}
    for example in recipe.worked_examples:
        yield from _known(
            example.origin.at("record"), "record changed by this recipe", str(example.record), records
        )
        record = book.record(example.record)
        if record and example.layout is not None:
            yield from _known(
                example.origin.at("layout"), "layout", example.layout, {x.id for x in record.layouts}
            )
        if not book.any_broken("report"):
            yield from _known(example.origin.at("read_on"), "report", example.read_on, reports)
        for setting, _ in example.choose:
            yield from _known(
                example.origin.at("choose", str(setting)), "changed setting", str(setting), changed
            )


def of_reports(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Names in a recipe's reports."""
    for report in book.reports(recipe.id):
        car, at = report.car, report.origin.at
        line = book.lines.get(car.line)
        if line is None:
            yield from _line(book, at("car", "line"), car.line)
            continue
        yield from _known(at("car", "model"), "model", car.model, {m.id for m in line.models})
        yield from _known(at("car", "phase"), "phase", car.phase, {p.id for p in line.phases})
        if car.market is not None:
            yield from _known(at("car", "market"), "market", car.market, {m.id for m in line.markets})
        items = {e.id for e in line.equipment}
        for key, names in (("equipment", car.equipment), ("without", car.without)):
            for index, name in enumerate(names):
                yield from _known(at("car", key, index), "equipment", name, items)
        for module in {**car.software, **car.parts}:
            yield from _module(book, at("car", "modules", module), module)
        for key, held in (("found", report.found), ("left", report.left)):
            for name in held:
                path = RecordPath.parse(name)
                yield from _record(book, at(key, name), path)
                places = book.places(path.module)
                if path.place is not None:
                    yield from _known(at(key, name), "place", path.place, places)
                elif places:
                    yield Problem(
                        at(key, name),
                        f"module {path.module} is fitted more than once",
                        f"name the place: {path.module}@{sorted(places)[0]}/{path.record}",
                    )


WHY = "A reader would follow a link to nowhere, or a change would silently not be made."
RULES = (
    Rule("unknown-name", "Every name in a vehicle file stands for something.", WHY, "line", of_line),
    Rule("unknown-name", "Every name in a module file stands for something.", WHY, "module", of_module),
    Rule("unknown-name", "Every name in a recipe stands for something.", WHY, "recipe", of_recipe),
    Rule("unknown-name", "Every name in a report stands for something.", WHY, "recipe", of_reports),
)
