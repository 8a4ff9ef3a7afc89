"""A module's page: its duty, its records as strips, and every recipe that touches it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from ...car.conditions import Vehicle
from ...car.phrases import join_words
from ...car.records import Layout, Module, Record, RecordPath
from ...car.rewrite import conjunction
from ...car.settings import Choice, Choices, Number, Setting
from ...car.values import number, step, with_unit
from ...car.words import look, say
from ...speech import gettext, ngettext
from .. import links, prose
from ..figures.strips import Mark, SegmentKind, strip
from ..links import Link
from ..speech import if_words
from ..words import capital, list_words, minutes_words, place_words, sentence
from .changes import checksum_words, shown_words
from .common import Fact, Ref
from .desk import Desk
from .lists import RecipeItem, recipe_item


@dataclass(frozen=True, slots=True)
class SettingLine:
    """One setting of a record in one layout; ``clash`` names the recipes that cannot both be done."""

    id: str
    mark: str
    name: str
    about: str
    guess: bool
    where: tuple[str, ...]
    values: str
    recipes: tuple[Ref, ...]
    clash: str


@dataclass(frozen=True, slots=True)
class LayoutBlock:
    """A record in one layout, or by name."""

    id: str
    title: str
    when: str
    look: tuple[str, ...]
    strip: Markup
    caption: str
    places: bool
    rows: tuple[SettingLine, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecordBlock:
    """A record and its layouts."""

    id: str
    title: str
    says: str
    layouts: tuple[LayoutBlock, ...]


@dataclass(frozen=True, slots=True)
class ModulePage:
    """What the page says; ``detail`` (addresses) and ``names`` (as files have them) come last."""

    title: str
    duty: Markup
    facts: tuple[Fact, ...]
    records: tuple[RecordBlock, ...]
    recipes: tuple[RecipeItem, ...]
    detail: tuple[Fact, ...]
    names: tuple[Fact, ...]
    contact: str


def module_page(desk: Desk, module: Module, link: Link) -> ModulePage:
    """The module's page."""
    facts = [Fact(gettext("Where"), sentence(module.where))] if module.where else []
    if times := _times(desk, module):
        facts.append(Fact(gettext("Fitted"), times))
    facts.append(Fact(gettext("Which cars"), sentence(say(desk.book.fitted(module.id), desk.names))))
    restart = gettext(
        "{how} About {time}.", how=sentence(module.restart_how), time=minutes_words(module.restart_minutes)
    )
    facts.append(Fact(gettext("How to restart it"), restart))
    return ModulePage(
        title=module.name,
        duty=prose.render(module.duty, lambda recipe: link(links.recipe(recipe))),
        facts=tuple(facts),
        records=tuple(_record(desk, module, record, link) for record in module.records),
        recipes=tuple(
            recipe_item(desk, desk.book.recipes[id], link) for id in desk.book.by_module.get(module.id, ())
        ),
        detail=_detail(desk, module),
        names=_names_in_files(module),
        contact=desk.book.club.contact,
    )


def _times(desk: Desk, module: Module) -> tuple[str, ...]:
    """How often cars have the module and where: of each line by itself where lines differ, and of the cars of
    a line where they do."""
    cars: dict[tuple[str, ...], list[str]] = {}
    for line in desk.book.lines.values():
        here = [one for one in line.fitted if one.module == module.id and one.places]
        alike = len({tuple(place.name for place in one.places) for one in here}) < 2
        for fitted in here:
            only = conjunction((Vehicle(line.id), fitted.fits)) if fitted.fits is not None else None
            named = line.name if alike or only is None else capital(say(desk.simplest(only), desk.names))
            of = cars.setdefault(tuple(place.name for place in fitted.places), [])
            of.extend([named] if named not in of else [])
    said = {
        places: gettext(
            "{n} times: {places}. Each is read and written on its own.",
            n=len(places),
            places=list_words(places),
        )
        for places in cars
    }
    if len(said) < 2:
        return tuple(said.values())
    return tuple(f"{join_words(cars[places], 'and')}, {words}" for places, words in said.items())


