"""The job on paper: the steps of every way it can run, merged, each said in as few words as will do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from ...car.records import RecordPath
from ...speech import number_words
from ...work.operations import Operation
from ...work.recipes import Recipe
from ...work.wording import LEAST_VOLTAGE
from ..words import minutes_words, sentence
from .desk import Desk
from .job import PictureRef, otherwise_label
from .sheet_words import plain_sentence

_BEFORE = frozenset({"identify", "read-faults", "measure-voltage", "precheck"})
_NOTES = frozenset({"note", "note-version"})
_SAID_SHORT = frozenset({"open", "write", "read-back", "read-again", "close"})
_LAST = frozenset({"check", "read-faults-last"})


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``kind`` as in ``work.operations``, with "read-again" for reading back after a restart.

    ``number`` counts through the whole sheet. ``marks``: of the ways that do it, "" for all. ``key``: how to
    turn the key first. ``ref`` is the record ("R1") and ``place`` where it is. ``of``: the number of the
    recipe it belongs to, in a plan. ``otherwise`` begins with "If" where ``label`` is empty. ``places`` has
    (marks, place) where the same is done in several, one after the other; a step of kind "each" says so
    before the first of them, and ``last`` is the last one's number.
    """

    kind: str
    number: int
    marks: str
    key: str
    unit: str
    address: str
    ref: str
    place: str
    text: str
    expect: str
    label: str
    otherwise: str
    minutes: int
    of: str
    picture: PictureRef | None = None
    places: tuple[tuple[str, str], ...] = ()
    last: int = 0

    @property
    def lasts(self) -> str:
        """How long it takes, in words."""
        return minutes_words(self.minutes)


@dataclass(frozen=True, slots=True)
class Unit:
    """A control module to identify."""

    name: str
    address: str
    marks: str


@dataclass(frozen=True, slots=True)
class Parts:
    """The job in its order. ``ready`` are things to have at hand; ``units`` the modules to identify."""

    ready: tuple[str, ...]
    first: tuple[Step, ...]
    units: tuple[Unit, ...]
    before: tuple[Step, ...]
    noted: tuple[Step, ...]
    work: tuple[Step, ...]
    last: tuple[Step, ...]
    faults: str


@dataclass(frozen=True, slots=True)
class _Item:
    operation: Operation
    key: str
    again: bool
    marks: str

    @property
    def same(self) -> tuple[object, ...]:
        """What two ways must agree in for a step to be one and the same."""
        one = self.operation
        if one.kind == "identify":  # the modules stand in a list of their own
            return one.kind, self.key
        told = () if one.record and one.kind != "step" else (one.text, one.expect, one.otherwise)
        return one.kind, one.module, one.place, one.record, self.key, self.again, *told


def parts(
    desk: Desk,
    ways: Sequence[tuple[str, Sequence[Operation]]],
    refs: Mapping[RecordPath, str],
    numbers: Mapping[str, str],
    pictures: Mapping[str, PictureRef],
) -> Parts:
    """The steps of all ways as one list; ``refs``: what records are called, ``numbers``: recipes by id."""
    every = "".join(mark for mark, _ in ways)
    items: list[_Item] = []
    units: dict[tuple[str, str], str] = {}
    for mark, operations in ways:
        for one in operations:
            if one.kind == "identify":
                unit = desk.unit(one.module, one.place), _address(desk, one)
                units[unit] = units.get(unit, "") + mark
        items = _merged(items, _items(operations, mark))
    out: dict[str, list[Step]] = {"first": [], "before": [], "noted": [], "work": [], "last": []}
    ready: dict[str, None] = {}
    faults, part = "", "first"
    for item in items:
        one, marks = item.operation, "" if item.marks == every else item.marks
        if one.kind == "have-ready":
            ready.setdefault(plain_sentence(one.text))
            continue
        if one.kind in _BEFORE:
            part = "before"
        elif one.kind in _NOTES or (part == "noted" and one.moment == "noted"):
            part = "noted"
        elif one.kind in _LAST or one.moment == "end":
            part = "last"
        elif part in ("before", "noted") and one.moment != "start":
            part = "work" if one.moment != "noted" else "noted"
        if one.kind == "identify" and not item.key:
            continue
        if one.kind == "note" and not item.key:
            continue  # the record itself stands there
        if one.kind == "read-faults-last":
            faults = sentence(one.expect)
        step = _step(desk, item, marks, refs, numbers, pictures)
        if out[part] and (both := _noted_alike(out[part][-1], step)):
            out[part][-1] = replace(step, marks="" if both == every else both)
        else:
            out[part].append(step)
    number = 1
    for name in ("first", "before", "noted"):  # a way's work may have been merged before another's notes
        out[name] = [replace(step, number=n) for n, step in enumerate(out[name], number)]
        number += len(out[name])
    work = _folded(out["work"], number)
    after = number + sum(step.kind != "each" for step in work)
    last = (replace(step, number=n) for n, step in enumerate(out["last"], after))
    return Parts(
        tuple(ready),
        tuple(out["first"]),
        tuple(Unit(*unit, "" if marks == every else marks) for unit, marks in units.items()),
        tuple(out["before"]),
        tuple(out["noted"]),
        tuple(work),
        tuple(last),
        faults,
    )


