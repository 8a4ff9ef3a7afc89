"""Every page of a book, rendered; the host only wraps them and decides where they lie."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from functools import partial
from html import unescape
from pathlib import Path
from urllib.parse import urljoin

from markupsafe import Markup, escape

from ..book import Book
from ..book.translated import in_language
from ..source.pictures import PictureProblem
from ..speech import N_, gettext, speaking
from ..work.refusals import MISHAPS, ONE_OF_SEVERAL, REFUSALS
from . import bookjson, compiled, data, languages, links, prose, reference
from .document import Document
from .environment import environment, own_faults_named
from .feed import feed, has_feed
from .figures.strips import PATTERNS
from .links import Link
from .published import published
from .search import Entry, documents
from .sheets import Sheets
from .views.board import board_page
from .views.desk import Desk, Said
from .views.find import Finder
from .views.home import home_page
from .views.lists import module_list, said_and_named, vehicle_list
from .views.module import module_page
from .views.planner import planner_page
from .views.recipe import SIGNALS, recipe_page
from .views.status import stamp, untranslated
from .views.vehicle import Vehicles
from .words import unbroken

_HEADING = re.compile(r'<h([1-4]) id="([^"]+)">(.*?)</h\1>', re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_DESCRIPTION = 160
_LISTED = 2  # level of the headings in a page's list of contents
_CONTENTS = Markup("<!-- contents -->")  # where a template wants them listed; no text of a book can hold it


@dataclass(frozen=True, slots=True)
class TocEntry:
    """A heading of a page: level 1 to 4, the id it can be linked by, its words."""

    level: int
    id: str
    title: str


@dataclass(frozen=True, slots=True)
class PageOut:
    """A page before it is rendered: ``key`` as in ``links``, ``source`` the file it is made from, below
    the book's folder; ``kind``, ``body`` and ``names`` as in ``search.Entry``, no kind where nobody looks."""

    key: str
    title: str
    description: str
    source: str | None = None
    kind: str = ""
    body: str = ""
    names: str = ""


@dataclass(frozen=True, slots=True)
class Rendered:
    """A page's HTML, a balanced fragment, and its headings in order."""

    html: str
    toc: tuple[TocEntry, ...]


@dataclass(frozen=True, slots=True)
class NotFound:
    """What a reader is told where there is no page; ``withdrawn``: where those are named, if any are."""

    title: str
    find: str
    withdrawn: str
    code: str
    contact: str


