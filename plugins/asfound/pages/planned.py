"""A plan in words, for the command line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ..book import Book
from ..car.conditions import Condition
from ..car.fitting import Answer
from ..car.known import Known
from ..car.records import RecordPath
from ..car.values import decimal, with_unit
from ..car.words import look, say, why_not
from ..trust.risk import SIGNAL_WORDS, banner, signal_word
from ..work.edits import FieldEdit, NamesFieldEdit, position
from ..work.held import show_held
from ..work.log import Content
from ..work.operations import Operation
from ..work.plan import Plan
from ..work.recipes import Hazard
from ..work.worksheet import Row, Told, Worksheet
from .prose import plain
from .words import count_words, list_words, minutes_words


@dataclass(frozen=True, slots=True)
class Part:
    """One recipe of the plan: what the club says of it on such a car, and who needs it, if pulled in."""

    id: str
    title: str
    code: str
    standing: str
    needed_by: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A hazard under its signal word; ``of`` names the recipe where there are several."""

    word: str
    of: str
    hazard: str
    consequence: str
    avoid: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why there is no job, and what to do."""

    reason: str
    repair: str


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting of a record: what it holds, what it becomes ("" when it stays), its state ("" likewise)."""

    name: str
    holds: str
    becomes: str
    state: str


@dataclass(frozen=True, slots=True)
class Record:
    """A record of the worksheet, as its tool shows it; ``write`` is "" until it may be shown.

    ``marks`` has a caret below every pair that changes, for hex pairs.
    """

    title: str
    layout: str
    found: str
    write: str
    marks: str
    changed: str
    settings: tuple[Setting, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan in words. Empty texts and lists have nothing to say."""

    title: str
    parts: tuple[Part, ...]
    fits: str
    looks: tuple[str, ...]
    refusals: tuple[Refusal, ...]
    questions: tuple[str, ...]
    banner: str
    warnings: tuple[Caution, ...]
    facts: tuple[str, ...]
    records: tuple[Record, ...]
    missing: str
    operations: tuple[Operation, ...]

    @property
    def refused(self) -> bool:
        """Whether there is no job, or nothing may be written."""
        return bool(self.refusals or self.questions or any(record.notes for record in self.records))


def planned(book: Book, plan: Plan, sheet: Worksheet | None, known: Known) -> Planned:
    """The plan, and its worksheet when something was found, in words."""
    names = book.names
    questions = [
        f"{one.recipe} is done differently from car to car. Say whether it is {say(one.decides, names)}."
        for one in plan.questions
    ]
    looks = [words for one in plan.questions for words in look(one.decides, names)]
    if plan.fits.residual is not None and not plan.troubles:
        looks += look(plan.fits.residual, names)
    found = book.job_hazards((job.recipe.id for job in plan.jobs), plan.key_on_minutes)
    hazards = {hazard: book.recipes[of[0]].title if of else "" for hazard, of in found.items()}
    return Planned(
        title=_title(plan),
        parts=tuple(
            _part(book, plan, id, known)
            for id in dict.fromkeys((*(j.recipe.id for j in plan.jobs), *(q.recipe for q in plan.questions)))
        ),
        fits=_fits(plan.fits, book),
        looks=tuple(dict.fromkeys(looks)),
        refusals=tuple(Refusal(_with_reason(book, t.reason, t.because), t.repair) for t in plan.troubles),
        questions=tuple(questions),
        banner=banner(hazards) or "",
        warnings=tuple(_warnings(hazards, len(plan.jobs) > 1)),
        facts=tuple(facts(book, plan)) if plan.operations else (),
        records=tuple(_record(book, row) for row in sheet.rows) if sheet else (),
        missing=_missing(sheet) if sheet else "",
        operations=tuple(map(_sentences, plan.operations)),
    )


def as_lines(view: Planned) -> Iterator[str]:
    """The plan as lines of text."""
    yield from _head_lines(view)
    if view.refusals or view.questions:
        return
    for warning in view.warnings:
        of = f" ({warning.of})" if warning.of else ""
        yield from ("", f"{warning.word}{of}: {plain(warning.hazard)}")
        yield from (f"  {plain(warning.consequence)}", f"  {plain(warning.avoid)}")
    if view.facts:
        yield from ("", *view.facts)
    yield from _record_lines(view)
    if view.operations:
        yield from ("", "The job:")
    for number, one in enumerate(view.operations, 1):
        yield f"{number:>3}. {plain(one.text)}"
        if one.expect:
            yield f"     Expect: {plain(one.expect)}"
        if one.otherwise:
            yield f"     Else: {plain(one.otherwise)}"


def worksheet_lines(view: Planned) -> Iterator[str]:
    """The records and what to write, as lines of text; the job itself stands on the sheet."""
    yield from _head_lines(view)
    if view.banner:
        yield f"{view.banner}: read the hazards of the sheet first."
    yield from _record_lines(view)


def _head_lines(view: Planned) -> Iterator[str]:
    yield view.title
    for part in view.parts:
        needed = f" (needed by {part.needed_by})" if part.needed_by else ""
        if part.title != view.title:
            yield f"  {part.title}{needed}"
        yield f"    {part.id}, sheet code {part.code}, {part.standing}"
    for refusal in view.refusals:
        yield from ("", refusal.reason, f"  {refusal.repair}")
    for question in view.questions:
        yield from (
            "",
            f"Must be known first: {question}",
            "  Say so with --car FILE, as the pages export it.",
        )
    if not view.refusals and view.fits:
        yield from ("", view.fits)
    yield from (f"  {words}" for words in view.looks)


def _record_lines(view: Planned) -> Iterator[str]:
    """The worksheet as lines of text."""
    for one in view.records:
        yield from ("", one.title + (f", layout {one.layout}" if one.layout else ""))
        if one.found:
            yield f"  as found  {one.found}"
        if one.write:
            yield f"  to write  {one.write}"
            if one.marks.strip():
                yield f"            {one.marks}"
            yield f"  {one.changed}"
        for setting in one.settings:
            becomes = f" -> {setting.becomes}" if setting.becomes else ""
            state = f"  [{setting.state}]" if setting.state else ""
            yield f"  {setting.name}: {setting.holds}{becomes}{state}"
        yield from (f"  STOP: {note}" for note in one.notes)
    if view.missing:
        yield from ("", view.missing)


def _title(plan: Plan) -> str:
    if not plan.operations:
        return "No job"
    if len(plan.jobs) == 1:
        return plan.jobs[0].recipe.title
    return f"{count_words(len(plan.jobs), 'recipe', 'recipes')} in one job"


def _part(book: Book, plan: Plan, recipe: str, known: Known) -> Part:
    return Part(
        recipe,
        book.recipes[recipe].title,
        book.codes(recipe).sheet,
        _standing(book, recipe, known),
        list_words(list(plan.needed_by.get(recipe, ()))),
    )


def _standing(book: Book, recipe: str, known: Known) -> str:
    """What the club says of it on every variant the car can be, as the recipe's page has it."""
    labels = set()
    for (line, model, phase), fits in book.cells(recipe).items():
        possible = (
            (known.lines is None or line in known.lines)
            and (known.models is None or model in known.models)
            and (known.phases is None or phase in known.phases)
        )
        if possible and fits.kind != "no":
            labels.add(book.standing(recipe, (line, model, phase)).label)
    if len(labels) == 1:
        return labels.pop().upper()
    return "VETTED IN PART" if "vetted" in labels else "NOT VETTED"


def _fits(fits: Answer, book: Book) -> str:
    if fits.kind == "if" and fits.residual is not None:
        return f"Fits if it is {say(fits.residual, book.names)}."
    return "The car fits." if fits.kind == "fits" else ""


def _with_reason(book: Book, reason: str, because: Sequence[Condition]) -> str:
    if not because:
        return reason
    return f"{reason.rstrip('.')}: {why_not(because, book.names)}."


def _warnings(hazards: Mapping[Hazard, str], several: bool) -> Iterator[Caution]:
    for one in sorted(hazards, key=lambda h: SIGNAL_WORDS.index(signal_word(h))):
        texts = map(_ended, (one.hazard, one.consequence, one.avoid))
        yield Caution(signal_word(one), hazards[one] if several else "", *texts)


def _ended(text: str) -> str:
    """With a full stop, unless it has one, inside quotation marks or out."""
    return text if text.rstrip("”*_").endswith((".", "!", "?", "…")) else f"{text}."


def _sentences(one: Operation) -> Operation:
    """An operation whose texts end as sentences do, and say what to do with things that are only named."""
    expect, otherwise = (_ended(text) if text else text for text in (one.expect, one.otherwise))
    text = f"Have at hand: {one.text}" if one.kind == "have-ready" else one.text
    return replace(one, text=_ended(text), expect=expect, otherwise=otherwise)


def facts(book: Book, plan: Plan) -> Iterator[str]:
    """Visits, time and battery of a plan that has a job; whole sentences."""
    visits = [
        f"{list_words([_name(book, p) for p in visit])} of {book.unit(visit[0].module, visit[0].place)}"
        for visit in plan.visits
    ]
    if visits:
        yield f"{count_words(len(visits), 'visit', 'visits').capitalize()}: {'; '.join(visits)}."
    if not plan.proven:
        least = count_words(plan.at_least, "visit", "visits")
        yield f"There may be a shorter order; at least {least} are needed."
    for first, second in plan.together:
        yield f"{second} needs {first}; the two are written together."
    lasts, drains = minutes_words(plan.minutes), minutes_words(plan.key_on_minutes)
    yield f"About {lasts}, {drains} of them with the key on."
    if plan.charge is not None:
        needed, spare = (decimal(round(amount, 1)) for amount in (plan.charge.needed, plan.charge.spare))
        yield f"Takes {needed} Ah out of the battery, which can spare {spare} Ah."
    if plan.supply:
        yield f"Before you begin, connect a battery supply. {' '.join(plan.supply)}"


def _name(book: Book, path: RecordPath) -> str:
    record = book.record(path)
    return record.name if record else str(path)


def _record(book: Book, row: Row) -> Record:
    found, write = (_shown(row, content) for content in (row.found, row.write))
    changed = ", ".join(position(byte, bit) for byte, bit in row.changed)
    becomes: dict[str, tuple[str, str]] = {}
    if row.assessment is not None and row.edit is not None:
        fields: Sequence[FieldEdit | NamesFieldEdit] = row.edit.fields
        for field, state in zip(fields, row.assessment.fields, strict=True):
            becomes[field.setting.setting] = (with_unit(field.definition, field.to_words), state.state)
    return Record(
        title=f"{book.unit(row.path.module, row.path.place)}: {row.record.name} ({row.path})",
        layout=row.layout or "",
        found=found,
        write=write,
        marks=_marks(row),
        changed=f"Bits that change: {changed}." if changed else "Nothing changes." * bool(write),
        settings=tuple(
            Setting(told.name, _holds(told), *becomes.get(told.setting, ("", ""))) for told in row.told
        ),
        notes=(*row.stops, *row.asks),
    )


def _holds(told: Told) -> str:
    return told.words if told.known else f"{told.words} (no known meaning)"


def _shown(row: Row, content: Content | None) -> str:
    if content is None:
        return ""
    if isinstance(content, bytes):
        return show_held(row.record, content)
    return "; ".join(f"{name}: {words}" for name, words in content.items())


def _marks(row: Row) -> str:
    if not isinstance(row.write, bytes) or row.record.shown_as is not None:
        return ""
    touched = {byte for byte, _ in row.changed}
    return " ".join("^^" if byte in touched else "  " for byte in range(len(row.write))).rstrip()


def _missing(sheet: Worksheet) -> str:
    if not sheet.missing:
        return ""
    return (
        f"Not noted yet: {list_words([str(p) for p in sheet.missing])}. What to write is shown when all are."
    )
