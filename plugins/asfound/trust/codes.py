"""Work codes and sheet codes: fingerprints of what is done to the car, and of all that a sheet says.

A code is made by ``make_code`` from a document in canonical form (``canonical.py``), so a browser can repeat
it from the same document. There is one work code for each layout that the recipe reaches (key
``module/record/layout``), one for each names-only record (``module/record``) and one for the file it loads
(``media``); and one sheet code for the recipe. Prose changes neither. What changes which:

================================================================================== ====== =======
of the recipe                                                                      work   sheet
================================================================================== ====== =======
changes: setting's place, from and to as bits (names-only: in words), suggestion   yes    yes
alternatives: values                                                               yes    yes
media: module, name, size, SHA-256                                                 yes    yes
module place; which records are written before this one                            yes    yes
for, where one layout is changed differently on different cars                     yes    yes
fits; for, elsewhere                                                               –      yes
from, to, alternatives in words; what an alternative does; questions               –      yes
hazards, ready, needs, clashes (which recipe), alone                               –      yes
before, steps (without picture and minutes), checks, way back                      –      yes
may show, faults to expect, functions                                              –      yes
media: version, origin, card, menu, reading                                        –      yes
order of hazards, ready, may show, faults, needs, clashes, functions, alternatives –      –
id, title, author, purpose, annoyance, why it clashes, replaces, pictures, history –      –
minutes, worked examples, status, withdrawal, reports, signatures                  –      –
================================================================================== ====== =======

================================================================================== ====== =======
of a module, where the recipe touches it                                           work   sheet
================================================================================== ====== =======
address (that of the place, where it has places), identifier, takes effect         yes    yes
layout: length, checksum, places of the changed settings                           yes    yes
raw values used, limits of the settings asked for                                  yes    yes
layout: for; how the record is shown; whether a code is needed; how to restart     –      yes
functions of the changed settings, whether their meaning is a guess                –      yes
name of a changed setting of a names-only record; unit of a changed number         –      yes
other settings and their places, other values, layouts that are not reached        –      –
names, duty, where it is, about, search words, minutes, the access code itself     –      –
================================================================================== ====== =======

A layout or a record added to a recipe's reach changes the sheet code, since the sheet says more; the other
work codes stay, except those of records now written later. Ids of settings and layouts are no part of the
work on bytes, only keys. What the vehicle files say of phases, models and equipment, and the club's times,
are on no account here: they say what a car is and how long things take, not what is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ..car.bits import Place
from ..car.checksums import Checksum
from ..car.conditions import TRUE, Any, Condition, Vehicle, leaves
from ..car.records import Module, Record, SettingPath
from ..car.settings import Choice, Choices, Kind, Number
from ..car.vehicles import VehicleLine
from ..work.compiled import Edit, FieldEdit, NamesEdit, compile_edit, compile_names
from ..work.edits import alternative_raw
from ..work.forms import Form, RecordForm, forms
from ..work.recipes import Ask, Change, Media, Recipe
from .canonical import Json, condition, in_order, spell, text
from .letters import ALPHABET, check_code, check_letter, make_code, normalise
from .standing import functions

__all__ = [
    "ALPHABET", "Codes", "check_code", "check_letter", "codes", "documents", "make_code", "normalise",
]  # fmt: skip

MEDIA = "media"
ALWAYS = make_code(spell(condition(None)))  # the code of a condition that always holds


@dataclass(frozen=True, slots=True)
class Codes:
    """The codes of a recipe as it stands.

    ``work`` by ``module/record/layout``, ``module/record`` or ``media``. ``fits`` are codes of conditions, so
    that evidence can tell when work went to other cars: by ``module/record/layout`` that of the layout, by
    ``module/record`` that of the changes to the record.
    """

    sheet: str
    work: Mapping[str, str]
    fits: Mapping[str, str]


def codes(
    recipe: Recipe,
    modules: Mapping[str, Module],
    lines: Mapping[str, VehicleLine],
    ways: Sequence[Form] | None = None,
) -> Codes:
    """All codes of a recipe; ``ways``, its forms, when the caller has them already.

    EditProblem when a change cannot be compiled or an alternative not stored: such a recipe has no codes.
    """
    ways = forms(recipe, modules, lines) if ways is None else ways
    sheet, work = documents(recipe, modules, lines, ways)
    return Codes(
        sheet=make_code(spell(sheet)),
        work={key: make_code(spell(document)) for key, document in work.items()},
        fits={key: make_code(spell(when)) for key, when in _conditions(recipe, ways).items()},
    )


def documents(
    recipe: Recipe, modules: Mapping[str, Module], lines: Mapping[str, VehicleLine], ways: Sequence[Form]
) -> tuple[Json, Mapping[str, Json]]:
    """What the sheet code, and each work code by its key, are computed over. EditProblem as ``codes``.

    A work document is ``["work 1", entry, ...]``, entries sorted, each once: one for each edit (in each place
    of the module), with the record written and where it lies (``at``: addresses and identifier), what is
    written before it (``after``), and, where there are different edits, the conditions of their changes
    (``when``). The sheet document holds the work documents themselves, not their codes.
    """
    work, words = _Entries("work 1"), _Entries("words 1")
    sequence = _sequence(recipe)
    edits = [
        (key, one, edit, _work(edit, recipe))
        for way in ways
        for one in way.records
        for key, edit in _edits(one)
    ]
    different: dict[str, set[bytes]] = {}
    for key, _, _, does in edits:
        different.setdefault(key, set()).add(spell(does))
    for key, one, edit, does in edits:
        conditions = [condition(c.fits) for c in one.changes if c.fits is not None]
        work.enter(
            key,
            {
                "record": str(one.path),
                "at": _address(recipe, one, modules, lines),
                "takes_effect": one.record.takes_effect,
                "after": in_order(sequence[: sequence.index(str(one.path.bare))]),
                "when": in_order(conditions) if len(different[key]) > 1 else [],
                "edit": does,
            },
        )
        words.enter(key, _words(edit, one.changes, recipe))
    if recipe.media:
        work.enter(MEDIA, _media(recipe.media))
    return _sheet(recipe, modules, work.documents(), words.documents(), ways), work.documents()


class _Entries:
    """Documents that grow entry by entry, each entry once, sorted in the end."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._by_key: dict[str, dict[bytes, Json]] = {}

    def enter(self, key: str, entry: Json) -> None:
        self._by_key.setdefault(key, {})[spell(entry)] = entry

    def documents(self) -> dict[str, Json]:
        return {key: [self._name, *(of[spelt] for spelt in sorted(of))] for key, of in self._by_key.items()}


