"""Writing what commands write: signatures, and past codes into a file that people edit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import yaml

from ..car.origin import Origin
from ..trust.reports import PastCode, Signature
from .build_trust import codes as build_codes
from .findings import quoted
from .names import modeline
from .reader import read
from .scalars import resolve
from .schemas import validate

# Plain in every place a scalar can stand in block style; all else is written in quotes.
_PLAIN = re.compile(r"[A-Za-z](?:[A-Za-z0-9 ,.;'()/%+-]*[A-Za-z0-9.)'%])?\Z")


class CannotAppend(Exception):
    """The file is written in a way that this program cannot add to; ``entry`` is what to add by hand."""

    def __init__(self, file: str, entry: str) -> None:
        super().__init__(
            f"{file} is written in a way that no entry can be added to; add it by hand:\n{entry}"
        )
        self.file = file
        self.entry = entry


def scalar(text: str) -> str:
    """Text as YAML that every version reads as this text: without quotes where none are needed."""
    return text if _PLAIN.match(text) and resolve(text) == text else quoted(text)


def signature_file(signature: Signature) -> str:
    """A signature's file."""
    path = f"changes/{signature.recipe}/vetted/{signature.by}.yml"
    lines = [
        modeline("signature", path),
        f"recipe: {scalar(signature.recipe)}",
        f"by: {scalar(signature.by)}",
        f'sheet_code: "{signature.sheet_code}"',
        f"date: {signature.on}",
    ]
    if signature.note:
        lines.append(f"note: {scalar(signature.note)}")
    return "\n".join(lines) + "\n"


def with_code(raw: bytes | None, recipe: str, code: PastCode) -> bytes:
    """The file of a recipe's past codes with one more; ``raw``: as it is, None when there is none.

    All that is there stays as it is, comments included. ``raw`` must have passed the checks. CannotAppend
    when the text cannot be added to so that reading it yields just the old codes and the new one.
    """
    path = f"changes/{recipe}/codes.yml"
    if raw is None:
        head = f"{modeline('codes', path)}\nrecipe: {scalar(recipe)}\ncodes:\n"
        return (head + _block(code, 2)).encode()
    text = raw.decode()
    end = "\r\n" if "\r\n" in text else "\n"
    at, entry = _place(text, code)
    out = (text[:at] + entry.replace("\n", end) + text[at:]).encode()
    if _codes(out, path) != (*_codes(raw, path), code):
        raise CannotAppend(path, _block(code, 2))
    return out


def _codes(raw: bytes, path: str) -> tuple[PastCode, ...]:
    """The codes of a file; none where it cannot be read."""
    found = read(raw, path)
    if found.findings or validate("codes", found.data, found.positions, path):
        return ()
    return build_codes(found.data, Origin(path))


def _place(text: str, code: PastCode) -> tuple[int, str]:
    """Where the new entry goes, as an index into the text, and the entry as it is written there."""
    root: Any = yaml.compose(text, Loader=yaml.SafeLoader)
    listed = next(value for key, value in root.value if key.value == "codes")
    last = listed.value[-1]
    if listed.flow_style:
        return last.end_mark.index, f", {_flow(code)}"
    column = listed.start_mark.column
    at = _line_after(text, _end(last))
    # Comments that are indented like the last entry belong to it.
    while (line := text[at:].partition("\n")[0]).lstrip().startswith("#"):
        if len(line) - len(line.lstrip()) <= column:
            break
        at = _line_after(text, at + 1)
    return at, ("" if text[:at].endswith("\n") else "\n") + _block(code, column)


def _end(node: Any) -> int:
    """Where a node's own text ends; a block's mark lies behind the comments that follow it."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    return int(node.end_mark.index)


def _line_after(text: str, at: int) -> int:
    """The start of the next line, or ``at`` itself when it is the start of one."""
    if text[at - 1 : at] == "\n":
        return at
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def _block(code: PastCode, column: int) -> str:
    """An entry whose dash stands in that column."""
    lines = [f'sheet_code: "{code.sheet_code}"', f"date: {code.on}", *_map("work", code.work)]
    if code.fits:
        lines += _map("fits", code.fits)
    if code.what:
        lines.append(f"what: {scalar(code.what)}")
    first, *rest = lines
    blank = " " * column
    return "".join([f"{blank}- {first}\n", *(f"{blank}  {line}\n" for line in rest)])


def _map(key: str, codes: Mapping[str, str]) -> list[str]:
    return [f"{key}:", *(f'  {scalar(name)}: "{code}"' for name, code in sorted(codes.items()))]


def _flow(code: PastCode) -> str:
    """An entry inside brackets, on one line."""

    def pairs(codes: Mapping[str, str]) -> str:
        return "{" + ", ".join(f'{quoted(name)}: "{value}"' for name, value in sorted(codes.items())) + "}"

    parts = [f'sheet_code: "{code.sheet_code}"', f"date: {code.on}", f"work: {pairs(code.work)}"]
    if code.fits:
        parts.append(f"fits: {pairs(code.fits)}")
    if code.what:
        parts.append(f"what: {quoted(code.what)}")
    return "{" + ", ".join(parts) + "}"
