"""How long this generator takes against stock mkdocs-material with the same content as Markdown.

Both build in processes of their own, one after the other in each round, so that a slow moment of the machine
hits both. The stock site gets every page of ours as Markdown: same headings, tables, lists and words, pages
outside ``nav``, search on.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from generate import generate
from markdownify import markdownify

from asfound.book import Book
from asfound.pages import Pages
from asfound.source.loader import FolderTree, load

OURS = """site_name: Bench
docs_dir: docs
use_directory_urls: false
theme: {{name: material, font: false}}
plugins: [{{asfound: {{recipes: {recipes}}}}}]
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


def timed(folder: Path) -> tuple[float, float]:
    """Wall and processor seconds of one build in ``folder``."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--quiet"],
        cwd=folder,
        env=os.environ | {"NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
    )
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode:
        sys.exit(f"building in {folder} failed:\n{done.stdout}{done.stderr}")
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Build both and print seconds, milliseconds a recipe and the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--recipes", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=2)
    options = parser.parse_args()
    n = options.recipes
    with tempfile.TemporaryDirectory() as scratch:
        ours, stock = Path(scratch, "ours"), Path(scratch, "stock")
        (ours / "docs").mkdir(parents=True)
        generate(ours / "recipes", n)
        (ours / "mkdocs.yml").write_text(OURS.format(recipes="recipes"))
        (stock / "docs").mkdir(parents=True)
        pages = as_markdown(ours / "recipes", stock / "docs")
        (stock / "mkdocs.yml").write_text(STOCK)
        rounds = [(timed(ours), timed(stock)) for _ in range(options.rounds)]
    print(f"{n} recipes, {pages} pages, {options.rounds} rounds, medians")
    for what, side in (("asfound (checks and builds)", 0), ("stock mkdocs-material", 1)):
        wall, cpu = (statistics.median(each[side][k] for each in rounds) for k in (0, 1))
        print(f"{what:30} {wall:7.2f} s  {cpu:7.2f} s of processor  {1000 * wall / n:6.2f} ms a recipe")
    by_wall, by_cpu = (statistics.median(ours[k] / stock[k] for ours, stock in rounds) for k in (0, 1))
    print(f"cold build ratio N={n}: {by_wall:.2f} (processor {by_cpu:.2f})")


if __name__ == "__main__":
    main()
