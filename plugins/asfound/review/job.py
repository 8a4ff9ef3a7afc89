"""What changed in how the job is done: what is at hand, prechecks, steps, checks, the way back, the frame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from ..book import Book
from ..car.records import RecordPath
from ..source.guards import Unreadable
from ..work.operations import Operation
from ..work.recipes import Check, ExpectedFault, Message, Picture, Precheck, Recipe, Step, WorkedExample
from .both import Both, change
from .pairs import pair
from .review import Change, Subject, facts, from_to

T = TypeVar("T")
SHOWN = 4  # sentences of the job that a change of it quotes on either side
# What the author writes is compared by itself; the rest of the job is generated from everything else.
GENERATED = frozenset(
    (
        *("identify", "read-faults", "measure-voltage", "note", "note-version", "open", "unlock", "write"),
        *("load-file", "read-back", "read-version", "restart", "close"),
    )
)


def lists(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """Everything a recipe lists for whoever does the job."""
    was = _as_called_now(both, was)
    yield from _list(subject, "ready", "what must be at hand", was.ready, now.ready, str, str)
    yield from _list(
        subject, "precheck", "a precheck", was.before, now.before, lambda b: b.precheck, _precheck
    )
    yield from _list(subject, "step", "a step", was.steps, now.steps, lambda s: s.step, _step)
    yield from _list(subject, "check", "a check", was.checks, now.checks, lambda c: c.check, _check)
    yield from _list(
        subject, "message", "a normal message", was.may_show, now.may_show, lambda m: m.message, _message
    )
    yield from _list(
        subject,
        "fault",
        "an expected fault",
        was.faults_to_expect,
        now.faults_to_expect,
        lambda f: f.code,
        _fault,
        True,
    )
    yield from _list(
        subject, "alternative", "another value offered",
        was.alternatives, now.alternatives,
        lambda a: f"{a.setting} {a.to}", lambda a: f"{a.setting} to {a.to}: {a.does}", True,
    )  # fmt: skip
    yield from _list(
        subject, "example", "a worked example",
        was.worked_examples, now.worked_examples, lambda e: f"{e.record} {e.layout}", _example, True,
    )  # fmt: skip
    old, new = _way_back(was), _way_back(now)
    if old != new:
        says = "There is no way back any more." if now.way_back == "none" else "The way back is another one."
        yield change(subject, "way-back-changed", says, from_to(old, new))


def _as_called_now(both: Both, recipe: Recipe) -> Recipe:
    """The recipe with settings and records called as on the later side."""
    homes = {one.setting.record_path: both.now(one.setting).record_path for one in recipe.changes}

    def home(example: WorkedExample) -> RecordPath:
        """Where the example's record went, if its layout went there too."""
        there = homes.get(example.record, example.record)
        record = both.after.record(there)
        known = record is not None and (example.layout is None or record.layout(example.layout) is not None)
        return there if known else example.record

    return replace(
        recipe,
        alternatives=tuple(replace(a, setting=both.now(a.setting)) for a in recipe.alternatives),
        worked_examples=tuple(
            replace(
                example,
                record=home(example),
                choose=tuple((both.now(setting), value) for setting, value in example.choose),
            )
            for example in recipe.worked_examples
        ),
    )


def _list(
    subject: Subject,
    stem: str,
    what: str,
    before: Sequence[T],
    after: Sequence[T],
    key: Callable[[T], str],
    show: Callable[[T], str],
    names: bool = False,
) -> Iterator[Change]:
    found = pair(before, after, key, names)
    for old, new in found.changed:
        yield change(subject, f"{stem}-changed", f"Changed: {what}.", from_to(show(old), show(new)))
    for old in found.removed:
        yield change(subject, f"{stem}-removed", f"Removed: {what}.", facts(("was", show(old))))
    for new in found.added:
        yield change(subject, f"{stem}-added", f"Added: {what}.", facts(("new", show(new))))
    if found.order and stem in ("precheck", "step", "check"):
        yield change(subject, f"{stem}-order", f"The {stem}s stand in another order.", facts(
            ("before", " · ".join(map(key, before))), ("after", " · ".join(map(key, after))),
        ))  # fmt: skip


