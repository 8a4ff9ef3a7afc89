"""Every leaf of every demo file made wrong: the check finds it, and names its line first.

The normal run takes one mutation of each kind for each field; with ASFOUND_SOAK in the environment
(``make soak``) all are tried. What may survive stands in ``survivors.yml``, each with its reason.
"""

from __future__ import annotations

import os
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from zlib import crc32

import pytest
import yaml

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from demo import demo, every_mutation, every_schema_field, general, more  # noqa: E402
from excuses import EXCUSES  # noqa: E402
from fields import KINDS, required  # noqa: E402
from mutate import Mutation  # noqa: E402
from overlay import Bench  # noqa: E402

SOAK = bool(os.environ.get("ASFOUND_SOAK"))
CODE_MOVED = "unknown-code"  # the one finding that may name another line: the sheet code is not what it was


@dataclass(frozen=True)
class Entry:
    """Some survivors and why they may."""

    fields: tuple[str, ...]
    how: tuple[str, ...]
    because: str
    when: str = ""

    def covers(self, bench: Bench, mutation: Mutation) -> bool:
        """Whether the mutation may survive for this reason."""
        named = mutation.field in self.fields and mutation.how in self.how
        return named and (not self.when or EXCUSES[self.when](bench, mutation))


@cache
def entries() -> tuple[Entry, ...]:
    """What ``survivors.yml`` says."""
    listed = yaml.safe_load((HERE / "survivors.yml").read_text(encoding="utf-8"))
    return tuple(
        Entry(tuple(each["fields"]), tuple(each["how"]), each["because"], each.get("when", ""))
        for each in listed
    )


@cache
def not_mutated() -> frozenset[str]:
    """The fields of free prose and stated estimates."""
    listed = yaml.safe_load((HERE / "words_and_estimates.yml").read_text(encoding="utf-8"))
    return frozenset(field for group in listed for field in group["fields"])


def counts(mutation: Mutation) -> bool:
    """Whether it must be found: of prose and estimates, only whether they are there, their type and key."""
    if mutation.field not in not_mutated():
        return True
    there = mutation.how == "delete" and isinstance(mutation.path[-1], str)
    return mutation.how in ("retype", "misspell key") or (there and required(mutation.kind, mutation.path))


@cache
def chosen() -> tuple[tuple[Bench, Mutation], ...]:
    """All mutations, or one of each kind for each field: always the same as long as its file is the same."""
    every = [(bench, mutation) for bench, mutation in every_mutation() if counts(mutation)]
    if SOAK:
        return tuple(every)
    groups: dict[tuple[str, str], list[tuple[Bench, Mutation]]] = defaultdict(list)
    for bench, mutation in every:
        groups[mutation.field, mutation.how].append((bench, mutation))
    return tuple(min(group, key=lambda one: crc32(str(one[1]).encode())) for group in groups.values())


@cache
def outcomes(kind: str) -> tuple[tuple[Bench, Mutation, str], ...]:
    """Each chosen mutation of a kind of file with "found", "missed", "code moved", or what is said of another
    place."""
    out = []
    for bench, mutation in chosen():
        if mutation.kind != kind:
            continue
        findings = bench.check(mutation.file, mutation.raw)
        if not findings:
            said = "missed"
        elif mutation.is_named_by(findings[0]):
            said = "found"
        elif findings[0].id == CODE_MOVED:
            said = "code moved"
        else:
            first = findings[0]
            said = f"{first.file}:{first.line} [{first.id}] {first.message}"
        out.append((bench, mutation, said))
    return tuple(out)


def test_the_books_are_sound() -> None:
    assert demo().findings == ()
    assert more().findings == ()


def test_no_kind_is_left_out() -> None:
    assert {mutation.kind for _, mutation in chosen()} == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_first_finding_names_the_line_and_every_survivor_is_listed(kind: str) -> None:
    """One test for both, so that no two processes of a run work out the same outcomes."""
    tally = Counter(said for _, _, said in outcomes(kind))
    print(len(outcomes(kind)), "mutations:", ", ".join(f"{number} {said}" for said, number in tally.items()))
    elsewhere = [
        f"{mutation}\n    {said}"
        for _, mutation, said in outcomes(kind)
        if said not in ("found", "missed", "code moved")
    ]
    assert not elsewhere, "\n".join(elsewhere)
    new = [
        f"{mutation} ({said})"
        for bench, mutation, said in outcomes(kind)
        if said in ("missed", "code moved") and not any(e.covers(bench, mutation) for e in entries())
    ]
    assert not new, f"{len(new)} survive and are not listed:\n" + "\n".join(new)


def test_no_entry_is_stale() -> None:
    """In the soak each must have let something pass; else there must be something it could let pass."""
    if SOAK:
        every = [one for kind in KINDS for one in outcomes(kind)]
        candidates = [(bench, m) for bench, m, said in every if said in ("missed", "code moved")]
    else:
        candidates = [one for one in every_mutation() if counts(one[1])]
    by_field: dict[tuple[str, str], list[tuple[Bench, Mutation]]] = defaultdict(list)
    for bench, mutation in candidates:
        by_field[mutation.field, mutation.how].append((bench, mutation))
    stale = []
    for entry in entries():
        groups = {field: [(field, how) for how in entry.how] for field in entry.fields}
        for field, keys in groups.items():
            if not any(entry.covers(*one) for key in keys for one in by_field[key]):
                stale.append(f"{field}, {' or '.join(entry.how)} {entry.when}: {entry.because}")
    assert not stale, "\n".join(stale)


def test_every_field_of_every_schema_is_tried() -> None:
    tried = {general(mutation.field) for _, mutation in chosen()}
    assert every_schema_field() - tried == set()


def test_prose_and_estimates_are_fields() -> None:
    fields = {mutation.field for _, mutation in every_mutation()}
    assert not_mutated() - fields == set()


@pytest.mark.parametrize("number", range(6))
def test_what_was_not_worked_out_again_has_not_changed(number: int) -> None:
    """The bench, which works out only what a file can have changed, against the whole check."""
    ordered = sorted(chosen(), key=lambda one: crc32(str(one[1]).encode()))
    bench, mutation = ordered[number * len(ordered) // 6]
    assert bench.check(mutation.file, mutation.raw) == bench.check(mutation.file, mutation.raw, whole=True)