def _noted_alike(one: Step, other: Step) -> str:
    """The marks of both where two ways turn the key alike to note the same record; else none."""
    alike = one.kind == other.kind == "note" and (one.key, one.ref) == (other.key, other.ref)
    apart = one.marks and other.marks and not {*one.marks} & {*other.marks}
    return one.marks + other.marks if alike and apart else ""


def _bare(step: Step) -> Step:
    """A step without what tells one place of a module from another; said in the template's own words."""
    generated = step.kind in _SAID_SHORT
    text, expect = ("", "") if generated else (step.text, step.expect)
    return replace(step, number=0, marks="", place="", unit="", address="", key="", text=text, expect=expect)


def _folded(steps: list[Step], number: int) -> list[Step]:
    """Steps numbered from ``number``; runs of them done alike in several places of a module are said once."""
    out: list[Step] = []
    at = 0
    while at < len(steps):
        runs = _runs(steps, at)
        if len(runs) < 2:
            out.append(replace(steps[at], number=number))
            at, number = at + 1, number + 1
            continue
        first, size = runs[0][0], len(runs[0])
        unit = first.unit.removesuffix(f" ({first.place})")
        places = tuple((run[0].marks, run[0].place or run[0].unit) for run in runs)
        each = replace(_bare(first), kind="each", text="", minutes=0, unit=unit, places=places)
        out.append(replace(each, number=number, last=number + size - 1))
        for one in runs[0]:
            out.append(replace(one, number=number, place="", marks="", unit=unit, places=places))
            number += 1
        at += size * len(runs)
    return out


def _runs(steps: list[Step], at: int) -> list[list[Step]]:
    """The longest run of one place that is followed by the same one of another, and all that follow it."""
    place, end = steps[at].place, at
    while end < len(steps) and steps[end].place == place and place:
        end += 1
    size = end - at
    runs = [steps[at:end]]
    while size and [_bare(s) for s in steps[end : end + size]] == [_bare(s) for s in runs[0]]:
        if steps[end].place in {run[0].place for run in runs}:
            break
        runs.append(steps[end : end + size])
        end += size
    return runs


def _items(operations: Sequence[Operation], mark: str) -> list[_Item]:
    """Operations with the turn of the key that comes before them."""
    out: list[_Item] = []
    key, read = "", set[RecordPath]()
    for one in operations:
        if one.kind == "key":
            key = one.text
            continue
        again = one.kind == "read-back" and one.record in read
        if one.kind == "read-back" and one.record:
            read.add(one.record)
        out.append(_Item(one, key, again, mark))
        key = ""
    return out


def _merged(one: list[_Item], other: list[_Item]) -> list[_Item]:
    if not one:
        return other
    out: list[_Item] = []
    match = SequenceMatcher(None, [i.same for i in one], [i.same for i in other], autojunk=False)
    for tag, a, b, c, d in match.get_opcodes():
        if tag == "equal":
            out += [
                _Item(i.operation, i.key, i.again, i.marks + j.marks)
                for i, j in zip(one[a:b], other[c:d], strict=True)
            ]
        else:
            out += [*one[a:b], *other[c:d]]
    return out


def _step(
    desk: Desk,
    item: _Item,
    marks: str,
    refs: Mapping[RecordPath, str],
    numbers: Mapping[str, str],
    pictures: Mapping[str, PictureRef],
) -> Step:
    one = item.operation
    ref = refs.get(one.record, "") if one.record else ""
    place = desk.places.get((one.module or "", one.place or ""), ("", None))[0] if one.place else ""
    return Step(
        kind="read-again" if item.again else one.kind,
        number=0,
        marks=marks,
        key=item.key,
        unit=desk.unit(one.module, one.place) if one.module else "",
        address=_address(desk, one),
        ref=ref,
        place=place,
        text=number_words(LEAST_VOLTAGE)
        if one.kind == "measure-voltage"
        else plain_sentence(_restart(desk, one) if one.kind == "restart" else one.text),
        expect=sentence(one.expect),
        label=otherwise_label(one.otherwise),
        otherwise=sentence(one.otherwise),
        minutes=one.minutes,
        of=numbers.get(one.recipe or "", ""),
        picture=pictures.get(one.picture or ""),
    )


def _restart(desk: Desk, one: Operation) -> str:
    """How the module is restarted, without its name."""
    module = desk.book.modules.get(one.module or "")
    return module.restart_how if module else one.text


def _address(desk: Desk, one: Operation) -> str:
    if not one.module:
        return ""
    module = desk.book.modules.get(one.module)
    placed = desk.places.get((one.module, one.place or ""), ("", None))[1] if one.place else None
    return placed or (module.address if module else None) or ""


def pictures_of(desk: Desk, recipes: Iterable[Recipe], address: Mapping[str, str]) -> dict[str, PictureRef]:
    """The pictures of steps by file; ``address`` by recipe and file."""
    out = {}
    for recipe in recipes:
        for one in recipe.pictures:
            width, height = desk.picture_size(recipe.id, one.file)
            href = address[f"{recipe.id}/{one.file}"]
            out[one.file] = PictureRef(href, one.alt, one.credit, width, height)
    return out