def _sequence(recipe: Recipe) -> list[str]:
    """The records in the order of writing: module by module, each in the order of its first change."""
    first = list(dict.fromkeys(change.setting.module for change in recipe.changes))
    records = dict.fromkeys(str(change.setting.record_path) for change in recipe.changes)
    return sorted(records, key=lambda record: first.index(record.partition("/")[0]))


def _sheet(
    recipe: Recipe,
    modules: Mapping[str, Module],
    work: Mapping[str, Json],
    words: Mapping[str, Json],
    ways: Sequence[Form],
) -> Json:
    records = {str(one.path.bare): one for way in ways for one in way.records}
    touched = {one.path.module for one in records.values()}
    settings = {
        SettingPath(one.path.module, one.path.record, setting.id): setting
        for one in records.values()
        for setting in one.record.settings
    }
    return {
        "code": "sheet 1",
        "work": work,
        "words": words,
        "fits": condition(recipe.fits),
        "conditions": _conditions(recipe, ways),
        "records": {key: _shown(one.record) for key, one in records.items()},
        "restart": {module: text(modules[module].restart_how) for module in touched if module in modules},
        "functions": list(functions(recipe, settings)),
        "hazards": in_order(
            [*_texts((h.hazard, h.consequence, h.avoid)), h.harm, h.certainty, h.likelihood, h.loss]
            for h in recipe.hazards
        ),
        "ready": in_order(_texts(recipe.ready)),
        "before": [[*_texts((b.precheck, b.expect, b.otherwise)), b.power, b.proves] for b in recipe.before],
        "steps": [[text(s.step), s.at, s.module, s.power] for s in recipe.steps],
        "checks": [[*_texts((c.check, c.expect)), c.power] for c in recipe.checks],
        "may_show": in_order(_texts((m.message, m.means)) for m in recipe.may_show),
        "faults": in_order(_texts((f.code, f.when, f.do)) for f in recipe.faults_to_expect),
        "media": _media_words(recipe.media) if recipe.media else None,
        "way_back": recipe.way_back if isinstance(recipe.way_back, str) else _texts(recipe.way_back),
        "needs": in_order(recipe.needs),
        "clashes": in_order(clash.recipe for clash in recipe.clashes),
        "alone": recipe.alone,
    }


def _conditions(recipe: Recipe, ways: Iterable[Form]) -> dict[str, Json]:
    """When a car has a layout (``module/record/layout``), when a record is changed (``module/record``)."""
    changes: dict[str, list[Condition]] = {}
    for change in recipe.changes:
        changes.setdefault(str(change.setting.record_path), []).append(change.fits or TRUE)
    layouts = {
        f"{one.path.bare!s}/{layout.id}": condition(layout.fits)
        for way in ways
        for one in way.records
        for layout in one.layouts
    }
    return layouts | {record: condition(Any(tuple(of))) for record, of in changes.items()}


def _edits(one: RecordForm) -> list[tuple[str, Edit | NamesEdit]]:
    if one.record.names_only:
        return [(str(one.path.bare), compile_names(one.record, one.path, one.changes))]
    return [
        (f"{one.path.bare!s}/{layout.id}", compile_edit(one.record, one.path, layout, one.changes))
        for layout in one.layouts
    ]


