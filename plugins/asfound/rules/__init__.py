"""The checks across files: one small object each, collected here in the order in which they run."""

from __future__ import annotations

from . import evidence, layouts, recipes, references, work
from .base import Problem, Rule

RULES: tuple[Rule, ...] = (
    *references.RULES,
    *layouts.RULES,
    *recipes.RULES,
    *work.RULES,
    *evidence.RULES,
)

__all__ = ["RULES", "Problem", "Rule"]
