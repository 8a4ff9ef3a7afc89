"""Conditions in words, and how to find out what they name.

Wording is unambiguous: negation is said of single facts only, and "either … or" encloses alternatives. Those
with a list of their own are lettered, "either (a) …, or (b) …", so that it is plain what belongs to which;
alternatives inside the first of them are (a1), (a2), and inside those (a1a), (a1b).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import assert_never

from ..speech import gettext
from .conditions import (
    FALSE,
    TRUE,
    All,
    Any,
    Condition,
    Equipped,
    Holds,
    Leaf,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
    leaves,
)
from .phrases import (
    built_words,
    join_words,
    list_words,
    listed,
    lower_first,
    pair_words,
    software_words,
)
from .records import Module
from .rewrite import conjunction, push_negation
from .settings import Choices
from .vehicles import VehicleLine


@dataclass(frozen=True, slots=True)
class Names:
    """How things are called and told; models, phases and markets by (line, id), the rest by id or path.

    Equipment names carry their article ("an awning"). What has no entry is called by its id.
    """

    lines: Mapping[str, str] = field(default_factory=dict)
    models: Mapping[tuple[str, str], str] = field(default_factory=dict)
    phases: Mapping[tuple[str, str], str] = field(default_factory=dict)
    markets: Mapping[tuple[str, str], str] = field(default_factory=dict)
    equipment: Mapping[str, str] = field(default_factory=dict)
    modules: Mapping[str, str] = field(default_factory=dict)
    records: Mapping[str, str] = field(default_factory=dict)  # by module/record
    settings: Mapping[str, str] = field(default_factory=dict)  # by module/record/setting
    looks: Mapping[tuple[str, ...], str] = field(default_factory=dict)  # by ("models", line, id) and so on
    values: Mapping[tuple[str, str], str] = field(default_factory=dict)  # by path of the setting and value

    @classmethod
    def of(cls, lines: Mapping[str, VehicleLine], modules: Mapping[str, Module]) -> Names:
        """The names in use; where lines differ on an item of equipment, the first line's."""
        records = [(m, r) for m in modules.values() for r in m.records]
        every = lines.values()
        looks: dict[tuple[str, ...], str] = {}
        for line in every:
            looks |= {("models", line.id, m.id): m.look for m in line.models}
            looks |= {("phases", line.id, p.id): p.look for p in line.phases}
            looks |= {("markets", line.id, m.id): m.look for m in line.markets}
            for item in line.equipment:
                looks.setdefault(("equipment", item.id), item.look)
        return cls(
            {line.id: line.name for line in every},
            {(line.id, model.id): model.name for line in every for model in line.models},
            {(line.id, phase.id): phase.name for line in every for phase in line.phases},
            {(line.id, market.id): market.name for line in every for market in line.markets},
            {item.id: item.name for line in reversed(list(every)) for item in line.equipment},
            {module.id: module.name for module in modules.values()},
            {f"{m.id}/{r.id}": r.name for m, r in records},
            {f"{m.id}/{r.id}/{s.id}": s.name for m, r in records for s in r.settings},
            looks,
            {
                (f"{m.id}/{r.id}/{s.id}", choice.means): choice.shown
                for m, r in records
                for s in r.settings
                for choice in (s.kind.choices if isinstance(s.kind, Choices) else ())
                if choice.shown
            },
        )


def say(condition: Condition, names: Names, line: str | None = None) -> str:
    """The condition in words that go on after "if:" or "for:", without capital or full stop.

    Either a kind of car ("Phase 2 with an awning and without a tow bar") or a statement ("the living-area
    controller has software 0300 or later"). The line is left unsaid where ``line`` says it is understood,
    and where there is only one.
    """
    regular = push_negation(condition)
    if regular == TRUE:
        return gettext("any car")
    if regular == FALSE:
        return gettext("no car")
    return _Speech(names, line).whole(regular)


def why_not(because: Iterable[Condition], names: Names, line: str | None = None) -> str:
    """Why a car does not fit, from what it cannot satisfy: "it is not Phase 2 and it has a tow bar"."""
    reasons = conjunction(push_negation(reason, True) for reason in because)
    return gettext("no such car was made") if reasons == TRUE else _Speech(names, line).statement(reasons)


def look(condition: Condition, names: Names) -> tuple[str, ...]:
    """How to find out each fact the condition names; one sentence each, in its order."""
    return tuple(dict.fromkeys(sentence for leaf in leaves(condition) for sentence in _look(leaf, names)))


