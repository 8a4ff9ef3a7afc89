"""How long books of several sizes take, against stock mkdocs-material with the same content.

Everything is timed in processes of its own, one after the other in one run, by the clock and by the processor
time of all processes together, since other work on the machine slows the clock more. Books are made by
``generate.py``. The stock site gets every page of ours as Markdown: same headings, tables, lists and words,
pages outside ``nav``, search on. A cold build has an empty cache folder and checks, computes and writes all;
a rebuild has the cache of the build before. Memory is that of all processes together, shared pages counted
once (PSS). Prints a table and writes ``results.md``.
"""

from __future__ import annotations

import argparse
import datetime
import json
import math
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import psutil
from bench_review import bench_review
from generate import generate
from markdownify import markdownify

from asfound.book import Book
from asfound.pages import Pages
from asfound.source.loader import FolderTree, load

HERE = Path(__file__).parent
RESULTS = HERE / "results.md"
OURS = """site_name: Bench
docs_dir: docs
use_directory_urls: false
theme: {name: material, font: false}
plugins: [{asfound: {recipes: recipes}}]
nav: [index.md, find.md]
"""
STOCK = """site_name: Bench
docs_dir: docs
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search]
markdown_extensions: [tables, admonition, {toc: {permalink: false}}]
nav: [index.md]
not_in_nav: |
  *
"""
PREVIEW = """
import json, sys, time
from pathlib import Path
from asfound.commands.serve import Site
site = Site(Path("mkdocs.yml"), lambda line: None)
out = []
for name, old, new, page in json.loads(sys.argv[1]):
    path = Path(name).resolve()
    site.answer(page)
    text = path.read_text("utf-8")
    path.write_text(text.replace(old, new, 1), "utf-8")
    wall, busy = time.perf_counter(), time.process_time()
    site.look({path})
    shown = site.answer(page)[2]
    out.append((time.perf_counter() - wall, time.process_time() - busy))
    assert not site.live.found, site.live.found
    path.write_text(text, "utf-8")
    site.look({path})
site.close()
print(json.dumps(out))
"""


@dataclass
class Took:
    """What something took: seconds by the clock, of processor, and megabytes of memory at its highest."""

    wall: float
    busy: float
    memory: float = 0.0


