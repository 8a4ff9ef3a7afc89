"""How long this generator takes against stock mkdocs-material with the same content as Markdown.

Both build in processes of their own, one after the other in each round, so that a slow moment of the machine
hits both. The stock site gets every page of ours as Markdown: same headings, tables, lists and words, pages
outside ``nav``, search on.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from asfound.source.loader import FolderTree, load
from generate import generate
from markdownify import markdownify

from asfound.book import Book
from asfound.pages import Pages

OURS = """site_name: Bench
docs_dir: docs
use_directory_urls: false
theme: {{name: material, font: false}}
plugins: [search, {{asfound: {{recipes: {recipes}}}}}]
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


def timed(folder: Path) -> float:
    """Wall seconds of one build in ``folder``."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--quiet"],
        cwd=folder,
        env=os.environ | {"NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
    )
    if done.returncode:
        sys.exit(f"building in {folder} failed:\n{done.stdout}{done.stderr}")
    return time.perf_counter() - start


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
    a, b = (statistics.median(times) for times in zip(*rounds, strict=True))
    print(f"{n} recipes, {pages} pages, {options.rounds} rounds, medians")
    print(f"asfound (checks and builds)    {a:7.2f} s  {1000 * a / n:6.2f} ms a recipe")
    print(f"stock mkdocs-material          {b:7.2f} s  {1000 * b / n:6.2f} ms a recipe")
    print(f"cold build ratio N={n}: {statistics.median(x / y for x, y in rounds):.2f}")


if __name__ == "__main__":
    main()