def _precheck(one: Precheck) -> str:
    proves = f"; proves {one.proves}" if one.proves else ""
    return f"{one.precheck} · expect: {one.expect} · otherwise: {one.otherwise} · {one.power}{proves}"


def _step(one: Step) -> str:
    particulars = [
        f"at {one.at}",
        one.module or "",
        one.power or "",
        f"{one.minutes} min" if one.minutes else "",
        one.picture or "",
    ]
    return f"{one.step} · {', '.join(filter(None, particulars))}"


def _check(one: Check) -> str:
    return f"{one.check} · expect: {one.expect} · {one.power}"


def _message(one: Message) -> str:
    return f"{one.message}: {one.means}"


def _fault(one: ExpectedFault) -> str:
    return f"{one.code}, {one.when}: {one.do}"


def _example(one: WorkedExample) -> str:
    chosen = "".join(f", {setting} chosen as {value}" for setting, value in one.choose)
    layout = f" in layout {one.layout}" if one.layout else ""
    return f"{one.record}{layout}: {one.found} → {one.write} (read on: {one.read_on}{chosen})"


def _way_back(recipe: Recipe) -> str:
    return recipe.way_back if isinstance(recipe.way_back, str) else " · ".join(recipe.way_back)


def generated(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The part of the job that no author writes, and how long the job takes."""
    old, new = (_sentences(book, r.id) for book, r in ((both.before, was), (both.after, now)))
    gone, come = old - new, new - old
    if gone or come:
        says = "The generated part of the job reads otherwise."
        yield change(subject, "job-changed", says, facts(("before", _some(gone)), ("after", _some(come))))
    minutes, then = both.before.minutes(was.id), both.after.minutes(now.id)
    if minutes != then:
        yield change(subject, "minutes-changed", "The job takes another time.", from_to(
            *(f"{whole} min, {key} of them with the key on" for whole, key in (minutes, then))
        ))  # fmt: skip


def _sentences(book: Book, recipe: str) -> Counter[str]:
    """What each operation says, each sentence once for every time a form says it at most."""
    most: Counter[str] = Counter()
    for operations in book.frames(recipe):
        most |= Counter(_sentence(one) for one in operations if one.kind in GENERATED)
    return most


def _sentence(one: Operation) -> str:
    """What an operation says; of a record only which one, since what is done to it is compared by itself."""
    if one.kind in ("note", "write", "read-back"):
        return f"{one.text.split(':')[0].split(' and note')[0].rstrip('.')}."
    return " ".join(filter(None, (one.text, one.expect)))


def _some(said: Counter[str]) -> list[str]:
    every = list(said)
    more = len(every) - SHOWN
    return every[:SHOWN] + ([f"and {more} more"] if more > 0 else [])


def pictures(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The pictures themselves, and what is said of them."""
    old, new = (
        {name: _content(book, r.id, name) for name in book.pictures(r.id)}
        for book, r in ((both.before, was), (both.after, now))
    )
    differ = [name for name in sorted({*old, *new}) if old.get(name) != new.get(name)]
    for name in differ:
        ending = "added" if name not in old else "removed" if name not in new else "changed"
        became = {"added": "is new", "removed": "is gone", "changed": "shows something else"}[ending]
        yield change(subject, f"picture-{ending}", f"Picture {name} {became}.")
    found = pair(was.pictures, now.pictures, lambda picture: picture.file, True)
    for some, became in ((found.removed, "is no longer declared"), (found.added, "is declared now")):
        for one in some:
            if one.file not in differ:
                says = f"Picture {one.file} {became}."
                yield change(subject, "picture-words", says, facts(("words", _said(one))))
    for one, other in found.changed:
        says = f"What is said of picture {other.file} reads otherwise."
        yield change(subject, "picture-words", says, from_to(_said(one), _said(other)))


def _said(picture: Picture) -> str:
    return f"{picture.alt} ({picture.credit})" if picture.credit else picture.alt


def _content(book: Book, recipe: str, name: str) -> bytes | str:
    try:
        return book.picture(recipe, name)
    except Unreadable as why:
        return why.message
