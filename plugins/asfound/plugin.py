"""The MkDocs glue: loads the book, refuses what does not pass the checks, hands finished pages to the host.

The only file that imports mkdocs. Pages are rendered by ``pages`` without it; here each becomes a generated
file whose page skips Markdown. The real HTML is put in at the last moment before the theme's template, and is
never held for all pages at once. The pages have a search of their own, the site's hand-written ones included.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Set
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from jinja2 import ChoiceLoader, DictLoader, Environment
from markupsafe import escape
from mkdocs.commands.build import build, get_context
from mkdocs.config import config_options, load_config
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import MkDocsException, PluginError
from mkdocs.plugins import BasePlugin, event_priority, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.structure.toc import get_toc
from mkdocs.utils import get_relative_url, write_file
from mkdocs.utils.templates import TemplateContext

from .book import Book
from .pages import ASSETS, PageOut, Pages, PictureProblem, TemplateFault, TocEntry, frame, languages
from .pages.build import Rendered
from .pages.document import Document
from .pages.header import with_search
from .pages.links import Link
from .pages.policy import policy, script_hashes, with_policy
from .pages.search import guide
from .pages.studio import Ahead, Studio
from .source.findings import Finding, printable
from .source.report import as_lines, count_text
from .speech import N_, gettext, speak, speaking

log = get_plugin_logger(__name__)

FRAMED = "asfound/framed.html"
_FRAMED_OR_NOT = "{% if page.framed is none %}{% include 'main.html' %}{% else %}{{ page.framed }}{% endif %}"
_FRAMES = 256  # kept at once
_PROVED = 500  # pages of a folder, of which one is rendered both ways

MARK = "assets/asfound/mark.svg"
# Titles a site may give its own pages and switches, where its configuration is in English.
TITLES = (
    *(N_("Home"), N_("Find"), N_("Modules"), N_("Vehicles"), N_("Planner"), N_("Board"), N_("Cautions")),
    *(N_("Contribute"), N_("Review"), N_("About"), N_("Dark"), N_("Light")),
)
IN_NAVIGATION = ("index", "find", "modules/index", "vehicles/index", "planner", "board")


class AsfoundConfig(Config):
    """Options of the plugin in mkdocs.yml."""

    recipes = config_options.Dir(exists=True, default="recipes")
    templates = config_options.Optional(config_options.Dir(exists=True))
    languages = config_options.ListOfItems(config_options.Choice(languages.languages()), default=["en"])


def _speak_in(config: MkDocsConfig, tag: str) -> None:
    """Sets the theme's language, and says what the configuration says in the words of the catalogue."""
    config.theme["language"] = tag
    for scheme in config.theme.get("palette") or ():
        if isinstance(scheme, dict) and isinstance(toggle := scheme.get("toggle"), dict):
            toggle["name"] = gettext(toggle.get("name", ""))

    def said(entry: Any) -> Any:
        if isinstance(entry, dict):
            return {gettext(title): said(below) for title, below in entry.items()}
        return [said(each) for each in entry] if isinstance(entry, list) else entry

    config.nav = said(config.nav)


def _translate(files: Files, tag: str) -> None:
    """A hand-written ``page.nl.md`` is what ``page.md`` says in that language, and no page of its own."""
    for file in tuple(files.documentation_pages()):
        name, _, language = file.src_uri.removesuffix(".md").rpartition(".")
        if name and language in languages.languages():
            original = files.get_file_from_path(f"{name}.md")
            if original and language == tag and file.abs_src_path:
                original.abs_src_path = file.abs_src_path
                original.translated = True  # type: ignore[attr-defined]
            files.remove(file)


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
        if not self.plugin.asked:
            return
        with _faults_stop_the_build():
            content = self.plugin.contents.take(self.document.key, self.document.content)
        write_file(content, self.abs_dest_path)


