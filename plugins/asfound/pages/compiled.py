"""The book as plain data: what the reader's tools in the page are given, and nothing else.

Four documents, each a pure function of the book, so that pages can load only what they need: ``world`` (the
vehicle lines and the club), ``index`` (every recipe in one line, for lists and the planner), ``module`` and
``recipe``. All heavy work is done here: forms enumerated, edits compiled, the frame of each job generated.

Rules of the form, for whoever reads it in another language:

- Keys with nothing to say are left out: ``null``, false, and empty lists, texts and maps never occur, except
  where a list has fixed places.
- Ordered things are lists with an ``id`` inside, since a map with keys such as "2" has no order everywhere.
- Numbers that can be long (raw values, factors, limits) are decimal text, exact; small counts are numbers.
- Bytes are hex pairs with single spaces, as everywhere in asfound. Masks and bits too.
- A place is a list of parts ``[byte, lowest bit, highest bit]``, the most significant part first.
- A condition is written as in the files (``common.schema.json#/$defs/condition``): ``all``, ``any``, ``not``
  or one leaf. ``{"all": []}`` is always true, ``{"any": []}`` never. A ``for`` left out means all cars.
- A module is ``module``, or ``module@place`` where it is fitted more than once; its records likewise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from ..book import Book
from ..car import functions
from ..car.bits import hex_pairs
from ..trust.canonical import spell
from ..work import wording
from ..work.compiled import Edit, EditProblem, NamesEdit, compile_edit, compile_names
from ..work.forms import Form, RecordForm
from ..work.operations import Operation
from ..work.recipes import Ask, Change, Media, PowerState, Recipe
from .compiled_car import (
    Object,
    checksum,
    condition,
    layout,
    lean,
    line,
    months,
    of_module,
    place,
    record,
    setting,
)

__all__ = [
    "Object", "checksum", "condition", "edit", "index", "layout", "line", "module", "modules_of", "months",
    "of_module", "operation", "place", "recipe", "record", "setting", "world",
]  # fmt: skip

POWER: tuple[PowerState, ...] = ("key-off", "key-on", "engine-running")


def world(book: Book) -> Object:
    """The vehicle lines, the club's times, and the sentences for turning the key."""
    times = book.club.times
    return {
        "club": book.club.id,
        "times": {
            "faults": times.faults,
            "module": times.module,
            "record": times.record,
            "check": times.check,
        },
        "long_key_on": book.club.long_key_on,
        "lines": [line(one) for one in book.lines.values()],
        "modules": [{"id": one.id, "name": one.name} for one in book.modules.values()],
        "key": [[before, after, wording.key(before, after)] for before in (None, *POWER) for after in POWER],
    }


def by_wish(book: Book) -> list[Recipe]:
    """By what annoyed somebody, or else by title, withdrawn ones last: the order of every long list."""

    def place(one: Recipe) -> tuple[bool, str, str]:
        return one.status == "withdrawn", (one.annoyance or one.title).casefold(), one.id

    return sorted(book.recipes.values(), key=place)


def index(book: Book, labels: Mapping[str, tuple[str, str]] = MappingProxyType({})) -> Object:
    """Every recipe in one row: id, title, its label, condition, modules and functions, these four by number.

    In the order of ``by_wish``.
    What they are numbers of stands once each: ``labels`` (kind and words; ``labels`` here gives them by
    recipe), ``conditions``, ``modules`` (id and name), ``functions`` (id and words).
    """
    conditions: dict[bytes, tuple[int, Object]] = {}
    marks: dict[tuple[str, str], int] = {}
    modules: dict[str, int] = {}
    acts: dict[str, int] = {}
    rows = []
    for one in by_wish(book):
        fits = condition(one.fits)
        number, _ = conditions.setdefault(spell(fits), (len(conditions), fits))
        mark = marks.setdefault(labels.get(one.id, (one.status, one.status.upper())), len(marks))
        touched = [modules.setdefault(name, len(modules)) for name in modules_of(one)]
        acted = [acts.setdefault(name, len(acts)) for name in book.functions(one.id)]
        rows.append([one.id, one.title, mark, number, touched, acted])
    return {
        "labels": [list(mark) for mark in marks],
        "conditions": [fits for _, fits in conditions.values()],
        "modules": [[name, book.modules[name].name if name in book.modules else name] for name in modules],
        "functions": [[name, functions.words(name)] for name in acts],
        "recipes": rows,
    }


def module(book: Book, module_id: str) -> Object:
    """A module with all its records, settings and layouts. KeyError for an unknown one."""
    return of_module(book.modules[module_id])


