"""How a recipe stands beside others: clashes in shared bits, and what the authors say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from ..book import Book
from ..work.compiled import Edit, NamesEdit
from ..work.interactions import Index, Meeting
from ..work.recipes import Recipe
from .both import NOT_COMPUTED, Both, change
from .pairs import pair
from .review import Change, Fact, Subject, facts, from_to


def relations(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """What the author says of other recipes."""
    called = both.recipes
    for what in ("needs", "replaces"):
        old, new = getattr(was, what), getattr(now, what)
        if set(old) != set(new) and {called.get(one, one) for one in old} == set(new):
            says = "It calls another recipe by its new name."
            yield change(subject, "relation-renamed", says, from_to(", ".join(old), ", ".join(new)))
        elif set(old) != set(new):
            yield change(
                subject,
                "relation-changed",
                f"What it {what} is said otherwise.",
                from_to(", ".join(old), ", ".join(new)),
            )
    if was.alone != now.alone:
        says = "It must be done alone now." if now.alone else "It need not be done alone any more."
        yield change(subject, "relation-changed", says)
    before = [replace(clash, recipe=called.get(clash.recipe, clash.recipe)) for clash in was.clashes]
    found = pair(before, now.clashes, lambda clash: clash.recipe, True)
    for one, other in found.changed:
        says = f"Why it clashes with {other.recipe} is said otherwise."
        yield change(subject, "relation-changed", says, from_to(one.because, other.because))
    for one in found.removed:
        says = f"It is no longer said to clash with {one.recipe}."
        yield change(subject, "relation-changed", says, facts(("was", one.because)))
    for one in found.added:
        yield change(
            subject,
            "relation-changed",
            f"It is said to clash with {one.recipe}.",
            facts(("why", one.because)),
        )


class Neighbours:
    """Meetings on both sides, each pair told once."""

    def __init__(self, both: Both, compared: Iterable[tuple[Recipe | None, Recipe | None]]) -> None:
        pairs = tuple(compared)
        self.both = both
        self._before = _index(both.before, [was for was, _ in pairs if was])
        self._after = _index(both.after, [now for _, now in pairs if now])
        self._told: set[tuple[frozenset[str], str]] = set()

    def changes(self, subject: Subject, was: Recipe | None, now: Recipe | None) -> Iterator[Change]:
        """Clashes that are new or gone, and bits newly shared in agreement."""
        if now is None or now.status == "withdrawn":
            return
        old = self._meetings(self._before, was, self.both.recipes)
        new = self._meetings(self._after, now, {})
        for key, meeting in new.items():
            before = old.get(key)
            agrees = meeting.kind in ("same bits, agree", "same name, agree")
            if meeting.clashes and not (before and before.clashes):
                kind, says = "clash-new", "They want the same bits to be different"
            elif agrees and not (before and before.kind == meeting.kind):
                kind, says = "agreement-new", "Both write the same to the same bits"
            else:
                continue
            if self._once(key, now.id, kind):
                yield change(subject, kind, f"{says}: {now.id} and {meeting.other}.", self._facts(meeting))
        for key, meeting in old.items():
            then = new.get(key)
            if meeting.clashes and not (then and then.clashes) and self._once(key, now.id, "clash-gone"):
                yield change(
                    subject, "clash-gone", f"{now.id} and {key[0]} no longer clash.", self._facts(meeting)
                )

    def _once(self, key: tuple[str, str, str | None], recipe: str, kind: str) -> bool:
        tell = (frozenset((key[0], recipe)), f"{kind} {key[1:]}")
        new = tell not in self._told
        self._told.add(tell)
        return new

    @staticmethod
    def _facts(meeting: Meeting) -> tuple[Fact, ...]:
        layout = f", layout {meeting.layout}" if meeting.layout else ""
        return facts(
            ("record", f"{meeting.record}{layout}"), ("settings", ", ".join(map(str, meeting.settings)))
        )

    @staticmethod
    def _meetings(
        index: Index, recipe: Recipe | None, renamed: Mapping[str, str]
    ) -> dict[tuple[str, str, str | None], Meeting]:
        """By the other recipe as it is called now, record and layout."""
        if recipe is None:
            return {}
        return {
            (renamed.get(m.other, m.other), str(m.record), m.layout): m for m in index.meetings_of(recipe.id)
        }


def _index(book: Book, compared: Iterable[Recipe]) -> Index:
    """The edits of every recipe that can be compiled and writes a record one of those compared writes."""
    records = {wish.setting.record_path for recipe in compared for wish in recipe.changes}
    edits: list[tuple[str, Edit | NamesEdit]] = []
    for recipe in book.recipes.values():
        if recipe.status == "withdrawn" or all(w.setting.record_path not in records for w in recipe.changes):
            continue
        try:
            edits.extend((recipe.id, edit) for edit in book.edits(recipe.id))
        except NOT_COMPUTED:
            continue  # said as a finding
    return Index(edits)
