"""A recipe's page."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car import functions
from ...car.values import with_unit
from ...trust import risk
from ...work.recipes import ExpectedFault, Hazard, HistoryEntry, Media, Message, Recipe
from .. import links, prose
from ..links import Link
from ..words import list_words, minutes_words, sentence, size_words
from .changes import RecordTable
from .common import Fact, HazardRow, Signal, Status, Withdrawal
from .desk import Desk
from .drawn import risks
from .examples import Example
from .fit import Fit, fit
from .job import Job, jobs
from .records import examples, record_tables
from .related import Related, related
from .reports import ReportRow, Tallies, report_rows, tallies
from .status import status, withdrawal

POWER = {"key-off": "key off", "key-on": "key on", "engine-running": "engine running"}
_CATEGORY = {
    "safety": "keeps people safe",
    "security": "protects the car",
    "environment": "protects the surroundings",
}
_HARM = {"death": "death", "serious": "serious injury", "minor": "minor injury"}
_ORIGIN = {
    "maker": "From the maker.",
    "club": "Kept by the club.",
    "member": "Passed on by a member.",
    "unknown": "Nobody knows where it comes from.",
}


SIGNALS = {
    word: Signal(word, risk.alert_symbol(word), f"asf-signal--{word.lower()}") for word in risk.SIGNAL_WORDS
}


@dataclass(frozen=True, slots=True)
class CheckRow:
    """What proves that it worked."""

    check: str
    expect: str
    power: str


@dataclass(frozen=True, slots=True)
class AlternativeRow:
    """Another value worth offering."""

    name: str
    to: str
    does: str


@dataclass(frozen=True, slots=True)
class WayBack:
    """The way back: sentences, and steps where the author gave some."""

    says: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecipePage:
    """What the page says, in its order; ``several``: more than one record is written.

    A withdrawn recipe has no jobs, examples or alternatives.
    """

    title: str
    annoyance: str
    status: Status
    withdrawal: Withdrawal | None
    banner: tuple[HazardRow, ...]
    purpose: Markup
    glance: tuple[Fact, ...]
    fit: Fit
    hazards: tuple[HazardRow, ...]
    risks: Markup
    changes: tuple[RecordTable, ...]
    media: tuple[Fact, ...]
    jobs: tuple[Job, ...]
    several: bool
    messages: tuple[Message, ...]
    faults: tuple[ExpectedFault, ...]
    checks: tuple[CheckRow, ...]
    way_back: WayBack
    examples: tuple[Example, ...]
    alternatives: tuple[AlternativeRow, ...]
    related: Related
    tallies: Tallies
    reports: tuple[ReportRow, ...]
    history: tuple[HistoryEntry, ...]
    by: str
    code: str
    sheet: str
    contact: str


def recipe_page(desk: Desk, recipe: Recipe, link: Link) -> RecipePage:
    """Everything the page of a recipe says."""
    hazards = _hazards(desk, recipe)
    live = recipe.status != "withdrawn"
    several = max((len(form.records) for form in desk.book.forms(recipe.id)), default=0) > 1
    return RecipePage(
        title=recipe.title,
        annoyance=sentence(recipe.annoyance),
        status=status(desk, recipe),
        withdrawal=withdrawal(desk, recipe, link),
        banner=tuple(row for row in hazards if row.signal == hazards[0].signal),
        purpose=prose.render(recipe.purpose, lambda other: link(links.recipe(other))),
        glance=_glance(desk, recipe, link),
        fit=fit(desk, recipe),
        hazards=hazards,
        risks=risks([hazard for _, hazard in _ranked(desk, recipe)]),
        changes=record_tables(desk, recipe),
        media=_media(desk, recipe.media, link) if recipe.media else (),
        jobs=jobs(desk, recipe, link) if live else (),
        several=several,
        messages=recipe.may_show,
        faults=recipe.faults_to_expect,
        checks=tuple(CheckRow(sentence(c.check), sentence(c.expect), POWER[c.power]) for c in recipe.checks),
        way_back=_way_back(recipe),
        examples=examples(desk, recipe) if live else (),
        alternatives=_alternatives(desk, recipe) if live else (),
        related=related(desk, recipe, link),
        tallies=tallies(desk, recipe),
        reports=report_rows(desk, recipe, link),
        history=tuple(sorted(recipe.history, key=lambda entry: entry.on, reverse=True)),
        by=recipe.by,
        code=desk.book.codes(recipe.id).sheet,
        sheet=link(links.sheet(recipe.id)),
        contact=desk.book.club.contact,
    )


def _hazards(desk: Desk, recipe: Recipe) -> tuple[HazardRow, ...]:
    """All hazards, as ``_ranked`` has them."""
    authored = len(recipe.hazards)
    by_rule = authored + len(desk.book.standing_hazards(recipe.id))
    rows = []
    for number, (at, hazard) in enumerate(_ranked(desk, recipe), 1):
        word = risk.signal_word(hazard)
        harm = _HARM.get(hazard.harm) or f"{risk.severity(hazard)} loss, nobody hurt"
        rows.append(
            HazardRow(
                signal=SIGNALS[word],
                hazard=sentence(hazard.hazard if at < by_rule else prose.plain(hazard.hazard)),
                consequence=sentence(hazard.consequence),
                avoid=sentence(hazard.avoid),
                harm=harm,
                likelihood=hazard.likelihood,
                level=risk.risk(hazard),
                source="" if at < authored else "by rule" if at < by_rule else "from reports",
                number=number,
            )
        )
    return tuple(rows)


def _ranked(desk: Desk, recipe: Recipe) -> list[tuple[int, Hazard]]:
    """The hazards with their places in the book's order, the highest signal word first."""
    return sorted(
        enumerate(desk.book.hazards(recipe.id)),
        key=lambda one: risk.SIGNAL_WORDS.index(risk.signal_word(one[1])),
    )


