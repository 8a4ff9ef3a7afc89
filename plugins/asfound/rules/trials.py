"""Trials of the work: worked examples, and what reports say was found and left."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ..book import Book
from ..car.bits import differing, hex_pairs
from ..car.checksums import Checksum
from ..car.conditions import Condition, leaves
from ..car.fitting import possible, satisfiable, truth
from ..car.origin import Origin
from ..car.records import Layout, Record, RecordPath, SettingPath
from ..car.settings import Choices, Number, Text
from ..car.values import decode
from ..trust.evidence import known_of
from ..trust.reports import Report
from ..work.compiled import Edit, FieldEdit, NamesEdit, position
from ..work.edits import touched
from ..work.examples import run_example
from ..work.held import HeldProblem, parse_held, parse_names
from ..work.recipes import Ask, Recipe
from .base import Problem, plainly
from .blame import Trial, fails
from .facts import facts


def of_recipe(book: Book, recipe: Recipe) -> tuple[Trial, ...]:
    """All trials of a recipe, in its examples and in its reports; worked out once for each book."""
    key = ("trials", recipe.id)
    if key not in book.memo:
        book.memo[key] = (*_examples(book, recipe), *_reports(book, recipe))
    trials: tuple[Trial, ...] = book.memo[key]
    return trials


# worked examples


def _examples(book: Book, recipe: Recipe) -> Iterator[Trial]:
    reached = {(str(path), layout.id if layout else None) for path, layout in book.reached(recipe.id)}
    for number, example in enumerate(recipe.worked_examples):
        record = book.record(example.record)
        if record is None or (str(example.record), example.layout) not in reached:
            continue  # said by other rules
        result = run_example(recipe, example, book.modules, book.forms(recipe.id))
        name = f"example {number + 1} of {recipe.id}"
        asked = dict(example.choose)
        found, written = example.origin.at("found"), example.origin.at("write")
        layout = record.layout(example.layout) if example.layout is not None else None
        if isinstance(result.edit, Edit) and layout is not None:
            chosen = {
                path: (
                    example.origin.at("choose", str(path)),
                    *(c.origin.at("to") for c in recipe.changes if c.setting == path and path not in asked),
                )
                for path in result.edit.asked
            }
            change = _Change(record, layout, result.edit, found, written, chosen=chosen)
        else:
            change = None
        if result.ok:
            part = change.everything() if change else _by_name(result.edit, found, written)
            yield Trial(name, part)
            continue
        if change is not None:
            part = change.suspects(example.found, example.write)
        else:
            part = _by_name(result.edit, written, found)
        own = part[0] if part[0] in (found, written) else written
        yield Trial(name, part, Problem(own, plainly(result.message), plainly(result.repair)))


def _by_name(edit: object, *own: Origin) -> tuple[Origin, ...]:
    """Where values go by name: what the author wrote, and the changes."""
    if not isinstance(edit, NamesEdit):
        return own
    return (*own, *(one.origin.at(key) for one in edit.fields for key in ("to", "from")))


@dataclass(frozen=True, slots=True)
class _Change:
    """One record in one layout, as found and as written, and the edit between the two."""

    record: Record
    layout: Layout
    edit: Edit
    found: Origin
    written: Origin
    free: frozenset[SettingPath] = frozenset()  # settings for which another value may have been chosen
    chosen: Mapping[SettingPath, tuple[Origin, ...]] = field(
        default_factory=dict
    )  # where it is written which

    def comes_out(self, found: bytes, written: bytes) -> bool:
        """Whether the edit leads from one to the other."""
        stray = any(a & ~m for a, m in zip(_moved(found, written), touched(self.edit), strict=True))
        return not stray and all(self._as_after(one, one.place.gather(written)) for one in self.edit.fields)

    def everything(self) -> tuple[Origin, ...]:
        """All that takes part when the edit is carried out."""
        out = [self.found, self.written, *self._length(), *self._checksum(), *self._order()]
        for one in self.edit.fields:
            out += (self._place(one), *self._before(one))
            out += () if one.setting in self.free else self._after(one)  # any value would have done
        return tuple(dict.fromkeys(out))

    def suspects(self, found_text: str, written_text: str) -> tuple[Origin, ...]:
        """What could be wrong when the edit does not lead from one to the other, most likely first.

        A right checksum vouches for the bytes it covers, two wrong ones speak against the checksum's
        description; a bit that moved outside every place speaks against the places; a value that is not the
        one the change tells of, against the place, the value's description and the change.
        """
        try:
            found = parse_held(self.record, None, found_text)
        except HeldProblem:
            return (self.found,)
        try:
            written = parse_held(self.record, None, written_text)
        except HeldProblem:
            return (self.written,)
        wrong = [length != self.edit.length for length in (len(found), len(written))]
        if any(wrong):
            return self._length() if all(wrong) else ((self.found,) if wrong[0] else (self.written,))
        vouched = False
        if self.edit.checksum is not None:
            wrong = [not self.edit.checksum.matches(held) for held in (found, written)]
            if any(wrong):
                texts = (self.found, self.written)
                return (*self._checksum(), *texts) if all(wrong) else texts[:1] if wrong[0] else texts[1:]
            vouched = True
        out: list[Origin] = []
        stray = any(a & ~m for a, m in zip(_moved(found, written), touched(self.edit), strict=True))
        before, after = [], []
        if stray:
            out += self._order()
        for one in self.edit.fields:
            if stray:
                out.append(self._place(one))
            if not _as_before(one, one.place.gather(found)):
                before.append(one)
            if not self._as_after(one, one.place.gather(written)):
                after.append(one)
        for one in dict.fromkeys((*after, *before)):
            out += self._after(one) if one in after else ()
            out += self._before(one) if one in before else ()
            out.append(self._place(one))
        out += self._order()
        if not vouched:
            out[:0] = (self.written, self.found) if after or stray else (self.found, self.written)
        return tuple(dict.fromkeys(out)) or (self.written, self.found)

    def _as_after(self, one: FieldEdit, raw: int) -> bool:
        """Whether a setting may hold this after the change."""
        if one.setting in self.free:
            return decode(one.definition, raw, one.place.width).known
        return raw == one.to_raw

    def _length(self) -> tuple[Origin, ...]:
        shown = () if self.record.shown_as is None else (self.record.origin.at("shown_as", "number"),)
        return (self.layout.origin.at("length"), *shown, self.found, self.written)

    def _checksum(self) -> tuple[Origin, ...]:
        return _checksum(self.layout)

    def _order(self) -> tuple[Origin, ...]:
        """Where it is written in which order the tool's number has its bytes."""
        shown = self.record.shown_as
        return () if shown is None or shown.size == 1 else (self.record.origin.at("shown_as", "order"),)

    def _place(self, one: FieldEdit) -> Origin:
        return self.layout.origin.at("places", one.setting.setting)

    def _before(self, one: FieldEdit) -> tuple[Origin, ...]:
        stored = () if one.before_raw is None else _value(one, one.before_raw)
        return (one.origin.at("from"), *stored)

    def _after(self, one: FieldEdit) -> tuple[Origin, ...]:
        wish = self.chosen.get(one.setting, (one.origin.at("to"),))
        return (*wish, *_value(one, one.to_raw))


