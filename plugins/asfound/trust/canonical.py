"""One spelling for everything that means the same: what a code is computed over.

**Documents** are written as RFC 8785 (JSON Canonicalization Scheme) has it: UTF-8, no white space, the
keys of an object sorted, numbers only whole ones. Keys are ASCII here, so sorting by code points and by
UTF-16 units agree.

**Text** is brought to Unicode normal form C, and every run of spaces, tabs and line ends becomes one space,
with none at either end: a line broken elsewhere is no change.

**Conditions** become the list of their prime implicants (Blake 1937): any of these sets of facts, each true
or not, is enough, and none of them can do without one of its facts. Two conditions that are the same by
logic alone (order, nesting, "not" moved inward, a fact taken out of brackets) are therefore spelt the same.
What one has to know the world for (that no car is of phase 1 and of phase 2, that versions run in one line)
is not used: such a rewriting counts as a change, which errs on the safe side. A condition with more than
``LIMIT`` sets of facts is kept as a tree with "not" moved inward, and operands flattened, sorted and each
once.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import combinations

from ..car.conditions import (
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

Json = str | int | bool | None | Sequence["Json"] | Mapping[str, "Json"]

_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)

LIMIT = 128  # terms; a condition in use has a dozen

_Literal = tuple[str, bool]  # a fact, spelt as a document, and whether it must be true
_Term = frozenset[_Literal]


def spell(document: Json) -> bytes:
    """A document as RFC 8785 writes it."""
    return _ENCODER.encode(document).encode()


def text(words: str) -> str:
    """Text in normal form C with white space evened out."""
    return re.sub(r"[ \t\r\n]+", " ", unicodedata.normalize("NFC", words)).strip(" ")


def in_order(items: Iterable[Json]) -> list[Json]:
    """The items sorted by how they are spelt: for collections whose order says nothing."""
    listed = list(items)
    return sorted(listed, key=spell) if len(listed) > 1 else listed


@lru_cache(maxsize=8192)
def condition(test: Condition | None) -> Json:
    """The one spelling of a condition; None (all cars) is the condition that always holds.

    ``["any", TERM, ...]`` with ``TERM`` = ``["all", FACT, ...]`` and ``FACT`` a fact or ``["not", fact]``. A
    fact is one of ``["line", line]``, ``["model", line, model]``, ``["phase", line, phase]``, ``["market",
    line, market]``, ``["built", from or null, to or null]``, ``["equipped", item]``, ``["software", module,
    comparison]``, ``["part", module, number]``, ``["holds", record, byte, value, mask]``, ``["setting", path,
    value]``.
    """
    test = All(()) if test is None else test
    try:
        terms = _prime(_terms(_facts(test), True))
    except _TooMany:
        return ["tree", _tree(_facts(test), True)]
    return ["any", *in_order(["all", *in_order(map(_literal, term))] for term in terms)]


class _TooMany(Exception):
    """More than ``LIMIT`` terms."""


class _Fact(str):
    """A fact, spelt as a document."""


_Tree = _Fact | tuple[str, tuple["_Tree", ...]]  # a fact, or "all", "any", "not" of trees


def _facts(test: Condition) -> _Tree:
    """The condition over single facts: leaves that state several at once are taken apart."""
    match test:
        case All(of):
            return ("all", tuple(_facts(part) for part in of))
        case Any(of):
            return ("any", tuple(_facts(part) for part in of))
        case Not(of):
            return ("not", (_facts(of),))
        case _:
            return _leaf(test)


def _leaf(leaf: Leaf) -> _Tree:
    match leaf:
        case Vehicle(line=line):
            parts: list[_Tree] = [_fact("line", line)]
            groups = (("model", leaf.models), ("phase", leaf.phases), ("market", leaf.markets))
            for kind, names in groups:
                if names:
                    parts.append(("any", tuple(_fact(kind, line, name) for name in names)))
            if leaf.built != (None, None):
                parts.append(_fact("built", *leaf.built))
            return ("all", tuple(parts))
        case Equipped(item):
            return _fact("equipped", item)
        case Software(module, comparisons):
            return ("all", tuple(_fact("software", module, one) for one in comparisons.split(",")))
        case PartNumber(module, numbers):
            return ("any", tuple(_fact("part", module, number) for number in numbers))
        case Holds():
            return _fact("holds", leaf.record, leaf.byte, leaf.value, leaf.mask)
        case SettingIs(setting, values):
            return ("any", tuple(_fact("setting", setting, text(value)) for value in values))


def _fact(*parts: str | int | None) -> _Fact:
    return _Fact(spell(parts).decode())


def _literal(literal: _Literal) -> Json:
    fact: Json = json.loads(literal[0])
    return fact if literal[1] else ["not", fact]


def _terms(tree: _Tree, wanted: bool) -> frozenset[_Term]:
    """The sets of facts each of which is enough to make the tree true, or not true where not ``wanted``."""
    if isinstance(tree, _Fact):
        return frozenset((frozenset(((tree, wanted),)),))
    kind, of = tree
    if kind == "not":
        return _terms(of[0], not wanted)
    if (kind == "any") is wanted:
        out: frozenset[_Term] = frozenset()
        for part in of:
            out = _fewest(out | _terms(part, wanted))
        return out
    out = frozenset((frozenset(),))
    for part in of:
        more = _terms(part, wanted)
        out = _fewest(joined for one in out for other in more if _possible(joined := one | other))
    return out


def _possible(term: _Term) -> bool:
    return not any((fact, not wanted) in term for fact, wanted in term)


def _fewest(terms: Iterable[_Term]) -> frozenset[_Term]:
    """The terms without those that another one makes superfluous."""
    kept: list[_Term] = []
    for term in sorted(set(terms), key=len):
        if not any(other <= term for other in kept):
            kept.append(term)
        if len(kept) > LIMIT:
            raise _TooMany
    return frozenset(kept)


def _prime(terms: frozenset[_Term]) -> frozenset[_Term]:
    """All prime implicants, by consensus until nothing new comes (Quine 1955)."""
    while True:
        found = set(terms)
        for one, other in combinations(terms, 2):
            opposed = [literal for literal in one if (literal[0], not literal[1]) in other]
            if len(opposed) == 1:
                fact, wanted = opposed[0]
                found.add((one - {(fact, wanted)}) | (other - {(fact, not wanted)}))
        if (fewer := _fewest(found)) == terms:
            return terms
        terms = fewer


def _tree(tree: _Tree, wanted: bool) -> Json:
    """The tree with "not" moved inward, operands flattened, sorted and each once."""
    if isinstance(tree, _Fact):
        return _literal((tree, wanted))
    kind, of = tree
    if kind == "not":
        return _tree(of[0], not wanted)
    kind = "all" if (kind == "all") is wanted else "any"
    operands: dict[bytes, Json] = {}
    for part in of:
        operand = _tree(part, wanted)
        same_kind = isinstance(operand, list) and operand[0] == kind
        for one in operand[1:] if same_kind and isinstance(operand, list) else [operand]:
            operands[spell(one)] = one
    return [kind, *(operands[key] for key in sorted(operands))]
