"""How the rules run: stage by stage, on what still stands; and who is blamed."""

from __future__ import annotations

import sys
from pathlib import Path, PurePosixPath

import pytest

from asfound.car.origin import Origin
from asfound.rules.blame import Trial, blame, fails
from asfound.rules.names import Names, Use
from asfound.rules.run import only_below
from asfound.source.findings import Finding, plainly

sys.path.insert(0, str(Path(__file__).parent))

import rules_book

DECK, BRIGHTER = "modules/deck.yml", "changes/brighter/recipe.yml"


def ids(*changes: tuple[str, str, str]) -> list[tuple[str, str]]:
    return [(finding.file, finding.id) for finding in rules_book.check(*changes)]


def test_what_builds_on_a_fault_is_not_asked() -> None:
    # Bytes 4 and up are outside: no example in this layout could come out, and no code be computed.
    found = ids((DECK, "length: 3", "length: 1"))
    assert set(found) == {(DECK, "place-outside-or-shared")}


def test_one_fault_does_not_hide_another_elsewhere() -> None:
    found = ids(
        (DECK, "raw: 2, means: bright", "raw: 1, means: bright"),
        ("changes/hatch-waits/recipe.yml", "AA 10", "AA 11"),
        ("changes/charts/recipe.yml", "smallest_gb: 4", "smallest_gb: 2"),
    )
    assert found == [
        ("changes/charts/recipe.yml", "file-cannot-be-loaded"),
        ("changes/hatch-waits/recipe.yml", "does-not-come-out"),
        (DECK, "value-does-not-fit"),
    ]


def test_a_broken_vehicle_line_leaves_only_consequences() -> None:
    found = rules_book.check(("vehicles/dory.yml", "name: Dory\n", "nmae: Dory\n"))
    assert found[0].id == "unknown-key"
    assert all(finding.because for finding in found[1:])


def test_a_code_is_compared_only_where_nothing_else_is_wrong() -> None:
    found = ids((BRIGHTER, "from: dim, to: bright", "from: bright, to: bright"))
    assert found == [(BRIGHTER, "change-makes-no-sense")]


def test_findings_that_may_be_about_a_file_are_among_those_below_it() -> None:
    found = rules_book.check((DECK, "glow: {byte: 0, bits: [2, 3]}", "glow: {byte: 0, bits: [3, 4]}"))
    asked = only_below(found, (PurePosixPath("changes/old-glow"),))
    assert [finding.file for finding in asked] == ["changes/old-glow/recipe.yml"]
    assert only_below(found, (PurePosixPath("changes/charts"),)) == []
    assert only_below(found, ()) == list(found)


def test_more_facts_than_can_be_weighed_are_a_finding() -> None:
    items = "\n".join(f"          - {{item: i{n}, name: i{n}, look: i{n}}}" for n in range(24))
    every = ", ".join(f"{{equipped: i{n}}}" for n in range(24))
    found = rules_book.check(
        ("vehicles/dory.yml", "        fitted:", f"{items}\n        fitted:"),
        ("changes/old-glow/recipe.yml", 'fits: {line: dory, phases: ["1"]}', f"fits: {{any: [{every}]}}"),
    )
    assert {(finding.file, finding.path, finding.message) for finding in found} == {
        (
            "changes/old-glow/recipe.yml",
            "fits",
            "the conditions that meet here ask about more facts at once than can be weighed",
        )
    }


def origin(name: str) -> Origin:
    return Origin(name, ("x",))


def blamed(*trials: Trial) -> list[tuple[str, str | None]]:
    return [(problem.origin.file, problem.because) for problem in blame("rule", trials)]


def test_one_trial_that_fails_is_at_fault_itself_as_likely_as_not() -> None:
    (problem,) = blame("rule", [fails("a", (origin("a"), origin("place")), "Wrong.", "Mend.")])
    assert (problem.origin, problem.also) == (origin("a"), (origin("place"),))


def test_what_several_share_is_blamed_and_they_are_consequences() -> None:
    trials = [fails(name, (origin(name), origin("place")), "Wrong.", "Mend.") for name in ("a", "b")]
    assert blamed(*trials) == [("place", None), ("a", "place#x#rule"), ("b", "place#x#rule")]


def test_what_comes_out_elsewhere_is_not_blamed() -> None:
    failing = fails("a", (origin("a"), origin("place"), origin("to")), "Wrong.", "Mend.")
    passing = [Trial(f"p{n}", (origin("place"),)) for n in range(3)]
    (problem,) = blame("rule", [failing, *passing])
    assert problem.origin == origin("a")
    assert problem.also == (origin("to"), origin("place"))  # the least likely last


def test_ochiai_by_hand() -> None:
    # Failing: shared 2 of 2; passing: shared 7. 2/sqrt(2·(2+7)) < 1/sqrt(2·(1+0)), so each stands for itself.
    failing = [fails(name, (origin(name), origin("place")), "Wrong.", "Mend.") for name in ("a", "b")]
    passing = [Trial(f"p{n}", (origin("place"),)) for n in range(7)]
    assert blamed(*failing, *passing) == [("a", None), ("b", None)]
    # With one that passes: 2/sqrt(2·3) > 1/sqrt(2·1).
    assert blamed(*failing, *passing[:1])[0] == ("place", None)


def test_nothing_is_blamed_when_all_comes_out() -> None:
    assert blamed(Trial("a", (origin("a"),))) == []


@pytest.mark.parametrize(
    ("used", "first"),
    [
        (("awning", "awning"), "the definition"),  # both uses agree, nothing uses what is defined
        (("awning",), "the use"),
        (("awning", "awnnig"), "the use"),  # the definition is used as it is
    ],
)
def test_which_of_two_names_is_misspelt(used: tuple[str, ...], first: str) -> None:
    names = Names()
    names.define("equipment", "", [("awnnig", origin("the definition")), ("tow-bar", origin("other"))])
    names.uses += (Use("equipment", "", name, origin("the use")) for name in used)
    names.uses.append(Use("equipment", "", "tow-bar", origin("the use")))
    assert next(names.problems("rule")).origin == origin(first)


def test_sentences_become_plain() -> None:
    assert plainly("This needs the key on.") == "this needs the key on"
    assert plainly("'glow' holds 'x'. Expected y.") == "'glow' holds 'x'. Expected y."
    assert plainly("A B.") == "a B"
    assert plainly("FAT32 is full.") == "FAT32 is full"


def test_only_the_asked_for_file_is_named() -> None:
    one = Finding("id", "modules/a.yml", 1, 1, "", "m", "r", also=(("changes/b/recipe.yml", 1, 1),))
    assert only_below([one], (PurePosixPath("changes/b"),)) == [one]
    assert only_below([one], (PurePosixPath("changes/c"),)) == []
