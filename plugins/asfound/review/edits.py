"""What a recipe writes where, layout by layout, whichever file brought a change of it about."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from ..book import Book
from ..car.records import Layout, RecordPath, SettingPath
from ..work.compiled import Edit, FieldEdit, NamesEdit
from ..work.recipes import Change as Wish
from ..work.recipes import Recipe
from .both import NOT_COMPUTED, Both, Spot, change
from .modules import place_text, sum_words
from .review import Change, Fact, Subject, facts, from_to


def fields(book: Book, recipe: Recipe) -> Mapping[Spot, tuple[Edit | NamesEdit, ...]]:
    """The recipe's edits by record and layout; EditProblem when they cannot be compiled."""
    out: dict[Spot, list[Edit | NamesEdit]] = defaultdict(list)
    for edit in book.edits(recipe.id):
        layout = edit.layout if isinstance(edit, Edit) else None
        out[edit.record.module, edit.record.record, layout].append(edit)
    return {spot: tuple(of) for spot, of in out.items()}


def compiles(book: Book, recipe: str) -> bool:
    """Whether the recipe's edits can be worked out at all."""
    try:
        book.edits(recipe)
    except NOT_COMPUTED:
        return False
    return True


def edits(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """What is written where, layout by layout, whatever file brought the change about."""
    broken = [
        side
        for side, book, r in (("before", both.before, was), ("after", both.after, now))
        if not compiles(book, r.id)
    ]
    if broken:
        if broken == ["after"]:
            yield change(
                subject, "edit-broken", "What it writes cannot be computed any more; see the findings."
            )
        return
    old, new = fields(both.before, was), fields(both.after, now)
    follow = {spot: both.layouts.get(spot, spot) for spot in old}
    for spot, edited in old.items():
        there = new.get(follow[spot])
        if there is not None:
            yield from _layout_cars(both, subject, spot, follow[spot])
            yield from _edits(both, subject, follow[spot], edited, there)
        elif not _left_with_setting(both, was, spot):
            yield change(
                subject,
                "edit-layout-lost",
                f"It no longer writes {_spot_words(both, spot)}.",
                _written(edited),
            )
    arrived = {_record(both.now(w.setting)) for w in was.changes if both.now(w.setting) != w.setting}
    for spot, edited in new.items():
        if spot not in follow.values() and not (spot[:2] in arrived and spot[:2] not in {s[:2] for s in old}):
            yield change(
                subject, "edit-layout-gained", f"It also writes {_spot_words(both, spot)}.", _written(edited)
            )


def _layout_cars(both: Both, subject: Subject, was: Spot, now: Spot) -> Iterator[Change]:
    """Which cars have a layout it writes."""
    old, new = (_layout(book, spot) for book, spot in ((both.before, was), (both.after, now)))
    if old is None or new is None or old.fits == new.fits:
        return
    found = both.cars(old.fits, new.fits)
    if found is not None:
        says = f"{found.says.capitalize()} than before are taken to have {_spot_words(both, now)}."
        yield change(subject, "edit-layout-cars", says, found.facts)


def _layout(book: Book, spot: Spot) -> Layout | None:
    record = book.record(RecordPath(spot[0], spot[1]))
    return record.layout(spot[2]) if record and spot[2] else None


def _record(path: SettingPath) -> tuple[str, str]:
    return path.module, path.record


def _left_with_setting(both: Both, recipe: Recipe, spot: Spot) -> bool:
    """Whether all it writes there went to another record, which is said of each change."""
    here = [w.setting for w in recipe.changes if _record(w.setting) == spot[:2]]
    return bool(here) and all(_record(both.now(path)) != spot[:2] for path in here)


def _spot_words(both: Both, spot: Spot) -> str:
    module, record, layout = spot
    name = both.names.records.get(f"{module}/{record}", record)
    return f"“{name}” in layout {layout}" if layout else f"“{name}”"


def all_places(book: Book, recipe: Recipe) -> list[str]:
    """Where a recipe writes; nothing where that cannot be computed."""
    if not compiles(book, recipe.id):
        return []
    return [
        f"{edit.layout}: {fact.text}"
        for edit in book.edits(recipe.id)
        if isinstance(edit, Edit)
        for fact in _written((edit,))
    ]


def _written(edited: Sequence[Edit | NamesEdit]) -> tuple[Fact, ...]:
    said = (
        f"“{one.definition.name}” {place_text(one.place)}"
        for edit in edited
        if isinstance(edit, Edit)
        for one in edit.fields
    )
    return facts(("place", dict.fromkeys(said)))


def _edits(
    both: Both,
    subject: Subject,
    spot: Spot,
    old: Sequence[Edit | NamesEdit],
    new: Sequence[Edit | NamesEdit],
) -> Iterator[Change]:
    was, now = old[0], new[0]
    if not isinstance(was, Edit) or not isinstance(now, Edit):
        return
    where = _spot_words(both, spot)
    if was.length != now.length:
        says = f"{where} has another length, so every byte of it is written anew."
        yield change(subject, "edit-length", says, from_to(f"{was.length} bytes", f"{now.length} bytes"))
    if was.checksum != now.checksum:
        says = f"{where} has another checksum."
        yield change(
            subject, "edit-checksum", says, from_to(sum_words(was.checksum), sum_words(now.checksum))
        )
    before, after = (_by_setting(both, of, of is old) for of in (old, new))
    for path, olds in before.items():
        news = after.get(path)
        if news is None:
            continue
        name = f"“{news[0].definition.name}”"
        if [f.place for f in olds[:1]] != [f.place for f in news[:1]]:
            says = f"It writes {name} to another place in {where}."
            yield change(
                subject, "edit-moved", says, from_to(place_text(olds[0].place), place_text(news[0].place))
            )
        stored = _differing(_stored(olds), _stored(news))
        if stored[0]:
            says = f"The same words are stored otherwise for {name} in {where}."
            yield change(subject, "edit-stored", says, from_to(*map(_stored_words, stored)))


def _by_setting(both: Both, of: Sequence[Edit | NamesEdit], old: bool) -> dict[SettingPath, list[FieldEdit]]:
    out: dict[SettingPath, list[FieldEdit]] = defaultdict(list)
    for edit in of:
        for one in edit.fields if isinstance(edit, Edit) else ():
            out[both.now(one.setting) if old else one.setting].append(one)
    return out


def _stored(of: Sequence[FieldEdit]) -> dict[str, int]:
    """The bits stored for each value in words that is asked for before or written."""
    said: dict[str, int] = {}
    for one in of:
        said[one.to_words] = one.to_raw
        if one.before_words is not None and one.before_raw is not None:
            said[one.before_words] = one.before_raw
    return said


def _differing(was: dict[str, int], now: dict[str, int]) -> tuple[dict[str, int], dict[str, int]]:
    shared = [words for words in was if words in now and was[words] != now[words]]
    return {w: was[w] for w in shared}, {w: now[w] for w in shared}


def _stored_words(of: Mapping[str, int]) -> str:
    return ", ".join(f"{words}: {raw}" for words, raw in of.items())


def lies(book: Book, recipe: Recipe, wish: Wish) -> list[str]:
    """Where a change lies in each layout; nothing where that cannot be computed."""
    if not compiles(book, recipe.id):
        return []
    found = (
        f"layout {edit.layout}: {place_text(one.place)}"
        for edit in book.edits(recipe.id)
        if isinstance(edit, Edit)
        for one in edit.fields
        if one.setting == wish.setting
    )
    return list(dict.fromkeys(found))
