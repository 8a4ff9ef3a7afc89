"""What must hold for the work itself: trials come out, every layout has an example, the job runs in order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..book import Book
from ..car.origin import Origin
from ..work.procedure import violations
from ..work.recipes import Recipe
from . import trials
from .base import Problem, Rule, Stage, plainly
from .blame import blame
from .cars import parts

ID = "does-not-come-out"


def trials_come_out(book: Book, recipes: Sequence[Recipe]) -> Iterator[Problem]:
    """Worked examples, and what reports say was found and left, come out through the edits."""
    yield from blame(ID, [trial for recipe in recipes for trial in trials.of_recipe(book, recipe)])


def layouts_have_examples(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Every layout that fits reaches has an example, and no example shows a layout out of reach."""
    reached = {
        (f"{path.module}/{path.record}", layout.id if layout else None)
        for path, layout in book.reached(recipe.id)
    }
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
                    *_condition(record.layout(example.layout)),
                ),
            )


def _condition(layout: object) -> tuple[Origin, ...]:
    fits, origin = getattr(layout, "fits", None), getattr(layout, "origin", None)
    return (origin.at("for"),) if fits is not None and isinstance(origin, Origin) else ()


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
        "Worked examples come out through the edits and go back again, and reports agree with them.",
        "Either the place or the example is wrong, and a reader would write the wrong bytes.",
        "recipes",
        trials_come_out,
        Stage.WORK,
        grounds=True,
    ),
    Rule(
        "layout-without-example",
        "Every layout that a recipe reaches has a worked example.",
        "The arithmetic for those cars would never have been tried.",
        "recipe",
        layouts_have_examples,
        Stage.WORK,
    ),
    Rule(
        "job-out-of-order",
        "The job passes the state machine: noted before written, opened and unlocked, read back, restarted.",
        "Somebody would switch off a module that is being written.",
        "recipe",
        job_is_in_order,
        Stage.WORK,
    ),
)
