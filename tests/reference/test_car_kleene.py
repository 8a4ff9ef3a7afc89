"""Three-valued logic against SQLite's NULL logic, and S1000D's two passes where there is no negation."""

import sqlite3
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.car.conditions import All, Any, Condition, Equipped, Not
from asfound.car.fitting import answer, truth
from asfound.car.known import Known
from asfound.car.vehicles import Equipment, Fitted, Model, Phase, VehicleLine
from asfound.car.world import World

ITEMS = ("a", "b", "c")
WORLD = World(
    {
        "skerry": VehicleLine(
            "skerry", "", "", (Phase("1", "", (None, None), ""),), (Model("van", "", ""),),
            tuple(Equipment(item, item, "") for item in ITEMS), (Fitted("living-area"),),
        )
    }
)  # fmt: skip
VALUES = (True, False, None)


def sql(condition: Condition) -> str:
    match condition:
        case All(of):
            return "(" + " AND ".join(map(sql, of)) + ")"
        case Any(of):
            return "(" + " OR ".join(map(sql, of)) + ")"
        case Not(of):
            return f"(NOT {sql(of)})"
        case Equipped(item):
            return f":{item}"
    raise AssertionError(condition)


def trees(negation: bool) -> st.SearchStrategy[Condition]:
    def grow(inner: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
        joined = st.lists(inner, min_size=1, max_size=4).map(tuple)
        ways = [joined.map(All), joined.map(Any)]
        return st.one_of(*ways, inner.map(Not)) if negation else st.one_of(*ways)

    return st.recursive(st.sampled_from(ITEMS).map(Equipped), grow, max_leaves=10)


def known(values: tuple[bool | None, ...]) -> Known:
    return Known(equipment={i: v for i, v in zip(ITEMS, values, strict=True) if v is not None})


@pytest.fixture(scope="module")
def database() -> sqlite3.Connection:
    return sqlite3.connect(":memory:")


def by_sqlite(
    database: sqlite3.Connection, condition: Condition, values: tuple[bool | None, ...]
) -> bool | None:
    (found,) = database.execute(f"SELECT {sql(condition)}", dict(zip(ITEMS, values, strict=True))).fetchone()
    return None if found is None else bool(found)


@pytest.mark.parametrize("values", list(product(VALUES, repeat=3)))
def test_tables(database: sqlite3.Connection, values: tuple[bool | None, ...]) -> None:
    a, b, c = map(Equipped, ITEMS)
    for condition in (
        a,
        Not(a),
        All((a, b)),
        Any((a, b)),
        All((a, b, c)),
        Any((a, b, c)),
        Not(All((a, Not(b)))),
    ):
        assert truth(condition, known(values), WORLD) is by_sqlite(database, condition, values)


@settings(deadline=None, max_examples=150)
@given(trees(negation=True))
def test_random_trees_agree_with_sqlite(condition: Condition) -> None:
    database = sqlite3.connect(":memory:")
    for values in product(VALUES, repeat=3):
        assert truth(condition, known(values), WORLD) is by_sqlite(database, condition, values)


@settings(deadline=None, max_examples=150)
@given(trees(negation=False))
def test_without_negation_two_passes_agree(condition: Condition) -> None:
    # S1000D applicability: with unknowns taken as true the car possibly fits, taken as false it surely does.
    for values in product(VALUES, repeat=3):
        possibly = truth(condition, known(tuple(True if v is None else v for v in values)), WORLD)
        surely = truth(condition, known(tuple(False if v is None else v for v in values)), WORLD)
        expected = "fits" if surely else "if" if possibly else "no"
        assert answer(condition, known(values), WORLD).kind == expected
        assert truth(condition, known(values), WORLD) is {"fits": True, "no": False, "if": None}[expected]
