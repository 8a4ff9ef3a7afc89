"""The feed of what is new: an Atom document (RFC 4287) of recipes offered, changed and withdrawn.

One entry for each day of a recipe's history, and one for its withdrawal, so that a feed reader that shows
nothing twice still shows that something must be put back. An entry's title says how far the club stands
behind the recipe today, whatever it said that day.

Ids are tag URIs (RFC 4151) of the club's own site, ``tag:HOST,DAY:CLUB/RECIPE``: the same as long as neither
the recipe's folder nor the day in its history changes, whatever its title and wherever its page. They take
for granted that the club held its site's name on that day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit
from xml.etree import ElementTree as xml

from ..speech import N_, gettext, spoken
from ..work.recipes import Recipe
from . import links, prose
from .links import Link
from .views.desk import Desk
from .views.status import IF_DONE, label, status
from .words import join_text, sentence

ATOM = "http://www.w3.org/2005/Atom"
MOST = 60  # entries, besides withdrawals, which are never left out
_SHORT = {"keep": N_("you may keep it"), "put-back": N_("put it back"), "do-not-drive": N_("do not drive")}


@dataclass(frozen=True, slots=True)
class _Entry:
    """Something that happened to a recipe on one day; ``part`` tells a withdrawal's id from a change's."""

    recipe: Recipe
    day: str
    part: str
    says: str


def feed(desk: Desk, address: Link) -> bytes | None:
    """The feed as UTF-8; None when the club names no site, or nothing has happened.

    ``address`` gives the absolute address of a page or file by its key. The same book gives the same bytes.
    """
    club = desk.book.club
    if not has_feed(desk):
        return None
    entries = _entries(desk)
    host, own, home = urlsplit(club.site or "").hostname or "", address(links.FEED), address(links.HOME)
    root = xml.Element("feed", {"xmlns": ATOM, "xml:lang": spoken()})
    _text(root, "id", own)
    _text(root, "title", club.name)
    _text(root, "subtitle", gettext("Recipes offered, changed and withdrawn"))
    _text(root, "updated", _moment(max(entry.day for entry in entries)))
    _person(root, club.name)
    xml.SubElement(root, "link", {"rel": "self", "type": "application/atom+xml", "href": own})
    xml.SubElement(root, "link", {"rel": "alternate", "type": "text/html", "href": home})
    _text(root, "generator", "asfound")
    for entry in entries:
        recipe = entry.recipe
        item = xml.SubElement(root, "entry")
        _text(item, "id", f"tag:{host},{entry.day}:{club.id}/{recipe.id}{entry.part}")
        _text(item, "title", title(desk, recipe))
        _text(item, "updated", _moment(entry.day))
        _text(item, "published", _moment(entry.day))
        _person(item, recipe.by)
        href = address(links.recipe(recipe.id))
        xml.SubElement(item, "link", {"rel": "alternate", "type": "text/html", "href": href})
        kind = desk.kind(recipe)
        xml.SubElement(item, "category", {"term": kind, "label": label(kind)})
        _text(item, "summary", entry.says)
    # The reader lets no sign through that XML 1.0 forbids (source/guards.py).
    xml.indent(root)
    content: bytes = xml.tostring(root, encoding="utf-8", xml_declaration=True)
    return content + b"\n"


def has_feed(desk: Desk) -> bool:
    """Whether the book has a feed: its club names a site, and something has happened."""
    return desk.book.club.site is not None and any(r.status != "draft" for r in desk.book.recipes.values())


def title(desk: Desk, recipe: Recipe) -> str:
    """``NOT VETTED: Awning lamp follows the door``; without a label only where it is vetted throughout."""
    kind = desk.kind(recipe)
    if kind == "vetted":
        return recipe.title
    if recipe.withdrawn:
        return f"{label(kind)}, {gettext(_SHORT[recipe.withdrawn.if_done])}: {recipe.title}"
    return f"{label(kind)}: {recipe.title}"


def _entries(desk: Desk) -> list[_Entry]:
    """What is told, the latest first."""
    recipes = [recipe for recipe in desk.book.recipes.values() if recipe.status != "draft"]
    every = [entry for recipe in recipes for entry in _of_recipe(desk, recipe)]
    every.sort(key=lambda entry: (entry.recipe.id, entry.part))
    every.sort(key=lambda entry: entry.day, reverse=True)
    changes = [entry for entry in every if not entry.part][:MOST]
    return [entry for entry in every if entry.part or entry in changes]


def _of_recipe(desk: Desk, recipe: Recipe) -> Iterator[_Entry]:
    stands = status(desk, recipe)
    for day in dict.fromkeys(entry.on for entry in recipe.history):
        what = [sentence(entry.what) for entry in recipe.history if entry.on == day]
        yield _Entry(recipe, day, "", join_text((*what, f"{stands.label}.", stands.says)))
    if gone := recipe.withdrawn:
        instead = desk.book.recipes.get(gone.instead or "")
        says = (
            gettext("Do not do this any more."),
            sentence(prose.plain(gone.because)),
            gettext("If you have done it: {if_done}", if_done=gettext(IF_DONE[gone.if_done])),
            gettext("Instead: {instead}", instead=sentence(instead.title)) if instead else "",
        )
        yield _Entry(recipe, gone.on, "/withdrawn", join_text(says))


def _moment(day: str) -> str:
    """A day as RFC 3339 has it: its first moment, in Coordinated Universal Time."""
    return f"{day}T00:00:00Z"


def _text(parent: xml.Element, tag: str, words: str) -> None:
    xml.SubElement(parent, tag).text = words


def _person(parent: xml.Element, name: str) -> None:
    _text(xml.SubElement(parent, "author"), "name", name)
