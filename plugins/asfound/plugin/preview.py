"""The site of a book that changes, made as far as somebody asks for it."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Set
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from mkdocs.commands.build import build, get_context
from mkdocs.config import load_config
from mkdocs.exceptions import MkDocsException

from ..book import Book
from ..pages import languages
from ..speech import speaking
from . import AsfoundPlugin
from .framing import FRAMED
from .made import BookPage


class PreviewFailed(Exception):
    """The site cannot be built, and why; what the host has to say besides is in its own log."""


class Preview:
    """The site of a book that changes: pages are made when somebody asks for them.

    ``config``: the site's configuration file; ``folder``: an empty one for what the host writes, which is the
    hand-written pages and the theme's files. PreviewFailed when the host cannot build. The site's other
    languages (``language``) are made below this one, each when it is first asked for.
    """

    def __init__(self, config: Path, folder: Path, book: Book, language: str = "") -> None:
        with _host_fails():
            self.config = load_config(str(config), site_dir=str(folder), strict=False)
        found = (each for each in self.config.plugins.values() if isinstance(each, AsfoundPlugin))
        self.folder, self.plugin = folder, next(found)
        self.plugin.shown, self.plugin.asked, self.plugin.language = book, False, language
        if language and self.config.site_url:
            self.config.site_url = f"{self.config.site_url.rstrip('/')}/{language}/"
        with _host_fails(), speaking(None):  # the plugin speaks its own
            build(self.config)
        self.plugin.asked = True
        self._below: dict[str, Preview] = {}
        self._book = book
        self._search: dict[str, bytes] = {}
        self._pages = {page.file.dest_uri: page for page in self.plugin.own.values()}

    @property
    def watched(self) -> tuple[Path, ...]:
        """Folders and files that the site is made from."""
        names = (self.config.docs_dir, self.config.config_file_path, *self.config.watch)
        return tuple(Path(name).resolve() for name in names if name and Path(name).exists())

    def renew(self, book: Book, changed: Set[str] | None) -> bool:
        """As ``AsfoundPlugin.renew``."""
        self._search, self._book = {}, book
        for tag, other in list(self._below.items()):
            if not other.renew(book, changed):
                del self._below[tag]
        with self._speaking():
            return self.plugin.renew(book, changed)

    def content(self, path: str) -> bytes | None:
        """A page or file of the book by its path below the site; None for any other.

        PreviewFailed when it is of another language, and the host cannot build that.
        """
        tag, _, rest = path.partition("/")
        if tag in self.plugin.site[1:] and not self.plugin.below:
            if tag not in self._below:
                config, folder = Path(str(self.config.config_file_path)), self.folder / tag
                self._below[tag] = Preview(config, folder, self._book, tag)
            return self._below[tag].content(rest)
        with self._speaking():
            return self._content(path)

    def _speaking(self) -> AbstractContextManager[None]:
        return speaking(languages.language(self.plugin.language))

    def _content(self, path: str) -> bytes | None:
        plugin = self.plugin
        if path in self._pages:
            return self._page(self._pages[path])
        if path in plugin.documents:
            return plugin.documents[path].content()
        if path.startswith("assets/asfound/data/"):
            if not self._search:
                self._search = dict(plugin.pages.search(lambda key: plugin.urls[key], plugin.guides))
            return self._search.get(path)
        return None

    def _page(self, page: BookPage) -> bytes:
        """What the host does with a page, but for writing it."""
        plugin, config = self.plugin, self.config
        page.read_source(config)
        page.active = True
        if plugin.framing and not page.file.inclusion.is_in_nav():
            page.meta["template"] = FRAMED
        try:
            context = get_context(plugin.nav, plugin.files.documentation_pages(), config, page)
            template = plugin.env.get_template(str(page.meta.get("template", "main.html")))
            context = config.plugins.on_page_context(context, page=page, config=config, nav=plugin.nav)
            output = config.plugins.on_post_page(template.render(context), page=page, config=config)
        finally:
            page.active = False
        return output.encode("utf-8", errors="xmlcharrefreplace")


def recipes_of(config: Path) -> Path:
    """The book's folder that a site's configuration names. PreviewFailed where it names none.

    What the host would only warn of is left to ``Preview``, which reads the same file.
    """
    told = logging.getLogger("mkdocs.config")
    before = told.level
    told.setLevel(logging.ERROR)
    try:
        with _host_fails():
            loaded = load_config(str(config), strict=False)
    finally:
        told.setLevel(before)
    for each in loaded.plugins.values():
        if isinstance(each, AsfoundPlugin):
            return Path(each.config.recipes)
    raise PreviewFailed(f"{config} does not name the plugin asfound")


@contextmanager
def _host_fails() -> Iterator[None]:
    try:
        yield
    except (MkDocsException, SystemExit) as why:
        raise PreviewFailed(str(why)) from why
