"""A file that its author still has to fill in: what is known written, what is not left empty and explained.

The explanations are the schema's own descriptions, so they are the same as those an editor shows. A key
without a value is a finding of the strict reader, so ``asfound check`` names exactly what is still missing.
"""

from __future__ import annotations

from textwrap import wrap

from ..source.fields import fields
from ..source.names import modeline

_HEAD = (
    "What stands empty is for you to fill in; asfound check names each until it is done. Lines that begin "
    "with # explain, or offer what you may want: take away the # and fill in."
)
_WIDTH = 100


class Draft:
    """Lines of YAML in block style.

    ``kind`` is that of the file, ``path`` where it lies below the book; an ``indent`` is the column in which
    a line begins.
    """

    def __init__(self, kind: str, path: str) -> None:
        self.kind = kind
        self.path = path
        self.lines = [modeline(kind, path)]
        self.say(0, _HEAD)

    @property
    def text(self) -> str:
        """The file."""
        return "\n".join(self.lines) + "\n"

    def say(self, indent: int, words: str) -> None:
        """A comment."""
        blank = " " * indent
        self.lines += [f"{blank}# {line}" for line in wrap(words, _WIDTH - indent)]

    def put(self, indent: int, key: str, value: str | None, field: str = "", more: str = "") -> None:
        """A key and its value as YAML; None: to be filled in; "": what follows is indented below it.

        ``field`` leads to it in the schema, as in ``checks[].expect``; ``more`` is said besides. A key that
        begins with ``- `` begins an item of a list, whose other keys stand two columns further in.
        """
        if field:
            more = f"{described(self.kind, field)} {more}".strip()
        if more:
            self.say(indent, more)
        self.lines.append(f"{' ' * indent}{key}:" + (f" {value}" if value else ""))

    def offer(self, indent: int, *lines: str) -> None:
        """Lines of YAML that are commented out."""
        self.lines += [f"{' ' * indent}# {line}" for line in lines]


def described(kind: str, field: str) -> str:
    """What the schema says of a field, written like ``checks[].expect``. KeyError for an unknown field."""
    found = next((each for each in fields(kind) if each.path == field), None)
    if found is None:
        raise KeyError(field)
    return found.description
