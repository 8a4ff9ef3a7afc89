"""How long a plan of forty recipes takes, in Python and in a browser's engine (V8, by node), and help texts.

The recipes are those of a generated book that go together on one car; processor time, the median of several.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from generate import generate

from asfound.book import Book
from asfound.car.known import Known
from asfound.pages import data
from asfound.source.loader import FolderTree, load
from asfound.work.plan import plan

ASSETS = Path(data.__file__).parent / "assets"
RECIPES, MODULES, ROUNDS = 40, 12, 9
_PROGRAM = """
const fs = require("fs"), vm = require("vm");
const [scripts, asked, known] = JSON.parse(fs.readFileSync(0, "utf8"));
global.window = global;
for (const text of scripts) { vm.runInThisContext(text); }
const of = (kind) => Object.keys(asfound.data).filter((name) => name.startsWith(kind))
  .map((name) => asfound.data[name]);
const took = [];
for (let n = 0; n < ROUNDS; n++) {
  const before = process.cpuUsage();
  const { world } = asfound.data;
  const shop = asfound.plans.shop({ world, modules: of("modules/"), recipes: of("recipes/") });
  const made = asfound.plans.plan(asked, shop, known, {});
  const used = process.cpuUsage(before);
  if (made.troubles.length || !made.operations) { throw new Error(JSON.stringify(made.troubles)); }
  took.push((used.user + used.system) / 1000);
}
console.log(JSON.stringify(took));
""".replace("ROUNDS", str(ROUNDS))


def together(book: Book, known: Known) -> list[str]:
    """So many recipes, in so many modules, that go together on a car of which this is known."""
    chosen: list[str] = []
    modules: set[str] = set()

    def choose(wanted: Callable[[set[str]], bool], most: int) -> None:
        for id, recipe in book.recipes.items():
            own = {change.setting.module for change in recipe.changes}
            if id in chosen or recipe.status != "offered" or recipe.alone or not wanted(own):
                continue
            tried = plan([*chosen, id], book.shop, known)
            if not tried.troubles and not tried.questions and tried.operations and len(chosen) < most:
                chosen.append(id)
                modules.update(own)

    choose(lambda own: bool(own - modules) and len(own | modules) <= MODULES, MODULES)
    choose(lambda own: own <= modules, RECIPES)
    assert (len(chosen), len(modules)) == (RECIPES, MODULES), (len(chosen), len(modules))
    return chosen


def main() -> None:
    """Print two lines, and one for each help text."""
    with tempfile.TemporaryDirectory() as scratch:
        generate(Path(scratch, "recipes"), 500)
        book = Book(load(FolderTree(Path(scratch, "recipes"))))
        model, phase = book.lines["skerry"].variants()[0]
        known = Known.of_variant("skerry", model, phase)
        asked = together(book, known)
        modules = {change.setting.module for id in asked for change in book.recipes[id].changes}
        took = []
        for _ in range(ROUNDS):
            start = time.process_time()
            plan(asked, book.shop, known)
            took.append(1000 * (time.process_time() - start))
        middle = statistics.median(took)
        print(f"plan of {len(asked)} recipes in {len(modules)} modules, Python: {middle:.0f} ms")
        if node := shutil.which("node"):
            names = {"assets/asfound/data/world.js"}
            names |= {data.key(f"recipes/{id}") for id in asked} | {
                data.key(f"modules/{m}") for m in book.modules
            }
            scripts = [path.read_text("utf-8") for path in sorted(ASSETS.glob("tools-[0123]*.js"))]
            scripts += [content.decode() for key, content in data.scripts(book) if key in names]
            told = json.dumps([scripts, asked, {"lines": ["skerry"], "models": [model], "phases": [phase]}])
            done = subprocess.run(
                [node, "-e", _PROGRAM], input=told, capture_output=True, text=True, check=True
            )
            print(f"the same in V8, the first time: {json.loads(done.stdout)[0]:.0f} ms")
    for words in (["--help"], ["work", "--help"]):
        runs = []
        for _ in range(5):
            start, before = time.perf_counter(), os.times()
            subprocess.run([sys.executable, "-m", "asfound.cli", *words], capture_output=True, check=True)
            wall, after = time.perf_counter() - start, os.times()
            busy = after.children_user + after.children_system - before.children_user - before.children_system
            runs.append((1000 * wall, 1000 * busy))
        wall, busy = min(runs)
        print(f"asfound {' '.join(words)}: {wall:.0f} ms ({busy:.0f} ms of processor), the least of five")


if __name__ == "__main__":
    main()
