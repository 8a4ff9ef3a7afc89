"""What must hold for reports: their cars were made and fit, and they do not contradict themselves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from ..book import Book
from ..car.conditions import Condition, leaves
from ..car.fitting import answer, possible
from ..car.origin import Origin
from ..car.records import RecordPath
from ..car.vehicles import Equipment
from ..car.words import why_not
from ..trust.evidence import known_of
from ..trust.reports import Report, ReportedCar
from ..work.recipes import Recipe
from .ask import conditions_of
from .base import Problem, Rule, Stage
from .blame import Trial, blame, fails
from .facts import about, facts


def cars_were_made(book: Book, recipes: Sequence[Recipe]) -> Iterator[Problem]:
    """Each report's car can have been made as it is described."""
    yield from blame(
        "car-not-made", (trial for recipe in recipes for trial in _remembered(book, "made", recipe, _made))
    )


def cars_fit(book: Book, recipes: Sequence[Recipe]) -> Iterator[Problem]:
    """A recipe cannot have worked on a car that it does not fit."""
    yield from blame(
        "car-does-not-fit", (trial for recipe in recipes for trial in _remembered(book, "fit", recipe, _fit))
    )


def _remembered(
    book: Book, what: str, recipe: Recipe, trials: Callable[[Book, Recipe, Report], Iterator[Trial]]
) -> tuple[Trial, ...]:
    key = (what, recipe.id)
    if key not in book.memo:
        book.memo[key] = tuple(t for report in book.reports(recipe.id) for t in trials(book, recipe, report))
    kept: tuple[Trial, ...] = book.memo[key]
    return kept


def _made(book: Book, recipe: Recipe, report: Report) -> Iterator[Trial]:
    """Fact by fact, so that the finding names the fact that does not go with the others."""
    car, at = report.car, report.origin.at
    line = book.lines.get(car.line)
    model = next((m for m in line.models if m.id == car.model), None) if line else None
    phase = next((p for p in line.phases if p.id == car.phase), None) if line else None
    if line is None or model is None or phase is None:
        return  # said by another rule
    name, variant = f"report {report.id}", (at("car", "phase"), at("car", "model"))
    part = (*variant, *((model.origin.at("phases"),) if model.phases else ()))
    if (car.model, car.phase) not in line.variants():
        reason = f"model {car.model} was not made in phase {car.phase}"
        yield fails(name, part, reason, "look again how to tell the phases and the models")
        return
    yield Trial(name, part)
    bare = ReportedCar(car.line, car.model, car.phase)
    if car.built is not None:
        part = (at("car", "built"), phase.origin.at("built"), at("car", "phase"))
        if possible(known_of(replace(bare, built=car.built)), book.world):
            yield Trial(name, part)
        else:
            reason = f"a car built in {car.built} is not of phase {car.phase}"
            yield fails(name, part, reason, "correct the month or the phase")
    for key, names in (("equipment", car.equipment), ("without", car.without)):
        for item in (each for each in line.equipment if each.id in names):
            part = (at("car", key, names.index(item.id)), *_limits(item, key), *variant)
            known = replace(known_of(bare), equipment={item.id: key == "equipment"})
            if possible(known, book.world):
                yield Trial(name, part)
                continue
            which = "no" if key == "equipment" else "every"
            reason = f"{which} {model.name} of phase {car.phase} has {item.name}"
            yield fails(name, part, reason, "look again how to tell it, or correct the vehicle line's file")
    known = known_of(replace(car, software={}, parts={}))
    for module in sorted({**car.software, **car.parts} if possible(known, book.world) else ()):
        if module not in book.modules:
            continue
        fitted = tuple(f for f in line.fitted if f.module == module)
        part = (
            at("car", "modules", module),
            *conditions_of(*fitted),
            *facts(leaves(book.fitted(module)), report),
        )
        if answer(book.fitted(module), known, book.world).kind != "no":
            yield Trial(name, part)
        else:
            why = _why(book, book.fitted(module), report)
            reason = f"this car has no {book.names.modules[module]}: {why}"
            yield fails(name, part, reason, "correct what is said of the car, or leave the module out")


def _limits(item: Equipment, key: str) -> tuple[Origin, ...]:
    """Where it is written which cars can have an item, or always have it."""
    if key == "without":
        return (item.origin.at("standard"),) if item.standard else ()
    given = (("models", item.models), ("phases", item.phases))
    return tuple(item.origin.at(each) for each, values in given if values)


