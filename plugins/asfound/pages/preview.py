"""The whole book as plain files, without any host: a small shell around each page."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile

from ..book import Book
from . import links
from .build import Pages
from .environment import ASSETS, environment


def write(
    book: Book, folder: Path, templates: Path | None = None, scheme: str = "default"
) -> tuple[Path, ...]:
    """Write every page, picture and asset below ``folder``; the files written. ``scheme``: default, slate."""
    pages = Pages(book, templates)
    shell = environment(templates).get_template("preview.html")
    written = []
    for out in pages.outlines():
        link = links.linker(out.key)
        html = shell.render(
            out=out,
            page=pages.html(out.key, link),
            link=link,
            club=book.club.name,
            scheme=scheme,
            styles=tuple(f"assets/asfound/{path.name}" for path in sorted(ASSETS.glob("*.css"))),
            scripts=tuple(f"assets/asfound/{path.name}" for path in sorted(ASSETS.glob("*.js"))),
            navigation=(links.HOME, links.FIND, links.MODULES, links.VEHICLES, links.PLANNER, links.BOARD),
        )
        written.append(_file(folder, out.key))
        written[-1].write_text(html, encoding="utf-8")
    for key, content in pages.pictures():
        written.append(_file(folder, key))
        written[-1].write_bytes(content)
    for key, content in pages.documents(links.file_of):
        written.append(_file(folder, key))
        written[-1].write_bytes(content)
    for asset in sorted(ASSETS.iterdir()):
        written.append(_file(folder, f"assets/asfound/{asset.name}"))
        copyfile(asset, written[-1])
    return tuple(written)


def _file(folder: Path, key: str) -> Path:
    path = folder / links.file_of(key)
    path.parent.mkdir(parents=True, exist_ok=True)
    return path
