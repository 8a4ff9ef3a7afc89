"""Writes the generated vectors anew (``make vectors``); one seed gives the same files on every machine."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import generate  # noqa: E402
import generate_cars  # noqa: E402
import generate_jobs  # noqa: E402
import generate_search  # noqa: E402
import run  # noqa: E402

Json = Any

FILES: dict[str, tuple[Callable[[Random], Iterator[Json]], Json]] = {
    "values": (generate.values, {}),
    "checksums": (generate.checksums, {}),
    "held": (generate.held, {}),
    "edits": (generate.edits, {}),
    "merging": (generate.merging, {}),
    "names": (generate.names, {}),
    "conditions": (generate_cars.conditions, {"lines": generate_cars.LINES}),
    "versions": (generate_cars.versions, {}),
    "orders": (generate_jobs.orders, {}),
    "jobs": (generate_jobs.jobs, generate_jobs.club_data()),
    "vins": (generate_cars.vins, {"lines": generate_cars.LINES}),
    "codes": (generate.codes, {}),
    "faults": (generate.faults, {}),
    "search": (generate_search.search, {}),
}


def files(seed: str = "as found") -> Iterator[tuple[str, str]]:
    """Name and content of every generated file; another seed gives as many other vectors."""
    for name, (make, shared) in FILES.items():
        draw = Random(f"{seed}: {name}")
        vectors = []
        seen = set()
        for one in make(draw):
            spelt = json.dumps(one, sort_keys=True)
            if spelt not in seen:
                seen.add(spelt)
                vectors.append({**one, "expect": run.run(one, shared)})
        yield f"{name}.json", text(shared, vectors)


def text(shared: Json, vectors: list[Json]) -> str:
    """A file of vectors: one a line, so that differences show which one changed."""
    rows = ",\n".join(json.dumps(one, ensure_ascii=False) for one in vectors)
    return f'{{"shared": {json.dumps(shared, ensure_ascii=False)},\n"vectors": [\n{rows}\n]}}\n'


if __name__ == "__main__":
    seed, folder = (sys.argv[1], Path(sys.argv[2])) if len(sys.argv) == 3 else ("as found", HERE)
    for name, content in files(seed):
        (folder / name).write_text(content, encoding="utf-8")
        print(f"{name}: {content.count(chr(10)) - 3} vectors")
