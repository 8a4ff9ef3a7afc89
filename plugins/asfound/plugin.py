"""The MkDocs glue: loads the book, refuses what does not pass the checks, hands finished pages to the host.

The only file that imports mkdocs. Pages are rendered by ``pages`` without it; here each becomes a generated
file whose page skips Markdown. The real HTML is put in at the last moment before the theme's template, and is
never held for all pages at once. The pages have a search of their own, the site's hand-written ones included.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Generic, TypeVar
from urllib.parse import urlsplit

from jinja2 import ChoiceLoader, DictLoader, Environment
from markupsafe import escape
from mkdocs.commands.build import get_context
from mkdocs.config import config_options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.structure.toc import get_toc
from mkdocs.utils import get_relative_url, write_file
from mkdocs.utils.templates import TemplateContext

from .pages import ASSETS, PageOut, PictureProblem, TemplateFault, TocEntry, frame
from .pages.build import Rendered
from .pages.document import Document
from .pages.header import with_search
from .pages.links import Link
from .pages.policy import policy, script_hashes, with_policy
from .pages.search import guide
from .pages.studio import Studio
from .source.findings import printable
from .source.report import as_lines, count_text

log = get_plugin_logger(__name__)
T = TypeVar("T")

FRAMED = "asfound/framed.html"
_FRAMED_OR_NOT = "{% if page.framed is none %}{% include 'main.html' %}{% else %}{{ page.framed }}{% endif %}"
_FRAMES = 256  # kept at once
_PROVED = 500  # pages of a folder, of which one is rendered both ways

MARK = "assets/asfound/mark.svg"
IN_NAVIGATION = ("index", "find", "modules/index", "vehicles/index", "planner", "board")


class AsfoundConfig(Config):
    """Options of the plugin in mkdocs.yml."""

    recipes = config_options.Dir(exists=True, default="recipes")
    templates = config_options.Optional(config_options.Dir(exists=True))


class BookPage(Page):
    """A page whose HTML comes from the book instead of from Markdown."""

    def __init__(self, out: PageOut, file: File, config: MkDocsConfig) -> None:
        super().__init__(escape(out.title), file, config)  # themes write it as it is
        self.out = out
        self.framed: str | None = None

    def read_source(self, config: MkDocsConfig) -> None:
        """Sets what the theme asks for; there is no source text."""
        self.markdown = ""
        said = {"title": escape(self.out.title), "description": escape(self.out.description)}
        self.meta = {**said, "hide": ["navigation"]}

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Nothing yet; see the module's docstring."""
        self.content = ""


@contextmanager
def _faults_stop_the_build() -> Iterator[None]:
    """What is wrong in a site's own template or picture is said in one line, without a traceback."""
    try:
        yield
    except (TemplateFault, PictureProblem) as fault:
        raise PluginError(str(fault)) from fault


def _toc_tokens(entries: Iterable[TocEntry]) -> Any:
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


class Framing:
    """The theme around pages that are not in the navigation, rendered once for all that it says the same of.

    That is: those in one folder with the same headings. What differs is put into slots of a specimen; that it
    comes out alike is proved on the first page of each folder and on one of each ``_PROVED``, else given up.
    """

    def __init__(self, plugin: AsfoundPlugin, env: Environment) -> None:
        self._plugin, self._template = plugin, env.get_template("main.html")
        self._frames: dict[object, frame.Frame | None] = {}
        self._count: Counter[str] = Counter()
        self._given_up: set[str] = set()

    def framed(self, page: BookPage, rendered: Rendered, nav: Navigation, config: MkDocsConfig) -> str | None:
        """The finished page; None when the theme must be asked."""
        folder, _, name = page.out.key.rpartition("/")
        values = {"title": page.out.title, "description": page.out.description}
        values |= {f"h{at}": entry.title for at, entry in enumerate(rendered.toc)}
        if folder in self._given_up or not frame.fits(values.values()) or page.out.key in IN_NAVIGATION:
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
            page.toc = get_toc(_toc_tokens(rendered.toc))
            if self._as_the_theme_has_it(page, nav, config) != made:
                log.debug(f"The theme is asked for each page in {folder}: it says something else of each.")
                self._given_up.add(folder)
                return None
        self._count[folder] += 1
        return made

    def _as_the_theme_has_it(self, page: BookPage, nav: Navigation, config: MkDocsConfig) -> str:
        context = get_context(nav, Files([]), config, page)
        return self._plugin.furnished(self._template.render(context), page)

    def _frame(
        self, folder: str, like: PageOut, rendered: Rendered, nav: Navigation, config: MkDocsConfig
    ) -> frame.Frame | None:
        source = frame.word("source") if like.source else None
        title, description = frame.text("title"), frame.text("description")
        out = PageOut(f"{folder}/{frame.word('name')}", title, description, source)
        specimen = BookPage(out, self._plugin.file(out, config), config)
        specimen.read_source(config)
        specimen.content, specimen.active = frame.content("content", rendered.html), True
        toc = (
            TocEntry(entry.level, frame.word(f"i{at}"), frame.text(f"h{at}"))
            for at, entry in enumerate(rendered.toc)
        )
        specimen.toc = get_toc(_toc_tokens(toc))
        return frame.Frame.of(self._as_the_theme_has_it(specimen, nav, config))


