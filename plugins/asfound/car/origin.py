"""Where an object was written, so that a finding can point there."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Origin:
    """A place in a source file: its path below ``recipes/`` and the keys that lead to the value.

    Line and column are not kept; whoever reports a finding looks them up again, since findings are rare
    and objects are many. Fields that hold an origin are declared with ``compare=False``: a moved line is
    no change to the car.
    """

    file: str
    path: tuple[str | int, ...] = ()

    def at(self, *keys: str | int) -> Origin:
        """The origin of something below this one."""
        return Origin(self.file, self.path + keys)


NOWHERE = Origin("")
