"""What of a book its club publishes."""

from __future__ import annotations

from dataclasses import replace

from ..book import Book
from .views.desk import Desk


def published(book: Book) -> Book:
    """The book without the recipes that its club does not publish; the same one where it publishes all.

    A club may publish only what it vouches for, on one variant at least. Withdrawn recipes stay, for those
    who have done them; what needs a recipe that is left out is left out too.
    """
    if book.club.publish_unvetted or not book.club.reviewers:
        return book
    desk = Desk(book)
    gone = {id for id, one in book.recipes.items() if one.status == "withdrawn"}
    kept = {id for id, one in book.recipes.items() if desk.kind(one) in ("vetted", "partly")}
    while lacking := {id for id in kept if not (kept | gone).issuperset(book.recipes[id].needs)}:
        kept -= lacking
    recipes = {id: one for id, one in book.recipes.items() if id in kept | gone}
    return Book(replace(book.loaded, recipes=recipes))
