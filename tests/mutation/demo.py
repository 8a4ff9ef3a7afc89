"""The demo book on the bench, and beside it the same book with the few fields that the demo lacks."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

from fields import every_field
from mutate import Mutation, mutations
from overlay import Bench

from asfound.source.schemas import KINDS

DEMO = Path(__file__).resolve().parents[2] / "recipes"
CONDITION = re.compile(
    r"(recipe: (fits|changes\[\]\.for)|module: records\[\]\.layouts\[\]\.for|line: fitted\[\]\.for)\."
)

# In which file what becomes what. An entry goes when the demo itself has the field.
MORE = (
    ("club.yml", "club: skerry-camper-circle\n", "club: skerry-camper-circle\nlanguage: en\n"),
    ("modules/living-area.yml", "{byte: 4, bits: [0, 1]}", "[{byte: 4, bit: 1}, {byte: 4, bit: 0}]"),
    ("modules/power-manager.yml", "batch: {bytes: [4, 11]}", "batch: [{bytes: [4, 9]}, {bytes: [10, 11]}]"),
    ("vehicles/skerry.yml", 'code: "A", phases: ["1"]', 'code: "A", phases: ["1"], built: 2017-03/2021-08'),
    (
        "vehicles/skerry.yml",
        "built: 2017-03/2018-07}",
        'built: 2017-03/2018-07, models: [loft, weekender], phases: ["1"], markets: [islands, mainland],'
        " equipment: [awning, tow-bar], without: [lithium, large-tank]}",
    ),
    (
        "changes/earlier-cut-off/codes.yml",
        '    what: First offered.',
        '    fits:\n      living-area/supply/lead: "39ZZ0F2Y"\n    what: First offered.',
    ),
)  # fmt: skip


@cache
def demo() -> Bench:
    """The demo."""
    return Bench(DEMO)


@cache
def more() -> Bench:
    """The demo with the fields it lacks."""
    files = dict(demo().tree.files)
    for path, old, new in MORE:
        text = files[path].decode()
        assert text.count(old) == 1, f"{path} holds {old!r} no longer; look at MORE in demo.py"
        files[path] = text.replace(old, new).encode()
    with tempfile.TemporaryDirectory() as folder:
        for path, raw in files.items():
            file = Path(folder) / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(raw)
        return Bench(Path(folder))


def general(field: str) -> str:
    """A field of a condition is the same wherever the condition stands."""
    return CONDITION.sub("condition: ", field)


def every_schema_field() -> frozenset[str]:
    """Every field of every schema."""
    return frozenset(general(field) for kind in KINDS for field in every_field(kind))


def of_bench(bench: Bench) -> list[Mutation]:
    """Every mutation of every file on it."""
    return [
        mutation
        for path, file in bench.named.items()
        if file.kind != "picture"
        for mutation in mutations(file.kind, path, bench.tree.files[path])
    ]


@cache
def every_mutation() -> tuple[tuple[Bench, Mutation], ...]:
    """All of the demo, and beside it those of fields that only the other book has."""
    first = [(demo(), mutation) for mutation in of_bench(demo())]
    known = {general(mutation.field) for _, mutation in first}
    second = [(more(), mutation) for mutation in of_bench(more()) if general(mutation.field) not in known]
    return (*first, *second)
