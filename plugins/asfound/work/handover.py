"""Handover: what a workshop or the next owner must know of a car that was changed."""

from __future__ import annotations

from dataclasses import dataclass

from .log import LoadedFile, Log, Standing, standing


@dataclass(frozen=True, slots=True)
class ModuleHandover:
    """One control module in one place: the changes that stand in it, and its software when last written.

    An update or replacement of the module may lose every one of them.
    """

    module: str
    place: str | None
    changes: tuple[Standing, ...]
    software: str | None


@dataclass(frozen=True, slots=True)
class Handover:
    """Everything that stands, module by module; files loaded, the last of each module; recipes by name."""

    modules: tuple[ModuleHandover, ...]
    files: tuple[LoadedFile, ...]
    recipes: tuple[str, ...]


def handover(log: Log) -> Handover:
    """What stands by the log."""
    stand = standing(log)
    units = dict.fromkeys((s.setting.module, s.place) for s in stand)
    modules = []
    for unit in units:
        own = tuple(s for s in stand if (s.setting.module, s.place) == unit)
        software = [s.wrote.software for s in own if s.wrote.software]
        modules.append(ModuleHandover(*unit, own, software[-1] if software else None))
    loaded = {e.module: e for e in log.entries if isinstance(e, LoadedFile)}
    recipes = [s.did.recipe for s in stand] + [e.recipe for e in loaded.values()]
    return Handover(tuple(modules), tuple(loaded.values()), tuple(dict.fromkeys(recipes)))