def _detail(desk: Desk, module: Module) -> tuple[Fact, ...]:
    addresses = [Fact(gettext("Diagnostic address"), module.address)] if module.address else []
    addresses += [
        Fact(gettext("Diagnostic address, {place}", place=name), address)
        for (id, _), (name, address) in desk.places.items()
        if id == module.id and address
    ]
    identifiers = [_identified(record) for record in module.records if record.identifier is not None]
    facts = addresses or [Fact(gettext("Diagnostic address"), gettext("not known"))]
    return tuple(facts) + ((Fact(gettext("Record identifiers"), tuple(identifiers)),) if identifiers else ())


def _names_in_files(module: Module) -> tuple[Fact, ...]:
    paths = [
        f"{setting.name}: {module.id}/{record.id}/{setting.id}"
        for record in module.records
        for setting in record.settings
    ]
    return (Fact(gettext("Settings"), tuple(paths)),)


def _identified(record: Record) -> str:
    if isinstance(record.identifier, int):
        return gettext("{record}: number {identifier}", record=record.name, identifier=record.identifier)
    return f"{record.name}: {record.identifier}"


def _record(desk: Desk, module: Module, record: Record, link: Link) -> RecordBlock:
    shown = gettext("as bytes")
    if record.names_only:
        shown = gettext("by name; nobody in the club knows its bytes")
    elif record.shown_as is not None:
        shown = shown_words(record.shown_as)
    acts = gettext("at once") if record.takes_effect == "at-once" else gettext("after the restart")
    code = {None: gettext("no code is needed"), "ask the club": gettext("a code is needed: ask the club")}
    access = code.get(record.access_code, gettext("the code {code} is needed", code=record.access_code))
    says = sentence(
        gettext(
            "The tool shows it {shown}. New values act {acts}; {access}",
            shown=shown,
            acts=acts,
            access=access,
        )
    )
    path = RecordPath(module.id, record.id)
    layouts = (
        (_names(desk, path, record, link),)
        if record.names_only
        else tuple(_layout(desk, path, record, layout, link) for layout in record.layouts)
    )
    return RecordBlock(f"record-{record.id}", record.name, says, layouts)


def _names(desk: Desk, path: RecordPath, record: Record, link: Link) -> LayoutBlock:
    touching = _touching(desk, path, None)
    clashes = _clashes(desk, path, None)
    rows = tuple(
        _line(desk, path, s, "", (), touching, clashes, link, f"setting-{record.id}-")
        for s in record.settings
    )
    return LayoutBlock(
        "", "", "", (), Markup(""), gettext("Settings, by the words the tool shows"), False, rows, ()
    )


def _layout(desk: Desk, path: RecordPath, record: Record, layout: Layout, link: Link) -> LayoutBlock:
    touching = _touching(desk, path, layout.id)
    clashes = _clashes(desk, path, layout.id)
    placed = sorted(
        (s for s in record.settings if s.id in layout.places),
        key=lambda s: min((part.byte, -part.high) for part in layout.places[s.id].parts),
    )
    marks, rows = {}, []
    for at, setting in enumerate(placed, 1):
        recipes = touching.get(setting.id, {})
        kind: SegmentKind = "known"
        if clashes.get(setting.id):
            kind = "clash"
        elif len(recipes) > 1:
            kind = "several"
        elif recipes:
            kind = "written"
        marks[setting.id] = Mark(str(at), kind)
        where = place_words(layout.places[setting.id])
        rows.append(
            _line(
                desk,
                path,
                setting,
                str(at),
                where,
                touching,
                clashes,
                link,
                f"setting-{record.id}-{layout.id}-",
            )
        )
    said = list_words([f"{row.mark} {row.name}" for row in rows])
    alternative = ngettext(
        "The record as a bar of {n} byte: {settings}. The table below says where each lies.",
        "The record as a bar of {n} bytes: {settings}. The table below says where each lies.",
        layout.length,
        settings=said,
    )
    alone = len(record.layouts) == 1
    return LayoutBlock(
        id="" if alone else f"layout-{record.id}-{layout.id}",
        title="" if alone else gettext("Layout {id}", id=layout.id),
        when=""
        if layout.fits is None
        else sentence(
            gettext("A car has this layout {condition}", condition=if_words(layout.fits, desk.names))
        ),
        look=() if layout.fits is None else look(layout.fits, desk.names),
        strip=strip(layout, marks, alternative),
        caption=ngettext("{n} byte.", "{n} bytes.", layout.length)
        + " "
        + _key({mark.kind for mark in marks.values()}),
        places=True,
        rows=tuple(rows),
        remarks=(checksum_words(layout.checksum),) if layout.checksum else (),
    )


