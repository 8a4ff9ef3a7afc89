"""Trials of the work by what reports say was found and left."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ..book import Book
from ..car.bits import differing, hex_pairs
from ..car.checksums import Checksum
from ..car.conditions import Condition, leaves
from ..car.fitting import possible, satisfiable, truth
from ..car.origin import Origin
from ..car.phrases import counted
from ..car.records import Layout, Record, RecordPath, SettingPath
from ..trust.evidence import known_of
from ..trust.reports import Report
from ..work.compiled import Edit, NamesEdit, position
from ..work.edits import touched
from ..work.held import HeldProblem, parse_held, parse_names
from ..work.recipes import Ask, Recipe
from .blame import Trial, fails
from .facts import facts
from .trials import Passage, checksum_parts


def of_reports(book: Book, recipe: Recipe) -> Iterator[Trial]:
    """Trials for all that reports on a recipe say was found and left."""
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
                part = (one.at("left"), one.at("found"), report.origin.at("outcome"))
                yield fails(f"report {report.id}", part, reason, repair)
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
        bare = str(self.path.bare)
        mine = [key for key in {*then, *now} if key == bare or key.startswith(f"{bare}/")]
        return all(then.get(key) == now.get(key) for key in mine)

    def layouts(self, held: bytes) -> list[Layout]:
        """The layouts of the record that a car like this one can have, with these bytes in it."""
        known = replace(known_of(self.report.car), records={str(self.path.bare): held})

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
                has = " or ".join(map(str, lengths))
                reason = f"{counted(len(held), 'byte')}; {self.path} of this car has {has}"
                part = (own, *self.told(), *(x.origin.at("length") for x in layouts))
                yield fails(name, part, reason, "copy all the bytes that were read")
                continue
            sound = [x for x in long if x.checksum is None or x.checksum.matches(held)]
            part = tuple(origin for x in sound or long for origin in checksum_parts(x))
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
            Passage(
                self.record,
                layouts[edit.layout],
                edit,
                found=self.at("found"),
                written=self.at("left"),
                free=self._free(),
                offered=self.recipe.alternatives,
            )
            for edit in self.book.edits(self.recipe.id)
            if isinstance(edit, Edit) and edit.record.bare == self.path.bare and edit.layout in layouts
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
            if isinstance(edit, NamesEdit) and edit.record.bare == self.path.bare
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
            if one.setting not in self._free()
            and said["left"].get(one.setting.setting) not in (one.to_words, *self._offered(one.setting))
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
        return frozenset(change.setting for change in self.recipe.changes if isinstance(change.to, Ask))

    def _offered(self, setting: SettingPath) -> tuple[str, ...]:
        """The other values that the recipe offers for a setting."""
        return tuple(other.to for other in self.recipe.alternatives if other.setting == setting)


def _right(checksum: Checksum, held: bytes) -> str:
    return hex_pairs(checksum.place.gather(checksum.applied(held)).to_bytes(checksum.size, checksum.order))


def _bits(changes: Sequence[Passage], found: bytes, left: bytes) -> str:
    """Which bits moved although no change touches them, where there is only one edit to ask."""
    if len(changes) != 1:
        return ""
    may = touched(changes[0].edit)
    stray = [position(byte, bit) for byte, bit in differing(found, left) if not may[byte] >> bit & 1]
    return f": no change touches {', '.join(stray)}" if stray else ""
