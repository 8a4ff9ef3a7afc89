"""The MkDocs glue: loads the book, refuses what does not pass the checks, hands finished pages to the host.

The only room that imports mkdocs. Pages are rendered by ``pages`` without it; here each becomes a generated
file whose page skips Markdown. The real HTML is put in at the last moment before the theme's template, and is
never held for all pages at once. The pages have a search of their own, the site's hand-written ones included.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Set
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from jinja2 import ChoiceLoader, DictLoader, Environment
from markupsafe import escape
from mkdocs.commands.build import build, get_context
from mkdocs.config import config_options, load_config
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

from ..book import Book
from ..pages import ASSETS, PageOut, Pages, languages
from ..pages.build import Rendered
from ..pages.document import Document
from ..pages.environment import TOOLS, tools
from ..pages.header import with_search, with_versions
from ..pages.links import HOME, Link, is_for_writers
from ..pages.policy import policy, script_hashes, with_policy
from ..pages.search import guide
from ..pages.studio import Ahead, Studio
from ..source.findings import Finding, printable
from ..source.report import as_lines, count_text
from ..speech import gettext, speak, speaking
from .configured import speak_in, titles_in, translate
from .framing import FRAMED, FRAMED_OR_NOT, Framing
from .made import BookPage, MadeFile, faults_stop_the_build, toc_tokens

log = get_plugin_logger(__name__)

MARK = "assets/asfound/mark.svg"
# The theme's own page for addresses that lead nowhere says no more than that.
NOT_FOUND = """{% extends "main.html" %}
{% block htmltitle %}<title>{{ not_found[0] }} - {{ config.site_name }}</title>{% endblock %}
{% block content %}{{ not_found[1] }}{% endblock %}"""
IN_NAVIGATION = ("index", "find", "modules/index", "vehicles/index", "planner", "board")


class AsfoundConfig(Config):
    """Options of the plugin in mkdocs.yml."""

    recipes = config_options.Dir(exists=True, default="recipes")
    templates = config_options.Optional(config_options.Dir(exists=True))
    languages = config_options.ListOfItems(config_options.Choice(languages.languages()), default=["en"])


def _others(config: MkDocsConfig) -> bool:
    """Whether another plugin looks at pages while they are made."""
    return any(
        not isinstance(getattr(each, "__self__", None), AsfoundPlugin)
        for event in ("pre_page", "page_content", "page_context", "post_page")
        for each in config.plugins.events[event]
    )


def _own_404(config: MkDocsConfig) -> bool:
    """Whether the site has written a page of its own for that."""
    folder = config.theme.custom_dir
    return folder is not None and (Path(folder) / "404.html").is_file()


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

    @property
    def site(self) -> tuple[str, ...]:
        """The site's languages (BCP 47)."""
        return tuple(self.config.languages)

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Adds the project's style and scripts, and watches what pages are made from."""
        self.language = self.language or self.config.languages[0]
        speak(languages.language(self.language))
        if self.language != languages.SOURCE:
            speak_in(config, self.language)
        if self.below:
            config.theme.static_templates.discard("404.html")  # servers ask for that at the top alone
        config.watch.append(self.config.recipes)
        if self.config.templates:
            config.watch.append(self.config.templates)
        styles = sorted(ASSETS.glob("*.css"))
        config.extra_css[:0] = [f"assets/asfound/{style.name}" for style in styles]
        if any("search" in name.split("/") for name in config.plugins):
            raise PluginError(
                "The pages have a search of their own, and readers would see two: take `search` out of "
                f"`plugins` in {Path(config.config_file_path).name}."
            )
        own = [languages.SCRIPT] if self.language != languages.SOURCE else []
        for script in (*own, TOOLS):
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
        self.translated = translate(files, self.language)
        if findings:
            shown = folder.relative_to(here) if folder.is_relative_to(here) else folder
            for line in as_lines(findings, printable(str(shown))):
                log.error(line)
            raise PluginError(f"{count_text(findings)} The site was not built.")
        hand_written = {file.src_uri.removesuffix(".md"): file for file in files.documentation_pages()}
        with faults_stop_the_build():
            self.studio.open(
                self.config.templates, frozenset(hand_written), self.language, self.below, self.site
            )
        self.pages = self.studio.pages
        self.urls = {key: file.url for key, file in hand_written.items()}
        self.taken = {f.dest_uri.casefold(): f.src_uri for f in files if not f.inclusion.is_excluded()}
        made = 0
        self.own: dict[str, BookPage] = {}
        for out in self.pages.outlines():
            file = self.file(out, config)
            self.own[out.key] = BookPage(replace(out, body="", names=""), file, config)  # for the search
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
        self._add(File.generated(config, TOOLS, content=tools()), files, config)
        # Their addresses are known before their content: they name each other, and the feed itself.
        self.urls |= {key: key for key in self.pages.fixed}
        documents = [*self.pages.pictures(), *self.pages.documents(lambda key: self.urls[key])]
        self.documents = {document.key: document for document in documents}
        for document in documents:
            file = MadeFile(document, self._content, config)
            self._add(file, files, config)
            self.urls[document.key] = file.url
        self.studio.addresses(self.urls, get_relative_url, self.documents)
        self.contents: Ahead[Iterator[bytes | None]] = Ahead()
        self.rendered: Ahead[Rendered] = Ahead()
        if not self.shown:
            self.rendered = Ahead(self.own, self.studio.html(tuple(self.own)))
        if self.pages.book.club.site is None:
            log.info("No feed: club.yml names no site, and a feed's entries need whole addresses.")
        return files

    def _content(self, document: Document) -> Iterator[bytes | None]:
        return self.contents.take(document.key, document.pieces) if self.asked else iter((None,))

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
        """Keeps the navigation, for a preview; in it pages are called as the site's configuration says."""
        self.nav = nav
        titles = dict(titles_in(config.nav or []))
        for key, page in self.own.items():
            page.named = titles.get(page.file.src_uri) or (gettext("Home") if key == HOME else "")
            page.title = page.named or page.title

    @event_priority(-100)  # after whatever else changes the theme's templates
    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> None:
        """Makes the policy from the theme alone: its templates around a page that holds nothing."""
        if self.studio and not self.shown:  # now that other plugins have left out what they would
            made = [file for file in files if isinstance(file, MadeFile)]
            documents = [one.document for one in made]
            keys = (one.key for one in documents)
            self.contents = Ahead(keys, self.studio.contents(documents, config.site_dir, write_file))
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
        if "main.html" in known and not _own_404(config):
            env.loader = ChoiceLoader([DictLoader({"404.html": NOT_FOUND}), env.loader or DictLoader({})])
        if "main.html" in known and not _others(config):
            self.framing = Framing(env, self.file, self.furnished)
            env.loader = ChoiceLoader([DictLoader({FRAMED: FRAMED_OR_NOT}), env.loader or DictLoader({})])
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
        others = [tag for tag in self.site if tag != self.language]
        found = [(tag, self._there(page)(tag)) for tag in self._versions(page)]
        output = with_versions(output, found) if len(found) > 1 else output
        return self._furnished(output, self._link(page), self.pages.language_link(others, self._there(page)))

    def _versions(self, page: Page) -> list[str]:
        """The languages a page is in, the site's first first; none where it is the same everywhere."""
        if isinstance(page, BookPage):
            return [] if is_for_writers(page.out.key) else list(self.site)
        in_these = {self.pages.book.club.language, *self.translated.get(page.file.src_uri, ())}
        return [tag for tag in self.site if tag in in_these]

    def _there(self, page: Page) -> Callable[[str], str]:
        """Where the same page lies in another language."""
        top = self.site[0]
        here = f"{self.below}/{page.url}" if self.below else page.url
        return lambda tag: get_relative_url(page.url if tag == top else f"{tag}/{page.url}", here)

    def _link(self, page: Page) -> Link:
        return lambda key: get_relative_url(self.urls[key], page.url)

    def _furnished(self, output: str, link: Link, others: str = "") -> str:
        with faults_stop_the_build():
            return with_policy(with_search(output, self.pages.search_link(link) + others), self.policy)

    def _anywhere(self, config: MkDocsConfig) -> Link:
        """Addresses that hold from any depth: 404.html is shown at whatever was asked for."""
        base = urlsplit(config.site_url or "").path.rstrip("/")
        return lambda key: f"{base}/{self.urls[key]}"

    def on_template_context(
        self, context: TemplateContext, *, template_name: str, config: MkDocsConfig
    ) -> TemplateContext:
        """Gives 404.html what it says."""
        if template_name == "404.html":
            with faults_stop_the_build():
                said = self.pages.not_found(self._anywhere(config))
            context["not_found"] = (escape(said[0]), said[1])  # type: ignore[typeddict-unknown-key]
        return context

    @event_priority(-100)
    def on_post_template(self, output_content: str, *, template_name: str, config: MkDocsConfig) -> str:
        """The same for 404.html and other pages of the theme's own, which may be seen from anywhere."""
        if not template_name.endswith(".html"):
            return output_content
        return self._furnished(output_content, self._anywhere(config))

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
            with faults_stop_the_build():
                rendered = self.rendered.take(page.out.key, lambda: self.pages.html(page.out.key, link))
            page.content = rendered.html
            if self.framing:
                page.framed = self.framing.framed(page, rendered, nav, config)
            if page.framed is None:
                page.toc = get_toc(toc_tokens(rendered.toc))

    def renew(self, book: Book, changed: Set[str] | None) -> bool:
        """Shows a changed book from now on; False when that takes a new build, since other files come of it.

        ``changed`` are the recipes of which anything may come out otherwise; None: any.
        """
        own = self.pages.hand_written
        pages = Pages(book, self.config.templates, own, self.language, self.below, self.site)
        if book.club != self.pages.book.club or pages.fixed != self.pages.fixed:
            return False
        if changed is not None:
            pages.take_over(self.pages, changed)
        outs = {out.key: out for out in pages.outlines()}
        urls = self.urls
        documents = {d.key: d for d in (*pages.pictures(), *pages.documents(lambda key: urls[key]))}
        if outs.keys() != self.own.keys() or documents.keys() != self.documents.keys():
            return False
        if any(out.source != self.own[key].out.source for key, out in outs.items()):
            return False
        for key, out in outs.items():
            self.own[key].out = out
            self.own[key].title = self.own[key].named or escape(out.title)
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
