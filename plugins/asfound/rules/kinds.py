"""Every id a finding can have, of files and of rules alike: what it means, why, what helps, and an example.

The meaning stands in ``source/catalogue.py`` for files, and across files in each ``Rule``, beside what finds
it. The examples stand in ``examples.toml``. Pages, ``asfound explain`` and SARIF take all of it from here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from ..source.catalogue import CATALOGUE, Entry
from . import RULES

_AS_SUCH = ("file-", "folder-", "duplicate-id", "json-", "picture-")


@dataclass(frozen=True, slots=True)
class Example:
    """What gives a finding in ``file``, and the same put right; ``note``: what else one must know."""

    file: str
    bad: str
    good: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Findings that belong together, in the order in which a file goes through the checks."""

    id: str
    title: str
    about: str
    kinds: tuple[str, ...]


@cache
def every_kind() -> Mapping[str, Entry]:
    """By id; of rules that share one, the first."""
    kinds = dict(CATALOGUE)
    for rule in RULES:
        kinds.setdefault(rule.id, Entry(rule.demand, rule.why, rule.helps))
    return kinds


@cache
def every_example() -> Mapping[str, Example]:
    """By id, one for each."""
    text = Path(__file__).with_name("examples.toml").read_text("utf-8")
    return {id: Example(**fields) for id, fields in tomllib.loads(text).items()}


@cache
def groups() -> tuple[Group, ...]:
    """All ids, each in one group."""
    of_files = [id for id in CATALOGUE if id.startswith(_AS_SUCH)]
    of_yaml = [id for id in CATALOGUE if id.startswith("yaml-")]
    of_schema = [id for id in CATALOGUE if id not in {*of_files, *of_yaml}]
    return (
        Group("files", "Files", "Names, kinds and encodings, before anything is read.", tuple(of_files)),
        Group(
            "yaml",
            "YAML",
            "asfound reads YAML strictly: what programs disagree about must be written so that they agree.",
            tuple(of_yaml),
        ),
        Group("fields", "Fields", "What each kind of file may hold.", tuple(of_schema)),
        Group(
            "book",
            "The whole book",
            "What must hold between files. Each is said as the rule; a finding says where it does not hold.",
            tuple(id for id in every_kind() if id not in CATALOGUE),
        ),
    )


def near(id: str, known: Iterable[str]) -> list[str]:
    """Ids like a mistyped one, the likeliest first: spelt alike, or sharing a word."""
    known = list(known)
    words = {word for word in id.lower().split("-") if len(word) > 2}
    alike = get_close_matches(id.lower(), known, 3, 0.6)
    return [*alike, *(each for each in known if each not in alike and words & set(each.split("-")))][:5]
