"""A recipe's page."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from ...car import functions
from ...car.values import with_unit
from ...speech import N_, gettext
from ...trust import risk
from ...work.loading import card_size
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

POWER = {"key-off": N_("key off"), "key-on": N_("key on"), "engine-running": N_("engine running")}
_HARM = {"death": N_("death"), "serious": N_("serious injury"), "minor": N_("minor injury")}
_ORIGIN = {
    "maker": N_("From the maker."),
    "club": N_("Kept by the club."),
    "member": N_("Passed on by a member."),
    "unknown": N_("Nobody knows where it comes from."),
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
        harm = (
            gettext(_HARM[hazard.harm])
            if hazard.harm in _HARM
            else gettext("{severity} loss, nobody hurt", severity=gettext(risk.severity(hazard)))
        )
        rows.append(
            HazardRow(
                signal=SIGNALS[word],
                hazard=sentence(hazard.hazard if at < by_rule else prose.plain(hazard.hazard)),
                consequence=sentence(hazard.consequence),
                avoid=sentence(hazard.avoid),
                harm=harm,
                likelihood=gettext(hazard.likelihood),
                level=gettext(risk.risk(hazard)),
                source=""
                if at < authored
                else gettext("by rule")
                if at < by_rule
                else gettext("from reports"),
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
    positions = dict.fromkeys(gettext(POWER[one.power]) for one in every if one.power is not None)
    ready = tuple(dict.fromkeys(sentence(one.text) for one in every if one.kind == "have-ready"))
    units = dict.fromkeys((one.module, one.place) for one in every if one.module)
    locked = dict.fromkeys(desk.unit(one.module, one.place) for one in every if one.kind == "unlock")
    modules = Markup(", ").join(
        Markup('<a href="{}">{}</a>').format(link(links.module(module or "")), desk.unit(module, place))
        for module, place in units
    )
    acts_on = []
    for function in book.functions(recipe.id):
        keeps = functions.keeps(function)
        acts_on.append(functions.words(function) + (f" ({keeps})" if keeps else ""))
    way = {"automatic": gettext("From your note, bit by bit"), "none": gettext("None")}
    facts = [
        Fact(
            gettext("Time"),
            gettext(
                "{time}, of which {key_on} with the key on",
                time=minutes_words(total),
                key_on=minutes_words(key_on),
            ),
        ),
        Fact(
            gettext("Key"),
            sentence(gettext("{positions}, as the steps say", positions=list_words(list(positions)))),
        ),
        Fact(gettext("Have ready"), ready or (gettext("Paper and a pen for the note."),)),
        Fact(
            gettext("Access"),
            gettext("A code is needed for {modules}", modules=list_words(list(locked)))
            if locked
            else gettext("No code is needed"),
        ),
        Fact(gettext("Modules"), modules),
        Fact(gettext("Acts on"), "; ".join(acts_on)),
        Fact(
            gettext("Way back"),
            way[recipe.way_back] if isinstance(recipe.way_back, str) else gettext("By its own steps"),
        ),
    ]
    if recipe.alone:
        facts.append(Fact(gettext("Alone"), gettext("Do it alone, not in one job with other recipes")))
    facts.append(
        Fact(
            gettext("Sheet code"),
            Markup('<span class="asf-letters">{}</span>').format(book.codes(recipe.id).sheet),
        )
    )
    return tuple(facts)


def _media(desk: Desk, media: Media, link: Link) -> tuple[Fact, ...]:
    how = prose.render(media.origin_how, lambda other: link(links.recipe(other)))
    return (
        Fact(gettext("Into"), desk.unit(media.module, None)),
        Fact(
            gettext("File"),
            Markup(gettext("<code>{file}</code>, version {version}")).format(
                file=media.name, version=media.version
            ),
        ),
        Fact(gettext("Size"), size_words(media.size)),
        Fact("SHA-256", Markup("<code>{}</code>").format(media.sha256)),
        Fact(gettext("Where it comes from"), (gettext(_ORIGIN[media.origin_from]), how)),
        Fact(
            gettext("Card"),
            gettext(
                "{size}, formatted as {file_system}", size=card_size(media), file_system=media.file_system
            ),
        ),
        Fact(gettext("Menu"), " → ".join(media.menu)),
        Fact(gettext("Loading takes"), gettext("about {time}", time=minutes_words(media.minutes))),
        Fact(
            gettext("As found"),
            gettext(
                "{screen} shows {version}",
                screen=media.reading_where,
                version=list_words(media.reading_before, "or"),
            ),
        ),
        Fact(
            gettext("As left"),
            gettext("{screen} shows {version}", screen=media.reading_where, version=media.reading_after),
        ),
    )


def _way_back(recipe: Recipe) -> WayBack:
    if recipe.way_back == "none":
        return WayBack((gettext("There is none. Whatever this recipe does stays done."),), ())
    if recipe.way_back == "automatic":
        return WayBack(
            (
                gettext(
                    "For each record you wrote, in reverse order: read it. If the settings named above still"
                    " hold what you wrote, take exactly their bits from your note; all other bits stay as"
                    " they are. Write, restart as in the job, read back, and carry out the checks the other"
                    " way round."
                ),
                gettext(
                    "If a setting holds something else by now, somebody or something has changed it since:"
                    " stop and ask."
                ),
                gettext(
                    "If the module's software is another one than you noted, its layout may be another one"
                    " too. Do not write old bytes: put each setting back by its value, in the layout the car"
                    " has now, or ask the club."
                ),
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