def _key(kinds: set[SegmentKind]) -> str:
    """What the patterns of the strip mean, as far as they are used."""
    said = {
        "written": gettext("hatched: one recipe writes it"),
        "several": gettext("hatched and ruled: several recipes write it"),
        "clash": gettext("cross-hatched: recipes that clash"),
        "known": gettext("plain: known, no recipe writes it"),
    }
    used = [words for kind, words in said.items() if kind in kinds]
    return sentence("; ".join([*used, gettext("blank: free, or nobody knows")]))


def _line(
    desk: Desk,
    path: RecordPath,
    setting: Setting,
    mark: str,
    where: tuple[str, ...],
    touching: dict[str, dict[str, str]],
    clashes: dict[str, list[tuple[str, str]]],
    link: Link,
    prefix: str,
) -> SettingLine:
    recipes = desk.book.recipes
    pairs = clashes.get(setting.id, [])
    return SettingLine(
        id=prefix + setting.id,
        mark=mark,
        name=setting.name,
        about=prose.plain(setting.about),
        guess=setting.known_from == "guess",
        where=where,
        values=_values(setting),
        recipes=tuple(
            Ref(recipes[id].title, link(links.recipe(id)), gettext("to {value}", value=words))
            for id, words in touching.get(setting.id, {}).items()
        ),
        clash="; ".join(
            gettext("{first} and {second}", first=recipes[a].title, second=recipes[b].title) for a, b in pairs
        ),
    )


def _choice(choice: Choice) -> str:
    words = choice.shown or choice.means
    return words if choice.raw is None else f"{choice.raw}: {words}"


def _values(setting: Setting) -> str:
    kind = setting.kind
    if isinstance(kind, Choices):
        return "; ".join(_choice(c) for c in kind.choices)
    if isinstance(kind, Number):
        said = gettext(
            "{min} to {max} {unit} in steps of {step}",
            min=number(kind.min),
            max=number(kind.max),
            unit=kind.unit,
            step=step(setting),
        )
        return "; ".join([said, *(_choice(c) for c in kind.special)])
    return gettext("text of up to {n} characters", n=kind.length)


def _touching(desk: Desk, path: RecordPath, layout: str | None) -> dict[str, dict[str, str]]:
    """By setting: which recipe writes what, in words."""
    out: dict[str, dict[str, str]] = {}
    for recipe, field in desk.book.index.touching(path, layout):
        words = with_unit(field.definition, field.to_words)
        out.setdefault(field.setting.setting, {})[recipe] = (
            gettext("{value}, or as you choose", value=words) if field.asked else words
        )
    return out


def _clashes(desk: Desk, path: RecordPath, layout: str | None) -> dict[str, list[tuple[str, str]]]:
    """By setting: the pairs of recipes that cannot both be done."""
    out: dict[str, list[tuple[str, str]]] = {}
    seen: Iterable[str] = dict.fromkeys(recipe for recipe, _ in desk.book.index.touching(path, layout))
    for recipe in seen:
        for meeting in desk.book.meetings(recipe):
            if (
                meeting.clashes
                and (meeting.record, meeting.layout) == (path, layout)
                and recipe < meeting.other
            ):
                for setting in meeting.settings:
                    out.setdefault(setting.setting, []).append((recipe, meeting.other))
    return out
