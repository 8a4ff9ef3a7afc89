"""Addresses of pages inside the site, always relative, with or without directory URLs.

A page's key is its path with directory URLs: ``""`` is home, ``recipes/some-recipe/`` a recipe. A key that does
not end in a slash is a file, such as a picture. ``#name`` may follow either.
"""

from __future__ import annotations

from collections.abc import Callable

HOME = ""
FIND = "find/"

Link = Callable[[str], str]


def recipe(recipe_id: str) -> str:
    """Key of a recipe's page."""
    return f"recipes/{recipe_id}/"


def module(module_id: str) -> str:
    """Key of a module's page."""
    return f"modules/{module_id}/"


def vehicle(line_id: str) -> str:
    """Key of a vehicle line's page."""
    return f"vehicles/{line_id}/"


def file_of(key: str, directory_urls: bool = True) -> str:
    """The file a page is written to, below the site's folder."""
    if key == HOME:
        return "index.html"
    return f"{key}index.html" if directory_urls else f"{key.removesuffix('/')}.html"


def linker(source: str, directory_urls: bool = True) -> Link:
    """The function that gives the href of any page or file as seen from the page ``source``."""
    depth = file_of(source, directory_urls).count("/")
    up = "../" * depth

    def link(key: str) -> str:
        path, hash_, anchor = key.partition("#")
        if path == source and anchor:
            return hash_ + anchor
        if path and not path.endswith("/"):
            where = up + path
        elif directory_urls:
            where = (up + path) or "./"
        else:
            where = up + file_of(path, False)
        return where + hash_ + anchor

    return link
