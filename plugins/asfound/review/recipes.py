"""What changed in a recipe itself: what it is, its cars, what it writes where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..book import Book
from ..car.fitting import Answer
from ..car.records import SettingPath
from ..car.words import say
from ..trust.risk import banner
from ..work.loading import card_size
from ..work.recipes import Ask, Hazard, Media, Recipe, WorkedExample
from ..work.recipes import Change as Wish
from .both import NOT_COMPUTED, Both, change
from .edits import all_places, lies
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
        ("place", all_places(book, recipe)),
        ("loads", _media_words(recipe.media)["file"] if recipe.media else ""),
        ("signal word", word or "none"),
        ("hazards", (hazard.hazard for hazard in recipe.hazards)),
    )
    if new:
        particulars += facts(("read on", (f"{_where(one)}: {one.read_on}" for one in recipe.worked_examples)))
        return change(subject, "recipe-added", "A recipe is described for the first time.", particulars)
    signed = ", ".join(signature.by for signature in book.signatures(recipe.id))
    particulars += facts(("reports lost", str(len(book.reports(recipe.id)) or "")), ("had signed", signed))
    says = "The recipe is gone. Who has done it will not hear of it; withdrawing it would tell them."
    return change(subject, "recipe-removed", says, particulars)


def _where(one: WorkedExample) -> str:
    return f"{one.record} in layout {one.layout}" if one.layout else str(one.record)


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
            ("writes", _wish_words(both, one)), ("place", lies(both.after, now, one)),
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


def hazards_of(book: Book, recipe: str) -> tuple[Hazard, ...]:
    """All hazards; without those that reports tell of where the changes cannot be compiled."""
    try:
        return book.hazards(recipe)
    except NOT_COMPUTED:
        return book.recipes[recipe].hazards + book.standing_hazards(recipe)


def _positions(both: Both, was: Recipe, one: Wish, now: Recipe, other: Wish) -> tuple[Fact, ...]:
    old, new = lies(both.before, was, one), lies(both.after, now, other)
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
        "card": f"{media.file_system}, {card_size(media)}",
        "menu": " > ".join(media.menu),
        "minutes": str(media.minutes),
        "where to read": media.reading_where,
        "reading": f"before {' or '.join(media.reading_before)}, after {media.reading_after}",
    }