def _glance(desk: Desk, recipe: Recipe, link: Link) -> tuple[Fact, ...]:
    book = desk.book
    total, key_on = book.minutes(recipe.id)
    every = [one for frame in book.frames(recipe.id) for one in frame]
    positions = dict.fromkeys(POWER[one.power] for one in every if one.power is not None)
    ready = tuple(dict.fromkeys(sentence(one.text) for one in every if one.kind == "have-ready"))
    units = dict.fromkeys((one.module, one.place) for one in every if one.module)
    locked = dict.fromkeys(desk.unit(one.module, one.place) for one in every if one.kind == "unlock")
    modules = Markup(", ").join(
        Markup('<a href="{}">{}</a>').format(link(links.module(module or "")), desk.unit(module, place))
        for module, place in units
    )
    acts_on = []
    for function in book.functions(recipe.id):
        category = _CATEGORY.get(functions.category(function))
        acts_on.append(functions.words(function) + (f" ({category})" if category else ""))
    way = {"automatic": "From your note, bit by bit", "none": "None"}
    facts = [
        Fact("Time", f"{minutes_words(total)}, of which {minutes_words(key_on)} with the key on"),
        Fact("Key", sentence(list_words(list(positions)) + ", as the steps say")),
        Fact("Have ready", ready or ("Paper and a pen for the note.",)),
        Fact("Access", f"A code is needed for {list_words(list(locked))}" if locked else "No code is needed"),
        Fact("Modules", modules),
        Fact("Acts on", "; ".join(acts_on)),
        Fact("Way back", way[recipe.way_back] if isinstance(recipe.way_back, str) else "By its own steps"),
    ]
    if recipe.alone:
        facts.append(Fact("Alone", "Do it alone, not in one job with other recipes"))
    facts.append(
        Fact("Sheet code", Markup('<span class="asf-letters">{}</span>').format(book.codes(recipe.id).sheet))
    )
    return tuple(facts)


def _media(desk: Desk, media: Media, link: Link) -> tuple[Fact, ...]:
    largest = f" to {media.largest_gb} GB" if media.largest_gb is not None else " GB or more"
    how = prose.render(media.origin_how, lambda other: link(links.recipe(other)))
    return (
        Fact("Into", desk.unit(media.module, None)),
        Fact("File", Markup("<code>{}</code>, version {}").format(media.name, media.version)),
        Fact("Size", size_words(media.size)),
        Fact("SHA-256", Markup('<code class="asf-long">{}</code>').format(media.sha256)),
        Fact("Where it comes from", (_ORIGIN[media.origin_from], how)),
        Fact("Card", f"{media.smallest_gb}{largest}, formatted as {media.file_system}"),
        Fact("Menu", " → ".join(media.menu)),
        Fact("Loading takes", f"about {minutes_words(media.minutes)}"),
        Fact("As found", f"{media.reading_where} shows {list_words(media.reading_before, 'or')}"),
        Fact("As left", f"{media.reading_where} shows {media.reading_after}"),
    )


def _way_back(recipe: Recipe) -> WayBack:
    if recipe.way_back == "none":
        return WayBack(("There is none. Whatever this recipe does stays done.",), ())
    if recipe.way_back == "automatic":
        return WayBack(
            (
                "For each record you wrote, in reverse order: read it. If the settings named above still "
                "hold what you wrote, take exactly their bits from your note; all other bits stay as they "
                "are. "
                "Write, restart as in the job, read back, and carry out the checks the other way round.",
                "If a setting holds something else by now, somebody or something has changed it since: stop "
                "and ask.",
                "If the module's software is another one than you noted, its layout may be another one too. "
                "Do not write old bytes: put each setting back by its value, in the layout the car has now, "
                "or ask the club.",
            ),
            (),
        )
    return WayBack((), tuple(sentence(step) for step in recipe.way_back))


def _alternatives(desk: Desk, recipe: Recipe) -> tuple[AlternativeRow, ...]:
    rows = []
    for one in recipe.alternatives:
        setting = desk.book.setting(one.setting)
        if setting is not None:
            rows.append(AlternativeRow(setting.name, with_unit(setting, one.to), sentence(one.does)))
    return tuple(rows)
