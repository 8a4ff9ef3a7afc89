"""Values as a member would write them in one line of YAML."""

from __future__ import annotations

import re
from typing import Any

from .findings import quoted, shown
from .scalars import resolve

_BARE = re.compile(r"[A-Za-z0-9./][A-Za-z0-9 ._/@()-]*\Z")


def flow(value: Any) -> str:
    """``{line: skerry, phases: ["2"]}``: YAML in flow style, with quotes wherever the strict reader asks."""
    match value:
        case str():
            plain = _BARE.match(value) and not value.endswith(" ") and resolve(value) == value
            return value if plain and isinstance(resolve(value), str) else quoted(value)
        case dict():
            return "{" + ", ".join(f"{flow(key)}: {flow(item)}" for key, item in value.items()) + "}"
        case list():
            return "[" + ", ".join(map(flow, value)) + "]"
    return shown(value)