class _Speech:
    """Sayings of conditions whose negation stands on leaves only."""

    def __init__(self, names: Names, understood: str | None) -> None:
        self.names = names
        only = next(iter(names.lines)) if len(names.lines) == 1 else None
        self.understood = only if understood is None else understood

    def whole(self, condition: Condition) -> str:
        """A kind of car, or a statement where no kind of vehicle or equipment is named."""
        if not any(isinstance(leaf, Vehicle | Equipped) for leaf in leaves(condition)):
            return self.statement(condition)
        if isinstance(condition, Any) and self._gear(condition) is None:
            return self._either(condition.of, self.kind, "")
        return self.kind(condition)

    def kind(self, condition: Condition, mark: str = "") -> str:
        """A kind of car: "Phase 2 with an awning, where the …"; ``mark``: of which alternative it is part."""
        parts = condition.of if isinstance(condition, All) else (condition,)
        heads = [part for part in parts if isinstance(part, Vehicle)][:1]
        gear = [part for part in parts if part not in heads and self._gear(part) is not None]
        rest = [part for part in parts if part not in heads and part not in gear]
        has = [self._item(part) for part in gear if isinstance(part, Equipped)]
        lacks = [self._item(part.of) for part in gear if isinstance(part, Not)]
        withs = [gettext("with {items}", items=join_words(has, "and"))] if has else []
        withs += [gettext("without {items}", items=join_words(lacks, "or"))] if lacks else []
        withs += [text for part in gear if isinstance(part, Any) and (text := self._gear(part))]
        said = self._vehicle(heads[0]) if heads else gettext("a car")
        match rest:
            case [Not(Vehicle() as other)] if not heads and not gear:
                return self._no_vehicle(other)
        said += "," * ("," in said and bool(withs))
        said += f" {join_words(withs, 'and')}" if withs else ""
        if not rest:
            return said
        return gettext("{car}, where {statements}", car=said, statements=self._statements(tuple(rest), mark))

    def _no_vehicle(self, leaf: Vehicle) -> str:
        car, keys = self._vehicle(leaf), self._keys(leaf)
        return (
            gettext("a car that is not {car}", car=car)
            if keys < 2
            else gettext("a car that is anything but {car}", car=car)
        )

    @staticmethod
    def _keys(leaf: Vehicle) -> int:
        return sum(map(bool, (leaf.models, leaf.phases, leaf.markets, leaf.built != (None, None))))

    def statement(self, condition: Condition, mark: str = "") -> str:
        """A sentence about "it", the car, or one of its modules; ``mark``: of which alternative."""
        match condition:
            case All(of):
                return self._statements(of, mark)
            case Any(()):
                return gettext("no car will do")
            case Any(of):
                return self._either(of, self.statement, mark)
            case Not(of):
                return (
                    self._leaf(of, True) if not isinstance(of, All | Any | Not) else self.statement(of, mark)
                )
            case _:
                return self._leaf(condition, False)

    def _statements(self, of: tuple[Condition, ...], mark: str) -> str:
        """All of them; those with alternatives inside come last, each held together by "either"."""
        plain = [self.statement(part, mark) for part in of if not isinstance(part, Any)]
        either = [self.statement(part, mark) for part in of if isinstance(part, Any)]
        return gettext(", and ").join(([join_words(plain, "and")] if plain else []) + either)

    @staticmethod
    def _either(of: tuple[Condition, ...], say_one: Callable[[Condition, str], str], mark: str) -> str:
        """Alternatives; inside an alternative always marked, else where one of them has a list of its own."""
        marks = [mark + _mark(n, mark) for n in range(len(of))]
        said = [say_one(part, own) for part, own in zip(of, marks, strict=True)]
        if not mark and not any(listed(words) for words in said):
            return gettext("either {options}", options=list_words(said, "or"))
        marked = [f"({own}) {words}" for own, words in zip(marks, said, strict=True)]
        return gettext("either {options}", options=list_words(marked, "or", ","))

    def _gear(self, condition: Condition) -> str | None:
        """ "with either an awning or a tow bar"; None when it is not about equipment alone."""
        match condition:
            case Equipped():
                return gettext("with {items}", items=self._item(condition))
            case Not(Equipped() as item):
                return gettext("without {items}", items=self._item(item))
            case Any(of) if of and all(isinstance(part, Equipped) for part in of):
                return gettext("with either {options}", options=join_words((self._item(p) for p in of), "or"))
            case Any(of) if of and all(not isinstance(p, Any) and self._gear(p) for p in of):
                return gettext(
                    "either {options}", options=join_words((self._gear(p) or "" for p in of), "or")
                )
            case _:
                return None

    def _item(self, condition: Condition) -> str:
        item = condition.item if isinstance(condition, Equipped) else ""
        return self.names.equipment.get(item, item)

    def _vehicle(self, leaf: Vehicle) -> str:
        """ "Tarnwell Skerry Weekender or Tourer, Phase 2, built in September 2021 or later"."""
        models = join_words((self.names.models.get((leaf.line, m), m) for m in leaf.models), "or")
        phases = join_words((self.names.phases.get((leaf.line, p), p) for p in leaf.phases), "or")
        markets = join_words((self.names.markets.get((leaf.line, m), m) for m in leaf.markets), "or")
        sold = gettext("for the market {markets}", markets=markets) if markets else ""
        parts = [models, phases, sold, built_words(leaf.built)]
        said = ", ".join(part for part in parts if part)
        if leaf.line == self.understood and said:
            return said if models or phases else gettext("a car {said}", said=said)
        line = self.names.lines.get(leaf.line, leaf.line)
        return f"{line} {said}".rstrip() if models or not phases else f"{line}, {said}"

    def _leaf(self, leaf: Leaf, negate: bool) -> str:
        match leaf:
            case Vehicle():
                keys = self._keys(leaf)
                car = self._vehicle(leaf)
                if not negate:
                    return gettext("it is {car}", car=car)
                return (
                    gettext("it is not {car}", car=car)
                    if keys < 2
                    else gettext("it is anything but {car}", car=car)
                )
            case Equipped():
                item = self._item(leaf)
                return (
                    gettext("it does not have {item}", item=item)
                    if negate
                    else gettext("it has {item}", item=item)
                )
            case Software(module, text):
                return gettext(
                    "{module} has software {versions}",
                    module=_the(module, self.names),
                    versions=software_words(text, negate),
                )
            case PartNumber(module, numbers):
                said = {"module": _the(module, self.names), "numbers": join_words(numbers, "or")}
                if negate:
                    return gettext("{module} does not bear part number {numbers}", **said)
                return gettext("{module} bears part number {numbers}", **said)
            case Holds(record, byte, value, mask):
                where = gettext(
                    "{byte} of {record}", byte=pair_words(byte), record=_record(record, self.names)
                )
                if mask != 0xFF:
                    where = gettext("{where} under the mask {mask}", where=where, mask=f"{mask:02X}")
                if negate:
                    return gettext("{where} is not {value}", where=where, value=f"{value:02X}")
                return gettext("{where} is {value}", where=where, value=f"{value:02X}")
            case SettingIs(path, values):
                called = (self.names.values.get((path, value), value) for value in values)
                quoted = join_words((f"“{value}”" for value in called), "or")
                said = {"setting": _setting(path, self.names), "values": quoted}
                if negate:
                    return gettext("{setting} is not set to {values}", **said)
                return gettext("{setting} is set to {values}", **said)
            case _:
                assert_never(leaf)