def run(folder: Path, words: list[str], cache: Path, status: int = 0) -> tuple[Took, str]:
    """A command in a folder, with that cache."""
    done = threading.Event()
    start, before = time.perf_counter(), os.times()
    env = os.environ | {"NO_MKDOCS_2_WARNING": "1", "XDG_CACHE_HOME": str(cache)}
    process = subprocess.Popen(
        [sys.executable, *words],
        cwd=folder,
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    highest = [0.0]

    def watch() -> None:
        while not done.wait(0.3):
            total = 0
            try:
                top = psutil.Process(process.pid)
                for each in (top, *top.children(recursive=True)):
                    total += each.memory_full_info().pss
            except psutil.Error:
                continue
            highest[0] = max(highest[0], total / 1e6)

    watcher = threading.Thread(target=watch)
    watcher.start()
    said, _ = process.communicate()
    wall, after = time.perf_counter() - start, os.times()
    done.set()
    watcher.join()
    if process.returncode != status:
        sys.exit(f"{' '.join(words)[:80]} ended with {process.returncode}:\n{said[-3000:]}")
    busy = after.children_user + after.children_system - before.children_user - before.children_system
    return Took(wall, busy, highest[0]), said


def as_markdown(recipes: Path, docs: Path) -> int:
    """Every page of the book as a Markdown file; how many."""
    pages = Pages(Book(load(FolderTree(recipes))))
    count = 0
    for out in pages.outlines():
        html = pages.html(out.key, lambda key: f"{key}.html").html
        path = docs / f"{out.key}.md"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(
            f"# {out.title}\n\n" + markdownify(html, heading_style="ATX", strip=["a", "svg"]), "utf-8"
        )
        count += 1
    return count


def bench(n: int, options: argparse.Namespace, say: Callable[[str], object]) -> dict[str, Took | float]:
    """Everything for one size."""
    out: dict[str, Took | float] = {}
    build = ["-m", "mkdocs", "build", "--quiet"]
    check = ["-m", "asfound.cli", "check"]
    with tempfile.TemporaryDirectory() as scratch:
        ours, stock, cache, other = (Path(scratch, name) for name in ("ours", "stock", "cache", "other"))
        (ours / "docs").mkdir(parents=True)
        say(f"making a book of {n}")
        generate(ours / "recipes", n)
        (ours / "mkdocs.yml").write_text(OURS)
        recipe = ours / "recipes/changes/softer-tick-0/recipe.yml"
        module = ours / "recipes/modules/living-area-0.yml"

        def edited(path: Path, old: str, new: str) -> None:
            text = path.read_text("utf-8")
            assert old in text, path
            path.write_text(text.replace(old, new, 1), "utf-8")

        def note(name: str, words: list[str], where: Path = cache) -> None:
            out[name] = run(ours, words, where)[0]
            say(f"{n} {name}: {out[name]}")

        time.sleep(2.5)  # so that the files are clearly older than what is noted of them
        note("check, cold", [*check, "recipes"])
        note("check, nothing changed", [*check, "recipes"])
        edited(recipe, '"title": "', '"title": "Really: ')
        note("check of one changed recipe", [*check, str(recipe)])
        note("cold build", build, other)
        if not options.brief:
            edited(recipe, '"title": "Really: ', '"title": "Truly: ')
            note("rebuild, one recipe changed", build, other)
            edited(module, '"minutes": ', '"minutes": 1')
            note("rebuild, one module changed", build, other)
        site = ours / "site"
        out["output, MB"] = sum(path.stat().st_size for path in site.rglob("*") if path.is_file()) / 1e6
        data = site / "assets/asfound/data"
        index = sum(path.stat().st_size for path in data.glob("*.js")) / n
        out["data that every reader may load, bytes a recipe"] = index
        edits = [
            (str(recipe), '"title": "', '"title": "Nearly: ', "recipes/softer-tick-0.html"),
            (str(module), '"minutes": ', '"minutes": 2', "modules/living-area-0.html"),
        ]
        took, said = run(ours, ["-c", PREVIEW, json.dumps(edits)], other)
        out["preview, start"] = took
        for name, (wall, busy) in zip(("recipe", "module"), json.loads(said.splitlines()[-1]), strict=True):
            out[f"preview, one {name} changed"] = Took(wall, busy)
        say(f"{n} preview: {out['preview, one recipe changed']}")
        if n <= options.stock:
            (stock / "docs").mkdir(parents=True)
            as_markdown(ours / "recipes", stock / "docs")
            (stock / "mkdocs.yml").write_text(STOCK)
            rounds = [run(stock, build, cache)[0] for _ in range(options.rounds)]
            more = [run(ours, build, Path(scratch, f"cold{k}"))[0] for k in range(1, options.rounds)]
            cold = [one for one in (out["cold build"], *more) if isinstance(one, Took)]
            for name, all_of in (("cold build", cold), ("stock mkdocs-material", rounds)):
                out[name] = Took(
                    statistics.median(one.wall for one in all_of),
                    statistics.median(one.busy for one in all_of),
                    max(one.memory for one in all_of),
                )
            shutil.rmtree(stock)
            say(f"{n} stock: {out['stock mkdocs-material']}")
    if not options.brief and n <= options.review:
        say(bench_review(n, options.rounds))
    return out


def table(results: dict[int, dict[str, Took | float]]) -> list[str]:
    """The figures as Markdown, with exponents of growth from each size to the next."""
    sizes = list(results)
    names = list(dict.fromkeys(name for one in results.values() for name in one))
    rows = [
        "| what | " + " | ".join(f"N = {n:,}" for n in sizes) + " | growth |",
        "|---|" + "--:|" * (len(sizes) + 1),
    ]
    for name in names:
        cells, growth = [], []
        for n in sizes:
            one = results[n].get(name)
            if isinstance(one, Took):
                memory = f", {one.memory:.0f} MB" if one.memory else ""
                cells.append(f"{one.wall:.2f} s ({one.busy:.2f} s{memory})")
            else:
                cells.append("" if one is None else f"{one:,.0f}" if one > 20 else f"{one:.2f}")
        for a, b in pairwise(sizes):
            one, two = results[a].get(name), results[b].get(name)
            if isinstance(one, Took) and isinstance(two, Took) and one.busy > 0 < two.busy:
                growth.append(f"{math.log(two.busy / one.busy) / math.log(b / a):.2f}")
        rows.append(f"| {name} | " + " | ".join(cells) + f" | {', '.join(growth)} |")
    return rows


def ratios(results: dict[int, dict[str, Took | float]]) -> list[str]:
    """One line for each size at which stock mkdocs-material was built too."""
    out = []
    for n, one in results.items():
        ours, stock = one["cold build"], one.get("stock mkdocs-material")
        if isinstance(ours, Took) and isinstance(stock, Took):
            by_clock, by_processor = ours.wall / stock.wall, ours.busy / stock.busy
            out.append(f"cold build ratio N={n}: {by_clock:.2f} (processor {by_processor:.2f})")
    sizes = list(results)
    if len(sizes) > 1:
        low, high = (results[n]["cold build"] for n in (sizes[0], sizes[-1]))
        if isinstance(low, Took) and isinstance(high, Took):
            each = 1000 * (high.memory - low.memory) / (sizes[-1] - sizes[0])
            out.append(f"peak memory of a cold build: {each:.0f} kB a recipe above the base")
    return out


def main() -> None:
    """Run, print, and write the results."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=[100, 1000])
    parser.add_argument("--rounds", type=int, default=1, help="of cold builds, ours and stock; medians")
    parser.add_argument("--stock", type=int, default=10_000, help="largest size at which stock is built")
    parser.add_argument("--review", type=int, default=1000, help="largest size at which a review is timed")
    parser.add_argument("--brief", action="store_true", help="without rebuilds and reviews")
    parser.add_argument("--results", type=Path, default=RESULTS)
    options = parser.parse_args()
    said: list[str] = []

    def say(line: str) -> None:
        print(line, flush=True)
        if line.startswith("asfound review"):
            said.append(line)

    results = {n: bench(n, options, say) for n in options.sizes}
    lines = [*table(results), "", *(f"    {line}" for line in (*ratios(results), *said))]
    print("\n".join(lines))
    system = "Debian" if Path("/etc/debian_version").exists() else platform.system()
    load_now = os.getloadavg()[0]
    head = (
        f"{datetime.date.today()}, {os.cpu_count()} cores, {system}, Python {platform.python_version()},",
        f"load average {load_now:.1f} at the end. Seconds by the clock; in brackets of processor, of all",
        "processes together, and the highest memory of all of them. Growth: the exponents of processor time",
        "from each size to the next; 1 is linear. Written by `make bench`.",
    )
    options.results.write_text("\n".join(("# Benchmarks", "", *head, "", *lines, "")), "utf-8")


if __name__ == "__main__":
    main()
