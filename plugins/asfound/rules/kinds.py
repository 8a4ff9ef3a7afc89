"""Every id a finding can have, of files and of rules alike, with what it means."""

from __future__ import annotations

from ..source.catalogue import CATALOGUE, Entry
from . import RULES


def every_kind() -> dict[str, Entry]:
    """By id; of rules that share one, the first."""
    kinds = dict(CATALOGUE)
    for rule in RULES:
        kinds.setdefault(rule.id, Entry(rule.demand, rule.why, "Do what the finding says under repair."))
    return kinds
