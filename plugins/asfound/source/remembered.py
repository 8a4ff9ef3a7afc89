"""Files read and pictures encoded once, whichever program asked for them first: through the user's cache.

Only what is sound is kept, as data: a file's JSON under the digest of its path, kind and bytes, from which
its object is built anew; a picture as the site shows it under the digest of its bytes. What has findings is
read again each time, so that they say where.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from ..car.origin import Origin
from .build import BUILD
from .cache import CACHE, digest, key_of, program
from .crew import Crew, cores
from .guards import Unreadable
from .limits import PICTURE_BYTES
from .loader import Kept, Parsed, parse
from .names import Named, modeline, sort_out
from .positions import Node, Positions
from .reader import read
from .schemas import KINDS
from .tree import Entry, Tree

_PAYS = 300  # files; fewer are read sooner than a crew is ready
_SHORT = 40  # letters
_words: dict[str, str] = {}  # while a book is loaded
_AT_ONCE = 16  # files of one answer


class Remembered(Kept):
    """What was read, from the cache or anew; nothing is held here for longer than one loading."""

    def __init__(self, crew: bool = False) -> None:
        super().__init__()
        self._wanted = crew
        self._crew: Crew[Tree] | None = None
        self._coming: Iterator[list[str | None]] = iter(())
        self._here: deque[str | None] = deque()

    def prepare(self, tree: Tree, files: Sequence[Named]) -> None:
        """Begins to read on every core."""
        size = cores() if self._wanted and len(files) >= _PAYS else 1
        if size > 1:
            program()  # once for all of them
            self._crew = Crew(tree, size, busy=True)
            turns = [files[at : at + _AT_ONCE] for at in range(0, len(files), _AT_ONCE)]
            self._coming = self._crew.each(_texts, turns)

    def ahead(self, file: Named) -> Parsed | None:
        """What the crew has read."""
        if self._crew is None:
            return None
        if not self._here:
            self._here.extend(next(self._coming))
        text = self._here.popleft()
        if text is None:
            return None
        if file.kind == "picture":
            return Parsed(None, Positions(), (), True)
        tree = self._crew.state
        return _from_text(file, text, lambda: read(tree.read(file.path), file.path).positions.root)

    def parsed(self, file: Named, raw: bytes) -> Parsed:
        """The file's data, positions and findings."""
        key = key_of(file.path, raw)
        kept = CACHE.get("file", key)
        known = kept and _from_text(file, kept.decode(), lambda: read(raw, file.path).positions.root)
        if known:
            return known
        found = parse(file, raw)
        _keep(key, found)
        return found

    def finished(self) -> None:
        """Writes down what was read for the first time."""
        if self._crew is not None:
            self._crew.close()
        self._crew, self._coming = None, iter(())
        self._here.clear()
        _words.clear()
        CACHE.flush()

    def knows_picture(self, raw: bytes, name: str) -> bool:
        """Whether the picture was found to be one before."""
        return any(CACHE.get(kind, _picture_key(raw, name)) is not None for kind in ("picture", "decoded"))

    def saw_picture(self, raw: bytes, name: str) -> None:
        """Notes that."""
        CACHE.put("decoded", _picture_key(raw, name), b"")


def _texts(tree: Tree, files: Sequence[Named]) -> list[str | None]:
    """What files without findings say, as JSON; "" for a picture, None for what the loader must look at."""
    return [_picture_text(tree, file) if file.kind == "picture" else _text(tree, file) for file in files]


def _text(tree: Tree, file: Named) -> str | None:
    try:
        raw = tree.read(file.path)
    except Unreadable:
        return None
    key = key_of(file.path, raw)
    kept = CACHE.get("file", key)
    return kept.decode() if kept is not None else _keep(key, parse(file, raw))


def _keep(key: bytes, found: Parsed) -> str | None:
    text = _as_text(found)
    if text is not None:
        CACHE.put("file", key, text.encode())
    return text


def _picture_text(tree: Tree, file: Named) -> str | None:
    try:
        raw = tree.read(file.path, PICTURE_BYTES)
    except Unreadable:
        return None
    kept = Remembered()
    if kept.knows_picture(raw, file.name):
        return ""
    from .pictures import PictureProblem, decode

    try:
        decode(raw, file.name)
    except PictureProblem:
        return None
    kept.saw_picture(raw, file.name)
    return ""


def _from_text(file: Named, text: str, root: Callable[[], Node]) -> Parsed | None:
    """A file without findings from its JSON; None when that is damaged, however that came about."""
    try:
        data = json.loads(text, parse_float=Decimal, object_pairs_hook=_shared)
        return Parsed(data, Positions(root), (), BUILD[file.kind](data, Origin(file.path)))
    except Exception:
        return None


def _shared(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object of JSON; of equal short texts one is kept, since a book has the same words everywhere."""
    same = _words.setdefault
    return {
        key: same(value, value) if type(value) is str and len(value) <= _SHORT else value
        for key, value in pairs
    }


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


def data_of(path: str, key: bytes) -> bytes | None:
    """Bytes that say what the file said that had this key, if that is known."""
    kept = CACHE.get("file", key)
    kind = next((file.kind for file in sort_out([Entry(path, "file")])[0]), "")
    if kept is None or kind not in KINDS:
        return None
    return f"{modeline(kind, path)}\n".encode() + kept


def _picture_key(raw: bytes, name: str) -> bytes:
    return digest(name.rpartition(".")[2].encode(), raw)


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
