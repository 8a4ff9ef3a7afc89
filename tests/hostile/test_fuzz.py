"""Books made at random: sound ones pass and build; others give findings where they stand, never an error.

A few dozen in each run; ``make soak`` tries thousands.
"""

from __future__ import annotations

import os
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))

import books
import rules_data

from asfound.book import Book
from asfound.pages import Pages
from asfound.rules.run import run
from asfound.source.findings import Finding
from asfound.source.loader import Loaded, load
from asfound.source.report import as_lines

SOAK = bool(os.environ.get("ASFOUND_SOAK"))
BOUNDED = settings(
    max_examples=1500 if SOAK else 8, suppress_health_check=list(HealthCheck), report_multiple_bugs=False
)
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


class Balance(HTMLParser):
    """Whether every element is closed by its own tag; shapes of drawings may close themselves."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        assert tag not in ("iframe", "style", "base", "object")
        assert tag != "script" or "src" in dict(attrs)
        assert not any(name.startswith("on") for name, _ in attrs), attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: Any) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("p", *VOID) or (self.open and self.open[-1] == tag):
            assert self.open and self.open.pop() == tag


def checked(files: dict[str, Any]) -> tuple[Loaded, list[Finding]]:
    """All that the check does, without a disk."""
    loaded = load(books.DataTree(files))
    findings = list(loaded.findings)
    if loaded.club is not None:
        findings += run(Book(loaded))
    return loaded, findings


def build(loaded: Loaded) -> None:
    """Every page and document of the site, without the host."""
    pages = Pages(Book(loaded))
    link = "../{}".format
    for out in pages.outlines():
        Balance(pages.html(out.key, link).html)
    for document in pages.documents(link):
        document.content()


@BOUNDED
@given(books.sound_books())
def test_every_sound_book_passes_and_builds(files: dict[str, Any]) -> None:
    loaded, findings = checked(files)
    assert [f"{f.file}:{f.line} {f.id} {f.message}" for f in findings] == []
    build(loaded)


@settings(BOUNDED, max_examples=6000 if SOAK else 50)
@given(st.data())
def test_every_changed_book_gives_findings_or_builds(data: st.DataObject) -> None:
    files = data.draw(books.mutated(rules_data.FILES))
    loaded, findings = checked(files)
    tree = loaded.tree
    for finding in findings:
        assert finding.line >= 1 and finding.column >= 1 and finding.id and finding.repair
        if finding.file in files:
            assert finding.line <= tree.read(finding.file).count(b"\n") + 1
    assert all(line.isprintable() for line in as_lines(findings))
    if not findings:
        build(loaded)
