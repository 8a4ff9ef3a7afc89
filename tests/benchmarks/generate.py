"""Books of any size with the demo's variety: the demo copied as often as needed, under new names.

A book of N recipes has about N/20 modules and exactly N/2 reports. ``SHARED`` copies of the demo share its
modules, each with records of its own in them, so that recipes meet as often as they do in the demo; so many
copies share a vehicle line as the schema allows it modules. Which reports are kept is drawn with a fixed
seed. Files are written as JSON, which is YAML with every word in quotes.
"""

from __future__ import annotations

import json
import os
import random
import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from asfound.book import Book
from asfound.source.loader import FolderTree, load
from asfound.source.reader import read

DEMO = Path(os.environ.get("DEMO", Path(__file__).parents[2] / "recipes"))
NAMES_A_MODULE = {"module", "software", "part", "modules"}
NAMES_A_RECIPE = {"recipe", "needs", "replaces", "instead"}
SHARED = 7  # copies of the demo that share its modules: 11 of them for 224 recipes
FITTED = 100  # modules that the schema allows a vehicle line
SEED = 20


def generate(folder: Path, recipes: int) -> None:
    """Write a book of exactly ``recipes`` recipes into ``folder``, which must not exist."""
    demo = {
        path.relative_to(DEMO).as_posix(): path.read_bytes()
        for path in sorted(DEMO.rglob("*"))
        if path.is_file()
    }
    data = {name: read(text, name)[0] for name, text in demo.items() if name.endswith(".yml")}
    names = sorted({PurePosixPath(name).parts[1] for name in data if name.startswith("changes/")})
    modules = sorted(PurePosixPath(name).stem for name in data if name.startswith("modules/"))
    copies = -(-recipes // len(names))
    folder.mkdir(parents=True)
    (folder.parent / "schema").mkdir(exist_ok=True)
    _write(folder, "club.yml", data["club.yml"], "club")
    lines = {name: line for name, line in data.items() if name.startswith("vehicles/")}
    ways = [
        _Copy(k, tuple(modules), tuple(names), len(lines["vehicles/skerry.yml"]["fitted"]))
        for k in range(copies)
    ]
    _write_cars(folder, data, lines, ways)
    made = 0
    written: dict[str, tuple[str, Any]] = {}
    for way in ways:
        left = names[: recipes - made]
        made += len(left)
        for name, content in demo.items():
            parts = PurePosixPath(name).parts
            if parts[0] != "changes" or parts[1] not in left or parts[2] == "codes.yml":
                continue  # past codes: each copy is published for the first time
            target = "/".join(("changes", f"{parts[1]}-{way.number}", *parts[2:]))
            if not name.endswith(".yml"):
                (folder / target).parent.mkdir(parents=True, exist_ok=True)
                (folder / target).write_bytes(content)
                continue
            kind = {"recipe.yml": "recipe", "reports": "report", "vetted": "signature"}[parts[2]]
            renamed = way.renamed(data[name])
            if kind == "recipe":
                renamed = _without(renamed, {f"{n}-{way.number}" for n in set(names) - set(left)})
            written[target] = (kind, renamed)
    every = [target for target, (kind, _) in written.items() if kind == "report"]
    kept = set(random.Random(SEED).sample(every, min(len(every), recipes // 2)))
    for target, (kind, renamed) in written.items():
        if kind == "recipe":
            reports = target.replace("recipe.yml", "reports/{}.yml")
            for example in renamed.get("worked_examples", ()):
                if reports.format(example["read_on"]) not in kept:
                    example["read_on"] = "made-up"
        if kind != "report" or target in kept:
            _write(folder, target, renamed, kind)
    _stamp(folder)


@dataclass(frozen=True)
class _Copy:
    """One copy of the demo and what things are called in it."""

    number: int
    modules: tuple[str, ...]
    recipes: tuple[str, ...]
    fitted: int

    @property
    def group(self) -> int:
        """Copies of a group share their modules."""
        return self.number // SHARED

    @property
    def line(self) -> str:
        """The vehicle line that has the group's modules."""
        number = self.group // (FITTED // self.fitted)
        return f"skerry-{number}" if number else "skerry"

    def record(self, id: str) -> str:
        """What a record of the demo is called."""
        within = self.number % SHARED
        return f"{id}-{within}" if within else id

    def renamed(self, value: Any) -> Any:
        """The same data with every line, module, record and recipe called after its copy."""
        module = "|".join(sorted(self.modules, key=len, reverse=True))
        path = re.compile(rf"({module})((?:@[a-z0-9-]+)?)/([a-z0-9-]+)((?:/[a-z0-9-]+)?)")
        link = re.compile(rf"\(recipe:({'|'.join(self.recipes)})\)")

        def name(text: str, key: str | None) -> str:
            if key == "line":
                return self.line
            if key == "address":  # no two modules of a line share one
                return f"0x{int(text, 16) + 0x100 * self.group:X}"
            if key in NAMES_A_MODULE and text in self.modules:
                return f"{text}-{self.group}"
            if key in NAMES_A_RECIPE and text in self.recipes:
                return f"{text}-{self.number}"
            if found := path.fullmatch(text):
                return f"{found[1]}-{self.group}{found[2]}/{self.record(found[3])}{found[4]}"
            return link.sub(rf"(recipe:\1-{self.number})", text)

        def walk(value: Any, key: str | None) -> Any:
            if isinstance(value, dict):
                return {name(k, key): walk(v, k) for k, v in value.items()}
            if isinstance(value, list):
                return [walk(v, key) for v in value]
            return name(value, key) if isinstance(value, str) else value

        return walk(value, None)


def _write_cars(folder: Path, data: Mapping[str, Any], lines: Mapping[str, Any], ways: list[_Copy]) -> None:
    """Vehicle lines and modules."""
    groups: dict[int, list[_Copy]] = {}
    for way in ways:
        groups.setdefault(way.group, []).append(way)
    fitted: dict[str, list[Any]] = {}
    for group in groups.values():
        first = group[0]
        for module in first.modules:
            records = [_record(r, w) for w in group for r in data[f"modules/{module}.yml"]["records"]]
            whole = first.renamed(data[f"modules/{module}.yml"]) | {"records": records}
            _write(folder, f"modules/{module}-{first.group}.yml", whole, "module")
        fitted.setdefault(first.line, []).extend(map(first.renamed, lines["vehicles/skerry.yml"]["fitted"]))
    for id, modules in fitted.items():
        line = lines["vehicles/skerry.yml"] | {"line": id, "fitted": modules}
        _write(folder, f"vehicles/{id}.yml", line, "vehicle")


def _record(record: Mapping[str, Any], way: _Copy) -> Any:
    """A record of a module that has those of several copies, under an identifier of its own."""
    within, identifier = way.number % SHARED, record["identifier"]
    if isinstance(identifier, str):
        identifier = f"0x{(int(identifier, 16) + 0x100 * within) % 0x10000:04X}"
    else:
        identifier = {"number": identifier["number"] + 200 * within}
    return way.renamed(record) | {"record": way.record(record["record"]), "identifier": identifier}


def _without(recipe: dict[str, Any], missing: set[str]) -> dict[str, Any]:
    """A recipe of the last, incomplete copy without references to recipes that were not made."""
    out = dict(recipe)
    for key in ("needs", "replaces"):
        if key in out:
            out[key] = [name for name in out[key] if name not in missing]
    if "clashes" in out:
        out["clashes"] = [c for c in out["clashes"] if c["recipe"] not in missing]
    for key in ("needs", "replaces", "clashes"):
        if key in out and not out[key]:
            del out[key]
    if out.get("withdrawn", {}).get("instead") in missing:
        out["withdrawn"] = {k: v for k, v in out["withdrawn"].items() if k != "instead"}
    text = json.dumps(out, default=str)
    for name in missing:
        text = re.sub(rf"\[([^\]]*)\]\(recipe:{re.escape(name)}\)", r"\1", text)
    return json.loads(text)


def _write(folder: Path, name: str, data: Any, kind: str) -> None:
    up = "../" * (len(PurePosixPath(name).parts))
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    modeline = f"# yaml-language-server: $schema={up}schema/{kind}.schema.json\n"
    path.write_text(modeline + json.dumps(data, indent=1, ensure_ascii=False, default=str) + "\n", "utf-8")


def _stamp(folder: Path) -> None:
    """Give reports and signatures the codes their recipes have under the new names."""
    book = Book(load(FolderTree(folder)))
    for recipe in book.recipes:
        code = book.codes(recipe).sheet
        for path in sorted((folder / "changes" / recipe).glob("*/*.yml")):
            text = path.read_text("utf-8")
            path.write_text(re.sub(r'("sheet_code": )"[^"]*"', rf'\1"{code}"', text), "utf-8")


if __name__ == "__main__":
    import sys

    shutil.rmtree(sys.argv[1], ignore_errors=True)
    generate(Path(sys.argv[1]), int(sys.argv[2]))