def _others(config: MkDocsConfig) -> bool:
    """Whether another plugin looks at pages while they are made."""
    return any(
        not isinstance(getattr(each, "__self__", None), AsfoundPlugin)
        for event in ("pre_page", "page_content", "page_context", "post_page")
        for each in config.plugins.events[event]
    )


class MadeFile(File):
    """A file that is made when the host copies it, and not kept."""

    def __init__(self, document: Document, plugin: AsfoundPlugin, config: MkDocsConfig) -> None:
        super().__init__(document.key, None, config.site_dir, config.use_directory_urls)
        self.document, self.plugin = document, plugin
        self.generated_by = "asfound"

    @property  # type: ignore[misc]  # nobody sets it
    def content_bytes(self) -> bytes:
        """The content, made anew."""
        with _faults_stop_the_build():
            return self.document.content()

    def copy_file(self, dirty: bool = False) -> None:
        """Makes it and writes it."""
        with _faults_stop_the_build():
            content = self.plugin.contents.take(self.document.key, self.document.content)
        write_file(content, self.abs_dest_path)


class _Ahead(Generic[T]):
    """What is made ahead, in the order in which it will most likely be asked for."""

    def __init__(self, keys: Iterable[str], made: Iterator[T]) -> None:
        self._keys, self._made = deque(keys), made

    def take(self, key: str, make: Callable[[], T]) -> T:
        """What belongs to the key; out of turn it is made here and now."""
        if self._keys and self._keys[0] == key:
            self._keys.popleft()
            return next(self._made)
        return make()


