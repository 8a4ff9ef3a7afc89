"""A recipe's records: one table for each record, layout and set of changes, and the worked examples."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from ...car.conditions import Any
from ...car.phrases import lower_first
from ...car.records import Layout, Record, RecordPath
from ...car.words import look
from ...speech import gettext
from ...work.compiled import Edit, NamesEdit
from ...work.examples import run_example
from ...work.forms import Form, variants
from ...work.recipes import Change, Recipe, WorkedExample
from ..speech import if_words
from ..words import list_words, sentence
from .changes import Heading, RecordTable, edit_table, names_table
from .desk import Desk
from .examples import Example, worked, worked_names


def record_tables(desk: Desk, recipe: Recipe) -> tuple[RecordTable, ...]:
    """In the order in which the job reaches them."""
    book = desk.book
    forms, reached = book.forms(recipe.id), book.reached(recipe.id)
    compiled = iter(book.edits(recipe.id))  # in the order of `reached` and `variants`
    layouts: dict[RecordPath, int] = {}
    for path, _ in reached:
        layouts[path] = layouts.get(path, 0) + 1
    tables = []
    for path, layout in reached:
        record = book.record(path)
        if record is None:
            continue
        sets = variants(forms, path, layout.id if layout else None)
        for at, changes in enumerate(sets, 1):
            edit = next(compiled)
            heading = _heading(
                desk, path, record, layout, layouts[path] > 1, forms, changes, at if len(sets) > 1 else 0
            )
            tables.append(_table(desk, edit, record, layout, changes, heading))
    return tuple(tables)


def _table(
    desk: Desk,
    edit: Edit | NamesEdit,
    record: Record,
    layout: Layout | None,
    changes: Sequence[Change],
    heading: Heading,
) -> RecordTable:
    by_setting = {change.setting: change for change in changes}
    when = {c.setting: if_words(c.fits, desk.names) for c in changes if c.fits is not None}
    if isinstance(edit, NamesEdit) or layout is None:
        assert isinstance(edit, NamesEdit)
        return names_table(edit, by_setting, when, heading)
    return edit_table(edit, record, layout, by_setting, when, heading)


def _heading(
    desk: Desk,
    path: RecordPath,
    record: Record,
    layout: Layout | None,
    several: bool,
    forms: Iterable[Form],
    changes: tuple[Change, ...],
    number: int,
) -> Heading:
    id = "-".join(
        (
            "record",
            path.module,
            path.record,
            *((layout.id,) if layout else ()),
            *((str(number),) if number else ()),
        )
    )
    places = list(
        dict.fromkeys(
            one.path.place
            for form in forms
            for one in form.records
            if (one.path.module, one.path.record, one.changes) == (path.module, path.record, changes)
            and one.path.place
        )
    )
    only = places[0] if number and len(places) == 1 else None  # other changes are made in other places
    title = f"{desk.unit(path.module, only)}: {record.name}"
    if several and layout is not None:
        title = gettext("{title} (layout {id})", title=title, id=layout.id)
    when = []
    if layout is not None and layout.fits is not None:
        when.append(
            sentence(
                gettext("Your car has this layout {condition}", condition=if_words(layout.fits, desk.names))
            )
        )
    if number:
        of = [
            form.condition
            for form in forms
            if any(
                (r.path.module, r.path.record, r.changes) == (path.module, path.record, changes)
                for r in form.records
            )
        ]
        when.append(
            sentence(
                gettext(
                    "These changes are made {condition}",
                    condition=if_words(desk.simplest(Any(tuple(of))), desk.names),
                )
            )
        )
    if places and not only:
        names = [desk.places.get((path.module, place), (place, None))[0] for place in places]
        where = list_words(names)
        when.append(
            gettext("Written in: {places}, each on its own.", places=where)
            if len(names) > 1
            else gettext("Written in: {places}.", places=where)
        )
    how = look(layout.fits, desk.names) if layout is not None and layout.fits is not None else ()
    return Heading(id, title, " ".join(when), how, _detail(record))


def _detail(record: Record) -> str:
    if record.takes_effect == "at-once":
        acts = gettext("What is written acts at once.")
    else:
        acts = gettext("What is written acts after the restart.")
    if record.identifier is None:
        return acts
    if isinstance(record.identifier, int):
        kept = gettext("The module keeps it as its record number {identifier}", identifier=record.identifier)
    else:
        kept = gettext("The module keeps it under identifier {identifier}", identifier=record.identifier)
    return f"{kept}; {lower_first(acts)}"


def examples(desk: Desk, recipe: Recipe) -> tuple[Example, ...]:
    """The worked examples, step by step."""
    book = desk.book
    out = []
    called: Counter[str] = Counter()
    for at, example in enumerate(recipe.worked_examples, 1):
        record = book.record(example.record)
        if record is None:
            continue
        edit = _edit_of(desk, recipe, example)
        layout = record.layout(example.layout) if example.layout else None
        title = f"{record.name}, {desk.unit(example.record.module, example.record.place)}"
        if layout is not None and len(record.layouts) > 1:
            title = gettext("{title} (layout {id})", title=title, id=layout.id)
        called[title] += 1
        if called[title] > 1:
            title = gettext("{title}, example {n}", title=title, n=called[title])
        if isinstance(edit, Edit) and layout is not None:
            out.append(worked(example, edit, record, layout, f"example-{at}", title))
        elif isinstance(edit, NamesEdit):
            out.append(worked_names(example, edit, f"example-{at}", title))
    return tuple(out)


def _edit_of(desk: Desk, recipe: Recipe, example: WorkedExample) -> Edit | NamesEdit | None:
    """What a worked example shows: compiled already where there is no choice, else as the rules run it."""
    book = desk.book
    if not example.choose:
        spot = (example.record.module, example.record.record, example.layout)
        candidates = [edit for edit in book.edits(recipe.id) if _spot(edit) == spot]
        if len(candidates) == 1:
            return candidates[0]
    return run_example(recipe, example, book.modules, book.forms(recipe.id)).edit


def _spot(edit: Edit | NamesEdit) -> tuple[str, str, str | None]:
    return edit.record.module, edit.record.record, edit.layout if isinstance(edit, Edit) else None
