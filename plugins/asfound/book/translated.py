"""The book in another language: its texts from translations, everything else from the original.

What has no translation stays in the language it was written in and says so (``speech.Original``). Ids,
conditions, changes and values are never touched, so that codes, edits and the number and rank of hazards are
the original's; a choice keeps its word as its name and has another to be read (``Choice.shown``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from ..car.origin import Origin
from ..car.records import Module
from ..car.settings import Choice, Choices, Kind, Number
from ..car.vehicles import VehicleLine
from ..source.translations import Translation, folded
from ..speech import Original
from ..trust.reports import Club, Report
from ..work.recipes import Ask, Recipe
from .book import Book

Say = Callable[[str], str]
Thing = TypeVar("Thing", Recipe, Module, VehicleLine, Club)


def in_language(book: Book, tag: str, below: str = "") -> Book:
    """The book as pages of that language show it; the book itself where it was written in it.

    ``below``: where these pages lie on the club's site, if not at its top.
    """
    if tag == book.club.language and not below:
        return book
    own, memories = book.club.language, book.loaded.translations.get(tag, {})

    def said(thing: Thing, part: Callable[[Thing, Say], Thing]) -> Thing:
        memory = memories[name].memory if (name := file_of(thing)) in memories else {}
        return part(thing, lambda text: _say(text, memory, own))

    loaded = book.loaded
    translated = replace(
        loaded,
        club=replace(said(book.club, club), site=_below(book.club.site, below)),
        lines={id: said(one, line) for id, one in loaded.lines.items()},
        modules={id: said(one, module) for id, one in loaded.modules.items()},
        recipes={id: said(one, recipe) for id, one in loaded.recipes.items()},
        reports={id: tuple(_report(one, own) for one in of) for id, of in loaded.reports.items()},
    )
    return Book(translated, original=book)


def _below(site: str | None, below: str) -> str | None:
    return f"{site.rstrip('/')}/{below}/" if site and below else site


def _say(text: str, memory: Mapping[str, str], own: str) -> str:
    if not text:
        return text
    return memory.get(folded(text)) or Original(text, own)


def file_of(thing: Recipe | Module | VehicleLine | Club) -> str:
    """The file a thing is written in, without its ending, and a recipe's without its folder's repetition."""
    return thing.origin.file.removesuffix(".yml").removesuffix("/recipe")


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one file is translated: its texts, those without a translation, and what translates nothing."""

    of: str
    texts: tuple[str, ...]
    missing: tuple[str, ...]
    stale: tuple[Origin, ...]


def progress(book: Book, tag: str) -> tuple[Progress, ...]:
    """How far each file of the book is translated, in the order of the book."""
    memories = book.loaded.translations.get(tag, {})
    return tuple(_progress(name, tuple(texts), memories.get(name)) for name, texts in texts_of(book).items())


def texts_of(book: Book) -> Mapping[str, tuple[str, ...]]:
    """Every text that can be translated, each once, by its file."""
    out: dict[str, tuple[str, ...]] = {}

    def collect(thing: Thing, part: Callable[[Thing, Say], Thing]) -> None:
        found: dict[str, None] = {}

        def say(text: str) -> str:
            if text:
                found[folded(text)] = None
            return text

        part(thing, say)
        out[file_of(thing)] = tuple(found)

    collect(book.club, club)
    for each_line in book.lines.values():
        collect(each_line, line)
    for each_module in book.modules.values():
        collect(each_module, module)
    for each_recipe in book.recipes.values():
        collect(each_recipe, recipe)
    return out


def _progress(name: str, texts: tuple[str, ...], found: Translation | None) -> Progress:
    entries = found.entries if found else ()
    known = {folded(one.text) for one in entries}
    missing = tuple(text for text in texts if text not in known)
    return Progress(name, texts, missing, tuple(o.origin for o in entries if folded(o.text) not in texts))


def club(one: Club, say: Say) -> Club:
    """The club; its name stays."""
    return replace(one, about=say(one.about), contact=say(one.contact))


