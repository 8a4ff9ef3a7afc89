"""Documents for paper: a sheet for each recipe, the page that makes one of a plan, what a code stands for.

They need no theme and no host: each brings its policy, its style and, where it does more than stand there,
its scripts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment
from markupsafe import Markup

from ..speech import Original, gettext, spoken
from ..work.refusals import LOADING_SILENT, MISHAPS, PANEL, Brief
from . import data, languages, links
from .document import Document
from .environment import ASSETS, own_faults_named
from .links import Link
from .policy import policy
from .qr import drawing
from .views.booklet import Booklet
from .views.code import WHOLE, Codes
from .views.desk import Desk
from .views.recipe import SIGNALS
from .views.sheet import Maker, Sheet
from .views.status import LABELS
from .words import unbroken

PAPER = Path(__file__).parent / "paper"
_PLACE = "assets/asfound/paper"
_TOOLS = "assets/asfound"
_ICON = f"{_TOOLS}/mark.svg"
STEPPING = (
    *(f"{_TOOLS}/{name}.js" for name in ("tools-01-speech", "tools-50-dom")),
    *(f"{_PLACE}/{name}.js" for name in ("sheet-35-steps", "sheet-40-start")),
)
DRAWING = (
    *(f"{_TOOLS}/{path.name}" for path in sorted(ASSETS.glob("tools-[0-3]*.js"))),
    *(f"{_TOOLS}/{name}.js" for name in ("tools-50-dom", "tools-51-catalogue", "tools-51-store")),
    f"{_TOOLS}/tools-54-worksheet.js",
    *(f"{_PLACE}/{path.name}" for path in sorted(PAPER.glob("sheet-*.js"))),
)
DENSE_MARGINS = "10mm 8mm 9.5mm"  # as in sheet.css
_MARKED = re.compile(r'<span lang="[^"]+">(.*?)</span>', re.DOTALL)
_LONGEST = 76  # letters of a title at the head of a page


@dataclass(frozen=True, slots=True)
class Version:
    """A document in one language of the site: tag (BCP 47), the language's own name, address."""

    tag: str
    name: str
    href: str


