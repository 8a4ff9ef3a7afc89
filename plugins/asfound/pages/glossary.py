"""The words of the pages, from ``glossary.toml``, in the language of the moment."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ..speech import gettext


@dataclass(frozen=True, slots=True)
class Term:
    """A word: the id it can be linked by, what it means, the standard or trade it is from; none: ours."""

    id: str
    word: str
    means: str
    source: str = ""


@cache
def english() -> tuple[Term, ...]:
    """All words as the file has them; each of its texts is a sentence for the catalogues."""
    text = Path(__file__).with_name("glossary.toml").read_text("utf-8")
    return tuple(Term(id, **said) for id, said in tomllib.loads(text).items())


def terms() -> tuple[Term, ...]:
    """All words, in the order of the alphabet."""
    found = (
        Term(t.id, gettext(t.word), gettext(t.means), gettext(t.source) if t.source else "")
        for t in english()
    )
    return tuple(sorted(found, key=lambda term: term.word))
