"""The whole job: the generated frame with the recipe's own steps in place, numbered through."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from ...speech import N_, gettext
from ...work.operations import Operation, minutes
from ...work.recipes import Picture, Recipe
from .. import links, prose
from ..links import Link
from ..speech import if_words
from ..words import minutes_words, sentence
from .desk import Desk
from .drawn import Drawing, course

_READY, _LOOK, _NOTE, _PROVE = (
    N_("Have everything ready"),
    N_("Look before you touch anything"),
    N_("Note what you find"),
    N_("Prove that it worked"),
)
_PART = {
    "have-ready": _READY,
    "identify": _LOOK,
    "read-faults": _LOOK,
    "measure-voltage": _LOOK,
    "precheck": _LOOK,
    "note": _NOTE,
    "note-version": _NOTE,
    "check": _PROVE,
    "read-faults-last": _PROVE,
}
_MOMENT = {"start": _READY, "noted": _NOTE, "end": _PROVE}
_OWN = frozenset({"step", "precheck", "check"})


@dataclass(frozen=True, slots=True)
class PictureRef:
    """A picture beside a step."""

    href: str
    alt: str
    credit: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class StepRow:
    """One numbered step; ``kind`` as in ``work.operations``, ``own``: written by the recipe's author.

    ``label`` stands before ``otherwise``, unless that begins with an "If" of its own.
    """

    kind: str
    text: str | Markup
    items: tuple[str, ...]
    expect: str
    label: str
    otherwise: str
    own: bool
    aside: str
    picture: PictureRef | None


@dataclass(frozen=True, slots=True)
class StepGroup:
    """Steps that belong together; ``first`` is the number of the first."""

    title: str
    first: int
    steps: tuple[StepRow, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One way the job can run; ``title`` is empty when there is only one; ``course`` draws it over time."""

    id: str
    title: str
    says: str
    course: Drawing
    groups: tuple[StepGroup, ...]


def jobs(desk: Desk, recipe: Recipe, link: Link) -> tuple[Job, ...]:
    """The job in each of its forms."""
    forms, frames = desk.book.forms(recipe.id), desk.book.frames(recipe.id)
    out = []
    for at, (form, operations) in enumerate(zip(forms, frames, strict=True), 1):
        title = ""
        if len(forms) > 1:
            title = sentence(if_words(desk.simplest(form.condition), desk.names)).rstrip(".")
        total, key_on = minutes(operations)
        lasts, drains = minutes_words(total), minutes_words(key_on)
        says = gettext(
            "About {time}, of which {key_on} with the key on and the engine at rest.",
            time=lasts,
            key_on=drains,
        )
        groups = _groups(desk, recipe, operations, link)
        out.append(Job(f"job-{at}", title, says, course(desk, operations), groups))
    return tuple(out)


def _groups(desk: Desk, recipe: Recipe, operations: Sequence[Operation], link: Link) -> tuple[StepGroup, ...]:
    pictures = {picture.file: picture for picture in recipe.pictures}

    def refer(name: str) -> str:
        return link(links.recipe(name))

    groups: list[StepGroup] = []
    number = 1
    for title, members in _parts(desk, operations):
        steps = tuple(_steps(desk, members, pictures, recipe.id, link, refer))
        groups.append(StepGroup(title, number, steps))
        number += len(steps)
    return tuple(groups)


def _parts(desk: Desk, operations: Sequence[Operation]) -> list[tuple[str, list[Operation]]]:
    """Runs of operations under one title; a turn of the key goes with what it is turned for."""
    parts: list[tuple[str, list[Operation]]] = []
    waiting: list[Operation] = []
    for one in operations:
        waiting.append(one)
        if one.kind == "key":
            continue
        fixed = _PART.get(one.kind) or _MOMENT.get(one.moment or "")
        title = gettext(fixed) if fixed else desk.unit(one.module, one.place)
        if parts and parts[-1][0] == title:
            parts[-1][1].extend(waiting)
        else:
            parts.append((title, waiting))
        waiting = []
    if waiting:
        parts.append((parts[-1][0] if parts else gettext(_READY), waiting))
    return parts


def _steps(
    desk: Desk,
    operations: Iterable[Operation],
    pictures: Mapping[str, Picture],
    recipe: str,
    link: Link,
    refer: Callable[[str], str],
) -> Iterable[StepRow]:
    ready: list[str] = []
    for one in operations:
        if one.kind == "have-ready":
            ready.append(sentence(one.text))
            continue
        if ready:
            yield _ready(ready)
            ready = []
        picture = pictures.get(one.picture or "")
        yield StepRow(
            kind=one.kind,
            text=prose.render(one.text, refer) if one.kind == "step" else sentence(one.text),
            items=(),
            expect=sentence(one.expect),
            label=otherwise_label(one.otherwise),
            otherwise=sentence(one.otherwise),
            own=one.kind in _OWN,
            aside=minutes_words(one.minutes) if one.minutes else "",
            picture=_picture(desk, recipe, picture, link) if picture else None,
        )
    if ready:
        yield _ready(ready)


def otherwise_label(otherwise: str) -> str:
    """What stands before what to do otherwise, unless that begins with an "If" of its own."""
    return "" if otherwise.startswith((gettext("If "), "If ")) else gettext("If not")


def _picture(desk: Desk, recipe: str, picture: Picture, link: Link) -> PictureRef:
    width, height = desk.picture_size(recipe, picture.file)
    return PictureRef(link(links.picture(recipe, picture.file)), picture.alt, picture.credit, width, height)


def _ready(items: list[str]) -> StepRow:
    return StepRow("have-ready", gettext("Have at hand:"), tuple(items), "", "", "", False, "", None)