def _value(one: FieldEdit, raw: int) -> tuple[Origin, ...]:
    """Where it is written what a stored number means."""
    at = one.definition.origin.at
    match one.definition.kind:
        case Choices(choices):
            return tuple(at("choices", n, "raw") for n, choice in enumerate(choices) if choice.raw == raw)
        case Number() as number:
            special = [n for n, choice in enumerate(number.special) if choice.raw == raw]
            if special:
                return tuple(at("number", "special", n, "raw") for n in special)
            signed = (at("number", "signed"),) if number.signed else ()
            return (at("number", "factor"), at("number", "offset"), *signed)
        case Text():
            return (at("text"),)


def _as_before(one: FieldEdit, raw: int) -> bool:
    """Whether a setting may have held this before the change."""
    if raw == one.to_raw:
        return False
    if one.before_raw is not None:
        return raw == one.before_raw
    return decode(one.definition, raw, one.place.width).known


def _moved(one: bytes, other: bytes) -> bytes:
    return bytes(a ^ b for a, b in zip(one, other, strict=True))


# reports


def _reports(book: Book, recipe: Recipe) -> Iterator[Trial]:
    past = {code.sheet_code: code.work for code in book.past_codes(recipe.id)}
    now = book.codes(recipe.id).work if past else {}
    for report in book.reports(recipe.id):
        if not possible(known_of(report.car), book.world):
            continue  # said by another rule
        for name in dict.fromkeys((*report.found, *report.left)):
            record = book.record(RecordPath.parse(name))
            if record is None:
                continue
            one = _Reported(book, recipe, report, name, record)
            then = past.get(report.sheet_code)
            followed = report.outcome in _WRITTEN and (then is None or one.same_work(then, now))
            if report.outcome == "refused" and len(set(one.held().values())) > 1:
                reason = "the module refused, and yet something else was left than found"
                repair = "correct what was left, or the outcome"
                yield fails(f"report {report.id}", (one.at("left"), one.at("found")), reason, repair)
            elif record.names_only:
                yield from one.names(followed)
            else:
                read = tuple(one.read())
                yield from read
                if followed and not any(trial.problem for trial in read):
                    yield from one.written()