def recipe(book: Book, recipe_id: str) -> Object:
    """A recipe: when it fits, its forms with their jobs, its edits, its codes. KeyError for an unknown one.

    ``changes`` are numbered by their place in the list; forms and edits name them so. ``edits`` has one
    entry for each record (without place), layout and set of changes that some form makes; a change the
    reader chooses the value of is compiled with what the author suggests. A recipe whose changes cannot be
    compiled has ``broken`` instead of codes and edits.
    """
    one = book.recipes[recipe_id]
    changes = {change: number for number, change in enumerate(one.changes)}
    ways = book.forms(recipe_id)
    out: Object = {
        "id": one.id,
        "title": one.title,
        "status": one.status,
        "fits": condition(one.fits),
        "changes": [_change(change) for change in one.changes],
        "alternatives": [{"setting": str(a.setting), "to": a.to, "does": a.does} for a in one.alternatives],
        "forms": [
            {**_form(way, changes), "job": [operation(o) for o in frame]}
            for way, frame in zip(ways, book.frames(recipe_id), strict=True)
        ],
        "modules": list(modules_of(one)),
        "needs": list(one.needs),
        "clashes": [{"recipe": c.recipe, "because": c.because} for c in one.clashes],
        "replaces": list(one.replaces),
        "alone": one.alone,
        "media": _media(one.media) if one.media else None,
        "faults": [{"code": f.code, "when": f.when, "do": f.do} for f in one.faults_to_expect],
        "checks": [{"check": c.check, "expect": c.expect, "power": c.power} for c in one.checks],
        "way_back": one.way_back if isinstance(one.way_back, str) else list(one.way_back),
    }
    try:
        codes = book.codes(recipe_id)
        edits = [
            {"changes": [changes[c] for c in form.changes], **edit(compiled)}
            for form, compiled in _edits(ways)
        ]
        out |= {"code": codes.sheet, "work": dict(codes.work), "edits": edits}
    except EditProblem:
        out["broken"] = True
    return lean(out)


def modules_of(one: Recipe) -> tuple[str, ...]:
    """The modules a recipe touches, each once, in the order of writing."""
    files = [one.media.module] if one.media else []
    return tuple(dict.fromkeys([*(c.setting.module for c in one.changes), *files]))


def edit(one: Edit | NamesEdit) -> Object:
    """A compiled edit.

    By bytes: ``mask`` and ``bits`` never cover the checksum. A field's ``before`` is left out when every
    value with a known meaning will do; ``rounded`` when the wish lies between two values the module can hold;
    ``asked`` when the reader may choose. By names there is neither layout nor mask, and words alone.
    """
    if isinstance(one, NamesEdit):
        return {
            "record": str(one.record),
            "fields": [
                lean(
                    {
                        "setting": f.setting.setting,
                        "before_words": f.before_words,
                        "to_words": f.to_words,
                        "asked": f.asked,
                    }
                )
                for f in one.fields
            ],
        }
    return lean(
        {
            "record": str(one.record),
            "layout": one.layout,
            "length": one.length,
            "mask": hex_pairs(one.mask),
            "bits": hex_pairs(one.bits),
            "checksum": checksum(one.checksum),
            "fields": [
                lean(
                    {
                        "setting": f.setting.setting,
                        "place": place(f.place),
                        "before": None if f.before_raw is None else str(f.before_raw),
                        "before_words": f.before_words,
                        "to": str(f.to_raw),
                        "to_words": f.to_words,
                        "rounded": not f.exact,
                        "asked": f.asked,
                    }
                )
                for f in one.fields
            ],
        }
    )


def operation(one: Operation) -> Object:
    """One operation of a job; ``do`` is its kind, ``of`` the recipe that alone asks for it."""
    where = f"{one.module}@{one.place}" if one.place else one.module
    return lean(
        {
            "do": one.kind,
            "text": one.text,
            "expect": one.expect,
            "else": one.otherwise,
            "module": where,
            "record": str(one.record) if one.record else None,
            "power": one.power,
            "minutes": one.minutes or None,
            "key_on": one.key_on,
            "moment": one.moment,
            "pictured": one.picture is not None,
            "access": one.access,
            "restarts": one.restarts,
            "of": one.recipe,
        }
    )


def _change(one: Change) -> Object:
    ask = {"question": one.to.question, "suggest": one.to.suggest} if isinstance(one.to, Ask) else None
    return lean(
        {
            "setting": str(one.setting),
            "place": one.place,
            "from": one.before,
            "to": None if isinstance(one.to, Ask) else one.to,
            "ask": ask,
            "for": condition(one.fits) if one.fits else None,
        }
    )


def _form(one: Form, changes: Mapping[Change, int]) -> Object:
    return {"for": condition(one.condition), "records": [_record_form(r, changes) for r in one.records]}


def _record_form(one: RecordForm, changes: Mapping[Change, int]) -> Object:
    return lean(
        {
            "record": str(one.path),
            "layouts": [x.id for x in one.layouts],
            "changes": [changes[c] for c in one.changes],
        }
    )


def _edits(ways: Iterable[Form]) -> list[tuple[RecordForm, Edit | NamesEdit]]:
    """One compiled edit for each record, layout and set of changes."""
    out: dict[object, tuple[RecordForm, Edit | NamesEdit]] = {}
    for way in ways:
        for one in way.records:
            bare = one.path.bare
            compiled: Sequence[Edit | NamesEdit]
            if one.record.names_only:
                compiled = [compile_names(one.record, bare, one.changes)]
            else:
                compiled = [compile_edit(one.record, bare, x, one.changes) for x in one.layouts]
            for found in compiled:
                key = (bare, found.layout if isinstance(found, Edit) else None, one.changes)
                out.setdefault(key, (one, found))
    return list(out.values())


def _media(one: Media) -> Object:
    return lean(
        {
            "module": one.module,
            "name": one.name,
            "version": one.version,
            "size": str(one.size),
            "sha256": one.sha256,
            "file_system": one.file_system,
            "smallest_gb": one.smallest_gb,
            "largest_gb": one.largest_gb,
            "where": one.reading_where,
            "before": list(one.reading_before),
            "after": one.reading_after,
        }
    )
