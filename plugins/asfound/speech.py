"""The language of the moment: what the interface says, in the words of a gettext catalogue.

English is the language of the code: where no other is spoken nothing is looked up. ``gettext`` and
``ngettext`` are called with the English sentence itself, so that ``make words`` finds it; what stands in
tables that are made at import is marked by ``N_`` there and said by ``gettext`` where it is used.
Placeholders are those of ``str.format``, by name. Counterpart: ``tools-01-speech.js``.

Nothing here reads a file: ``pages.languages`` does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TypeVar

Text = TypeVar("Text", bound=str)


@dataclass(frozen=True, slots=True)
class Language:
    """A language: its tag (BCP 47), its sentences by the English ones, and how it writes numbers.

    ``plural`` gives the form for a number, as the catalogue's header says; ``counted`` has the forms by the
    English singular. ``point`` parts the decimals (CLDR).
    """

    tag: str
    said: Mapping[str, str]
    counted: Mapping[str, Sequence[str]]
    plural: Callable[[int], int]
    point: str


_spoken: ContextVar[Language | None] = ContextVar("spoken", default=None)


def speak(language: Language | None) -> None:
    """From now on all is said in this language; None: in English."""
    _spoken.set(language)


@contextmanager
def speaking(language: Language | None) -> Iterator[None]:
    """Inside, all is said in this language; None: in English."""
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def spoken() -> str:
    """The tag of the language of the moment."""
    language = _spoken.get()
    return "en" if language is None else language.tag


def N_(text: Text) -> Text:
    """The text itself, marked for the catalogue: of a table made before a language is known."""
    return text


def gettext(text: str, /, **parts: object) -> str:
    """The sentence in the language of the moment, with its placeholders filled."""
    language = _spoken.get()
    if language is not None:
        text = language.said.get(text, text)
    return text.format_map(parts) if parts else text


def ngettext(one: str, many: str, n: int, /, **parts: object) -> str:
    """The sentence in the form that ``n`` of something asks for; ``{n}`` is the number."""
    language = _spoken.get()
    if language is None:
        text = one if n == 1 else many
    else:
        forms = language.counted.get(one)
        text = forms[language.plural(n)] if forms else one if n == 1 else many
    return text.format_map({"n": n, **parts})


def number_words(decimal: str) -> str:
    """A decimal number, written with a point, as people of the language write it."""
    language = _spoken.get()
    return decimal if language is None or language.point == "." else decimal.replace(".", language.point)


class Original(str):
    """A text in the language it was written in, ``tag``, where pages speak another: shown as such."""

    tag: str

    def __new__(cls, text: str, tag: str) -> Original:
        """The text, with its language."""
        made = super().__new__(cls, text)
        made.tag = tag
        return made
