"""Operations: the single things done during a job, in words a mechanic can follow."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from ..car.origin import NOWHERE, Origin
from ..car.records import RecordPath
from .recipes import Moment, PowerState

UnitKey = tuple[str, str | None]  # control module, and which of its places

OperationKind = Literal[
    "have-ready",
    "key",
    "identify",
    "read-faults",
    "measure-voltage",
    "precheck",
    "note",
    "note-version",
    "open",
    "unlock",
    "write",
    "load-file",
    "read-back",
    "read-version",
    "restart",
    "close",
    "step",
    "check",
    "read-faults-last",
]


@dataclass(frozen=True, slots=True)
class Operation:
    """One thing to do: what, what must come of it, and what to do otherwise.

    ``power`` is the power state it needs (a *key* operation brings it about), ``key_on`` whether the key is
    on with the engine at rest meanwhile, so that the battery is drained. ``minutes`` is the club's estimate.
    ``origin`` is the authored object behind it. ``recipe`` says for whom; None: for every recipe of the job.
    """

    kind: OperationKind
    text: str
    expect: str = ""
    otherwise: str = ""
    module: str | None = None
    place: str | None = None
    record: RecordPath | None = None
    power: PowerState | None = None
    minutes: int = 0
    key_on: bool = False
    picture: str | None = None
    moment: Moment | None = None  # of an authored step
    access: bool = False  # a write that needs the module unlocked
    restarts: bool = False  # a write that takes effect only after a restart
    recipe: str | None = None
    origin: Origin = field(default=NOWHERE, compare=False)

    @property
    def unit(self) -> UnitKey:
        """The control module meant, and which of its places."""
        return (self.module or "", self.place)


def minutes(operations: Iterable[Operation]) -> tuple[int, int]:
    """Minutes altogether, and minutes with the key on and the engine at rest."""
    every = tuple(operations)
    return sum(o.minutes for o in every), sum(o.minutes for o in every if o.key_on)
