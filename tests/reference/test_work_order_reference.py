"""Fewest visits: against brute force over all orders, and circles against networkx."""

from __future__ import annotations

from itertools import groupby, permutations

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.work.order import Circle, circle, fewest_visits


@st.composite
def tasks(draw: st.DrawFn, most: int = 7) -> tuple[list[int], list[tuple[int, int]]]:
    """Classes of up to ``most`` things and pairs without a circle, in any numbering."""
    count = draw(st.integers(0, most))
    classes = draw(st.lists(st.integers(0, 3), min_size=count, max_size=count))
    names = draw(st.permutations(range(count)))
    possible = [(names[i], names[j]) for i in range(count) for j in range(i + 1, count)]
    before = draw(st.lists(st.sampled_from(possible), max_size=9)) if possible else []
    return classes, before


def visits(classes: list[int], order: tuple[int, ...]) -> int:
    return sum(1 for _ in groupby(order, key=lambda thing: classes[thing]))


def brute_force(classes: list[int], before: list[tuple[int, int]]) -> int:
    """The fewest visits over all orders that keep the pairs."""
    return min(
        visits(classes, order)
        for order in permutations(range(len(classes)))
        if all(order.index(first) < order.index(second) for first, second in before)
    )


@given(tasks())
@settings(max_examples=150, deadline=None)
def test_as_few_as_brute_force_finds(task: tuple[list[int], list[tuple[int, int]]]) -> None:
    classes, before = task
    route = fewest_visits(classes, before)
    assert route.proven
    assert sorted(route.order) == list(range(len(classes)))
    assert all(route.order.index(first) < route.order.index(second) for first, second in before)
    assert visits(classes, route.order) == len(route.visits) == brute_force(classes, before)


@given(tasks(most=12))
@settings(max_examples=60, deadline=None)
def test_without_a_limit_to_work_it_says_so(task: tuple[list[int], list[tuple[int, int]]]) -> None:
    classes, before = task
    best = fewest_visits(classes, before)
    rough = fewest_visits(classes, before, limit=0)
    assert rough.at_least <= len(best.visits) <= len(rough.visits)
    assert sorted(rough.order) == list(range(len(classes)))
    assert all(rough.order.index(first) < rough.order.index(second) for first, second in before)
    assert rough.proven == (len(rough.visits) == rough.at_least)


def chain(*rows: str) -> tuple[list[int], list[tuple[int, int]]]:
    """Rows of things that must be done one after the other; a letter is a class."""
    classes: list[int] = []
    before = []
    for row in rows:
        for at, letter in enumerate(row):
            if at:
                before.append((len(classes) - 1, len(classes)))
            classes.append("ABCDEFGHIJKL".index(letter))
    return classes, before


@pytest.mark.parametrize(
    ("rows", "fewest"),
    [
        (("ABA", "BAB"), 4),  # the shortest common supersequence, ABAB or BABA
        (("ABA", "ABA"), 3),
        (("AB", "BC", "CA"), 4),  # a circle of classes: one of them twice
        (("AB", "BA", "CD", "DC"), 6),
        (("ABC", "CBA"), 5),
        (("AAAA", "BBB"), 2),
        ((), 0),
    ],
)
def test_chains(rows: tuple[str, ...], fewest: int) -> None:
    route = fewest_visits(*chain(*rows))
    assert route.proven and len(route.visits) == fewest


def test_where_taking_the_largest_visit_first_fails() -> None:
    """Classes 1 1 0 2 0 0, thing 3 after 0 and 2, thing 5 after 0, 1 and 2: the best is three visits."""
    classes = [1, 1, 0, 2, 0, 0]
    before = [(0, 3), (2, 3), (0, 5), (1, 5), (2, 5)]
    route = fewest_visits(classes, before)
    assert route.visits == ((0, 1), (2, 4, 5), (3,))
    done: set[int] = set()
    greedy = 0
    while len(done) < 6:  # always the class with most to do at once, as a reader might
        ready = {}
        for kind in range(3):
            now = set(done)
            while more := [
                t
                for t in range(6)
                if classes[t] == kind and t not in now and all(a in now for a, b in before if b == t)
            ]:
                now.update(more)
            ready[kind] = now
        done = max(ready.values(), key=len)
        greedy += 1
    assert greedy == 4 and len(route.visits) == 3


@given(st.integers(1, 8), st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=14))
@settings(max_examples=150, deadline=None)
def test_circles_as_networkx_finds_them(count: int, pairs: list[tuple[int, int]]) -> None:
    before = [(a % count, b % count) for a, b in pairs]
    graph = networkx.DiGraph(before)
    graph.add_nodes_from(range(count))
    found = circle(count, before)
    assert bool(found) is not networkx.is_directed_acyclic_graph(graph)
    if found:
        assert all(graph.has_edge(a, b) for a, b in zip(found, (*found[1:], found[0]), strict=True))
        with pytest.raises(Circle) as caught:
            fewest_visits([0] * count, before)
        assert caught.value.of == found
