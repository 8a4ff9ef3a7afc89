"""The two books side by side, and what is the same thing under another name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from ..book import Book
from ..car.conditions import Condition
from ..car.records import Layout, Module, RecordPath, SettingPath
from ..car.settings import Setting
from ..work.compiled import EditProblem
from ..work.recipes import Recipe
from .cars import Cars, both_names, both_worlds, compare_cars
from .kinds import KINDS, Need
from .pairs import alike
from .review import Change, Commit, Fact, How, State, Subject

# What a recipe's edits or codes end with when its changes, or another value it offers, cannot be stored.
NOT_COMPUTED = EditProblem
Spot = tuple[str, str, str | None]  # module, record, layout (None: only names are known)


class Both:
    """``files``: how files within the book differ, by path; ``signed``: by which commit a signature came."""

    def __init__(
        self,
        before: Book,
        after: Book,
        files: Mapping[str, How],
        signed: Mapping[str, Commit | None],
    ) -> None:
        self.before, self.after, self.files, self.signed = before, after, files, signed
        self.world = both_worlds(before.lines, after.lines)
        self.names = both_names(before.names, after.names)

    def state(self, path: str, was: object, now: object) -> State:
        """What became of a file that stands for an object."""
        if was is None:
            return "added"
        if now is None:
            return "removed"
        return "untouched" if was == now and path not in self.files else "changed"

    def cars(self, before: Condition | None, after: Condition | None) -> Cars | None:
        """What became of the cars that satisfy a condition; None: the same cars."""
        return compare_cars(before, after, self.world, self.names)

    @cached_property
    def settings(self) -> Mapping[SettingPath, SettingPath]:
        """Settings that have another path now: by their path before."""
        return moved_settings(self.before, self.after)

    @cached_property
    def recipes(self) -> Mapping[str, str]:
        """Recipes that have another name now: by their name before."""
        return renamed_recipes(self.before, self.after)

    @cached_property
    def layouts(self) -> Mapping[Spot, Spot]:
        """Layouts that have another name now, in a record that both sides have: by what they were."""
        out: dict[Spot, Spot] = {}
        for module, was, now in self.modules:
            for record in was.records if now else ():
                other = now.record(record.id) if now else None
                if other is None:
                    continue
                gone = [x for x in record.layouts if other.layout(x.id) is None]
                new = [x for x in other.layouts if record.layout(x.id) is None]
                for one in gone:
                    twin = next((x for x in new if _same_layout(one, x)), None)
                    if twin:
                        new.remove(twin)
                        out[module, record.id, one.id] = (module, record.id, twin.id)
        return out

    @cached_property
    def modules(self) -> tuple[tuple[str, Module, Module | None], ...]:
        """Every module before, with what it is after."""
        return tuple((id, module, self.after.modules.get(id)) for id, module in self.before.modules.items())

    def unreadable(self, kind: str, id: str) -> str:
        """In words, the side on which a file is there and could not be read; empty when neither is."""
        before, after = (book.broken(kind, id) is not None for book in (self.before, self.after))
        if before and after:
            return "on either side"
        return "any more" if after else "before" if before else ""

    def now(self, path: SettingPath) -> SettingPath:
        """The path after of a setting before."""
        return self.settings.get(path, path)

    def users(self, record: RecordPath, settings: Iterable[str] | None = None) -> tuple[str, ...]:
        """The recipes, on either side, that change a record, or one of some settings of it."""
        wanted = None if settings is None else set(settings)
        return tuple(
            sorted(
                {
                    recipe.id
                    for book in (self.before, self.after)
                    for recipe in book.recipes.values()
                    for change in recipe.changes
                    if change.setting.record_path == record
                    and (wanted is None or change.setting.setting in wanted)
                }
            )
        )


def change(
    subject: Subject, kind: str, says: str, facts: tuple[Fact, ...] = (), need: Need | None = None
) -> Change:
    """A change, as urgent as its kind unless said otherwise."""
    return Change(subject, kind, KINDS[kind].need if need is None else need, says, facts)


def either(subject: Subject, changes: Sequence[Change]) -> Sequence[Change]:
    """The changes; or, where there are none, that the file says the same."""
    return changes or (change(subject, "says-the-same", "The file was rearranged; it says the same."),)


def unreadable(subject: Subject, where: str) -> Change:
    """That a file could not be read, so that nothing of it can be compared."""
    says = f"Its file cannot be read {where}; see the findings. Nothing of it is compared here"
    if where == "before":
        says = "Its file could not be read before, so nothing of it is compared here. Read all of it"
    if subject.area != "recipe" and where != "on either side":
        says += ", and what it says on the other side is taken for both"
    return change(subject, f"{subject.area}-unreadable", f"{says}.")


def moved_settings(before: Book, after: Book) -> dict[SettingPath, SettingPath]:
    """Settings that have another path: renamed within their record, or moved to another record or module.

    Within a record what tells is that they lie in the same bits and mean the same, or have the same name;
    elsewhere, that id, name or meaning agree.
    """
    old, new = before.settings, after.settings
    gone = {path: setting for path, setting in old.items() if path not in new}
    come = {path: setting for path, setting in new.items() if path not in old}
    out: dict[SettingPath, SettingPath] = {}
    for path, setting in gone.items():
        found = [
            (score, other)
            for other, candidate in come.items()
            if (score := _likeness(before, after, path, setting, other, candidate)) > 0
        ]
        if found:
            best = max(found, key=lambda item: item[0])[1]
            out[path] = best
            del come[best]
    return out


def _likeness(
    before: Book, after: Book, path: SettingPath, setting: Setting, other: SettingPath, candidate: Setting
) -> int:
    """How surely a setting that is gone is one that came; 0: it is not."""
    same_record = path.record_path == other.record_path
    alike_in = (
        (setting.id == candidate.id) + (setting.name == candidate.name) + (setting.kind == candidate.kind)
    )
    if not same_record:
        return alike_in if alike_in >= 2 else 0
    was, now = before.record(path.record_path), after.record(path.record_path)
    if was and now:
        shared = [(x, y) for x in was.layouts if (y := now.layout(x.id)) is not None]
        lies = [x.places.get(path.setting) == y.places.get(other.setting) for x, y in shared]
        if lies and all(lies) and setting.kind == candidate.kind:
            return 5
    return 3 if alike_in >= 1 and type(setting.kind) is type(candidate.kind) else 0


def renamed_recipes(before: Book, after: Book) -> dict[str, str]:
    """Recipes of another name that do the same work: same work codes, or same changes where none exist."""
    gone = [recipe for id, recipe in before.recipes.items() if id not in after.recipes]
    come = [recipe for id, recipe in after.recipes.items() if id not in before.recipes]
    if not gone or not come:
        return {}
    by_work: dict[object, list[Recipe]] = defaultdict(list)
    for recipe in come:
        by_work[_work(after, recipe)].append(recipe)
    out: dict[str, str] = {}
    for recipe in gone:
        if candidates := by_work.get(_work(before, recipe)):
            best = max(candidates, key=lambda one: alike(one.title, recipe.title))
            candidates.remove(best)
            out[recipe.id] = best.id
    return out


def _work(book: Book, recipe: Recipe) -> object:
    try:
        return frozenset(book.codes(recipe.id).work.values()), recipe.media
    except NOT_COMPUTED:
        return recipe.changes, recipe.media


def _same_layout(one: Layout, other: Layout) -> bool:
    return (one.length, one.places, one.checksum) == (other.length, other.places, other.checksum)
