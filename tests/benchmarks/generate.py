"""Books of any size with the demo's variety: the demo copied as often as needed, under new names.

Each copy has modules of its own, so that recipes meet as often as they do in the demo. Files are written as
JSON, which is YAML with every word in quotes.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from pathlib import Path, PurePosixPath
from typing import Any

from asfound.book import Book
from asfound.source.loader import FolderTree, load
from asfound.source.reader import read

DEMO = Path(os.environ.get("DEMO", Path(__file__).parents[2] / "recipes"))
NAMES_A_MODULE = {"module", "software", "part", "modules"}
NAMES_A_RECIPE = {"recipe", "needs", "replaces", "instead"}


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
    folder.mkdir(parents=True)
    (folder.parent / "schema").mkdir(exist_ok=True)
    copies = -(-recipes // len(names))
    _write(folder, "club.yml", data["club.yml"], "club")
    for name in (n for n in data if n.startswith("vehicles/")):
        line = data[name]
        fitted = line["fitted"]
        line = line | {
            "fitted": [_renamed(f, k, modules, names) for k in range(copies) for f in fitted][:100]
        }
        # The schema allows a hundred modules a line; further copies get a line of their own below.
        _write(folder, name, line, "vehicle")
    per_line = 100 // len(data["vehicles/skerry.yml"]["fitted"])
    for k in range(copies):
        line_id = _line(k, per_line)
        if k and k % per_line == 0:
            line = data["vehicles/skerry.yml"]
            fitted = [
                _renamed(f, k + i, modules, names, line_id)
                for i in range(min(per_line, copies - k))
                for f in line["fitted"]
            ]
            _write(folder, f"vehicles/{line_id}.yml", line | {"line": line_id, "fitted": fitted}, "vehicle")
        for module in modules:
            renamed = _renamed(data[f"modules/{module}.yml"], k, modules, names, line_id)
            _write(folder, f"modules/{module}-{k}.yml", renamed, "module")
    made = 0
    for k in range(copies):
        left = names[: recipes - made]
        made += len(left)
        for name, content in demo.items():
            parts = PurePosixPath(name).parts
            if parts[0] != "changes" or parts[1] not in left:
                continue
            target = "/".join(("changes", f"{parts[1]}-{k}", *parts[2:]))
            if not name.endswith(".yml"):
                (folder / target).parent.mkdir(parents=True, exist_ok=True)
                (folder / target).write_bytes(content)
                continue
            kind = {"recipe.yml": "recipe", "codes.yml": None}.get(
                parts[2], {"reports": "report", "vetted": "signature"}.get(parts[2])
            )
            if kind is None:
                continue  # past codes: each copy is published for the first time
            renamed = _renamed(data[name], k, modules, names, _line(k, per_line))
            if kind == "recipe":
                renamed = _without(renamed, {f"{n}-{k}" for n in set(names) - set(left)})
            _write(folder, target, renamed, kind)
    _stamp(folder)


def _line(copy: int, per_line: int) -> str:
    return "skerry" if copy < per_line else f"skerry-{copy // per_line}"


def _renamed(value: Any, copy: int, modules: list[str], recipes: list[str], line: str = "skerry") -> Any:
    """The same data with every module and recipe called after its copy."""
    path = re.compile(rf"({'|'.join(sorted(modules, key=len, reverse=True))})((@[a-z0-9-]+)?/[a-z0-9/-]+)")
    link = re.compile(rf"\(recipe:({'|'.join(recipes)})\)")

    def name(text: str, key: str | None) -> str:
        if key == "line":
            return line
        if key == "address":  # no two modules of a line share one
            return f"0x{int(text, 16) + 0x100 * copy:X}"
        if (key in NAMES_A_MODULE and text in modules) or (key in NAMES_A_RECIPE and text in recipes):
            return f"{text}-{copy}"
        if path.fullmatch(text):
            return path.sub(rf"\1-{copy}\2", text)
        return link.sub(rf"(recipe:\1-{copy})", text)

    def walk(value: Any, key: str | None) -> Any:
        if isinstance(value, dict):
            return {name(k, key): walk(v, k) for k, v in value.items()}
        if isinstance(value, list):
            return [walk(v, key) for v in value]
        return name(value, key) if isinstance(value, str) else value

    return walk(value, None)


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
