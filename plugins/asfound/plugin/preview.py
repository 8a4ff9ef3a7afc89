"""The site of a book that changes, made as far as somebody asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Set
from contextlib import contextmanager
from pathlib import Path

from mkdocs.commands.build import build, get_context
from mkdocs.config import load_config
from mkdocs.exceptions import MkDocsException
from mkdocs.plugins import get_plugin_logger

from ..book import Book
from . import AsfoundPlugin
from .framing import FRAMED
from .made import BookPage

log = get_plugin_logger(__name__)


class PreviewFailed(Exception):
    """The site cannot be built; why has been said."""


class Preview:
    """The site of a book that changes: pages are made when somebody asks for them.

    ``config``: the site's configuration file; ``folder``: an empty one for what the host writes, which is the
    hand-written pages and the theme's files. PreviewFailed when the host cannot build.
    """

    def __init__(self, config: Path, folder: Path, book: Book) -> None:
        with _host_fails():
            self.config = load_config(str(config), site_dir=str(folder), strict=False)
        found = (each for each in self.config.plugins.values() if isinstance(each, AsfoundPlugin))
        self.folder, self.plugin = folder, next(found)
        self.plugin.shown, self.plugin.asked = book, False
        with _host_fails():
            build(self.config)
        self.plugin.asked = True
        self._search: dict[str, bytes] = {}
        self._pages = {page.file.dest_uri: page for page in self.plugin.own.values()}

    @property
    def watched(self) -> tuple[Path, ...]:
        """Folders and files that the site is made from."""
        names = (self.config.docs_dir, self.config.config_file_path, *self.config.watch)
        return tuple(Path(name).resolve() for name in names if name and Path(name).exists())

    def renew(self, book: Book, changed: Set[str] | None) -> bool:
        """As ``AsfoundPlugin.renew``."""
        self._search = {}
        return self.plugin.renew(book, changed)

    def content(self, path: str) -> bytes | None:
        """A page or file of the book by its path below the site; None for any other."""
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
    """The book's folder that a site's configuration names. PreviewFailed where it names none."""
    with _host_fails():
        loaded = load_config(str(config))
    for each in loaded.plugins.values():
        if isinstance(each, AsfoundPlugin):
            return Path(each.config.recipes)
    raise PreviewFailed(f"{config} does not name the plugin asfound")


@contextmanager
def _host_fails() -> Iterator[None]:
    try:
        yield
    except (MkDocsException, SystemExit) as why:
        log.error(str(why))
        raise PreviewFailed(str(why)) from why