_WRITTEN = ("worked", "no-effect")  # what was left is what the recipe writes


@dataclass(frozen=True, slots=True)
class _Reported:
    """What a report says of one record; ``name`` is its path as the report writes it."""

    book: Book
    recipe: Recipe
    report: Report
    name: str
    record: Record

    @property
    def path(self) -> RecordPath:
        return RecordPath.parse(self.name)

    def at(self, key: str) -> Origin:
        return self.report.origin.at(key, self.name)

    def held(self) -> dict[str, str]:
        """What it says was found and left, as far as it says so."""
        both = (("found", self.report.found), ("left", self.report.left))
        return {key: held[self.name] for key, held in both if self.name in held}

    def same_work(self, then: Mapping[str, str], now: Mapping[str, str]) -> bool:
        """Whether a past sheet did with this record what the present one does."""
        bare = f"{self.path.module}/{self.path.record}"
        mine = [key for key in {*then, *now} if key == bare or key.startswith(f"{bare}/")]
        return all(then.get(key) == now.get(key) for key in mine)

    def layouts(self, held: bytes) -> list[Layout]:
        """The layouts of the record that a car like this one can have, with these bytes in it."""
        bare = f"{self.path.module}/{self.path.record}"
        known = replace(known_of(self.report.car), records={bare: held})

        def can_be(condition: Condition) -> bool:
            plain = truth(condition, known, self.book.world)
            return satisfiable(condition, self.book.world, known) if plain is None else plain

        return [x for x in self.record.layouts if x.fits is None or can_be(x.fits)]

    def told(self) -> tuple[Origin, ...]:
        """What the report says of the car that tells the layout."""
        asked = [leaf for x in self.record.layouts if x.fits is not None for leaf in leaves(x.fits)]
        return facts(asked, self.report)

    def read(self) -> Iterator[Trial]:
        """Whether some record of such a car could hold the bytes at all."""
        for key, text in self.held().items():
            name, own = f"what report {self.report.id} says was {key}", self.at(key)
            try:
                held = parse_held(self.record, None, text)
            except HeldProblem as problem:
                yield fails(name, (own,), problem.reason, problem.repair)
                continue
            layouts = self.layouts(held)
            long = [x for x in layouts if x.length == len(held)]
            if not long:
                lengths = sorted({x.length for x in layouts or self.record.layouts})
                reason = f"{len(held)} bytes; {self.path} of this car has {' or '.join(map(str, lengths))}"
                part = (own, *self.told(), *(x.origin.at("length") for x in layouts))
                yield fails(name, part, reason, "copy all the bytes that were read")
                continue
            sound = [x for x in long if x.checksum is None or x.checksum.matches(held)]
            part = tuple(origin for x in sound or long for origin in _checksum(x))
            if sound:
                yield Trial(name, (own, *self.told(), *(x.origin.at("length") for x in sound), *part))
            else:
                right = " or ".join(_right(x.checksum, held) for x in long if x.checksum)
                reason = f"the checksum is wrong: the other bytes give {right}"
                yield fails(name, (own, *part), reason, "compare every byte with the notes")

    def written(self) -> Iterator[Trial]:
        """Where it worked with the present sheet: whether one of the edits leads from found to left."""
        texts = self.held()
        if len(texts) < 2:
            return
        found, left = (parse_held(self.record, None, texts[key]) for key in ("found", "left"))
        layouts = {x.id: x for x in self.layouts(found) if x.length == len(found)}
        if len(found) != len(left):
            reason = f"{len(found)} bytes were found and {len(left)} left"
            yield fails(self._name, (self.at("left"), self.at("found")), reason, "compare with the notes")
            return
        changes = [
            _Change(self.record, layouts[edit.layout], edit, self.at("found"), self.at("left"), self._free())
            for edit in self.book.edits(self.recipe.id)
            if isinstance(edit, Edit)
            and (edit.record.module, edit.record.record) == (self.path.module, self.path.record)
            and edit.layout in layouts
        ]
        good = next((change for change in changes if change.comes_out(found, left)), None)
        if good is not None:
            yield Trial(self._name, good.everything())
        elif changes:
            reason = f"{texts['left']} is not what the recipe writes over {texts['found']}"
            reason += _bits(changes, found, left)
            repair = "compare both with the notes; if they are right, the outcome is not worked"
            part = tuple(o for change in changes for o in change.suspects(texts["found"], texts["left"]))
            yield fails(self._name, part, reason, repair, own=self.at("left"))

    def names(self, followed: bool) -> Iterator[Trial]:
        """For a record of which only names are known: what is left is what the recipe writes."""
        edits = [
            edit
            for edit in self.book.edits(self.recipe.id)
            if isinstance(edit, NamesEdit)
            and (edit.record.module, edit.record.record) == (self.path.module, self.path.record)
        ]
        said: dict[str, dict[str, str]] = {}
        for key, text in self.held().items():
            ids = [setting.id for setting in self.record.settings]
            if len(edits) == 1 and len(edits[0].fields) == 1:
                ids = [edits[0].fields[0].setting.setting]
            try:
                said[key] = parse_names(ids, text)
            except HeldProblem as problem:
                yield fails(self._name, (self.at(key),), problem.reason, problem.repair)
        if not followed or len(said) < 2 or not edits:
            return
        wrong = [
            one
            for one in edits[0].fields
            if one.setting not in self._free() and said["left"].get(one.setting.setting) != one.to_words
        ]
        part = tuple(one.origin.at(key) for one in edits[0].fields for key in ("to", "from"))
        own = (self.at("left"), self.at("found"))
        if not wrong:
            yield Trial(self._name, (*own, *part))
        else:
            setting = wrong[0].setting.setting
            left = said["left"].get(setting, "nothing")
            reason = f"{setting} was left at {left}, and the recipe writes {wrong[0].to_words}"
            repair = "compare with the notes; if they are right, the outcome is not worked"
            yield fails(self._name, (*own, *part), reason, repair)

    @property
    def _name(self) -> str:
        return f"what report {self.report.id} says was found and left"

    def _free(self) -> frozenset[SettingPath]:
        """The settings for which the reader may have chosen another value."""
        asked = {change.setting for change in self.recipe.changes if isinstance(change.to, Ask)}
        return frozenset(asked | {alternative.setting for alternative in self.recipe.alternatives})


def _checksum(layout: Layout) -> tuple[Origin, ...]:
    """Where a layout's checksum is described, each key by itself."""
    if layout.checksum is None:
        return ()
    return tuple(layout.origin.at("checksum", key) for key in ("kind", "over", "at", "order"))


def _right(checksum: Checksum, held: bytes) -> str:
    return hex_pairs(checksum.place.gather(checksum.applied(held)).to_bytes(checksum.size, checksum.order))


def _bits(changes: Sequence[_Change], found: bytes, left: bytes) -> str:
    """Which bits moved although no change touches them, where there is only one edit to ask."""
    if len(changes) != 1:
        return ""
    may = touched(changes[0].edit)
    stray = [position(byte, bit) for byte, bit in differing(found, left) if not may[byte] >> bit & 1]
    return f": no change touches {', '.join(stray)}" if stray else ""
