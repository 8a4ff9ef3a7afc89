"""Findings: what is wrong in a file, where, and what to write instead."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from .limits import SHOWN

_PLAIN_KEY = re.compile(r"[A-Za-z0-9_-]{1,64}\Z")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong.

    ``file`` is the path below ``recipes/``, ``line`` and ``column`` count from 1, ``path`` leads to the value
    as in ``changes[0].to`` and is empty for the whole file. ``because`` is the key of the finding that caused
    this one. ``also`` are other places (file, line, column) that could be at fault just as well.
    """

    id: str
    file: str
    line: int
    column: int
    path: str
    message: str
    repair: str
    because: str | None = None
    also: tuple[tuple[str, int, int], ...] = ()

    @property
    def key(self) -> str:
        """What other findings name as their cause."""
        return f"{self.file}#{self.path}#{self.id}"


def path_text(keys: Sequence[str | int]) -> str:
    """``("changes", 0, "to")`` as ``changes[0].to``; unusual keys in quotes: ``choose["a/b/c"]``."""
    out = ""
    for key in keys:
        if isinstance(key, int):
            out += f"[{key}]"
        elif _PLAIN_KEY.match(key):
            out += f".{key}" if out else key
        else:
            out += f"[{shown(key)}]"
    return out


def shown(value: Any) -> str:
    """A value from a file as messages repeat it: text in double quotes, cut, with unusual signs escaped.

    Foreign text never reaches a terminal or a page unescaped.
    """
    match value:
        case None | True | False:
            return {None: "null", True: "true", False: "false"}[value]
        case str():
            return quoted(value if len(value) <= SHOWN else value[: SHOWN - 1] + "…")
        case dict():
            return "a map"
        case list():
            return "a list"
        case _:
            return str(value)[:SHOWN]


def quoted(text: str) -> str:
    """Text as a double-quoted YAML scalar; what a repair tells to write is never cut."""
    return '"' + "".join(map(_escaped, text)) + '"'


def bare(text: str) -> str:
    """Text as ``shown``, without the quotes around it."""
    return shown(text)[1:-1]


def plainly(sentence: str) -> str:
    """A sentence of another room as findings are worded: it starts small and ends without a full stop."""
    if sentence[1:2].islower() or sentence[1:2] == " ":
        sentence = sentence[:1].lower() + sentence[1:]
    return sentence if ". " in sentence else sentence.rstrip(".")


def printable(text: str) -> str:
    """A file's path with unusual signs escaped, not cut."""
    return "".join(sign if sign in '\\"' else _escaped(sign) for sign in text)


_SHORT = {"\n": "\\n", "\t": "\\t", "\r": "\\r", "\\": "\\\\", '"': '\\"'}


def _escaped(sign: str) -> str:
    """One sign as a double-quoted YAML scalar has it; letters and marks of any script stay."""
    if sign in _SHORT:
        return _SHORT[sign]
    if sign.isprintable():
        return sign
    code = ord(sign)
    return f"\\x{code:02X}" if code < 0x100 else f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"


def _order(finding: Finding) -> tuple[str, int, int, str, str, str]:
    return finding.file, finding.line, finding.column, finding.path, finding.id, finding.message


def arrange(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in order of file, line and column, each followed by those it caused."""
    ordered = sorted(set(findings), key=_order)
    present = {finding.key for finding in ordered}
    caused: dict[str, list[Finding]] = {}
    causes: list[Finding] = []
    for finding in ordered:
        if finding.because in present and finding.because != finding.key:
            caused.setdefault(finding.because or "", []).append(finding)
        else:
            causes.append(finding)
    out: dict[Finding, None] = {}  # a dict keeps order and stops circles
    waiting = list(reversed(causes))
    while waiting:
        finding = waiting.pop()
        if finding not in out:
            out[finding] = None
            waiting.extend(reversed(caused.pop(finding.key, [])))
    out.update(dict.fromkeys(ordered))  # what blames only itself in a circle
    return tuple(out)
