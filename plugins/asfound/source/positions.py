"""Where in a file each key and value stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, cast

# A node is a tuple, since thousands are made for each file and nearly all are thrown away unread:
#   value:  (line, column, source)       source: the text of a plain scalar, None for a quoted one
#   map:    (line, column, {key: (line, column, node)})
#   list:   (line, column, [node, …])
Node = tuple[int, int, Any]
NOWHERE: Node = (1, 1, None)


class Positions:
    """Lines and columns, from 1, of what was read from one file.

    ``root`` may be a function that finds it out, called when somebody asks. ``spoilt`` are the paths of
    values about which the reader itself has a finding: what a schema would say of them is beside the point.
    """

    __slots__ = ("_root", "spoilt")

    def __init__(
        self,
        root: Node | Callable[[], Node] = NOWHERE,
        spoilt: frozenset[tuple[str | int, ...]] = frozenset(),
    ) -> None:
        self._root = root
        self.spoilt = spoilt

    @property
    def root(self) -> Node:
        """The node of the whole file."""
        if callable(self._root):
            self._root = self._root()
        return self._root

    def value(self, path: Sequence[str | int]) -> tuple[int, int]:
        """Where the value at ``path`` starts, or the innermost thing around it that exists."""
        return self._walk(path)[0][:2]

    def key(self, path: Sequence[str | int]) -> tuple[int, int]:
        """Where the key of ``path`` stands; for an item of a list, where the item starts."""
        return self._walk(path)[1]

    def source(self, path: Sequence[str | int]) -> str | None:
        """The text of the plain scalar at ``path``; None when it is quoted or no scalar."""
        text = self._walk(path)[0][2]
        return text if isinstance(text, str) else None

    def has(self, path: Sequence[str | int]) -> bool:
        """Whether the file has something at ``path``."""
        return len(list(self._nodes(path))) == len(path) + 1

    def is_spoilt(self, path: Sequence[str | int]) -> bool:
        """Whether the reader has a finding about the value or something around it."""
        return any(tuple(path[:n]) in self.spoilt for n in range(len(path) + 1)) if self.spoilt else False

    def _walk(self, path: Sequence[str | int]) -> tuple[Node, tuple[int, int]]:
        *_, last = self._nodes(path)
        return last

    def _nodes(self, path: Sequence[str | int]) -> Iterator[tuple[Node, tuple[int, int]]]:
        """The nodes along a path as far as it exists, each with where its key stands."""
        node = self.root
        yield node, node[:2]
        for step in path:
            below = node[2]
            if isinstance(below, dict) and step in below:
                line, column, node = below[step]
                yield node, (line, column)
            elif isinstance(below, list) and isinstance(step, int) and 0 <= step < len(below):
                node = cast(Node, below[step])
                yield node, node[:2]
            else:
                return