def _address(
    recipe: Recipe, one: RecordForm, modules: Mapping[str, Module], lines: Mapping[str, VehicleLine]
) -> Json:
    """Where the record is written: addresses (of the place, on the lines the recipe names) and identifier."""
    named = {leaf.line for leaf in leaves(recipe.fits) if isinstance(leaf, Vehicle)} or set(lines)
    found = {
        place.address
        for line in named & set(lines)
        for fitted in lines[line].fitted
        if fitted.module == one.path.module
        for place in fitted.places
        if place.id == one.path.place
    }
    addresses = sorted({address for address in found if address is not None})
    module = modules.get(one.path.module)
    return [addresses or (module.address if module else None), one.record.identifier]


def _work(edit: Edit | NamesEdit, recipe: Recipe) -> Json:
    """What an edit does to the record."""
    if isinstance(edit, NamesEdit):
        return _names_work(edit, recipe)
    fields: list[Json] = []
    for one in edit.fields:
        offered = {
            str(alternative_raw(one, other)) for other in recipe.alternatives if other.setting == one.setting
        }
        fields.append(
            {
                "place": _place(one.place),
                "before": None if one.before_raw is None else str(one.before_raw),
                "to": str(one.to_raw),
                "asked": _limits(one.definition.kind) if one.asked else None,
                "alternatives": sorted(offered),
            }
        )
    return {
        "length": edit.length,
        "mask": edit.mask.hex(),
        "bits": edit.bits.hex(),
        "checksum": _checksum(edit.checksum),
        "fields": in_order(fields),
    }


def _names_work(edit: NamesEdit, recipe: Recipe) -> Json:
    return in_order(
        {
            "setting": one.setting.setting,
            "before": None if one.before_words is None else text(one.before_words),
            "to": text(one.to_words),
            "asked": _limits(one.definition.kind) if one.asked else None,
            "alternatives": sorted(text(a.to) for a in recipe.alternatives if a.setting == one.setting),
        }
        for one in edit.fields
    )


def _place(place: Place) -> Json:
    return [[part.byte, part.low, part.high] for part in place.parts]


def _checksum(checksum: Checksum | None) -> Json:
    if checksum is None:
        return None
    return [checksum.kind, checksum.first, checksum.last, checksum.at, checksum.order, checksum.by]


def _limits(kind: Kind) -> Json:
    """What a reader may choose. Numbers as text: a raw value may be wider than a browser's numbers."""
    match kind:
        case Choices(choices):
            return ["choice", *sorted(map(_raw, choices))]
        case Number():
            scale = [str(n) for n in (kind.factor, kind.offset, kind.min, kind.max)]
            return ["number", *scale, kind.signed, sorted(map(_raw, kind.special))]
        case _:
            return ["text", kind.length, kind.pad]


def _raw(choice: Choice) -> str:
    return text(choice.means) if choice.raw is None else str(choice.raw)


def _media(media: Media) -> Json:
    return [media.module, media.name, media.size, media.sha256]


def _media_words(media: Media) -> Json:
    return {
        "version": text(media.version),
        "origin": [media.origin_from, text(media.origin_how)],
        "card": [media.file_system, media.smallest_gb, media.largest_gb],
        "menu": _texts(media.menu),
        "reading": [text(media.reading_where), _texts(media.reading_before), text(media.reading_after)],
    }


def _words(edit: Edit | NamesEdit, changes: Sequence[Change], recipe: Recipe) -> Json:
    """What the sheet says of each change: told apart by where its bits lie, or by name without bytes."""
    said: list[Json] = []
    for one in edit.fields:
        definition = one.definition
        question = next(
            (c.to.question for c in changes if c.setting == one.setting and isinstance(c.to, Ask)), None
        )
        said.append(
            {
                "where": _place(one.place) if isinstance(one, FieldEdit) else text(definition.name),
                "before": None if one.before_words is None else text(one.before_words),
                "to": text(one.to_words),
                "question": None if question is None else text(question),
                "choices": _choice_words(definition.kind) if one.asked else None,
                "unit": text(definition.kind.unit) if isinstance(definition.kind, Number) else None,
                "guess": definition.known_from == "guess",
                "alternatives": in_order(
                    _texts((a.to, a.does)) for a in recipe.alternatives if a.setting == one.setting
                ),
            }
        )
    return in_order(said)


def _choice_words(kind: Kind) -> Json:
    """The words a reader may choose from."""
    match kind:
        case Choices(choices) | Number(special=choices):
            return in_order([_raw(choice), text(choice.means)] for choice in choices)
        case _:
            return None


def _shown(record: Record) -> Json:
    shown = record.shown_as
    return [None if shown is None else [shown.size, shown.order], record.access_code is not None]


def _texts(items: Iterable[str]) -> list[str]:
    return [text(item) for item in items]
