"""The fewest visits: writing records in an order that keeps what must come first, changing module seldom.

A visit does things of one class (control module) one after the other. To order things under constraints so
that the class changes least is the precedence-constrained class sequencing problem, which is NP-hard
(Computers & Operations Research 118, 2020, 105063). Jobs on a car are small, so it is solved exactly:

- In a visit everything is done that may be done; putting off what could be done never saves a visit.
- A class that can be finished now is finished now, the first such class first: it must be visited once more
  anyway, and its things can only set others free.
- Otherwise every class that has something to do is tried, in the order of the classes. The number of visits
  allowed grows from a lower bound until a way is found; what was found hopeless is remembered.

The first way found is the answer, so that everybody who follows these rules finds the same one. The search
gives up after ``LIMIT`` sets of things done; then the answer is a good order that is not ``proven``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LIMIT = 10_000  # sets of things done that are looked at: seconds at the worst, milliseconds as a rule


class Circle(ValueError):
    """Things that must all come before each other: ``of``, in turn, each before the next and the last
    before the first."""

    def __init__(self, of: tuple[int, ...]) -> None:
        super().__init__(f"these wait for each other: {', '.join(map(str, of))}")
        self.of = of


@dataclass(frozen=True, slots=True)
class Route:
    """Things by number in the order of doing, grouped into visits, each of one class.

    ``at_least`` visits are needed in any order; ``proven`` when there are no more than that.
    """

    visits: tuple[tuple[int, ...], ...]
    at_least: int

    @property
    def proven(self) -> bool:
        """Whether no order has fewer visits."""
        return len(self.visits) == self.at_least

    @property
    def order(self) -> tuple[int, ...]:
        """All things in the order of doing."""
        return tuple(thing for visit in self.visits for thing in visit)


def fewest_visits(classes: Sequence[int], before: Iterable[tuple[int, int]], limit: int = LIMIT) -> Route:
    """The order with the fewest visits.

    ``classes`` has the class of each thing, from 0; ``before`` pairs of things of which the first must be
    done before the second. Circle when some wait for each other.
    """
    return _Search(classes, before, limit).route()


def circle(count: int, before: Iterable[tuple[int, int]]) -> tuple[int, ...]:
    """A circle among ``count`` things, each before the next; () when there is none."""
    after: list[list[int]] = [[] for _ in range(count)]
    for first, second in before:
        after[first].append(second)
    state = [0] * count  # 0 new, 1 on the way, 2 done
    for start in range(count):
        if state[start]:
            continue
        state[start] = 1
        way, choices = [start], [iter(after[start])]
        while way:
            following = next(choices[-1], None)
            if following is None:
                state[way.pop()] = 2
                choices.pop()
            elif state[following] == 1:
                return tuple(way[way.index(following) :])
            elif state[following] == 0:
                state[following] = 1
                way.append(following)
                choices.append(iter(after[following]))
    return ()


class _GaveUp(Exception):
    """The limit was reached."""


class _Search:
    """Sets of things, and of classes, are whole numbers with a bit for each member."""

    def __init__(self, classes: Sequence[int], before: Iterable[tuple[int, int]], limit: int) -> None:
        pairs = tuple(dict.fromkeys(before))
        if found := circle(len(classes), pairs):
            raise Circle(found)
        self.classes, self.limit = classes, limit
        self.all = (1 << len(classes)) - 1
        self.needs = [0] * len(classes)
        self.after: list[list[int]] = [[] for _ in classes]
        for first, second in pairs:
            self.needs[second] |= 1 << first
            self.after[first].append(second)
        self.things: list[list[int]] = [[] for _ in range(max(classes, default=-1) + 1)]
        self.of_class = [0] * len(self.things)
        in_turn = self._in_turn()
        for thing in in_turn:
            self.things[classes[thing]].append(thing)
            self.of_class[classes[thing]] |= 1 << thing
        self.layers = self._layers(in_turn)
        self.leads_to = self._leads_to(in_turn)
        self.hopeless: dict[int, int] = {}
        self.looked_at = 0

    def _in_turn(self) -> list[int]:
        """The things, each after what must come before it."""
        out: list[int] = []
        done = 0
        while done != self.all:
            for thing, needs in enumerate(self.needs):
                if not (done >> thing & 1 or needs & ~done):
                    out.append(thing)
                    done |= 1 << thing
        return out

    def _layers(self, in_turn: Sequence[int]) -> list[list[int]]:
        """For each class, sets of its things: those that are left when one visit is needed, two, and so on.

        A visit more is needed wherever something of another class must come between two things of one class.
        """
        runs: list[dict[int, int]] = [{} for _ in self.classes]  # of each thing: class → visits from then on
        layers: list[list[int]] = [[] for _ in self.things]
        for thing in reversed(in_turn):
            own, most = self.classes[thing], runs[thing]
            most[own] = 1
            for other in self.after[thing]:
                for kind, count in runs[other].items():
                    more = count + (kind == own != self.classes[other])
                    most[kind] = max(most.get(kind, 0), more)
            for level in range(most[own]):
                if level == len(layers[own]):
                    layers[own].append(0)
                layers[own][level] |= 1 << thing
        return layers

    def _leads_to(self, in_turn: Sequence[int]) -> list[int]:
        """For each thing the other classes that have something after it."""
        every = [0] * len(self.classes)
        for thing in reversed(in_turn):
            for other in self.after[thing]:
                every[thing] |= every[other] | 1 << self.classes[other]
        return [of & ~(1 << kind) for of, kind in zip(every, self.classes, strict=True)]

    def at_least(self, done: int) -> int:
        """How many visits are needed at least for the rest.

        As many for each class as its layers say; and one more for each circle of classes, each before the
        next, when no two circles share a class and none of the classes has two layers already.
        """
        left = self.all & ~done
        visits = single = 0
        for kind, layers in enumerate(self.layers):
            count = sum(1 for layer in layers if layer & left)
            visits += count
            single |= (count == 1) << kind
        towards = [0] * len(self.things)
        for thing, classes in enumerate(self.leads_to):
            if left >> thing & 1:
                towards[self.classes[thing]] |= classes
        return visits + _circles(towards, single)

    def visit(self, done: int, kind: int) -> int:
        """What is done after a visit that does all it may."""
        for thing in self.things[kind]:
            if not self.needs[thing] & ~done:
                done |= 1 << thing
        return done

    def moves(self, done: int) -> list[tuple[int, int]]:
        """The visits worth making now, and what is done then: the first class that can be finished, or all
        that have something to do."""
        some = []
        for kind, of in enumerate(self.of_class):
            if of & ~done:
                then = self.visit(done, kind)
                if not of & ~then:
                    return [(kind, then)]
                if then != done:
                    some.append((kind, then))
        return some

    def route(self) -> Route:
        bound = self.at_least(0)
        while True:
            self.way: list[int] = []
            try:
                if self.within(0, bound):
                    return Route(self._visits(self.way), bound)
            except _GaveUp:
                return Route(self._visits(self.greedy()), bound)
            bound += 1

    def within(self, done: int, visits: int) -> bool:
        """Whether the rest can be done in so many visits; ``way`` then ends with the classes to visit."""
        if done == self.all:
            return True
        if self.hopeless.get(done, -1) >= visits or self.at_least(done) > visits:
            return False
        self.looked_at += 1
        if self.looked_at > self.limit:
            raise _GaveUp
        for kind, then in self.moves(done):
            self.way.append(kind)
            if self.within(then, visits - 1):
                return True
            self.way.pop()
        self.hopeless[done] = visits
        return False

    def greedy(self) -> list[int]:
        """A way by the rules that, where they leave a choice, makes the visit that promises most."""
        done, way = 0, []
        while done != self.all:
            _, kind, done = min((self.at_least(then), kind, then) for kind, then in self.moves(done))
            way.append(kind)
        return way

    def _visits(self, way: Iterable[int]) -> tuple[tuple[int, ...], ...]:
        """The things of each visit; of those that may be done, the one that was named first comes first."""
        done, out = 0, []
        for kind in way:
            things: list[int] = []
            waiting = sorted(self.things[kind])
            while ready := [t for t in waiting if not (done >> t & 1 or self.needs[t] & ~done)]:
                things.append(ready[0])
                done |= 1 << ready[0]
            out.append(tuple(things))
        return tuple(out)


def _circles(towards: Sequence[int], among: int) -> int:
    """How many circles without a common member can be taken out of a graph; short ones are looked for first.

    ``towards`` has for each member those it leads to; only members of ``among`` count.
    """
    count = 0
    members = [i for i in range(len(towards)) if among >> i & 1]
    for one in members:
        for other in members:
            if (
                one < other
                and among >> one & among >> other & towards[one] >> other & towards[other] >> one & 1
            ):
                among &= ~(1 << one | 1 << other)
                count += 1
    while True:
        trimmed = _on_circles(towards, among)
        if not trimmed:
            return count
        count += 1
        among = trimmed & ~_one_circle(towards, trimmed)


def _on_circles(towards: Sequence[int], among: int) -> int:
    """Without the members that lead nowhere, again and again."""
    while True:
        stay = sum(1 << i for i in range(len(towards)) if among >> i & 1 and towards[i] & among)
        if stay == among:
            return among
        among = stay


def _one_circle(towards: Sequence[int], among: int) -> int:
    """The members of a circle, where every member leads to another."""
    way: list[int] = []
    one = (among & -among).bit_length() - 1
    while one not in way:
        way.append(one)
        following = towards[one] & among
        one = (following & -following).bit_length() - 1
    return sum(1 << i for i in way[way.index(one) :])
