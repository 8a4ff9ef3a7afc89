"""Keys of pages and files inside the site; the host turns a key into an address relative to a page.

A key is the page's path without an ending: ``index``, ``recipes/some-recipe``. The key of any other file is
its path, and has a dot in its last part, which no id has.
"""

from __future__ import annotations

from collections.abc import Callable

HOME = "index"
FIND = "find"
MODULES = "modules/index"
VEHICLES = "vehicles/index"
BOARD = "board"
PLANNER = "planner"
GLOSSARY = "glossary"
FINDINGS = "findings"
FIELDS = "fields/index"
FEED = "feed.xml"
BOOK = "book.json"
CODE = "code.html"
PLAN_SHEET = "sheet.html"
DATA = "assets/asfound/data/world.js"  # the other data for the tools lie beside it

Link = Callable[[str], str]


def recipe(recipe_id: str) -> str:
    """Key of a recipe's page."""
    return f"recipes/{recipe_id}"


def find_part(part: int, function: str = "") -> str:
    """Key of a part of the list of recipes, or of those that act on one function; parts count from 1."""
    if not function:
        return FIND if part == 1 else f"{FIND}/{part}"
    return f"{FIND}/{function}" if part == 1 else f"{FIND}/{function}-{part}"


def code(letters: str = "") -> str:
    """Key of the page of all sheet codes, or of those that begin with some letters."""
    return f"code/{letters}.html" if letters else CODE


def sheet(recipe_id: str) -> str:
    """Key of a recipe's printable sheet."""
    return f"sheets/{recipe_id}.html"


def module(module_id: str) -> str:
    """Key of a module's page."""
    return f"modules/{module_id}"


def vehicle(line_id: str, part: int = 1) -> str:
    """Key of a vehicle line's page, or of a further part of its matrix."""
    return f"vehicles/{line_id}" if part == 1 else f"vehicles/{line_id}/{part}"


def fields_of(kind: str) -> str:
    """Key of the page that describes the fields of a kind of file."""
    return f"fields/{kind}"


def is_reference(key: str) -> bool:
    """Whether a page says the same on every site, whatever the book holds."""
    return key == GLOSSARY or is_for_writers(key)


def is_for_writers(key: str) -> bool:
    """Whether a page is for those who write files, and in English wherever it stands."""
    return key == FINDINGS or key.startswith("fields/")


def picture(recipe_id: str, file: str) -> str:
    """Key of a recipe's picture."""
    return f"recipes/{recipe_id}/{file}"


def file_of(key: str) -> str:
    """The file a key stands for, below the site's folder, where pages end in ``.html``."""
    return key if "." in key.rpartition("/")[2] else f"{key}.html"


def linker(source: str) -> Link:
    """The function that gives the address of any page or file as seen from the page ``source``."""
    up = "../" * source.count("/")
    return lambda key: up + file_of(key)
