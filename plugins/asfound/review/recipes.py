"""What changed in a recipe itself: what it is, its cars, what it writes where."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ..book import Book
from ..car.fitting import Answer
from ..car.records import Layout, RecordPath, SettingPath
from ..car.words import say
from ..trust.risk import banner
from ..work.compiled import Edit, EditProblem, FieldEdit, NamesEdit
from ..work.recipes import Ask, Hazard, Media, Recipe
from ..work.recipes import Change as Wish
from .both import Both, Spot, change
from .modules import place_text, sum_words
from .review import Change, Fact, Subject, facts, from_to


def life(both: Both, subject: Subject, was: Recipe | None, now: Recipe | None) -> Iterator[Change]:
    """Added, removed, renamed, offered, withdrawn, revived; author; words nobody acts on."""
    if was is None or now is None:
        recipe, book = (now, both.after) if now else (was, both.before)
        assert recipe is not None
        yield _new_or_gone(both, subject, book, recipe, now is not None)
        return
    if was.id != now.id:
        yield change(
            subject, "recipe-renamed", "It does the same work under another name.", from_to(was.id, now.id)
        )
    yield from _status(subject, was, now)
    if was.by != now.by:
        says = "Another member is named as its author, who may not sign it."
        yield change(subject, "author-changed", says, from_to(was.by, now.by))
    for what in ("title", "purpose", "annoyance"):
        one, other = getattr(was, what), getattr(now, what)
        if one != other:
            yield change(subject, "recipe-words", f"Its {what} reads otherwise.", from_to(one, other))
    if was.history != now.history:
        new = [f"{entry.on}: {entry.what}" for entry in now.history if entry not in was.history]
        old = [f"{entry.on}: {entry.what}" for entry in was.history if entry not in now.history]
        yield change(
            subject, "history-changed", "Its history reads otherwise.", facts(("gone", old), ("new", new))
        )


def _new_or_gone(both: Both, subject: Subject, book: Book, recipe: Recipe, new: bool) -> Change:
    word = banner(hazards_of(book, recipe.id))
    particulars = facts(
        ("by", recipe.by),
        ("status", recipe.status),
        ("for", say(recipe.fits, both.names)),
        ("changes", (_wish_words(both, wish) for wish in recipe.changes)),
        ("place", _all_places(book, recipe)),
        ("loads", _media_words(recipe.media)["file"] if recipe.media else ""),
        ("banner", word or "none"),
        ("hazards", (hazard.hazard for hazard in recipe.hazards)),
    )
    if new:
        return change(subject, "recipe-added", "A recipe is described for the first time.", particulars)
    signed = ", ".join(signature.by for signature in book.signatures(recipe.id))
    particulars += facts(("reports lost", str(len(book.reports(recipe.id)) or "")), ("had signed", signed))
    says = "The recipe is gone. Who has done it will not hear of it; withdrawing it would tell them."
    return change(subject, "recipe-removed", says, particulars)


def _status(subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    step = from_to(was.status, now.status)
    match was.status, now.status:
        case old, new if old == new:
            if was.withdrawn != now.withdrawn:
                says = (
                    "It is withdrawn for another reason, or those who have done it are told something else."
                )
                yield change(subject, "withdrawal-changed", says, from_to(_withdrawal(was), _withdrawal(now)))
        case "withdrawn", _:
            says = "It was withdrawn and is offered to members again."
            yield change(
                subject, "recipe-revived", says, (*step, *facts(("was withdrawn", _withdrawal(was))))
            )
        case _, "withdrawn":
            yield change(
                subject, "recipe-withdrawn", "It is withdrawn.", (*step, *facts(("why", _withdrawal(now))))
            )
        case "draft", _:
            yield change(subject, "recipe-offered", "It was a draft and is offered to members now.", step)
        case _:
            yield change(subject, "recipe-redrafted", "It is a draft again.", step)


def _withdrawal(recipe: Recipe) -> str:
    said = recipe.withdrawn
    if said is None:
        return ""
    instead = f"; instead: {said.instead}" if said.instead else ""
    return f"{said.on}: {said.because} (if done: {said.if_done}{instead})"


def cars(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """Which cars it fits: by its own condition, and by what the vehicle files say was made."""
    found = both.cars(was.fits, now.fits)
    if found is not None:
        yield change(subject, "cars-changed", f"It is for {found.says}.", found.facts)
        return
    if was.fits != now.fits:
        yield change(subject, "cars-same", "The condition for its cars is rewritten; it means the same cars.")
    if both.before.world is both.after.world:
        return
    old, new = both.before.cells(was.id), both.after.cells(now.id)
    moved = [
        f"{' '.join(_cell_words(both, cell))}: {fitted} → {fits}"
        for cell in dict.fromkeys((*old, *new))
        if any(side[cell].kind != "no" for side in (old, new) if cell in side)
        if (fitted := _fit_words(both, old.get(cell))) != (fits := _fit_words(both, new.get(cell)))
    ]
    if moved:
        says = "The vehicle files say otherwise which cars it fits, though its condition stands."
        yield change(subject, "cars-by-vehicle", says, facts(("variant", moved)))


def _cell_words(both: Both, cell: tuple[str, str, str]) -> tuple[str, str, str]:
    line, model, phase = cell
    names = both.names
    return (
        names.lines.get(line, line),
        names.models.get((line, model), model),
        names.phases.get((line, phase), phase),
    )


def _fit_words(both: Both, answer: Answer | None) -> str:
    if answer is None:
        return "not made"
    if answer.residual is not None:
        return f"fits if: {say(answer.residual, both.names)}"
    return {"fits": "fits", "no": "does not fit", "if": "fits perhaps"}[answer.kind]


def wishes(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The changes as they are written: settings, from, to, questions, which cars each is for."""
    left, right = list(was.changes), list(now.changes)
    moved: list[tuple[Wish, Wish]] = []
    for one in was.changes:
        same = replace(one, setting=both.now(one.setting))
        if same in right:
            right.remove(same)
            left.remove(one)
            if same.setting != one.setting:
                moved.append((one, same))
    for one in tuple(left):
        other = next((w for w in right if (w.setting, w.place) == (both.now(one.setting), one.place)), None)
        if other is not None:
            left.remove(one)
            right.remove(other)
            if other.setting != one.setting:
                moved.append((one, other))
            yield from _wish(both, subject, one, other)
    for one, other in moved:
        elsewhere = one.setting.record_path != other.setting.record_path
        kind, says = (
            ("change-elsewhere", "lies in another record now")
            if elsewhere
            else ("change-renamed", "has another name")
        )
        name = _setting_name(both, other.setting)
        yield change(subject, kind, f"{name}, which it changes, {says}.", (
            *from_to(one.setting, other.setting), *_positions(both, was, one, now, other) * elsewhere,
        ))  # fmt: skip
    for one in left:
        says = f"It no longer changes {_setting_name(both, one.setting)}."
        yield change(subject, "change-removed", says, facts(("was", _wish_words(both, one))))
    for one in right:
        yield change(subject, "change-added", f"It also changes {_setting_name(both, one.setting)}.", facts(
            ("writes", _wish_words(both, one)), ("place", _lies(both.after, now, one)),
        ))  # fmt: skip
    stayed = [both.now(w.setting) for w in was.changes if w not in left]
    if not left and not right and stayed != [w.setting for w in now.changes]:
        says = "Its changes stand in another order, and are written in it."
        yield change(subject, "order-changed", says, from_to(_order(both, was), _order(both, now)))


