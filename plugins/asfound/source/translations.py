"""Translations of a book's texts: one file for each original, in the same places below languages/<tag>/.

A translation is found by the text that it translates, as the original has it. So a text that is changed there
has none until somebody has looked at it again, and nothing but texts can come from a translation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any as Data

from ..car.origin import NOWHERE, Origin


@dataclass(frozen=True, slots=True)
class Said:
    """One text, as the original has it, and in the other language."""

    text: str
    says: str
    origin: Origin = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Translation:
    """What a file says in another language (a tag, BCP 47)."""

    language: str
    entries: tuple[Said, ...]
    origin: Origin = field(default=NOWHERE, compare=False)

    @property
    def memory(self) -> Mapping[str, str]:
        """What is said, by the text with its white space as one blank each."""
        return {folded(one.text): one.says for one in self.entries}


def folded(text: str) -> str:
    """A text without the line breaks of its file, by which it is known again."""
    return " ".join(text.split())


def translation(data: Data, origin: Origin) -> Translation:
    """A translation's file."""
    return Translation(
        data["language"],
        tuple(Said(one["text"], one["says"], origin.at("texts", i)) for i, one in enumerate(data["texts"])),
        origin,
    )
