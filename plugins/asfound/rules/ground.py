"""What a rule may take for granted about its subject."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ..book import Book
from ..car.conditions import Condition, Holds, PartNumber, SettingIs, Software, leaves
from ..car.records import Module
from ..car.vehicles import VehicleLine
from ..work.recipes import Recipe


class Ground:
    """Which vehicle lines, modules and recipes still stand; at first all that could be built.

    A module stands on the vehicle lines, since conditions are about cars; a recipe on these and on all
    modules it names.
    """

    def __init__(self, book: Book) -> None:
        self._lost = {(kind, name) for kind, name in book.loaded.broken if kind in ("line", "module")}
        self._of_file: dict[str, tuple[str, str]] = {}
        for kind, things in (("line", book.lines), ("module", book.modules), ("recipe", book.recipes)):
            for name, thing in things.items():
                self._of_file[thing.origin.file] = (kind, name)

    def lose(self, files: Iterable[str]) -> None:
        """Problems in these files have taken the ground from what they describe."""
        self._lost |= {self._of_file[file] for file in files if file in self._of_file}

    def holds(self, subject: Any) -> bool:
        """Whether the vehicle line, module or recipe and all that it builds on still stand."""
        if not self._lost:
            return True
        match subject:
            case VehicleLine():
                return ("line", subject.id) not in self._lost
            case Module():
                return self._module_holds(subject.id) and self._lines_hold()
            case Recipe():
                own = ("recipe", subject.id) not in self._lost and self._lines_hold()
                return own and all(map(self._module_holds, modules_of(subject)))
            case _:
                return True

    def _module_holds(self, name: str) -> bool:
        return not self._lost & {("module", name), ("module", "")}

    def _lines_hold(self) -> bool:
        return not any(kind == "line" for kind, _ in self._lost)


def modules_of(recipe: Recipe) -> frozenset[str]:
    """Every module the recipe names: changed, loaded into, or asked about in a condition."""
    named = {change.setting.module for change in recipe.changes}
    if recipe.media is not None:
        named.add(recipe.media.module)
    for condition in (recipe.fits, *(change.fits for change in recipe.changes)):
        named |= set(_asked_about(condition))
    return frozenset(named)


def _asked_about(condition: Condition | None) -> Iterable[str]:
    for leaf in leaves(condition) if condition is not None else ():
        match leaf:
            case Software(module=module) | PartNumber(module=module):
                yield module
            case Holds(record=path) | SettingIs(setting=path):
                yield path.partition("/")[0]
