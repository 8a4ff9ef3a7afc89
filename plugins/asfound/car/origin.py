"""Where an object was written, so that a finding can point there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

Keys = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Origin:
    """A place in a source file: its path below ``recipes/`` and the keys that lead to the value.

    Line and column are not kept; whoever reports a finding looks them up again, since findings are rare
    and objects are many. Fields that hold an origin are declared with ``compare=False``: a moved line is
    no change to the car.
    """

    file: str
    path: Keys = ()

    def at(self, *keys: str | int) -> Origin:
        """The origin of something below this one."""
        return Origin(self.file, _below(self.path, keys))


@lru_cache(1 << 14)  # every recipe has the same places: kept once, they take half the memory of all origins
def _below(path: Keys, keys: Keys) -> Keys:
    return path + keys


NOWHERE = Origin("")