def _mark(number: int, inside: str) -> str:
    """What an alternative's mark adds to that which it is part of: letters and numbers in turn."""
    if inside[-1:].isalpha():
        return str(number + 1)
    letter = chr(ord("a") + number % 26)
    return letter if number < 26 else _mark(number // 26 - 1, inside) + letter


def _the(module: str, names: Names) -> str:
    return gettext("the {module}", module=lower_first(names.modules.get(module, module)))


def _record(path: str, names: Names) -> str:
    return gettext(
        "the record “{record}” of {module}",
        record=names.records.get(path, path),
        module=_the(path.partition("/")[0], names),
    )


def _setting(path: str, names: Names) -> str:
    return gettext(
        "“{setting}” in {module}",
        setting=names.settings.get(path, path),
        module=_the(path.partition("/")[0], names),
    )


def _look(leaf: Leaf, names: Names) -> Iterable[str]:
    match leaf:
        case Vehicle(line):
            kinds = (("models", leaf.models), ("phases", leaf.phases), ("markets", leaf.markets))
            for kind, ids in kinds:
                called = {"models": names.models, "phases": names.phases, "markets": names.markets}[kind]
                for name in ids:
                    yield from _tell(called.get((line, name), name), names.looks.get((kind, line, name)))
            if leaf.built != (None, None):
                yield gettext("The month of building stands in the car's papers.")
        case Equipped(item):
            yield from _tell(names.equipment.get(item, item), names.looks.get(("equipment", item)))
        case Software(module):
            yield gettext("Read the software version of {module}.", module=_the(module, names))
        case PartNumber(module):
            yield gettext(
                "Read the part number of {module}, or look at its label.", module=_the(module, names)
            )
        case Holds(record):
            yield gettext("Read {record}.", record=_record(record, names))
        case SettingIs(path):
            yield gettext("Read what {setting} is set to.", setting=_setting(path, names))
        case _:
            assert_never(leaf)


def _tell(name: str, how: str | None) -> Iterable[str]:
    if how:
        yield gettext("How to tell {name}: {how}.", name=name, how=lower_first(how).rstrip("."))
