"""The checks across files: one small object each, collected here."""

from __future__ import annotations

from . import (
    cars,
    changes,
    club,
    codes,
    examples,
    files,
    leaks,
    lines,
    places,
    prose,
    references,
    relations,
    reports,
    safety,
    translations,
    twice,
    values,
)
from .base import Problem, Rule, Stage

RULES: tuple[Rule, ...] = (
    *twice.RULES,
    *references.RULES,
    *lines.RULES,
    *places.RULES,
    *values.RULES,
    *club.RULES,
    *leaks.RULES,
    *cars.RULES,
    *changes.RULES,
    *safety.RULES,
    *files.RULES,
    *relations.RULES,
    *examples.RULES,
    *reports.RULES,
    *codes.RULES,
    *prose.RULES,
    *translations.RULES,
)

__all__ = ["RULES", "Problem", "Rule", "Stage"]
