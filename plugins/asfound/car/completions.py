"""Every car that what is known leaves possible, as far as given conditions can tell cars apart.

A completion gives each fact that the conditions name one value. The kind of vehicle is one fact: line,
model, phase, market and month of building together, restricted to what was made; equipment is restricted by
it. Software is cut at every version named, bytes and words into those named and others. The set of
completions in which a condition is true is one whole number, a bit for each completion, so that conditions
combine and compare by the bit operations of Python's integers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache, reduce
from operator import and_, or_
from typing import assert_never

from .conditions import (
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
)
from .conditions import leaves as leaves_of
from .known import Known
from .versions import Point, RangeProblem, key, parse_range, points, range_of
from .world import Car, World, cars, iso_month, vehicle_keys

LIMIT = (
    1 << 22
)  # completions; more facts at once than anybody can read, and half a megabyte for each condition

Value = bool | Point | str | int | None
Fact = tuple[str, ...]


class TooManyFacts(ValueError):
    """A condition names more unknown facts at once than can be weighed exactly."""


def fact(leaf: Leaf) -> Fact:
    """Which fact a leaf is about."""
    match leaf:
        case Vehicle():
            return ("vehicle",)
        case Equipped(item):
            return ("equipped", item)
        case Software(module):
            return ("software", module)
        case PartNumber(module):
            return ("part", module)
        case Holds(record, byte):
            return ("holds", record, str(byte))
        case SettingIs(setting):
            return ("setting", setting)
        case _:
            assert_never(leaf)


def accepts(leaf: Leaf, value: Value) -> bool:
    """Whether a leaf that is not about the kind of vehicle is true when its fact has this value."""
    match leaf:
        case Equipped():
            return value is True
        case Software(_, text):
            try:
                return isinstance(value, tuple) and parse_range(text).contains_point(value)
            except RangeProblem:  # reported where it is written; no version satisfies it
                return False
        case PartNumber(_, named) | SettingIs(_, named):
            return value in named
        case Holds(_, _, wanted, mask):
            return isinstance(value, int) and value & mask == wanted
        case _:
            raise AssertionError(leaf)


class Space:
    """All completions of what is known, over the facts that some conditions name.

    ``valid`` has a bit for each completion that can be; ``cars`` and ``values`` say what the completions
    are made of. TooManyFacts when there are more than ``LIMIT``.
    """

    def __init__(self, conditions: Iterable[Condition], known: Known, world: World) -> None:
        by_fact: dict[Fact, list[Leaf]] = {}
        for condition in conditions:
            for leaf in leaves_of(condition):
                by_fact.setdefault(fact(leaf), []).append(leaf)
        vehicles = [leaf for leaf in by_fact.pop(("vehicle",), []) if isinstance(leaf, Vehicle)]
        self.all_cars = cars(vehicles, known, world)
        items = tuple(name[1] for name in by_fact if name[0] == "equipped")
        distinct: dict[object, tuple[Car, tuple[bool | None, ...]]] = {}
        for car in self.all_cars:
            has = tuple(world.equipment(car, item) for item in items)
            distinct.setdefault((*(vehicle_keys(leaf, car) for leaf in vehicles), has), (car, has))
        self.cars = tuple(car for car, _ in distinct.values())
        self.values: dict[Fact, tuple[Value, ...]] = {}
        self._stride: dict[Fact, int] = {}
        self._size = len(self.cars)
        for name, group in by_fact.items():
            self._stride[name] = self._size
            if name[0] == "equipped":
                column = [has[items.index(name[1])] for _, has in distinct.values()]
                self.values[name] = _equipment_values(name[1], column, known)
            else:
                self.values[name] = _values(name, group, known)
            self._size *= len(self.values[name])
            if self._size > LIMIT:
                raise TooManyFacts(f"{len(by_fact)} unknown facts at once")
        self._masks: dict[Leaf, int] = {}
        self.valid = (1 << self._size) - 1
        for position, item in enumerate(items):
            for wrong in self.values["equipped", item]:
                never = [i for i, (_, has) in enumerate(distinct.values()) if has[position] is (not wrong)]
                if never:
                    self.valid &= ~(
                        self._car_mask(never) & self._value_mask(("equipped", item), wrong.__eq__)
                    )

    def where(self, condition: Condition) -> int:
        """The completions in which ``condition``, of the named facts only, is true; a bit for each."""
        match condition:
            case All(of):
                return reduce(and_, map(self.where, of), self.valid)
            case Any(of):
                return reduce(or_, map(self.where, of), 0)
            case Not(of):
                return self.valid & ~self.where(of)
            case _:
                mask = self._masks.get(condition)
                if mask is None:
                    mask = self._masks[condition] = self.valid & self._leaf_mask(condition)
                return mask

    def example(self, where: int) -> tuple[Car, dict[Fact, Value]] | None:
        """The first completion of those ``where``: a kind of vehicle, and a value for every other fact."""
        if not where:
            return None
        index = (where & -where).bit_length() - 1
        return self.cars[index % len(self.cars)], {
            name: values[index // self._stride[name] % len(values)] for name, values in self.values.items()
        }

    def _leaf_mask(self, leaf: Leaf) -> int:
        if isinstance(leaf, Vehicle):
            return self._car_mask([i for i, car in enumerate(self.cars) if all(vehicle_keys(leaf, car))])
        return self._value_mask(fact(leaf), lambda value: accepts(leaf, value))

    def _car_mask(self, indices: list[int]) -> int:
        block = sum(1 << i for i in indices)
        return _repeat(block, len(self.cars), self._size)

    def _value_mask(self, name: Fact, wanted: Callable[[Value], bool]) -> int:
        stride, values = self._stride[name], self.values[name]
        ones = (1 << stride) - 1
        block = sum(ones << stride * i for i, value in enumerate(values) if wanted(value))
        return _repeat(block, stride * len(values), self._size)


def _repeat(block: int, length: int, size: int) -> int:
    """``block`` of ``length`` bits, over and over until ``size`` bits (a multiple of it) are full."""
    while block and length < size:
        times = min(length, size - length)
        block |= (block & (1 << times) - 1) << length
        length += times
    return block


def _equipment_values(item: str, has: list[bool | None], known: Known) -> tuple[bool, ...]:
    if item in known.equipment:
        return (known.equipment[item],)
    return tuple(value for value in (True, False) if value in has or None in has)


def _values(name: Fact, group: list[Leaf], known: Known) -> tuple[Value, ...]:
    """The values of one fact that can be told apart, or the one that is known."""
    match name:
        case ("software", module):
            if module in known.software:
                return ((key(known.software[module]), 0),)
            return points(bounds(group))
        case ("part", module):
            return (known.parts[module],) if module in known.parts else _named(group)
        case ("setting", path):
            return (known.settings[path],) if path in known.settings else _named(group)
        case ("holds", record, byte):
            if record in known.records:
                held = known.records[record]
                return (held[int(byte)] if int(byte) < len(held) else None,)
            return _told_apart(tuple((leaf.value, leaf.mask) for leaf in group if isinstance(leaf, Holds)))
    raise AssertionError(name)


@lru_cache(maxsize=4096)
def _told_apart(wanted: tuple[tuple[int, int], ...]) -> tuple[int, ...]:
    """One byte of each kind that comparisons with these values, each under its mask, tell apart."""
    told: dict[tuple[bool, ...], int] = {}
    for byte in range(256):
        told.setdefault(tuple([byte & mask == value for value, mask in wanted]), byte)
    return tuple(told.values())


def bounds(group: Iterable[Leaf]) -> tuple[str, ...]:
    """Every version that the readable ranges among some leaves name."""
    found: set[str] = set()
    for leaf in group:
        if isinstance(leaf, Software):
            try:
                found.update(parse_range(leaf.range).bounds)
            except RangeProblem:
                continue
    return tuple(sorted(found, key=key))


def _named(group: list[Leaf]) -> tuple[str | None, ...]:
    named: dict[str, None] = {}
    for leaf in group:
        if isinstance(leaf, PartNumber):
            named |= dict.fromkeys(leaf.numbers)
        elif isinstance(leaf, SettingIs):
            named |= dict.fromkeys(leaf.values)
    return (*named, None)


def describe(car: Car, values: Mapping[Fact, Value], group: Iterable[Leaf]) -> All:
    """A completion as a condition that exactly such cars satisfy; ``group`` are the leaves it came from."""
    group = tuple(group)
    vehicles = [leaf for leaf in group if isinstance(leaf, Vehicle)]
    parts: list[Condition] = []
    if car.line:
        month = iso_month(car.month) if any(v.built != (None, None) for v in vehicles) else None
        market = (car.market,) if car.market and any(v.markets for v in vehicles) else ()
        parts.append(Vehicle(car.line, (car.model,), (car.phase,), (month, month), market))
    for name, value in values.items():
        about = [leaf for leaf in group if fact(leaf) == name]
        match name[0], value:
            case "equipped", has:
                parts.append(Equipped(name[1]) if has else Not(Equipped(name[1])))
            case "software", (_, _) as point:
                text = range_of(point, bounds(about))
                parts.extend([Software(name[1], text)] if text else ())
            case "holds", int(byte):
                parts.append(Holds(name[1], int(name[2]), byte))
            case ("part" | "setting") as kind, str(word):
                parts.append(PartNumber(name[1], (word,)) if kind == "part" else SettingIs(name[1], (word,)))
            case "part" | "setting", None:
                parts.extend(Not(leaf) for leaf in dict.fromkeys(about))
    return All(tuple(parts))
