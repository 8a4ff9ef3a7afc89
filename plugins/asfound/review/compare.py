"""Two books compared: pure, on what they say of cars, never on the text of files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from ..book import Book
from ..trust.reports import Club
from ..work.recipes import Recipe
from . import edits, hurt, job, recipes, vouching
from .both import Both, change, unreadable
from .club import club_changes
from .lines import line_changes, made
from .modules import module_changes
from .review import Change, Commit, How, Subject
from .shared import Neighbours, relations
from .translated import translation_changes


def compare(
    before: Book,
    after: Book,
    files: Mapping[str, How] | None = None,
    signed: Mapping[str, Commit | None] | None = None,
) -> tuple[Change, ...]:
    """Every change, by what it is about: the club, vehicle lines, modules, recipes.

    ``files`` are those within the book that differ, by path, ``signed`` tells by which commit a new signature
    came; both only add words. Recipes of which everything they depend on is the same are passed over.
    """
    both = Both(before, after, files or {}, signed or {})
    return (
        *club_changes(both), *line_changes(both), *module_changes(both), *_recipes(both),
        *translation_changes(both),
    )  # fmt: skip


def _recipes(both: Both) -> Iterator[Change]:
    """Those whose own file changed first, then those under which something else changed."""
    renamed = {new: old for old, new in both.recipes.items()}
    pairs = [
        (both.before.recipes.get(renamed.get(id, id)), recipe) for id, recipe in both.after.recipes.items()
    ]
    gone = [
        r for id, r in both.before.recipes.items() if id not in both.after.recipes and id not in both.recipes
    ]
    every = [*pairs, *((recipe, None) for recipe in gone)]
    same = _Same(both)
    compared = [(subject(both, was, now), was, now) for was, now in every if not same(was, now)]
    compared.sort(key=lambda one: (one[0].state == "untouched", one[0].id))
    neighbours = Neighbours(both, [(was, now) for _, was, now in compared])
    for about, was, now in compared:
        found = tuple(_recipe(both, neighbours, about, was, now))
        yield from found
        moved = [path for path in same.files_of(about.id) if both.files[path] == "changed"]
        if not found and moved:
            says = f"Rearranged, and says the same: {', '.join(moved)}."
            yield change(about, "says-the-same", says)


def subject(both: Both, was: Recipe | None, now: Recipe | None) -> Subject:
    """What the changes of a recipe are about."""
    one = now or was
    assert one is not None
    return Subject("recipe", one.id, one.title, both.state(f"changes/{one.id}/recipe.yml", was, now))


def _recipe(
    both: Both, neighbours: Neighbours, about: Subject, was: Recipe | None, now: Recipe | None
) -> Iterator[Change]:
    if (was is None or now is None) and (where := both.unreadable("recipe", about.id)):
        yield unreadable(replace(about, state="changed"), where)
        return
    yield from recipes.life(both, about, was, now)
    if now is None:
        return
    if was is not None:
        yield from hurt.hazards(both, about, was, now)
        yield from hurt.acts_on(both, about, was, now)
        yield from recipes.cars(both, about, was, now)
        yield from recipes.wishes(both, about, was, now)
        yield from edits.edits(both, about, was, now)
        yield from recipes.media(about, was, now)
        yield from job.lists(both, about, was, now)
        yield from relations(both, about, was, now)
    yield from neighbours.changes(about, was, now)
    if was is not None:
        yield from job.generated(both, about, was, now)
        yield from job.pictures(both, about, was, now)
    yield from vouching.reports(both, about, was, now)
    yield from vouching.signatures(both, about, was, now)
    yield from vouching.labels(both, about, was, now)
    if was is not None:
        yield from vouching.codes(both, about, was, now)


class _Same:
    """Whether everything a recipe depends on is the same on both sides."""

    def __init__(self, both: Both) -> None:
        self.both = both
        self._moved: dict[str, list[str]] = {}
        for path in both.files:
            folder, _, rest = path.partition("/")
            if folder == "changes":
                self._moved.setdefault(rest.partition("/")[0], []).append(path)
        lines = both.before.lines, both.after.lines
        self._world = [{id: made(line) for id, line in side.items()} for side in lines]
        self._all_alike = self._world[0] == self._world[1] and _weighs(both.before.club) == _weighs(
            both.after.club
        )

    def files_of(self, recipe: str) -> list[str]:
        """The files in a recipe's folder that differ."""
        return self._moved.get(recipe, [])

    def __call__(self, was: Recipe | None, now: Recipe | None) -> bool:
        before, after = self.both.before, self.both.after
        if was is None or now is None or was != now or was.id in self._moved or not self._all_alike:
            return False
        touched = {wish.setting.module for wish in was.changes} | ({was.media.module} if was.media else set())
        return (
            all(before.modules.get(module) == after.modules.get(module) for module in touched)
            and before.reports(was.id) == after.reports(was.id)
            and before.signatures(was.id) == after.signatures(was.id)
            and before.past_codes(was.id) == after.past_codes(was.id)
        )


def _weighs(club: Club) -> object:
    """What of the club's file makes a difference to a recipe."""
    return club.reviewers, club.vetting, club.times, club.long_key_on
