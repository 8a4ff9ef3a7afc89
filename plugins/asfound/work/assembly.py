"""Putting operations one after the other: the key turned as needed, authored steps at their moments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ..car.records import Module
from . import wording
from .jobs import Job
from .operations import Operation, UnitKey
from .recipes import Moment, PowerState


class Assembly:
    """A growing row of operations (``out``) and how the key stands after it (``power``; None: not known)."""

    def __init__(self, jobs: Sequence[Job], modules: Mapping[str, Module], places: wording.Places) -> None:
        self.jobs, self.modules, self.places = jobs, modules, places
        self.out: list[Operation] = []
        self.power: PowerState | None = None

    def put(self, one: Operation) -> None:
        """Append an operation, after turning the key where it must stand otherwise."""
        if one.power is not None and one.power != self.power:
            turn = wording.key(self.power, one.power)
            self.power = one.power
            on = one.power == "key-on"
            self.out.append(
                Operation("key", turn, power=one.power, key_on=on, recipe=one.recipe, origin=one.origin)
            )
        on = self.power == "key-on" and one.kind != "restart"
        self.out.append(one if on == one.key_on else replace(one, key_on=on))

    def unit(self, key: UnitKey) -> wording.Unit:
        """The module, and which of its places, as steps name it."""
        module_id, place = key
        name, address = self.places.get((module_id, place or ""), ("", None))
        return wording.Unit(self.modules[module_id], place, name, address)

    def steps(self, moment: Moment, key: UnitKey | None = None, jobs: Sequence[Job] | None = None) -> None:
        """The authored steps of one moment, of one module where it is a module's; of all jobs, or of some."""
        for job in self.jobs if jobs is None else jobs:
            for step in job.recipe.steps:
                if step.at == moment and (key is None or step.module == key[0]):
                    self.put(
                        Operation(
                            "step",
                            step.step,
                            module=step.module,
                            place=key[1] if key else None,
                            power=step.power,
                            minutes=step.minutes,
                            picture=step.picture,
                            moment=moment,
                            recipe=job.recipe.id,
                            origin=step.origin,
                        )
                    )