class AsfoundPlugin(BasePlugin[AsfoundConfig]):
    """Turns a folder of recipes into pages."""

    shown: Book | None = None  # in a preview, which has checked it
    asked = True  # whether somebody asks for the pages; a preview is built without any
    framing: Framing | None = None
    studio: Studio | None = None
    language = ""  # of this build; the first of the site's lies at the top, the others below their tags

    @property
    def below(self) -> str:
        """Where this build lies in the site: the tag of its language, nothing for the first."""
        return "" if self.language == self.config.languages[0] else self.language

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Adds the project's style and scripts, and watches what pages are made from."""
        self.language = self.language or self.config.languages[0]
        speak(languages.language(self.language))
        if self.language != languages.SOURCE:
            _speak_in(config, self.language)
        if self.below:
            config.theme.static_templates.discard("404.html")  # servers ask for that at the top alone
        config.watch.append(self.config.recipes)
        if self.config.templates:
            config.watch.append(self.config.templates)
        styles = sorted(ASSETS.glob("*.css"))
        config.extra_css[:0] = [f"assets/asfound/{style.name}" for style in styles]
        if any("search" in name.split("/") for name in config.plugins):
            log.info("The pages have a search of their own: take `search` out of the plugins in mkdocs.yml.")
        own = [languages.SCRIPT] if self.language != languages.SOURCE else []
        for script in (*own, *(f"assets/asfound/{path.name}" for path in sorted(ASSETS.glob("*.js")))):
            value = config_options.ExtraScriptValue(script)
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
        with speaking(None):  # findings are in English
            if self.shown:
                self.studio = Studio(self.shown.loaded, self.shown)
                findings: tuple[Finding, ...] = ()
            else:
                self.studio = Studio.of(folder)
                findings = self.studio.findings()
        _translate(files, self.language)
        if findings:
            shown = folder.relative_to(here) if folder.is_relative_to(here) else folder
            for line in as_lines(findings, printable(str(shown))):
                log.error(line)
            raise PluginError(f"{count_text(findings)} The site was not built.")
        hand_written = {file.src_uri.removesuffix(".md"): file for file in files.documentation_pages()}
        with _faults_stop_the_build():
            self.studio.open(self.config.templates, frozenset(hand_written), self.language, self.below)
        self.pages = self.studio.pages
        self.urls = {key: file.url for key, file in hand_written.items()}
        self.taken = {f.dest_uri.casefold(): f.src_uri for f in files if not f.inclusion.is_excluded()}
        made = 0
        self.own: dict[str, BookPage] = {}
        for out in self.pages.outlines():
            file = self.file(out, config)
            self.own[out.key] = BookPage(out, file, config)
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
        self.documents = {document.key: document for document in documents}
        for document in documents:
            file = MadeFile(document, self, config)
            self._add(file, files, config)
            self.urls[document.key] = file.url
        self.studio.addresses(self.urls, get_relative_url)
        self.contents: Ahead[bytes] = Ahead()
        self.rendered: Ahead[Rendered] = Ahead()
        if not self.shown:
            self.contents = Ahead(self.documents, self.studio.contents(documents))
            self.rendered = Ahead(self.own, self.studio.html(tuple(self.own)))
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

    @event_priority(-100)
    def on_nav(self, nav: Navigation, *, config: MkDocsConfig, files: Files) -> None:
        """Keeps the navigation, for a preview."""
        self.nav = nav

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
        self.env, self.files = env, files
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
        self.guides = guides
        for key, content in self.pages.search(lambda key: self.urls[key], guides):
            self._add(File.generated(config, key, content=content), files, config)

    @event_priority(-100)  # on what every other plugin has left
    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Puts the way to the search and the policies into every page."""
        if not isinstance(page, BookPage):
            return self.furnished(output, page)
        output = output if page.framed is not None else self.furnished(output, page)
        page.content, page.framed = "", None  # the host keeps every page to its end
        return output

    def furnished(self, output: str, page: Page) -> str:
        """A page as the theme leaves it, with what every page has from us."""
        others = [tag for tag in self.config.languages if tag != self.language]
        return self._furnished(output, self._link(page), self.pages.language_link(others, self._there(page)))

    def _there(self, page: Page) -> Callable[[str], str]:
        """Where the same page lies in another language."""
        top = self.config.languages[0]
        here = f"{self.below}/{page.url}" if self.below else page.url
        return lambda tag: get_relative_url(page.url if tag == top else f"{tag}/{page.url}", here)

    def _link(self, page: Page) -> Link:
        return lambda key: get_relative_url(self.urls[key], page.url)

    def _furnished(self, output: str, link: Link, others: str = "") -> str:
        with _faults_stop_the_build():
            return with_policy(with_search(output, self.pages.search_link(link) + others), self.policy)

    @event_priority(-100)
    def on_post_template(self, output_content: str, *, template_name: str, config: MkDocsConfig) -> str:
        """The same for 404.html and other pages of the theme's own, which may be seen from anywhere."""
        if not template_name.endswith(".html"):
            return output_content
        base = urlsplit(config.site_url or "").path.rstrip("/")
        return self._furnished(output_content, lambda key: f"{base}/{self.urls[key]}")

    @event_priority(-100)
    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """A hand-written page that nobody has translated says so."""
        own = self.pages.book.club.language
        if isinstance(page, BookPage) or self.language == own or hasattr(page.file, "translated"):
            return html
        notice = gettext("This page has not been translated.")
        return f'<p class="asf-soft">{notice}</p>\n<div lang="{own}">\n{html}\n</div>'

    @event_priority(-100)  # on what every other plugin has left
    def on_page_context(
        self, context: TemplateContext, *, page: Page, config: MkDocsConfig, nav: Any
    ) -> None:
        """Puts the real HTML in place of the search text."""
        if page.parent is None and "navigation.tabs" in config.theme.get("features", ()):
            # Beside a page that has a tab, the theme's list of pages would name that page alone.
            page.meta.setdefault("hide", ["navigation"])
        if isinstance(page, BookPage) and not self.asked:
            page.framed = ""  # for which the host writes no file
        elif isinstance(page, BookPage):
            page.framed = None
            link = self._link(page)
            with _faults_stop_the_build():
                rendered = self.rendered.take(page.out.key, lambda: self.pages.html(page.out.key, link))
            page.content = rendered.html
            if self.framing:
                page.framed = self.framing.framed(page, rendered, nav, config)
            if page.framed is None:
                page.toc = get_toc(_toc_tokens(rendered.toc))

    def renew(self, book: Book, changed: Set[str] | None) -> bool:
        """Shows a changed book from now on; False when that takes a new build, since other files come of it.

        ``changed`` are the recipes of which anything may come out otherwise; None: any.
        """
        pages = Pages(book, self.config.templates, self.pages.hand_written, self.language, self.below)
        if book.club != self.pages.book.club or pages.fixed != self.pages.fixed:
            return False
        outs = {out.key: out for out in pages.outlines()}
        urls = self.urls
        documents = {d.key: d for d in (*pages.pictures(), *pages.documents(lambda key: urls[key]))}
        if outs.keys() != self.own.keys() or documents.keys() != self.documents.keys():
            return False
        if any(out.source != self.own[key].out.source for key, out in outs.items()):
            return False
        if changed is not None:
            pages.take_over(self.pages, changed)
        for key, out in outs.items():
            self.own[key].out = out
            self.own[key].title = escape(out.title)
        self.pages, self.documents = pages, documents
        return True

    def on_build_error(self, *, error: Exception) -> None:
        """Ends what works for the build."""
        self._close()

    @event_priority(-100)
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Ends what works for the build; then the site's other languages are built below this one."""
        self._close()
        if not self.asked:
            return
        speak(None)
        for tag in self.config.languages[1:] if not self.below else ():
            other = load_config(
                config.config_file_path, strict=config.strict,
                site_dir=str(Path(config.site_dir, tag)), use_directory_urls=config.use_directory_urls,
            )  # fmt: skip
            for plugin in other.plugins.values():
                if isinstance(plugin, AsfoundPlugin):
                    plugin.language = tag
            if config.site_url:
                other.site_url = f"{config.site_url.rstrip('/')}/{tag}/"
            build(other)

    def _close(self) -> None:
        if self.studio:
            self.studio.close()


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
