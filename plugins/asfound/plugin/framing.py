"""The theme around the book's pages, rendered once for all that it says the same of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from jinja2 import Environment
from mkdocs.commands.build import get_context
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.plugins import get_plugin_logger
from mkdocs.structure.files import File, Files
from mkdocs.structure.nav import Navigation
from mkdocs.structure.toc import get_toc

from ..pages import PageOut, TocEntry, frame
from ..pages.build import Rendered
from ..pages.links import is_for_writers
from .made import BookPage, toc_tokens

log = get_plugin_logger(__name__)


FRAMED = "asfound/framed.html"
FRAMED_OR_NOT = "{% if page.framed is none %}{% include 'main.html' %}{% else %}{{ page.framed }}{% endif %}"
_FRAMES = 256  # kept at once
_PROVED = 500  # pages of a folder, of which one is rendered both ways


class Framing:
    """The theme around pages that are not in the navigation, rendered once for all that it says the same of.

    That is: those in one folder with the same headings. What differs is put into slots of a specimen; that it
    comes out alike is proved on the first page of each folder and on one of each ``_PROVED``, else given up.
    ``file`` makes a page's file, ``furnished`` adds what every page has from us.
    """

    def __init__(
        self,
        env: Environment,
        file: Callable[[PageOut, MkDocsConfig], File],
        furnished: Callable[[str, BookPage], str],
    ) -> None:
        self._template, self._file, self._furnished = env.get_template("main.html"), file, furnished
        self._frames: dict[object, frame.Frame | None] = {}
        self._count: Counter[str] = Counter()
        self._given_up: set[str] = set()

    def framed(self, page: BookPage, rendered: Rendered, nav: Navigation, config: MkDocsConfig) -> str | None:
        """The finished page; None when the theme must be asked."""
        folder, _, name = page.out.key.rpartition("/")
        values = {"title": page.out.title, "description": page.out.description}
        values |= {f"h{at}": entry.title for at, entry in enumerate(rendered.toc)}
        if folder in self._given_up or not frame.fits(values.values()) or page.file.inclusion.is_in_nav():
            return None
        if is_for_writers(page.out.key):  # what the theme says of it depends on more than its folder
            return None
        values |= {f"i{at}": entry.id for at, entry in enumerate(rendered.toc)}
        values |= {"content": rendered.html, "name": name, "source": page.out.source or ""}
        levels = tuple(entry.level for entry in rendered.toc)
        key = folder, bool(page.out.source), "<h1" in rendered.html, levels
        if key not in self._frames:
            self._frames[key] = self._frame(folder, page.out, rendered, nav, config)
            while len(self._frames) > _FRAMES:
                del self._frames[next(iter(self._frames))]
        found = self._frames[key]
        if found is None:
            return None
        made = found.filled(values)
        if self._count[folder] % _PROVED == 0:
            page.toc = get_toc(toc_tokens(rendered.toc))
            if self._as_the_theme_has_it(page, nav, config) != made:
                log.debug(f"The theme is asked for each page in {folder}: it says something else of each.")
                self._given_up.add(folder)
                return None
        self._count[folder] += 1
        return made

    def _as_the_theme_has_it(self, page: BookPage, nav: Navigation, config: MkDocsConfig) -> str:
        context = get_context(nav, Files([]), config, page)
        return self._furnished(self._template.render(context), page)

    def _frame(
        self, folder: str, like: PageOut, rendered: Rendered, nav: Navigation, config: MkDocsConfig
    ) -> frame.Frame | None:
        source = frame.word("source") if like.source else None
        title, description = frame.text("title"), frame.text("description")
        out = PageOut(f"{folder}/{frame.word('name')}", title, description, source)
        specimen = BookPage(out, self._file(out, config), config)
        specimen.read_source(config)
        specimen.content, specimen.active = frame.content("content", rendered.html), True
        toc = (
            TocEntry(entry.level, frame.word(f"i{at}"), frame.text(f"h{at}"))
            for at, entry in enumerate(rendered.toc)
        )
        specimen.toc = get_toc(toc_tokens(toc))
        return frame.Frame.of(self._as_the_theme_has_it(specimen, nav, config))
