"""The MkDocs glue: loads the book, refuses what does not pass the checks, hands finished pages to the host.

The only file that imports mkdocs. Pages are rendered by ``pages`` without it; here each becomes a generated
file whose page skips Markdown. The real HTML is put in at the last moment before the theme's template, and is
never held for all pages at once. The pages have a search of their own, the site's hand-written ones included.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from jinja2 import Environment
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
from mkdocs.utils import get_relative_url
from mkdocs.utils.templates import TemplateContext

from .pages import ASSETS, PageOut, Pages, PictureProblem, TemplateFault, TocEntry, links
from .pages.header import with_search
from .pages.links import Link
from .pages.policy import policy, script_hashes, with_policy
from .pages.search import guide
from .rules.run import check_book
from .source.findings import printable
from .source.report import as_lines, count_text

log = get_plugin_logger(__name__)

MARK = "assets/asfound/mark.svg"
IN_NAVIGATION = ("index", "find", "modules/index", "vehicles/index", "planner", "board")


class AsfoundConfig(Config):
    """Options of the plugin in mkdocs.yml."""

    recipes = config_options.Dir(exists=True, default="recipes")
    templates = config_options.Optional(config_options.Dir(exists=True))


class BookPage(Page):
    """A page whose HTML comes from the book instead of from Markdown."""

    def __init__(self, out: PageOut, file: File, config: MkDocsConfig) -> None:
        super().__init__(out.title, file, config)
        self.out = out

    def read_source(self, config: MkDocsConfig) -> None:
        """Sets what the theme asks for; there is no source text."""
        self.markdown = ""
        self.meta = {"title": self.out.title, "description": self.out.description, "hide": ["navigation"]}

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


class AsfoundPlugin(BasePlugin[AsfoundConfig]):
    """Turns a folder of recipes into pages."""

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
        loaded, findings, book = check_book(folder)
        if findings or book is None:
            shown = folder.relative_to(here) if folder.is_relative_to(here) else folder
            for line in as_lines(findings, printable(str(shown))):
                log.error(line)
            raise PluginError(f"{count_text(findings)} The site was not built.")
        hand_written = {file.src_uri.removesuffix(".md"): file for file in files.documentation_pages()}
        with _faults_stop_the_build():
            self.pages = Pages(book, self.config.templates, frozenset(hand_written))
        self.urls = {key: file.url for key, file in hand_written.items()}
        self.taken = {f.dest_uri.casefold(): f.src_uri for f in files if not f.inclusion.is_excluded()}
        made = 0
        for out in self.pages.outlines():
            file = self._file(out, config)
            BookPage(out, file, config)
            self._add(file, files, config)
            self.urls[out.key] = file.url
            made += out.key.startswith("recipes/")
        if made != len(self.pages.book.recipes):
            raise PluginError(f"{len(self.pages.book.recipes)} recipes went in, {made} pages came out.")
        if unpublished := len(loaded.recipes) - made:
            log.info(f"Not published, since the club does not vouch for them: {unpublished} recipe(s).")
        for asset in sorted(ASSETS.iterdir()):
            file = File.generated(config, f"assets/asfound/{asset.name}", abs_src_path=str(asset))
            self._add(file, files, config)
        with _faults_stop_the_build():
            for key, content in self.pages.pictures():
                file = File.generated(config, key, content=content)
                self._add(file, files, config)
                self.urls[key] = file.url
        # Their addresses are known before their content: the feed names its own.
        self.urls |= {key: key for key in self.pages.fixed}
        with _faults_stop_the_build():
            for key, content in self.pages.documents(lambda key: self.urls[key]):
                self._add(File.generated(config, key, content=content), files, config)
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

    def _file(self, out: PageOut, config: MkDocsConfig) -> File:
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
        return self._framed(output, lambda key: get_relative_url(self.urls[key], page.url))

    def _framed(self, output: str, link: Link) -> str:
        with _faults_stop_the_build():
            return with_policy(with_search(output, self.pages.search_link(link)), self.policy)

    @event_priority(-100)
    def on_post_template(self, output_content: str, *, template_name: str, config: MkDocsConfig) -> str:
        """The same for 404.html and other pages of the theme's own, which may be seen from anywhere."""
        if not template_name.endswith(".html"):
            return output_content
        base = urlsplit(config.site_url or "").path.rstrip("/")
        return self._framed(output_content, lambda key: f"{base}/{self.urls[key]}")

    @event_priority(-100)  # on what every other plugin has left
    def on_page_context(
        self, context: TemplateContext, *, page: Page, config: MkDocsConfig, nav: Any
    ) -> None:
        """Puts the real HTML in place of the search text."""
        if isinstance(page, BookPage):
            with _faults_stop_the_build():
                rendered = self.pages.html(
                    page.out.key, lambda key: get_relative_url(self.urls[key], page.url)
                )
            page.content = rendered.html
            page.toc = get_toc(_toc_tokens(rendered.toc))
