"""Limits: each stands in the contributors' guide as the program has it, and no field is without one."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from asfound.source import limits
from asfound.source.schemas import KINDS, schema_folder

GUIDE = (Path(__file__).parents[2] / "site_src" / "contribute.md").read_text("utf-8")


def test_the_guide_says_the_limits_the_program_has() -> None:
    section = GUIDE.partition("\n## Limits\n")[2].partition("\n## ")[0]
    assert section
    for said in (
        f"{limits.FILE_BYTES // 1024} KiB",
        f"{limits.VALUES:,}",
        f"{limits.DEPTH} deep",
        f"{limits.PICTURE_BYTES // 2**20} MiB",
        f"{limits.PICTURE_PIXELS // 10**6} million pixels",
        f"{limits.NAME_LENGTH} characters",
        f"{limits.DIGITS} characters",
        f"{limits.FINDINGS_PER_FILE} findings",
    ):
        assert said in section, said
    common = json.loads((schema_folder() / "common.schema.json").read_text("utf-8"))["$defs"]
    recipe = json.loads((schema_folder() / "recipe.schema.json").read_text("utf-8"))["properties"]
    for name in ("line", "prose"):
        assert f"{common[name]['maxLength']:,}".replace(",", " ") in section.replace(",", " ")
    for name in ("changes", "alternatives", "hazards", "steps", "checks", "pictures"):
        assert f"| {name} | {recipe[name]['maxItems']} |" in section, name


def bounded(schema: Any, where: str) -> Iterator[str]:
    """Texts and lists without a limit; a text with a pattern or a list of values has one by that."""
    if isinstance(schema, dict):
        if schema.get("type") == "string" and "maxLength" not in schema and not _short(schema):
            yield where
        if schema.get("type") == "array" and "maxItems" not in schema:
            yield where
        open_map = schema.get("type") == "object" and isinstance(schema.get("additionalProperties"), dict)
        if open_map and "maxProperties" not in schema:
            yield where
        for key, value in schema.items():
            if key not in ("examples", "enum", "const"):
                yield from bounded(value, f"{where}/{key}")
    elif isinstance(schema, list):
        for index, value in enumerate(schema):
            yield from bounded(value, f"{where}/{index}")


def _short(schema: dict[str, Any]) -> bool:
    """Whether the pattern itself allows no more than so many characters."""
    pattern = schema.get("pattern", "")
    return "enum" in schema or (bool(pattern) and not set("+*") & set(pattern.replace("\\.", "")))


def test_every_text_list_and_map_has_a_limit() -> None:
    names = {*KINDS.values(), "common.schema.json"}
    loose = [
        found
        for name in sorted(names)
        for found in bounded(json.loads((schema_folder() / name).read_text("utf-8")), name)
    ]
    assert loose == []