class Pages:
    """The pages of what a book's club publishes; ``book`` is that part of it, as all pages see it.

    ``templates``: a site's own folder of templates. ``hand_written``: keys of pages that the host has
    besides, which ours may link to. ``language``: which the pages are in; whoever makes them speaks it.
    ``below``: where in the club's site they lie, if not at its top. ``site``: all its languages.
    """

    def __init__(
        self,
        book: Book,
        templates: str | Path | None = None,
        hand_written: frozenset[str] = frozenset(),
        language: str = languages.SOURCE,
        below: str = "",
        site: tuple[str, ...] = (),
    ) -> None:
        self.language = language
        self.book = in_language(published(book), language, below)
        self.hand_written = hand_written
        self._unpublished = frozenset(
            links.recipe(id) for id in book.recipes.keys() - self.book.recipes.keys()
        )
        self._desk = Desk(self.book)
        self._finder = Finder(self._desk)
        self._vehicles = Vehicles(self._desk)
        self._overrides = Path(templates) if templates else None
        self._environment = environment(self._overrides, self.book.original is not None)
        with own_faults_named(self._overrides):
            signal = self._environment.get_template("signal.html")
            self._environment.globals |= {
                "patterns": PATTERNS,
                "refusals": {several: self._refusals(several) for several in (True, False)},
                "signals": {word: Markup(signal.render(signal=one).strip()) for word, one in SIGNALS.items()},
            }
        self._sheets = Sheets(self._desk, self._environment, site, self._overrides)

    def outlines(self) -> Iterator[PageOut]:
        """All pages, without their HTML."""
        book, club = self.book, self.book.club
        about = prose.plain(club.about)
        yield PageOut(links.HOME, club.name, _cut(about), "club.yml", "page", about)
        for key, title, says in (
            (
                links.FIND,
                self._finder.title(links.FIND),
                gettext("Every recipe of the {club}", club=club.name),
            ),
            (links.MODULES, gettext("Modules"), gettext("Control modules the club knows")),
            (links.VEHICLES, gettext("Vehicles"), gettext("Vehicle lines the club knows")),
            (links.PLANNER, gettext("Planner"), gettext("Several recipes as one job, and the log of a car")),
            (links.BOARD, gettext("Board"), gettext("What waits for a reviewer, a report or a second look")),
        ):
            yield PageOut(key, title, says, None, N_("page"), says)
        for key in self._finder.parts:
            if key != links.FIND:
                yield PageOut(key, self._finder.title(key), self._finder.title(key))
        for key, title, says, words in reference.outlines():
            if key not in self.hand_written:
                yield PageOut(key, title, _cut(says), None, "page" if words else "", says, words)
        for recipe in book.recipes.values():
            cut, said = _cut(prose.plain(recipe.purpose)), said_and_named(self._desk, recipe)
            yield PageOut(links.recipe(recipe.id), recipe.title, cut, recipe.origin.file, "recipe", *said)
        for module in book.modules.values():
            duty = prose.plain(module.duty)
            settings = " ".join(s.name for record in module.records for s in record.settings)
            key = links.module(module.id)
            yield PageOut(key, module.name, _cut(duty), module.origin.file, N_("module"), duty, settings)
        for line in book.lines.values():
            about = prose.plain(line.about)
            equipment = " ".join(item.name for item in line.equipment)
            key = links.vehicle(line.id)
            yield PageOut(key, line.name, _cut(about), line.origin.file, N_("vehicle line"), about, equipment)
            for part in range(2, self._vehicles.parts(line) + 1):
                title = self._vehicles.title(line, part)
                yield PageOut(links.vehicle(line.id, part), title, title)

    def html(self, key: str, link: Link) -> Rendered:
        """The page of that key; ``link`` gives addresses as seen from it.

        What prose links to and the club does not publish leads to the list of recipes. KeyError for an
        unknown key, TemplateFault for a mistake in one of the site's own templates.
        """
        template, page = self._view(key, lambda to: link(links.FIND if to in self._unpublished else to))
        with own_faults_named(self._overrides):
            told = {"page": page, "glossary": link(links.GLOSSARY), "contents": _CONTENTS}
            inner = self._environment.get_template(template).render(told)
        kind = template.removesuffix(".html")
        kept = "asf-room asf-room--sheet" if getattr(page, "jobs", ()) else "asf-room"
        # The height of what scripts put at the top is kept, so that nothing moves later.
        room = "" if links.is_reference(key) else f'<div class="{kept}" data-asf-room></div>\n'
        inner = unbroken(self._translation_notice(key, inner) + inner)
        toc = headings(inner)
        if _CONTENTS in inner:
            listed = [entry for entry in toc if entry.level == _LISTED]
            contents = self._environment.get_template("contents.html").render(contents=listed)
            inner = inner.replace(_CONTENTS, contents, 1)
        marks, scripts = self._marks(kind, key, link), self._scripts(key, link)
        html = f"<div {marks}>\n{room}{inner}</div>\n{scripts}"
        return Rendered(html, toc)

    def _translation_notice(self, key: str, html: str) -> str:
        """What readers of a translation must know; nothing where the book is shown as it was written."""
        if links.is_for_writers(key) and self.language != languages.SOURCE:
            words = gettext("This page is for those who write recipes, as their files are: in English.")
            return f'<p class="asf-soft asf-translation" lang="{self.language}">{escape(words)}</p>\n'
        if self.book.original is None:
            return ""
        own = self.book.club.language
        says = []
        recipe = self.book.recipes.get(key.removeprefix(links.recipe("")))
        alone = untranslated(recipe) if recipe else ""
        if alone:
            says.append(alone)
        elif recipe:
            says.append(
                gettext("This is a translation. Reviewers sign the original, which counts where they differ.")
            )
        if f'lang="{own}"' in html and not alone:
            says.append(gettext("What has not been translated is shown in the original language."))
        return f'<p class="asf-soft asf-translation">{escape(" ".join(says))}</p>\n' if says else ""

    def _refusals(self, several: bool) -> Markup:
        mishaps = [mishap for mishap in MISHAPS if several or mishap is not ONE_OF_SEVERAL]
        template = self._environment.get_template("recipe/refusals.html")
        return Markup(template.render(refusals=REFUSALS, mishaps=mishaps))

    def _labels(self) -> Iterator[tuple[str, tuple[str, str]]]:
        for recipe in self.book.recipes.values():
            mark = stamp(self._desk, recipe)
            yield recipe.id, (mark.kind, mark.label)

    def _marks(self, kind: str, key: str, link: Link) -> str:
        """The attributes by which the tools know where they are."""
        marks = {"class": f"asf asf-{kind}", "data-asf-page": key, "data-asf-data": _beside(link(links.DATA))}
        if key != links.PLANNER:
            marks["data-asf-planner"] = link(links.PLANNER)
        if key == links.PLANNER or key.startswith("recipes/"):
            marks["data-asf-sheet"] = link(links.PLAN_SHEET)
        if recipes := self._recipes(link):
            marks["data-asf-recipes"] = recipes
        if links.is_for_writers(key) and self.language != languages.SOURCE:
            marks["lang"] = languages.SOURCE  # these pages are not translated
        return " ".join(f'{name}="{escape(value)}"' for name, value in marks.items())

    def _scripts(self, key: str, link: Link) -> str:
        beside = _beside(link(links.DATA))
        scripts = [f"{beside}{name}.js" for name in data.needed(self.book, key)]
        return self._environment.get_template("tools.html").render(scripts=scripts)

    def _view(self, key: str, link: Link) -> tuple[str, object]:
        if (found := reference.view(key, link)) is not None:
            return found
        kind, _, id = key.partition("/")
        desk, book = self._desk, self.book
        match kind:
            case "recipes":
                return "recipe.html", recipe_page(desk, book.recipes[id], link)
            case "modules" if key != links.MODULES:
                return "module.html", module_page(desk, book.modules[id], link)
            case "vehicles" if key != links.VEHICLES:
                line, _, part = id.partition("/")
                if part:
                    return "vehicle-part.html", self._vehicles.part(book.lines[line], int(part), link)
                return "vehicle.html", self._vehicles.page(book.lines[line], link)
            case links.FIND:
                return "find.html", self._finder.page(key, link)
        match key:
            case links.HOME:
                return "home.html", home_page(desk, link, "cautions" in self.hand_written)
            case links.MODULES:
                return "list.html", module_list(desk, link)
            case links.VEHICLES:
                return "list.html", vehicle_list(desk, link)
            case links.PLANNER:
                return "planner.html", planner_page(link)
            case links.BOARD:
                return "board.html", board_page(desk, link, len(self._unpublished))
            case _:
                raise KeyError(key)

    def pictures(self) -> Iterator[Document]:
        """Every picture a page shows. Its content raises PictureProblem, with the file, if it cannot."""
        for recipe in self.book.recipes.values():
            for picture in recipe.pictures:
                key = links.picture(recipe.id, picture.file)
                yield Document.of(key, partial(self._picture, recipe.id, picture.file), recipe.id)

    def _picture(self, recipe: str, file: str) -> bytes:
        try:
            return self._desk.picture(recipe, file)
        except PictureProblem as problem:
            where = f"changes/{recipe}/{file}"
            raise PictureProblem(problem.id, f"{where}: {problem.reason}", problem.repair) from None

    def search(self, url: Link, guides: Iterable[Entry] = ()) -> Iterator[tuple[str, bytes]]:
        """Key and content of what the search loads; ``guides``: hand-written pages, with their addresses."""
        outs = list(self.outlines())
        said = {out.key: (out.body, out.names) for out in outs if out.kind == "recipe"}
        recipes = [said[links.recipe(one.id)] for one in compiled.by_wish(self.book)]
        pages = [
            Entry(url(out.key), out.title, out.kind, out.body, out.names)
            for out in outs
            if out.kind not in ("", "recipe")
        ]
        for name, document in documents(recipes, [*pages, *guides]):
            yield data.script(name, document)

    def search_link(self, link: Link) -> str:
        """The way to the search, for the header of any page of the site, the host's own included."""
        with own_faults_named(self._overrides):
            template = self._environment.get_template("search-link.html")
            root = link(links.DATA).removesuffix(links.DATA)
            return template.render(find=link(links.FIND), root=root, recipes=self._recipes(link)).strip()

    def not_found(self, link: Link) -> tuple[str, str]:
        """Title and HTML for an address that leads nowhere; what ``link`` gives must hold from anywhere."""
        gone = any(recipe.status == "withdrawn" for recipe in self.book.recipes.values())
        page = NotFound(
            gettext("There is no such page"),
            link(links.FIND),
            f"{link(links.HOME)}#withdrawn" if gone else "",
            link(links.CODE),
            self.book.club.contact,
        )
        with own_faults_named(self._overrides):
            return page.title, self._environment.get_template("not-found.html").render(page=page)

    def language_link(self, tags: Iterable[str], address: Callable[[str], str]) -> str:
        """The same page in other languages, for the header; ``address`` by the tag."""
        others = [(tag, languages.own_name(tag), address(tag)) for tag in tags]
        if not others:
            return ""
        with own_faults_named(self._overrides):
            return self._environment.get_template("languages.html").render(languages=others).strip()

    def _recipes(self, link: Link) -> str:
        """The address of any recipe, its id as ``*``: they are made alike. Empty without recipes."""
        one = next(iter(self.book.recipes), None)
        return "" if one is None else "*".join(link(links.recipe(one)).rsplit(one, 1))

    @property
    def fixed(self) -> tuple[str, ...]:
        """Keys of the documents that pages link to; each lies where its key says."""
        return (links.FEED, links.BOOK, links.DATA, *self._sheets.keys())

    def documents(self, url: Link) -> Iterator[Document]:
        """What is made for paper and for other programs; ``url``: where a page lies in the site."""
        yield from self._sheets.documents(url)
        yield self._book_json(url)
        if self.language != languages.SOURCE:
            yield Document.of(languages.SCRIPT, partial(languages.script, self.language))
        yield from data.documents(self.book, lambda: dict(self._labels()))
        club = self.book.club
        if club.site is not None and has_feed(self._desk):
            site = club.site if club.site.endswith("/") else f"{club.site}/"
            yield Document.of(
                links.FEED, lambda: feed(self._desk, lambda key: urljoin(site, url(key))) or b""
            )

    def _book_json(self, url: Link) -> Document:
        """The book as it was written, whatever the language of the pages."""
        if self.book.original is None:
            return bookjson.document(self._desk, url)
        with speaking(None):
            document = bookjson.document(Desk(self.book.original), url)

        def untranslated(make: Callable[[], bytes]) -> bytes:
            with speaking(None):
                return make()

        return Document(
            document.key, tuple((about, partial(untranslated, make)) for about, make in document.parts)
        )

    def said(self, recipe: str) -> Said:
        """What many pages say of a recipe."""
        return self._desk.said(self.book.recipes[recipe])

    def take_over(self, other: Pages, changed: Set[str]) -> None:
        """Takes over what the pages of the book before a change know; see ``Book.take_over``."""
        self._desk.take_over(other._desk, changed)

    def know(self, said: Mapping[str, Said]) -> None:
        """Takes over what ``said`` said elsewhere of the same book."""
        self._desk.know(said)


def headings(html: str) -> tuple[TocEntry, ...]:
    """The headings of a page that can be linked to, in order."""
    return tuple(
        TocEntry(int(level), id, unescape(_TAG.sub("", words)).strip())
        for level, id, words in _HEADING.findall(html)
    )


def _beside(address: str) -> str:
    """The folder of a file, with the stroke after it."""
    return address[: address.rfind("/") + 1]


def _cut(text: str) -> str:
    """At most 160 characters, at a word's end."""
    if len(text) <= _DESCRIPTION:
        return text
    return text[: _DESCRIPTION - 1].rsplit(" ", 1)[0].rstrip(",;:") + "…"