class AsfoundPlugin(BasePlugin[AsfoundConfig]):
    """Turns a folder of recipes into pages."""

    once = False
    framing: Framing | None = None
    studio: Studio | None = None

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """Notes whether this is one build and no server, which has threads and builds again and again."""
        self.once = command != "serve"

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Adds the project's style and scripts, and watches what pages are made from."""
        config.watch.append(self.config.recipes)
        if self.config.templates:
            config.watch.append(self.config.templates)
        styles = sorted(ASSETS.glob("*.css"))
        config.extra_css[:0] = [f"assets/asfound/{style.name}" for style in styles]
        if any("search" in name.split("/") for name in config.plugins):
            log.info("The pages have a search of their own: take `search` out of the plugins in mkdocs.yml.")
        for script in sorted(ASSETS.glob("*.js")):
            value = config_options.ExtraScriptValue(f"assets/asfound/{script.name}")
            value.defer = True
            config.extra_javascript.append(value)
        theme = config.theme  # a club's own mark stands; the theme's stock pictures give way to ours
        if not theme.get("logo") and not (theme.get("icon") or {}).get("logo"):
            theme["logo"] = MARK
        if theme.get("favicon") in (None, "assets/images/favicon.png"):
            theme["favicon"] = MARK
        config.extra.setdefault("scope", "/")  # else the theme's inline script differs from folder to folder
        return config

    def on_files(self, files: Files, config: MkDocsConfig) -> Files:
        """Checks the book and adds a file for each of its pages."""
        folder, here = Path(self.config.recipes), Path.cwd()
        self.studio = Studio(folder, crew=self.once)
        findings = self.studio.findings()
        if findings:
            shown = folder.relative_to(here) if folder.is_relative_to(here) else folder
            for line in as_lines(findings, printable(str(shown))):
                log.error(line)
            raise PluginError(f"{count_text(findings)} The site was not built.")
        hand_written = {file.src_uri.removesuffix(".md"): file for file in files.documentation_pages()}
        with _faults_stop_the_build():
            self.studio.open(self.config.templates, frozenset(hand_written))
        self.pages = self.studio.pages
        self.urls = {key: file.url for key, file in hand_written.items()}
        self.taken = {f.dest_uri.casefold(): f.src_uri for f in files if not f.inclusion.is_excluded()}
        made = 0
        for out in self.pages.outlines():
            file = self.file(out, config)
            BookPage(out, file, config)
            self._add(file, files, config)
            self.urls[out.key] = file.url
            made += out.key.startswith("recipes/")
        if made != len(self.pages.book.recipes):
            raise PluginError(f"{len(self.pages.book.recipes)} recipes went in, {made} pages came out.")
        if unpublished := len(self.studio.loaded.recipes) - made:
            log.info(f"Not published, since the club does not vouch for them: {unpublished} recipe(s).")
        for asset in sorted(ASSETS.iterdir()):
            file = File.generated(config, f"assets/asfound/{asset.name}", abs_src_path=str(asset))
            self._add(file, files, config)
        # Their addresses are known before their content: they name each other, and the feed itself.
        self.urls |= {key: key for key in self.pages.fixed}
        documents = [*self.pages.pictures(), *self.pages.documents(lambda key: self.urls[key])]
        for document in documents:
            file = MadeFile(document, self, config)
            self._add(file, files, config)
            self.urls[document.key] = file.url
        self.studio.addresses(self.urls, get_relative_url)
        self.contents = _Ahead((d.key for d in documents), self.studio.contents(documents))
        keys = [file.page.out.key for file in files if isinstance(file.page, BookPage)]
        self.rendered = _Ahead(keys, self.studio.html(keys))
        if self.pages.book.club.site is None:
            log.info("No feed: club.yml names no site, and a feed's entries need whole addresses.")
        return files

    def _add(self, file: File, files: Files, config: MkDocsConfig) -> None:
        """Adds a file of ours, unless one of the site's own would lie at the same address."""
        if other := self.taken.get(file.dest_uri.casefold()):
            raise PluginError(
                f"{other} in {config.docs_dir} and a page of the book have the same address, "
                f"{file.dest_uri}; rename the former."
            )
        files.append(file)

    def file(self, out: PageOut, config: MkDocsConfig) -> File:
        """The generated file of a page; its edit link leads to the YAML it was made from."""
        inclusion = InclusionLevel.INCLUDED if out.key in IN_NAVIGATION else InclusionLevel.NOT_IN_NAV
        file = File.generated(config, f"{out.key}.md", content="", inclusion=inclusion)
        if out.source:
            file.generated_by = None
            file.edit_uri = f"{Path(self.config.recipes).name}/{out.source}"
        return file

    @event_priority(-100)  # after whatever else changes the theme's templates
    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> None:
        """Makes the policy from the theme alone: its templates around a page that holds nothing."""
        nothing = Page("Nothing", File.generated(config, "nothing.md", content=""), config)
        nothing.markdown, nothing.content, nothing.toc = "", "", get_toc([])
        nav, known = Navigation([], []), env.list_templates()
        pages = [
            env.get_template(name).render(**get_context(nav, Files([]), config, page))
            for name, page in (("main.html", nothing), ("404.html", None))
            if name in known
        ]
        self.policy = policy(script_hashes(pages))
        if "main.html" in known and not _others(config):
            self.framing = Framing(self, env)
            env.loader = ChoiceLoader([DictLoader({FRAMED: _FRAMED_OR_NOT}), env.loader or DictLoader({})])
            for file in files.documentation_pages():
                if isinstance(file.page, BookPage) and not file.inclusion.is_in_nav():
                    file.page.meta["template"] = FRAMED
        guides = [
            entry
            for file in files.documentation_pages()
            if (page := file.page) is not None and not isinstance(page, BookPage)
            for entry in guide(file.url, page.title or file.name, page.content or "")
        ]
        for key, content in self.pages.search(lambda key: self.urls[key], guides):
            self._add(File.generated(config, key, content=content), files, config)

    @event_priority(-100)  # on what every other plugin has left
    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Puts the way to the search and the policies into every page."""
        framed = isinstance(page, BookPage) and page.framed is not None
        return output if framed else self.furnished(output, page)

    def furnished(self, output: str, page: Page) -> str:
        """A page as the theme leaves it, with what every page has from us."""
        return self._furnished(output, self._link(page))

    def _link(self, page: Page) -> Link:
        return lambda key: get_relative_url(self.urls[key], page.url)

    def _furnished(self, output: str, link: Link) -> str:
        with _faults_stop_the_build():
            return with_policy(with_search(output, self.pages.search_link(link)), self.policy)

    @event_priority(-100)
    def on_post_template(self, output_content: str, *, template_name: str, config: MkDocsConfig) -> str:
        """The same for 404.html and other pages of the theme's own, which may be seen from anywhere."""
        if not template_name.endswith(".html"):
            return output_content
        base = urlsplit(config.site_url or "").path.rstrip("/")
        return self._furnished(output_content, lambda key: f"{base}/{self.urls[key]}")

    @event_priority(-100)  # on what every other plugin has left
    def on_page_context(
        self, context: TemplateContext, *, page: Page, config: MkDocsConfig, nav: Any
    ) -> None:
        """Puts the real HTML in place of the search text."""
        if page.parent is None and "navigation.tabs" in config.theme.get("features", ()):
            # Beside a page that has a tab, the theme's list of pages would name that page alone.
            page.meta.setdefault("hide", ["navigation"])
        if isinstance(page, BookPage):
            link = self._link(page)
            with _faults_stop_the_build():
                rendered = self.rendered.take(page.out.key, lambda: self.pages.html(page.out.key, link))
            page.content = rendered.html
            if self.framing:
                page.framed = self.framing.framed(page, rendered, nav, config)
            if page.framed is None:
                page.toc = get_toc(_toc_tokens(rendered.toc))

    def on_build_error(self, *, error: Exception) -> None:
        """Ends what works for the build."""
        self._close()

    @event_priority(-100)
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Ends what works for the build."""
        self._close()

    def _close(self) -> None:
        if self.studio:
            self.studio.close()
