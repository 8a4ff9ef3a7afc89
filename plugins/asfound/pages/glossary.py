"""The words of the pages, from ``glossary.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Term:
    """A word: the id it can be linked by, the word, what it means, and the standard or trade it is from."""

    id: str
    word: str
    means: str
    source: str = "ours"


@cache
def terms() -> tuple[Term, ...]:
    """All words, in the order of the alphabet."""
    text = Path(__file__).with_name("glossary.toml").read_text("utf-8")
    found = (Term(id, **said) for id, said in tomllib.loads(text).items())
    return tuple(sorted(found, key=lambda term: term.word))
