"""Sheets as PDF, by the browser that is installed.

A browser sets the same page on paper as on a screen: no second layout to keep in step. ``pypdf`` then puts
the sheets together and adds what the browser does not: the title and a bookmark for each sheet.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from pypdf import PdfReader, PdfWriter

from .policy import policy
from .sheets import PAPER, SheetPage, Sheets, margin_boxes
from .views.booklet import Booklet
from .views.sheet import Sheet

Paper = Literal["a4", "letter"]
NAMED = "ASFOUND_BROWSER"  # the environment variable that names one
BROWSERS = (  # the first is Chromium's engine alone, which starts sooner
    *("chromium-headless-shell", "chromium", "chromium-browser"),
    *("google-chrome-stable", "google-chrome", "chrome", "msedge"),
)
_SECONDS = 300


class NoPrinter(Exception):
    """No browser can print; one line that says what to do."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A PDF and what its sheets are called."""

    title: str
    pdf: bytes


class Printer:
    """Prints sheets; holds a folder with their styles while it is open."""

    def __init__(self, sheets: Sheets, folder: Path, paper: Paper) -> None:
        self.sheets, self.folder, self.paper = sheets, folder, paper
        self.browser = browser()
        shutil.copyfile(PAPER / "sheet.css", folder / "sheet.css")
        (folder / "paper.css").write_text(f"@page {{ size: {'A4' if paper == 'a4' else 'letter'}; }}\n")

    def sheet(self, sheet: Sheet) -> Printed:
        """One sheet. NoPrinter when the browser fails."""
        here = self._here("margins.css")
        (self.folder / "margins.css").write_text(margin_boxes(sheet), "utf-8")
        return Printed(f"{sheet.title} ({' '.join(sheet.codes)})", self._print(self.sheets.html(sheet, here)))

    def booklet(self, page: Booklet) -> tuple[bytes, Mapping[str, int]]:
        """The booklet, printed twice: its contents need the numbers of pages that are known only then."""
        styles = [margin_boxes(one.sheet, f"s{n}") for n, one in enumerate(page.sheets)]
        styles += [f"#sheet-{one.id} {{ page: s{n}; }}\n" for n, one in enumerate(page.sheets)]
        (self.folder / "margins.css").write_text("".join(styles), "utf-8")
        numbers: dict[str, int] = {}
        for _ in range(2):
            marks = tuple((id, str(at)) for id, at in numbers.items())
            pdf = self._print(self.sheets.booklet(page, self._here("margins.css", marks)))
            numbers = _pages_of(pdf, [one.id for one in page.sheets])
        return pdf, numbers

    def _here(self, margins: str, marks: tuple[tuple[str, str], ...] = ()) -> SheetPage:
        return SheetPage(policy(), ("sheet.css", "paper.css", margins), (), "", "", marks)

    def _print(self, html: str) -> bytes:
        page, out = self.folder / "sheet.html", self.folder / "sheet.pdf"
        page.write_text(html, "utf-8")
        out.unlink(missing_ok=True)
        words = [
            self.browser, "--headless", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            f"--user-data-dir={self.folder / 'profile'}", f"--print-to-pdf={out}",
        ]  # fmt: skip
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            words.append("--no-sandbox")  # as root it starts no other way; it opens nothing but our own page
        try:
            ended = subprocess.run([*words, page.as_uri()], capture_output=True, timeout=_SECONDS)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise NoPrinter(f"{self.browser} does not print: {error}") from error
        if ended.returncode or not out.is_file():
            last = ended.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["it wrote no file"]
            raise NoPrinter(f"{self.browser} does not print: {last[0]}")
        return out.read_bytes()


@contextmanager
def printer(sheets: Sheets, paper: Paper) -> Iterator[Printer]:
    """A printer while it is needed. NoPrinter when there is no browser."""
    with TemporaryDirectory(prefix="asfound-", ignore_cleanup_errors=True) as folder:
        yield Printer(sheets, Path(folder), paper)


def browser() -> str:
    """The browser to print with. NoPrinter when none is installed."""
    named = os.environ.get(NAMED)
    for name in (named,) if named else BROWSERS:
        if found := shutil.which(name):
            return found
    what = f"{NAMED} names {named}, which is not there" if named else "no browser to print with is installed"
    raise NoPrinter(f"{what}; install Chromium, or name a browser built on it in {NAMED}")


def bound(printed: Sequence[Printed], title: str, author: str) -> bytes:
    """Sheets in one file, a bookmark for each."""
    writer = PdfWriter()
    for one in printed:
        first = len(writer.pages)
        writer.append(BytesIO(one.pdf), import_outline=False)
        writer.add_outline_item(title=one.title, page_number=first)
    return _finished(writer, title, author)


def marked(pdf: bytes, marks: Sequence[tuple[str, int]], title: str, author: str) -> bytes:
    """A file with bookmarks: words and page, counted from 1."""
    writer = PdfWriter()
    writer.append(BytesIO(pdf), import_outline=False)
    for words, page in marks:
        writer.add_outline_item(title=words, page_number=page - 1)
    return _finished(writer, title, author)


def pages_in(pdf: bytes) -> int:
    """How many pages a file has."""
    return len(PdfReader(BytesIO(pdf)).pages)


def _finished(writer: PdfWriter, title: str, author: str) -> bytes:
    writer.add_metadata({"/Title": title, "/Author": author, "/Creator": "asfound"})
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _pages_of(pdf: bytes, ids: Sequence[str]) -> dict[str, int]:
    """On which page, counted from 1, each sheet begins, by the targets of the contents' links."""
    reader = PdfReader(BytesIO(pdf))
    found = {name.lstrip("/"): at for name, at in reader.named_destinations.items()}
    out = {}
    for id in ids:
        at = found.get(f"sheet-{id}")
        page = None if at is None else reader.get_destination_page_number(at)
        if page is not None:
            out[id] = page + 1
    return out