def _fit(book: Book, recipe: Recipe, report: Report) -> Iterator[Trial]:
    """With an earlier sheet it may have fitted; and a car that it does not fit may well have refused."""
    known = known_of(report.car)
    earlier = {past.sheet_code for past in book.past_codes(recipe.id)}
    if report.outcome not in ("worked", "partly") or report.sheet_code in earlier:
        return
    if not possible(known, book.world):
        return  # said by another rule
    name, found = f"report {report.id}", answer(recipe.fits, known, book.world)
    because = {fact for condition in found.because for leaf in leaves(condition) for fact in about(leaf)}
    asked = [leaf for leaf in leaves(recipe.fits) if not because or about(leaf) & because]
    part = (*facts(asked, report), *(leaf.origin for leaf in asked))
    if found.kind != "no":
        yield Trial(name, part)
    else:
        reason = f"the recipe does not fit this car: {_why(book, recipe.fits, report)}"
        repair = "correct what is said of the car; if it is right and it worked, widen fits"
        yield fails(name, part, reason, repair)


def _why(book: Book, condition: Condition, report: Report) -> str:
    because = answer(condition, known_of(report.car), book.world).because
    return why_not(because, book.names, report.car.line)


def records_belong(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A report tells of records the recipe writes, and of no others."""
    touched = {change.setting.record_path for change in recipe.changes}
    for report in book.reports(recipe.id):
        for key, held in (("found", report.found), ("left", report.left)):
            for name in held:
                path = RecordPath.parse(name)
                if path.bare not in touched and book.record(path) is not None:
                    yield Problem(
                        report.origin.at(key, name),
                        f"the recipe does not touch record {path.bare}",
                        "leave it out, or report under the recipe that does",
                    )
        for name in report.left:
            if name not in report.found and report.found:
                yield Problem(
                    report.origin.at("left", name),
                    f"nothing says how {name} was found",
                    "add what was found, or leave this out",
                    also=(report.origin.at("found"),),
                )


def examples_come_from_reports(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """An example read on a car shows what that car's report says was found."""
    reports = {report.id: report for report in book.reports(recipe.id)}
    for example in recipe.worked_examples:
        report = reports.get(example.read_on)
        if report is None:
            continue
        path = example.record.bare
        names = [name for name in report.found if RecordPath.parse(name).bare == path]
        if example.found not in {report.found[name] for name in names}:
            yield Problem(
                example.origin.at("found"),
                f"report {report.id} does not say that {path} held {example.found}",
                "copy what the report says was found, or write read_on: made-up",
                also=(
                    example.origin.at("read_on"),
                    *(report.origin.at("found", name) for name in names or report.found),
                ),
            )


def names_tell(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A report is called by who reports and in which month it was done."""
    for report in book.reports(recipe.id):
        named = f"{report.by}-{report.date[:7]}"
        if report.id != named and not report.id.startswith(f"{named}-"):
            wrong = "by" if not report.id.startswith(f"{report.by}-") else "date"
            yield Problem(
                report.origin.at(wrong),
                f"the report is called {report.id}, but it is by {report.by} and of {report.date[:7]}",
                f"correct this, or call the report {named} and its file {named}.yml",
                also=(report.origin.at("report"),),
            )


RULES = (
    Rule(
        "report-badly-named",
        "A report is called by who reports and in which month it was done.",
        "One member's report would be taken for another's.",
        "Call the report handle-year-month, as its author and day say.",
        "recipe",
        names_tell,
        Stage.NAMES,
    ),
    Rule(
        "car-not-made",
        "The car of each report can have been made as it is described.",
        "A misreading would count as evidence.",
        "Look again how to tell model, phase and equipment; else correct the vehicle line's file.",
        "recipes",
        cars_were_made,
        Stage.SHAPE,
        grounds=True,
    ),
    Rule(
        "record-not-touched",
        "A report tells of records that the recipe writes, as they were found and left.",
        "Bytes of another job would count as evidence.",
        "Leave the record out, or report under the recipe that writes it.",
        "recipe",
        records_belong,
        Stage.CARS,
    ),
    Rule(
        "car-does-not-fit",
        "Where the present sheet is said to have worked, the car is one that fits.",
        "Either something was misread, or the recipe fits more cars than it says.",
        "Correct what is said of the car. If it is right and the recipe worked, widen fits.",
        "recipes",
        cars_fit,
        Stage.EVIDENCE,
        grounds=True,
    ),
    Rule(
        "example-not-in-report",
        "A worked example read on a car shows what that report found.",
        "Made-up bytes would pass for read ones.",
        "Copy what the report says was found, or write read_on: made-up.",
        "recipe",
        examples_come_from_reports,
        Stage.EVIDENCE,
    ),
)
