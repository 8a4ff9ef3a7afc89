"""Every rule on a small book: a change that breaks its demand, and exactly what the check then says first.

The cases lie in ``rules/``. ``{code}`` in them stands for any code, since codes are fingerprints.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from asfound.rules import RULES

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import rules_book  # noqa: E402

CODE = re.compile(r"\b(?=[A-Z0-9]*[0-9])[0-9A-HJKMNP-TV-Z]{8}\b")
CASES = [
    pytest.param(case, id=f"{path.stem}-{number}-{case['rule']}")
    for path in sorted((HERE / "rules").glob("*.yml"))
    for number, case in enumerate(yaml.safe_load(path.read_text(encoding="utf-8")), 1)
]


def test_the_book_is_sound() -> None:
    assert rules_book.check() == ()


@pytest.mark.parametrize("case", CASES)
def test_what_is_said(case: dict[str, Any]) -> None:
    found = rules_book.check(*(tuple(change) for change in case["change"]))
    assert found, "nothing was found"
    if case.get("first", True):
        said = found[0]
    else:  # a consequence of what is said first
        said = next(finding for finding in found if finding.id == case["rule"])
        assert said.because == found[0].key
    assert said.id == case["rule"]
    assert f"{said.file} {said.path}" == case["at"]
    assert CODE.sub("{code}", said.message) == case["says"]
    assert CODE.sub("{code}", said.repair) == case["repair"]
    assert [f"{file}:{line}" for file, line, _ in said.also] == case.get("also", [])


def test_every_rule_has_a_case() -> None:
    shown = {case.values[0]["rule"] for case in CASES}
    elsewhere = {rule.id for rule in RULES if rule.id.startswith("prose-")}  # test_rules_prose.py
    assert {rule.id for rule in RULES} - elsewhere == shown