def _order(both: Both, recipe: Recipe) -> str:
    return ", ".join(_setting_name(both, wish.setting) for wish in recipe.changes)


def _wish(both: Both, subject: Subject, was: Wish, now: Wish) -> Iterator[Change]:
    name = _setting_name(both, now.setting)
    if was.before != now.before:
        says = f"{name} must hold something else before."
        if now.before is None:
            says = f"{name} may hold anything before; the stop at an unexpected value is given up."
        yield change(subject, "from-changed", says, from_to(was.before or "any", now.before or "any"))
    if was.to != now.to:
        if isinstance(was.to, Ask) and isinstance(now.to, Ask) and was.to.suggest == now.to.suggest:
            yield change(
                subject,
                "question-changed",
                f"The question for {name} reads otherwise.",
                from_to(was.to.question, now.to.question),
            )
        else:
            yield change(
                subject, "to-changed", f"{name} becomes something else.", from_to(_to(was), _to(now))
            )
    if was.fits != now.fits:
        found = both.cars(was.fits, now.fits)
        if found is None:
            yield change(
                subject,
                "change-cars-same",
                f"The condition for changing {name} is rewritten; it means the same cars.",
            )
        else:
            yield change(subject, "change-cars", f"{name} is changed on {found.says}.", found.facts)