@dataclass(frozen=True, slots=True)
class SheetPage:
    """What a sheet's document needs besides its content; addresses as seen from it. ``lang``: BCP 47.

    ``versions``: itself among the same document in other languages, the site's first language first.
    """

    policy: str
    styles: tuple[str, ...]
    scripts: tuple[str, ...]
    page: str
    code: str
    marks: tuple[tuple[str, str], ...] = ()
    planner: str = ""
    icon: str = ""
    lang: str = field(default_factory=spoken)
    versions: tuple[Version, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanPage:
    """What the page that draws plans has before it draws.

    ``rows`` are title, address and label of sheets; a large book has none here, but a page to ``find`` them.
    ``several``, ``kinds``, ``panel``: what to do if a module refuses, in every job.
    """

    club: str
    contact: str
    rows: tuple[tuple[str, str, str], ...]
    find: str
    several: bool = True
    kinds: tuple[str, ...] = ("write", "load-file")
    panel: tuple[Brief, ...] = PANEL


class Sheets:
    """The documents for paper of one book."""

    def __init__(
        self, desk: Desk, templates: Environment, site: Sequence[str] = (), overrides: Path | None = None
    ) -> None:
        """``site``: tags of the site's languages, the first of which lies at its top; ``overrides``: the
        folder of its own templates, whose faults are named."""
        self.desk, self.templates, self._site = desk, templates, tuple(site)
        self._overrides = overrides
        self._codes = Codes(desk)
        signal = templates.get_template("signal.html")
        self._shared = {
            "mishaps": MISHAPS,
            "loading_silent": LOADING_SILENT,
            "translated": desk.book.original is not None,
            "signals": {word: Markup(signal.render(signal=one).strip()) for word, one in SIGNALS.items()},
        }

    def _versions(self, key: str) -> tuple[Version, ...]:
        if len(self._site) < 2:
            return ()
        up = "../" * (key.count("/") + (spoken() != self._site[0]))
        return tuple(
            Version(tag, languages.own_name(tag), f"{up}{f'{tag}/' if tag != self._site[0] else ''}{key}")
            for tag in self._site
        )

    def keys(self) -> tuple[str, ...]:
        """Keys of all documents that pages may link to."""
        codes = map(links.code, ("", *self._codes.beginnings))
        return (*codes, links.PLAN_SHEET, *map(links.sheet, self.desk.book.recipes))

    def documents(self, url: Link) -> Iterator[Document]:
        """Each of them; ``url``: where a page lies in the site."""
        for path in sorted(PAPER.iterdir()):
            yield Document.of(f"{_PLACE}/{path.name}", path.read_bytes)
        maker = Maker(self.desk, lambda key: f"../{url(key)}", url)

        @lru_cache(1)  # asked for twice in a row
        def sheet(recipe: str) -> Sheet:
            return maker.recipe(self.desk.book.recipes[recipe])

        def boxes(id: str) -> bytes:
            return margin_boxes(sheet(id)).encode()

        def html(id: str) -> bytes:
            here = SheetPage(
                policy=policy(),
                styles=(f"../{_PLACE}/sheet.css", f"{id}.css"),
                scripts=tuple(f"../{script}" for script in (*_speech(), *STEPPING)),
                page=f"../{url(links.recipe(id))}",
                code=f"../{links.CODE}",
                icon=f"../{_ICON}",
                versions=self._versions(links.sheet(id)),
            )
            return self.html(sheet(id), here).encode()

        def told(id: str) -> bytes:
            return for_drawing(self.desk, maker, sheet(id))

        for id in self.desk.book.recipes:
            key = links.sheet(id)
            yield Document.of(key.removesuffix("html") + "css", partial(boxes, id), id)
            yield Document.of(key, partial(html, id), id)
            yield Document.of(data.key(f"sheets/{id}"), partial(told, id), id)
        for letters in ("", *self._codes.beginnings):
            yield Document.of(links.code(letters), partial(self._code, letters, url))
        yield Document.of(links.PLAN_SHEET, lambda: self._plan(url).encode())

    def _plan(self, url: Link) -> str:
        """The page that draws plans."""
        book = self.desk.book
        here = SheetPage(
            policy=policy(),
            styles=(f"{_PLACE}/sheet.css",),
            scripts=(*_speech(), links.DATA, data.key("index"), *DRAWING),
            page="",
            code=links.CODE,
            marks=(("data-asf-data", f"{data.FOLDER}/"), ("data-asf-club", book.club.name)),
            planner=url(links.PLANNER),
            icon=_ICON,
            versions=self._versions(links.PLAN_SHEET),
        )
        recipes = sorted(book.recipes.values(), key=lambda recipe: (recipe.title, recipe.id))
        few = recipes if len(recipes) <= WHOLE else ()
        rows = tuple((r.title, links.sheet(r.id), LABELS[self.desk.kind(r)]) for r in few)
        page = PlanPage(book.club.name, book.club.contact, rows, url(links.FIND))
        return self._rendered("plan-sheet.html", page=page, here=here, **self._shared)

    def _code(self, letters: str, url: Link) -> bytes:
        """The page of the codes that begin with those letters; without, of all or of all beginnings."""
        up = "../" if letters else ""
        here = SheetPage(
            policy=policy(),
            styles=(f"{up}{_PLACE}/sheet.css",),
            scripts=(f"{up}assets/asfound/tools-30-codes.js", f"{up}{_PLACE}/code.js"),
            page=f"{up}{url(links.HOME)}" or "./",
            code=f"{up}{links.CODE}",
            icon=f"{up}{_ICON}",
            versions=self._versions(links.code(letters)),
        )
        page = self._codes.page(letters, lambda key: f"{up}{url(key)}")
        return self._rendered("code.html", page=page, here=here).encode()

    def html(self, sheet: Sheet, here: SheetPage) -> str:
        """One sheet as a document."""
        return self._rendered("sheet.html", sheet=sheet, here=here, **self._shared)

    def booklet(self, page: Booklet, here: SheetPage) -> str:
        """Many sheets as one document, with contents and index."""
        return self._rendered("booklet.html", page=page, here=here, **self._shared)

    def _rendered(self, template: str, **context: Any) -> str:
        with own_faults_named(self._overrides):
            return unbroken(self.templates.get_template(template).render(**context))


def _speech() -> tuple[str, ...]:
    """The script of the language spoken; before all others, since they ask it at once."""
    return () if spoken() == languages.SOURCE else (languages.SCRIPT,)


def for_drawing(desk: Desk, maker: Maker, sheet: Sheet) -> bytes:
    """What the page that draws plans is told of a recipe besides its data for the tools, as a script."""
    (part,) = sheet.parts
    book = desk.book
    size, path = drawing(maker.holds(part.title, part.code))
    clashes = (clash.recipe for clash in book.recipes[part.id].clashes)
    told: dict[str, object] = {
        "hazards": [
            {
                "word": panel.signal.word,
                "arises": arises,
                "hazard": one.hazard,
                "consequence": one.consequence,
                "avoid": one.avoid,
            }
            for arises, panels in sheet.panels.items()
            for panel in panels
            for one in panel.dangers
        ],
        "status": {"kind": part.status.kind, "label": part.status.label, "says": part.status.says},
        "annoyance": part.annoyance,
        "messages": [[one.message, one.means] for one in sheet.messages],
        "qr": {"size": size, "d": path},
        "address": part.address,
        "titles": {id: book.recipes[id].title for id in clashes if id in book.recipes},
    }
    if book.original is not None:
        texts = sorted(_originals(sheet))
        told["original"] = {"lang": book.club.language, "texts": texts, "says": part.untranslated}
    return data.script(f"sheets/{part.id}", told)[1]


def _originals(said: object) -> set[str]:
    """Texts inside a sheet that are not in its language, as they are shown."""
    match said:
        case Markup():
            return {Markup(inner).striptags() for inner in _MARKED.findall(said)}
        case Original():
            return {str(said)}
        case str():
            return set()
        case Mapping():
            return set().union(*map(_originals, said.values()))
        case tuple():
            return set().union(*map(_originals, said))
    if is_dataclass(said):
        return set().union(*(_originals(getattr(said, each.name)) for each in fields(said)))
    return set()


def margin_boxes(sheet: Sheet, name: str = "") -> str:
    """The style that puts title, code and label at the head of every side; ``name`` of a named page."""
    title = sheet.title if len(sheet.title) <= _LONGEST else f"{sheet.title[: _LONGEST - 1].rstrip()}…"
    labels = dict.fromkeys(p.status.label for p in sheet.parts if p.status.kind != "vetted")
    boxes = (
        ("top-left", title),
        ("top-right", " · ".join((*labels, gettext("sheet {codes}", codes=" ".join(sheet.codes))))),
        ("bottom-left", sheet.club),
    )
    inner = " ".join(f"@{where} {{ content: {css_text(words)}; }}" for where, words in boxes)
    if spoken() != languages.SOURCE:  # else as in sheet.css
        inner += f" @bottom-right {{ content: {page_words()}; }}"
    if name and sheet.dense:
        inner = f"margin: {DENSE_MARGINS}; {inner}"
    return f"@page {name}{' ' * bool(name)}{{ {inner} }}\n"


def page_words() -> str:
    """Which side of how many, as a style counts them."""
    before, between, after = gettext("page {n} of {m}").replace("{m}", "{n}").split("{n}")
    return f"{css_text(before)} counter(page) {css_text(between)} counter(pages) {css_text(after)}"


def css_text(text: str) -> str:
    """A string of CSS; whatever is no letter or digit of ASCII is written by its number (CSS Syntax 3)."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text) + '"'
