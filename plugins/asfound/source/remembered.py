"""Files read and pictures encoded once, whichever program asked for them first: through the user's cache.

Only what is sound is kept, as data: a file's JSON under the digest of its path, kind and bytes, from which
its object is built anew; a picture as the site shows it under the digest of its bytes. What has findings is
read again each time, so that they say where.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from ..car.origin import Origin
from .build import BUILD
from .cache import CACHE, digest
from .crew import Crew, cores
from .guards import Unreadable
from .loader import Kept, Parsed, parse
from .names import Named, modeline, sort_out
from .reader import positions
from .schemas import KINDS
from .tree import Entry, Tree

_PAYS = 150  # files that have not been read before; fewer are read sooner than a crew is ready


class Remembered(Kept):
    """What was read, from the cache or anew; nothing is held here for longer than one loading."""

    def __init__(self, crew: bool = False) -> None:
        super().__init__()
        self._crew = crew
        self._ahead: dict[bytes, str | None] = {}

    def prepare(self, tree: Tree, files: Sequence[Named]) -> None:
        """Reads on every core what is not in the cache yet."""
        if not self._crew:
            return
        unread: dict[bytes, Named] = {}
        for file in files:
            if file.kind in BUILD:
                try:
                    key = _key(file, tree.read(file.path))
                except Unreadable:
                    continue
                if CACHE.get("file", key) is None:
                    unread[key] = file
        if len(unread) < _PAYS:
            return
        crew = Crew(tree, cores())
        self._ahead = dict(zip(unread, crew.each(_text, list(unread.values())), strict=True))
        crew.close()

    def parsed(self, file: Named, raw: bytes) -> Parsed:
        """The file's data, positions and findings."""
        key = _key(file, raw)
        kept = CACHE.get("file", key)
        text = kept.decode() if kept is not None else self._ahead.pop(key, None)
        if text is not None:
            if kept is None:
                CACHE.put("file", key, text.encode())
            try:
                data = json.loads(text, parse_float=Decimal)
                built = BUILD[file.kind](data, Origin(file.path))
            except Exception:  # damaged, however that came about
                pass
            else:
                return Parsed(data, positions(raw, file.path), (), built)
        found = parse(file, raw)
        if (anew := _as_text(found)) is not None:
            CACHE.put("file", key, anew.encode())
        return found

    def finished(self) -> None:
        """Writes down what was read for the first time."""
        self._ahead = {}
        CACHE.flush()

    def knows_picture(self, raw: bytes, name: str) -> bool:
        """Whether the picture was found to be one before."""
        return CACHE.get("picture", _picture_key(raw, name)) is not None


def cleaned(raw: bytes, name: str) -> bytes:
    """As ``pictures.clean``, once for each picture."""
    key = _picture_key(raw, name)
    kept = CACHE.get("picture", key)
    if kept is None:
        from .pictures import clean

        kept = clean(raw, name)
        CACHE.put("picture", key, kept)
        CACHE.flush()
    return kept


def key_of(path: str, raw: bytes) -> bytes:
    """The key under which a file's data are kept; its path says of which kind it is."""
    return digest(path.encode("utf-8", "surrogateescape"), raw)


def data_of(path: str, key: bytes) -> bytes | None:
    """Bytes that say what the file said that had this key, if that is known."""
    kept = CACHE.get("file", key)
    kind = next((file.kind for file in sort_out([Entry(path, "file")])[0]), "")
    if kept is None or kind not in KINDS:
        return None
    return f"{modeline(kind, path)}\n".encode() + kept


def _key(file: Named, raw: bytes) -> bytes:
    return key_of(file.path, raw)


def _picture_key(raw: bytes, name: str) -> bytes:
    return digest(name.rpartition(".")[2].encode(), raw)


def _text(tree: Tree, file: Named) -> str | None:
    try:
        return _as_text(parse(file, tree.read(file.path)))
    except Unreadable:
        return None


def _as_text(found: Parsed) -> str | None:
    """The data of a file without findings; None of any other, and of what JSON cannot tell."""
    if found.findings or found.built is None:
        return None
    try:
        text = json.dumps(found.data, ensure_ascii=True, separators=(",", ":"), allow_nan=False, default=_no)
    except (TypeError, ValueError):
        return None
    return text


def _no(value: object) -> Any:
    raise TypeError(f"{type(value)} is no JSON")
