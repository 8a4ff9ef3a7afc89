"""One spelling for what means the same."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.car.conditions import (
    FALSE,
    TRUE,
    All,
    Any,
    Equipped,
    Holds,
    Not,
    PartNumber,
    SettingIs,
    Software,
    Vehicle,
)
from asfound.car.origin import Origin
from asfound.trust.canonical import condition, in_order, spell, text

ITEMS = "abcd"
trees = st.recursive(
    st.sampled_from([Equipped(i) for i in ITEMS]),
    lambda kids: st.one_of(
        st.lists(kids, max_size=3).map(lambda of: All(tuple(of))),
        st.lists(kids, max_size=3).map(lambda of: Any(tuple(of))),
        kids.map(Not),
    ),
    max_leaves=7,
)


def table(tree):
    """The truth table over all cars: what the condition means, by plain evaluation."""

    def true(tree, has):
        match tree:
            case All(of):
                return all(true(part, has) for part in of)
            case Any(of):
                return any(true(part, has) for part in of)
            case Not(of):
                return not true(of, has)
            case _:
                return has[tree.item]

    return [true(tree, dict(zip(ITEMS, v, strict=True))) for v in product((False, True), repeat=4)]


@settings(max_examples=400, deadline=None)
@given(trees, trees)
def test_same_spelling_exactly_when_same_truth_table(one, other):
    assert (condition(one) == condition(other)) == (table(one) == table(other))


@settings(max_examples=200, deadline=None)
@given(trees)
def test_every_rewriting_is_spelt_the_same(tree):
    assert condition(Not(Not(tree))) == condition(tree) == condition(All((tree, Any((tree, Equipped("a"))))))
    assert condition(Any((All((tree, Equipped("a"))), All((tree, Not(Equipped("a"))))))) == condition(tree)


def test_constants():
    assert condition(None) == condition(TRUE) == ["any", ["all"]]
    assert condition(FALSE) == ["any"]


def test_leaves_are_taken_apart():
    both = Vehicle("skerry", phases=("1", "2"))
    apart = Any((Vehicle("skerry", phases=("2",)), Vehicle("skerry", phases=("1",))))
    assert condition(both) == condition(apart)
    assert condition(Software("m", ">=0210,<0405")) == condition(Software("m", "<0405,>=0210"))
    assert condition(PartNumber("m", ("A", "B"))) == condition(PartNumber("m", ("B", "A")))
    assert condition(SettingIs("m/r/s", ("on  x",))) == condition(SettingIs("m/r/s", ("on x",)))
    assert condition(Vehicle("skerry", origin=Origin("x"))) == condition(Vehicle("skerry"))


def test_every_part_of_every_leaf_matters():
    different = [
        Vehicle("skerry"), Vehicle("other"), Vehicle("skerry", models=("1",)),
        Vehicle("skerry", phases=("1",)), Vehicle("skerry", markets=("1",)),
        Vehicle("skerry", built=("2020-01", None)), Vehicle("skerry", built=(None, "2020-01")),
        Equipped("skerry"), Software("m", ">=1"), Software("n", ">=1"), Software("m", ">=2"),
        PartNumber("m", ("1",)), PartNumber("n", ("1",)), SettingIs("m/r/s", ("1",)),
        SettingIs("m/r/t", ("1",)), SettingIs("m/r/s", ("2",)), Holds("m/r", 0, 1), Holds("m/r", 1, 1),
        Holds("m/r", 0, 2), Holds("m/r", 0, 1, 0x0F), Holds("m/q", 0, 1),
    ]  # fmt: skip
    assert len({spell(condition(leaf)) for leaf in different}) == len(different)


def wide(items):
    """A condition with 3 ** 6 terms: too many to list."""
    return All(tuple(Any(tuple(Equipped(f"{i}{j}") for j in items)) for i in range(6)))


def test_too_many_terms_keep_the_tree_still_in_one_order():
    assert condition(wide((0, 1, 2)))[0] == "tree"
    assert condition(wide((0, 1, 2))) == condition(All((wide((2, 0, 1)),)))
    assert condition(wide((0, 1, 2))) == condition(Not(Not(wide((1, 0, 2)))))
    assert condition(wide((0, 1, 2))) != condition(wide((0, 1, 3)))
    assert condition(Not(wide((0, 1, 2)))) != condition(wide((0, 1, 2)))


def test_documents_are_spelt_as_rfc_8785_has_it():
    # RFC 8785, 3.2.2 and 3.2.3: the literals and the string of its sample object (from memory).
    sample = {"string": '\u20ac$\u000f\nA\'B"\\\\"/', "literals": [None, True, False], "numbers": [4, 333]}
    want = '{"literals":[null,true,false],"numbers":[4,333],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert spell(sample).decode() == want


def test_text():
    assert text("  Keep\n\tclear ") == "Keep clear"
    assert text("e\u0301") == "\u00e9"  # NFC, Unicode Standard Annex #15
    assert text("a\u00a0b") != text("a b")


def test_in_order():
    assert in_order([["b"], ["a", 1], "z"]) == ["z", ["a", 1], ["b"]]
