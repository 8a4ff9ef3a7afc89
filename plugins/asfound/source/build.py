"""From validated data to the objects of the domain rooms, each with where it was written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from ..car.origin import Origin
from .build_car import condition, line, module
from .build_trust import club, codes, report, signature
from .build_work import recipe
from .translations import translation

__all__ = [
    "BUILD",
    "club",
    "codes",
    "condition",
    "line",
    "module",
    "recipe",
    "report",
    "signature",
    "translation",
]

# By kind of file, as in ``schemas.KINDS``. Data must have passed ``schemas.validate`` without findings.
BUILD: Mapping[str, Callable[[Any, Origin], Any]] = {
    "club": club,
    "line": line,
    "module": module,
    "recipe": recipe,
    "report": report,
    "signature": signature,
    "codes": codes,
    "translation": translation,
}
