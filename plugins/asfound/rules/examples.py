"""What must hold for the work itself: trials come out, every layout has an example, the job runs in order."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from ..book import Book
from ..car.origin import Origin
from ..car.records import Layout, RecordPath
from ..source.findings import plainly
from ..work.compiled import compile_edit, wanted
from ..work.examples import run_example
from ..work.forms import variants
from ..work.procedure import violations
from ..work.recipes import Ask, Change, Recipe
from .ask import conditions_of
from .base import Problem, Rule, Stage
from .blame import Trial, blame
from .cars import parts
from .reported import of_reports
from .trials import of_examples

ID = "does-not-come-out"


def trials_come_out(book: Book, recipes: Sequence[Recipe]) -> Iterator[Problem]:
    """Worked examples, and what reports say was found and left, come out through the edits."""
    yield from blame(ID, [trial for recipe in recipes for trial in _trials(book, recipe)])


def _trials(book: Book, recipe: Recipe) -> tuple[Trial, ...]:
    """All trials of a recipe, in its examples and in its reports; worked out once for each book."""
    key = ("trials", recipe.id)
    if key not in book.memo:
        book.memo[key] = (*of_examples(book, recipe), *of_reports(book, recipe))
    trials: tuple[Trial, ...] = book.memo[key]
    return trials


def layouts_have_examples(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Every layout that fits reaches has an example, and no example shows a layout out of reach."""
    reached = {(str(path.bare), layout.id if layout else None) for path, layout in book.reached(recipe.id)}
    shown = {(str(example.record), example.layout) for example in recipe.worked_examples}
    unsaid = {
        record for record, layout in shown if layout is None and (record, None) not in reached
    }  # said below
    for path, layout in sorted(reached - shown, key=str):
        if path in unsaid:
            continue
        of = f"layout {layout} of {path}" if layout else path
        yield Problem(
            recipe.origin.at("worked_examples") if recipe.worked_examples else recipe.origin.at("changes"),
            f"no worked example shows {of}, which fitting cars have",
            "add one: a record as found and what must be written",
            also=parts(recipe.fits, recipe.origin.at("fits")),
        )
    for example in recipe.worked_examples:
        record = book.record(example.record)
        if record is None or (str(example.record), example.layout) in reached:
            continue
        if example.layout is None and not record.names_only:
            yield Problem(
                example.origin,
                f"the example does not say which layout of {example.record} it shows",
                f"add layout: {', '.join(sorted(x.id for x in record.layouts))}",
            )
        elif example.layout is not None:
            yield Problem(
                example.origin.at("layout"),
                f"no car that fits has layout {example.layout} of {example.record}",
                "remove the example, or widen fits",
                also=(
                    *parts(recipe.fits, recipe.origin.at("fits")),
                    *conditions_of(*(x for x in record.layouts if x.id == example.layout)),
                ),
            )


def every_way_has_an_example(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Where cars of one layout are changed in different ways, some example shows each."""
    for path, layout in book.reached(recipe.id):
        ways = variants(book.forms(recipe.id), path, layout.id if layout else None)
        examples = [
            example
            for example in recipe.worked_examples
            if str(example.record) == str(path) and example.layout == (layout.id if layout else None)
        ]
        if len(ways) < 2 or not examples:
            continue  # one way, or said above
        does = {way: _does(book, path, layout, way) for way in ways}
        shown: set[object] = set()
        for example in examples:
            comes_out = {
                does[way]
                for way in ways
                if run_example(dataclasses.replace(recipe, changes=way), example, book.modules).ok
            }
            if not comes_out:
                return  # said above
            shown |= comes_out
        for way in ways:
            if does[way] not in shown:
                shown.add(does[way])
                of = f"layout {layout.id} of {path}" if layout else str(path)
                to = " and ".join(f"{change.setting.setting} at {wanted(change, {})}" for change in way)
                yield Problem(
                    recipe.origin.at("worked_examples"),
                    f"no worked example shows {of} with {to}, as some fitting cars get it",
                    "add one, or let all cars of this layout be changed alike",
                    also=tuple(change.origin.at(key) for change in way for key in ("to", "from")),
                )


def _does(book: Book, path: RecordPath, layout: Layout | None, way: tuple[Change, ...]) -> object:
    """What a set of changes does to a record, whatever its reader chooses."""
    record = book.record(path)
    assert record is not None
    if layout is None:
        return frozenset((c.setting, c.before, None if isinstance(c.to, Ask) else c.to) for c in way)
    edit = compile_edit(record, path, layout, way)
    return frozenset((one.place, one.before_raw, None if one.asked else one.to_raw) for one in edit.fields)


def job_is_in_order(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The whole job, for every way it can run, passes the state machine."""
    seen: set[tuple[object, str]] = set()
    for operations in book.frames(recipe.id):
        for violation in violations(operations):
            if (violation.origin, violation.message) not in seen:
                seen.add((violation.origin, violation.message))
                origin = violation.origin
                also: tuple[Origin, ...] = ()
                if origin.path[:1] == ("steps",):  # the moment is what orders a step
                    origin, also = origin.at("at"), tuple(origin.at(key) for key in ("module", "power"))
                yield Problem(origin, plainly(violation.message), plainly(violation.repair), also)


RULES = (
    Rule(
        ID,
        "Worked examples come out as the recipe works, go back again, and agree with the reports.",
        "Either the place or the example is wrong, and a reader would write the wrong bytes.",
        "Correct found or write, or the place, whichever is wrong; only you can tell.",
        "recipes",
        trials_come_out,
        Stage.WORK,
        grounds=True,
    ),
    Rule(
        "layout-without-example",
        "Every layout that a recipe reaches has a worked example.",
        "The arithmetic for those cars would never have been tried.",
        "Add an example: a record of that layout as found, and what must be written.",
        "recipe",
        layouts_have_examples,
        Stage.WORK,
    ),
    Rule(
        "way-without-example",
        "Every way in which cars of one layout are changed has a worked example.",
        "The arithmetic for those cars would never have been tried.",
        "Add an example of that way, or let all cars of the layout be changed alike.",
        "recipe",
        every_way_has_an_example,
        Stage.WORK,
    ),
    Rule(
        "job-out-of-order",
        "The job runs in order: noted before it is written, opened and unlocked, read back, restarted.",
        "Somebody would switch off a module that is being written.",
        "Choose another moment for the step, or leave it out.",
        "recipe",
        job_is_in_order,
        Stage.WORK,
    ),
)
