"""The languages the interface speaks: the catalogues in ``asfound/languages``, each read once."""

from __future__ import annotations

import gettext
import json
from functools import cache
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from babel.numbers import get_decimal_symbol

from ..speech import Language, spoken

FOLDER = Path(__file__).parents[1] / "languages"
SOURCE = "en"  # the language of the code
SCRIPT = "assets/asfound/language.js"


@cache
def catalogue(tag: str) -> Catalog:
    """The catalogue of a language. KeyError where there is none."""
    path = FOLDER / f"{tag}.po"
    if tag not in languages() or tag == SOURCE:
        raise KeyError(tag)
    with path.open("rb") as file:
        return read_po(file, locale=tag)


def languages() -> tuple[str, ...]:
    """The tags (BCP 47) of all languages, English first."""
    return SOURCE, *sorted(path.stem for path in FOLDER.glob("*.po"))


@cache
def language(tag: str) -> Language | None:
    """What a language says; None for English. KeyError for one without a catalogue."""
    if tag == SOURCE:
        return None
    messages = catalogue(tag)
    said: dict[str, str] = {}
    counted: dict[str, tuple[str, ...]] = {}
    for message in messages:
        if not message.id or not message.string:
            continue
        if isinstance(message.id, (list, tuple)):
            counted[message.id[0]] = tuple(message.string)
            said.setdefault(message.id[0], message.string[0])  # said alone it means one, as gettext has it
        else:
            said[message.id] = str(message.string)
    plural = gettext.c2py(messages.plural_expr)
    return Language(tag, said, counted, plural, get_decimal_symbol(tag))


def script(tag: str) -> bytes:
    """What the tools in the page say, as a script that assigns: the messages their files use, and no others.

    ASCII throughout, as ``data.script``.
    """
    spoken = language(tag)
    if spoken is None:
        raise KeyError(tag)
    said, counted = {}, {}
    for message in catalogue(tag):
        if any(str(where).endswith(".js") for where, _ in message.locations):
            if isinstance(message.id, (list, tuple)):
                counted[message.id[0]] = spoken.counted[message.id[0]]
            else:
                said[message.id] = spoken.said[message.id]
    # A catalogue's forms for 0 to 199 tell its whole rule for all languages of CLDR with whole numbers below.
    forms = [spoken.plural(n) for n in range(200)]
    document = {"tag": tag, "said": said, "counted": counted, "forms": forms, "point": spoken.point}
    text = json.dumps(document, separators=(",", ":"))
    return f"window.asfound=window.asfound||{{}};asfound.language={text};\n".encode("ascii")


def said_name(tag: str) -> str:
    """What a language is called in the one spoken: ``Engels``; the tag where CLDR does not know it."""
    try:
        return Locale.parse(tag, sep="-").get_language_name(spoken()) or tag
    except (UnknownLocaleError, ValueError):
        return tag


def own_name(tag: str) -> str:
    """What a language calls itself: ``Nederlands``; the tag where CLDR does not know it."""
    try:
        name = Locale.parse(tag, sep="-").get_language_name()
    except (UnknownLocaleError, ValueError):
        name = None
    return name[:1].upper() + name[1:] if name else tag