def line(one: VehicleLine, say: Say) -> VehicleLine:
    """A vehicle line; its name and those of its models and phases can be translated too."""
    return replace(
        one,
        name=say(one.name),
        about=say(one.about),
        phases=tuple(replace(p, name=say(p.name), look=say(p.look)) for p in one.phases),
        models=tuple(replace(m, name=say(m.name), look=say(m.look)) for m in one.models),
        markets=tuple(replace(m, name=say(m.name), look=say(m.look)) for m in one.markets),
        equipment=tuple(replace(e, name=say(e.name), look=say(e.look)) for e in one.equipment),
        fitted=tuple(
            replace(f, places=tuple(replace(p, name=say(p.name)) for p in f.places)) for f in one.fitted
        ),
        power=one.power and replace(one.power, measured=say(one.power.measured)),
    )


def module(one: Module, say: Say) -> Module:
    """A module; search words stay as tools list them."""
    return replace(
        one,
        name=say(one.name),
        duty=say(one.duty),
        where=say(one.where),
        restart_how=say(one.restart_how),
        records=tuple(
            replace(
                record,
                name=say(record.name),
                settings=tuple(
                    replace(s, name=say(s.name), about=say(s.about), kind=_kind(s.kind, say))
                    for s in record.settings
                ),
            )
            for record in one.records
        ),
    )


def _kind(kind: Kind, say: Say) -> Kind:
    match kind:
        case Choices(choices):
            return replace(kind, choices=_choices(choices, say))
        case Number():
            return replace(kind, special=_choices(kind.special, say))
        case _:
            return kind


def _choices(choices: tuple[Choice, ...], say: Say) -> tuple[Choice, ...]:
    """Choices with what they are called; all as they were where two would be called the same."""
    called = [say(choice.means) for choice in choices]
    if len(set(called)) < len(called):
        return choices
    return tuple(
        choice if words == choice.means else replace(choice, shown=words)
        for choice, words in zip(choices, called, strict=True)
    )


def recipe(one: Recipe, say: Say) -> Recipe:
    """A recipe: every text of its file, in its place."""
    media, gone = one.media, one.withdrawn
    return replace(
        one,
        title=say(one.title),
        purpose=say(one.purpose),
        annoyance=say(one.annoyance),
        changes=tuple(
            replace(c, to=replace(c.to, question=say(c.to.question))) if isinstance(c.to, Ask) else c
            for c in one.changes
        ),
        alternatives=tuple(replace(a, does=say(a.does)) for a in one.alternatives),
        media=media and replace(media, origin_how=say(media.origin_how)),
        hazards=tuple(
            replace(h, hazard=say(h.hazard), consequence=say(h.consequence), avoid=say(h.avoid))
            for h in one.hazards
        ),
        ready=tuple(say(item) for item in one.ready),
        before=tuple(
            replace(b, precheck=say(b.precheck), expect=say(b.expect), otherwise=say(b.otherwise))
            for b in one.before
        ),
        steps=tuple(replace(s, step=say(s.step)) for s in one.steps),
        checks=tuple(replace(c, check=say(c.check), expect=say(c.expect)) for c in one.checks),
        may_show=tuple(replace(m, message=say(m.message), means=say(m.means)) for m in one.may_show),
        faults_to_expect=tuple(replace(f, when=say(f.when), do=say(f.do)) for f in one.faults_to_expect),
        way_back=one.way_back if isinstance(one.way_back, str) else tuple(say(s) for s in one.way_back),
        pictures=tuple(replace(p, alt=say(p.alt), credit=say(p.credit)) for p in one.pictures),
        clashes=tuple(replace(c, because=say(c.because)) for c in one.clashes),
        withdrawn=gone and replace(gone, because=say(gone.because)),
        history=tuple(replace(h, what=say(h.what)) for h in one.history),
    )


def _report(one: Report, own: str) -> Report:
    """A member's own words, which nobody translates."""
    return replace(
        one,
        side_effects=one.side_effects and Original(one.side_effects, own),
        note=one.note and Original(one.note, own),
    )
