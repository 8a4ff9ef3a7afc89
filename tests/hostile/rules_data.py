"""The sound book of ``tests/unit/rules_book.py`` as data."""

from __future__ import annotations

import corpus

from asfound.source.reader import read

_TREE = corpus.rules_book.book_of().tree
FILES = {
    entry.path: read(_TREE.read(entry.path), entry.path).data
    for entry in _TREE.entries()
    if entry.path.endswith(".yml")
}
for _recipe in FILES.values():  # without its picture, which is no data
    if "pictures" in _recipe:
        del _recipe["pictures"]
        for _step in _recipe["steps"]:
            _step.pop("picture", None)