def _to(wish: Wish) -> str:
    if isinstance(wish.to, Ask):
        return f"the reader's choice, {wish.to.suggest} suggested ({wish.to.question})"
    return wish.to


def _setting_name(both: Both, path: SettingPath) -> str:
    return f"“{both.names.settings.get(str(path), str(path))}”"


def _wish_words(both: Both, wish: Wish) -> str:
    where = f" ({wish.place})" if wish.place else ""
    cars = f", on: {say(wish.fits, both.names)}" if wish.fits is not None else ""
    return f"{wish.setting}{where}: from {wish.before or 'any'} to {_to(wish)}{cars}"


def fields(book: Book, recipe: Recipe) -> Mapping[Spot, tuple[Edit | NamesEdit, ...]]:
    """The recipe's edits by record and layout; EditProblem when they cannot be compiled."""
    out: dict[Spot, list[Edit | NamesEdit]] = defaultdict(list)
    for edit in book.edits(recipe.id):
        layout = edit.layout if isinstance(edit, Edit) else None
        out[edit.record.module, edit.record.record, layout].append(edit)
    return {spot: tuple(of) for spot, of in out.items()}


def hazards_of(book: Book, recipe: str) -> tuple[Hazard, ...]:
    """All hazards; without those that reports tell of where the changes cannot be compiled."""
    try:
        return book.hazards(recipe)
    except EditProblem:
        return book.recipes[recipe].hazards + book.standing_hazards(recipe)


def _compiles(book: Book, recipe: str) -> bool:
    try:
        book.edits(recipe)
    except EditProblem:
        return False
    return True


def edits(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """What is written where, layout by layout, whatever file brought the change about."""
    broken = [
        side
        for side, book, r in (("before", both.before, was), ("after", both.after, now))
        if not _compiles(book, r.id)
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


def _all_places(book: Book, recipe: Recipe) -> list[str]:
    """Where a recipe writes; nothing where that cannot be computed."""
    if not _compiles(book, recipe.id):
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


def _lies(book: Book, recipe: Recipe, wish: Wish) -> list[str]:
    """Where a change lies in each layout; nothing where that cannot be computed."""
    try:
        edits = book.edits(recipe.id)
    except EditProblem:
        return []
    found = (
        f"layout {edit.layout}: {place_text(one.place)}"
        for edit in edits
        if isinstance(edit, Edit)
        for one in edit.fields
        if one.setting == wish.setting
    )
    return list(dict.fromkeys(found))


def _positions(both: Both, was: Recipe, one: Wish, now: Recipe, other: Wish) -> tuple[Fact, ...]:
    old, new = _lies(both.before, was, one), _lies(both.after, now, other)
    return facts(("lies", new)) if old == new else facts(("lay", old), ("lies", new))


def media(subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The file it loads."""
    if was.media == now.media:
        return
    old, new = (_media_words(r.media) if r.media else {} for r in (was, now))
    particulars = [
        fact
        for key in {**old, **new}
        if old.get(key) != new.get(key)
        for fact in from_to(*(f"{key}: {side.get(key, 'none')}" for side in (old, new)))
    ]
    if particulars:
        yield change(
            subject, "file-changed", "It loads another file, or loads it otherwise.", tuple(particulars)
        )


def _media_words(media: Media) -> dict[str, str]:
    return {
        "file": f"{media.name} into {media.module}, {media.size} bytes, SHA-256 {media.sha256}",
        "version": media.version,
        "origin": f"{media.origin_from}: {media.origin_how}",
        "card": f"{media.file_system}, {media.smallest_gb} to {media.largest_gb or 'any number of'} GB",
        "menu": " > ".join(media.menu),
        "minutes": str(media.minutes),
        "where to read": media.reading_where,
        "reading": f"before {' or '.join(media.reading_before)}, after {media.reading_after}",
    }
