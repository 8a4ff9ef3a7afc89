"""What must hold for the work itself: examples come out, every layout has one, the job runs in order."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.origin import Origin
from ..car.records import Layout, RecordPath
from ..work.compiled import EditProblem
from ..work.examples import run_example
from ..work.procedure import violations
from ..work.recipes import Recipe, WorkedExample
from .base import Problem, Rule


def examples_come_out(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Each worked example goes through the edits and back."""
    for example in recipe.worked_examples:
        record = book.record(example.record)
        if record is None or (example.layout is None) != record.names_only:
            continue  # said by other rules
        layout = record.layout(example.layout) if example.layout else None
        if example.layout is not None and layout is None:
            continue
        try:
            result = run_example(recipe, example, book.modules, book.forms(recipe.id))
        except EditProblem:
            continue  # the changes themselves are at fault
        if not result.ok:
            yield Problem(
                example.origin.at("write"),
                result.message,
                result.repair,
                also=(example.origin.at("found"), *_could_be_wrong(book, recipe, example, layout)),
            )


def _could_be_wrong(
    book: Book, recipe: Recipe, example: WorkedExample, layout: Layout | None
) -> Iterator[Origin]:
    """Whatever else the example hangs on: places, stored values, checksum, the changes themselves."""
    if layout is not None and layout.checksum is not None:
        yield layout.origin.at("checksum")
    for change in recipe.changes:
        if change.setting.record_path != RecordPath(example.record.module, example.record.record):
            continue
        if layout is not None and change.setting.setting in layout.places:
            yield layout.origin.at("places", change.setting.setting)
        if setting := book.setting(change.setting):
            yield setting.origin
        yield change.origin


def layouts_have_examples(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Every layout that fits reaches has an example, and no example shows a layout out of reach."""
    reached = {
        (f"{path.module}/{path.record}", layout.id if layout else None)
        for path, layout in book.reached(recipe.id)
    }
    shown = {(str(example.record), example.layout) for example in recipe.worked_examples}
    for record, layout in sorted(reached - shown, key=str):
        of = f"layout {layout} of {record}" if layout else record
        yield Problem(
            recipe.origin.at("worked_examples") if recipe.worked_examples else recipe.origin.at("changes"),
            f"no worked example shows {of}, which fitting cars have",
            "add one: a record as found and what must be written",
        )
    for example in recipe.worked_examples:
        record = book.record(example.record)
        if record is None or (str(example.record), example.layout) in reached:
            continue
        if example.layout is None and not record.names_only:
            yield Problem(
                example.origin.at("record"),
                f"the example does not say which layout of {example.record} it shows",
                f"add layout: {', '.join(sorted(x.id for x in record.layouts))}",
            )
        elif example.layout is not None and record.layout(example.layout):
            yield Problem(
                example.origin.at("layout"),
                f"no car that fits has layout {example.layout} of {example.record}",
                "remove the example, or widen fits",
                also=(recipe.origin.at("fits"),),
            )


def job_is_in_order(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The whole job, for every way it can run, passes the state machine."""
    seen: set[tuple[object, str]] = set()
    for operations in book.frames(recipe.id):
        for violation in violations(operations):
            key = (violation.origin, violation.message)
            if key not in seen:
                seen.add(key)
                yield Problem(violation.origin, violation.message, violation.repair)


RULES = (
    Rule(
        "example-does-not-come-out",
        "Each worked example comes out through the edits and goes back again.",
        "Either the place or the example is wrong, and a reader would write the wrong bytes.",
        "recipe",
        examples_come_out,
    ),
    Rule(
        "layout-without-example",
        "Every layout that a recipe reaches has a worked example.",
        "The arithmetic for those cars would never have been tried.",
        "recipe",
        layouts_have_examples,
    ),
    Rule(
        "job-out-of-order",
        "The job passes the state machine: noted before written, opened and unlocked, read back, restarted.",
        "Somebody would switch off a module that is being written.",
        "recipe",
        job_is_in_order,
    ),
)
