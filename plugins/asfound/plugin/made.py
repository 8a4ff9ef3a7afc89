"""Pages and files of the site that the book makes, as the host takes them."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from markupsafe import escape
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

from ..pages import PageOut, PictureProblem, TemplateFault, TocEntry
from ..pages.document import Document
from ..pages.links import HOME


class BookPage(Page):
    """A page whose HTML comes from the book instead of from Markdown."""

    def __init__(self, out: PageOut, file: File, config: MkDocsConfig) -> None:
        super().__init__(escape(out.title), file, config)  # themes write it as it is
        self.out = out
        self.named = ""  # in the navigation, where that says otherwise than the page
        self.framed: str | None = None

    def read_source(self, config: MkDocsConfig) -> None:
        """Sets what the theme asks for; there is no source text."""
        self.markdown = ""
        self.meta = {"description": escape(self.out.description), "hide": ["navigation"]}
        if self.out.key != HOME:  # themes head that with the site's name alone
            self.meta["title"] = escape(self.out.title)

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Nothing yet; see the package's docstring."""
        self.content = ""


class MadeFile(File):
    """A file that is made when the host copies it, and not kept; ``take``: its parts, or None for the first
    where there is nothing to write."""

    def __init__(
        self, document: Document, take: Callable[[Document], Iterator[bytes | None]], config: MkDocsConfig
    ) -> None:
        super().__init__("", None, config.site_dir, config.use_directory_urls)
        # There are some five of them for a recipe, so each holds its address once, whatever it is called.
        self.src_uri = self.dest_uri = document.key
        quoted = self._get_url()
        self.url = document.key if quoted == document.key else quoted
        self.document, self.take = document, take
        self.generated_by = "asfound"

    @property
    def abs_dest_path(self) -> str:
        """Where it is written, as the host has it, which would keep it."""
        return os.path.normpath(os.path.join(self.dest_dir, self.dest_uri))

    @property  # type: ignore[misc]  # nobody sets it
    def content_bytes(self) -> bytes:
        """The content, made anew."""
        with faults_stop_the_build():
            return self.document.content()

    def copy_file(self, dirty: bool = False) -> None:
        """Makes it and writes it."""
        with faults_stop_the_build():
            parts = self.take(self.document)
            first = next(parts)
            if first is None:
                return
            place = Path(self.abs_dest_path)
            place.parent.mkdir(parents=True, exist_ok=True)
            with place.open("wb") as file:
                file.write(first)
                file.writelines(part for part in parts if part)


def toc_tokens(entries: Iterable[TocEntry]) -> Any:
    """Flat (level, id, title) entries as the nested tokens the host reads."""
    top: list[dict[str, Any]] = []
    stack: list[dict[str, Any]] = []
    for entry in entries:
        token = {"level": entry.level, "id": entry.id, "name": str(escape(entry.title)), "children": []}
        while stack and stack[-1]["level"] >= entry.level:
            stack.pop()
        (stack[-1]["children"] if stack else top).append(token)
        stack.append(token)
    return top


@contextmanager
def faults_stop_the_build() -> Iterator[None]:
    """What is wrong in a site's own template or picture is said in one line, without a traceback."""
    try:
        yield
    except (TemplateFault, PictureProblem) as fault:
        raise PluginError(str(fault)) from fault
