"""What the club and its members say: reports that count or no longer do, signatures void, labels turned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields as fields_of
from dataclasses import replace

from ..book import Book
from ..source.findings import printable
from ..trust.evidence import Count, Weighed
from ..trust.reports import Report
from ..trust.vetting import Standing, vetted
from ..work.recipes import Recipe
from .both import NOT_COMPUTED, Both, change
from .cars import variants_words
from .review import Change, Commit, Fact, Subject, facts, from_to

Cell = tuple[str, str, str]
WEIGHTS = {
    "counts": "it counts",
    "superseded": "the same member reported later on the same car",
    "earlier": "what is done to such a car has changed since",
    "unknown code": "its sheet code is none the recipe has or had",
    "mistyped": "its sheet code is mistyped",
    "other car": "the recipe does nothing on the reported car",
    "": "what the recipe writes cannot be computed",
}
UNPUBLISHED = "the sheet it followed has changed, and the code of that is not among the past ones"
VALIDITIES = {
    "counts": "it counts",
    "earlier sheet": "it is for an earlier sheet",
    "mistyped": "its sheet code is mistyped",
    "by the author": "it is the author's own",
    "no reviewer that day": "its owner was no reviewer that day",
    "twice": "its owner has signed already",
    "": "what the recipe writes cannot be computed",
}


def reports(both: Both, subject: Subject, was: Recipe | None, now: Recipe | None) -> Iterator[Change]:
    """Reports added, removed, rewritten; reports that count no longer, or again."""
    old, new = (_weights(book, r) for book, r in ((both.before, was), (both.after, now)))
    sheet = _sheet(both.before, was)
    for id in sorted({*old, *new}):
        if id not in new:
            says = f"A report by {old[id][0].by} is gone."
            yield change(subject, "report-removed", says, facts(("was", _report_words(both, old[id][0]))))
            continue
        report, weight = new[id]
        if id not in old:
            own = now is not None and report.by == now.by
            plain = report.outcome == "worked" and not report.side_effects and weight == "counts" and not own
            says = f"A report by {report.by}{', who wrote the recipe,' if own else ''} is new."
            yield change(subject, "report-added", says, facts(
                ("says", _report_words(both, report)),
                ("weighs", "" if weight == "counts" else WEIGHTS[weight]),
            ), "note" if plain else "look")  # fmt: skip
            continue
        before, weighed = old[id]
        if was and now and _rewritten(before, report, was.id, now.id):
            says = f"The report of {report.by}, {before.date}, is rewritten."
            yield change(subject, "report-changed", says, tuple(_differences(before, report)))
        if weighed == "counts" and weight != "counts":
            says = f"The report of {report.by}, {report.date}, no longer counts."
            why = WEIGHTS[weight]
            if weight == "unknown code" and report.sheet_code == sheet:
                why = UNPUBLISHED
            particulars = facts(("why", why), ("said", _report_words(both, report)))
            yield change(subject, "report-no-longer-counts", says, particulars)
        elif weight == "counts" and weighed != "counts":
            says = f"The report of {report.by}, {report.date}, counts now."
            yield change(subject, "report-counts-again", says, facts(("before", WEIGHTS[weighed])))


def _weights(book: Book, recipe: Recipe | None) -> Mapping[str, tuple[Report, str]]:
    if recipe is None:
        return {}
    try:
        weighed: tuple[Weighed, ...] = book.evidence(recipe.id).weighed
    except NOT_COMPUTED:
        return {report.id: (report, "") for report in book.reports(recipe.id)}
    return {one.report.id: (one.report, one.weight) for one in weighed}


def _sheet(book: Book, recipe: Recipe | None) -> str:
    try:
        return book.codes(recipe.id).sheet if recipe else ""
    except NOT_COMPUTED:
        return ""


def _rewritten(before: Report, after: Report, was: str, now: str) -> bool:
    return any(
        getattr(before, f.name) != getattr(after, f.name)
        for f in fields_of(Report)
        if f.compare and not (f.name == "recipe" and (before.recipe, after.recipe) == (was, now))
    )


def _differences(before: Report, after: Report) -> Iterator[Fact]:
    for field in fields_of(Report):
        old, new = getattr(before, field.name), getattr(after, field.name)
        if field.compare and old != new:
            yield from from_to(f"{field.name}: {_plain(old)}", f"{field.name}: {_plain(new)}")


def _plain(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {held}" for key, held in value.items()) or "nothing"
    if hasattr(value, "__dataclass_fields__"):
        parts = ((f.name, getattr(value, f.name)) for f in fields_of(value))  # type: ignore[arg-type]
        return "; ".join(f"{name} {_plain(part)}" for name, part in parts if part)
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value) or "nothing"


def _report_words(both: Both, report: Report) -> str:
    car = variants_words([(report.car.line, report.car.model, report.car.phase)], both.world, both.names)
    side = f" · side effects: {report.side_effects}" if report.side_effects else ""
    note = f" · {report.note}" if report.note else ""
    return f"{report.date}, {car}: {report.outcome}{side}{note}"


def signatures(both: Both, subject: Subject, was: Recipe | None, now: Recipe | None) -> Iterator[Change]:
    """Signatures added, removed, rewritten; signatures that a change voids, and whose."""
    old, new = (_signed(book, r) for book, r in ((both.before, was), (both.after, now)))
    for handle in sorted({*old, *new}):
        if handle not in new:
            says = f"The signature of {handle} is taken away."
            yield change(subject, "signature-removed", says, facts(("it did", VALIDITIES[old[handle][1]])))
            continue
        signature, validity = new[handle]
        hint = _hint(both, f"changes/{now.id}/vetted/{handle}.yml", handle) if now else ""
        if handle not in old:
            says = f"{handle} signs: {VALIDITIES[validity]}."
            yield change(subject, "signature-added", says, facts(("git says", hint)))
            continue
        before, valid = old[handle]
        if (before[1:]) != (signature[1:]):
            says = f"The signature of {handle} is rewritten: {VALIDITIES[validity]}."
            yield change(subject, "signature-changed", says, (
                *from_to(*(f"{code} on {on}" for _, code, on, _ in (before, signature))),
                *facts(("git says", hint)),
            ))  # fmt: skip
        elif valid == "counts" and validity != "counts":
            says = f"The signature of {handle} no longer counts: {VALIDITIES[validity]}."
            yield change(subject, "signature-void", says)
        elif valid != "counts" and validity == "counts":
            says = f"The signature of {handle} counts again."
            yield change(subject, "signature-counts-again", says, facts(("before", VALIDITIES[valid])))


def _signed(book: Book, recipe: Recipe | None) -> Mapping[str, tuple[tuple[str, str, str, str], str]]:
    """By handle: the signature's by, code, day and note, and whether it counts."""
    if recipe is None:
        return {}
    try:
        examined = [(one.signature, str(one.validity)) for one in book.examined(recipe.id)]
    except NOT_COMPUTED:
        examined = [(signature, "") for signature in book.signatures(recipe.id)]
    return {s.by: ((s.by, s.sheet_code, s.on, s.note), validity) for s, validity in examined}


def _hint(both: Both, path: str, handle: str) -> str:
    """What git says of who added a file. It proves nothing: a commit can carry any name."""
    if path not in both.files:
        return ""
    if path not in both.signed:
        return "nothing: the history here does not reach far enough"
    commit = both.signed[path]
    if commit is None:
        return "nothing yet: the file is not committed"
    named = (
        "is named there"
        if names_them(commit, handle)
        else "is not named there, which proves nothing: ask them"
    )
    who = f"{printable(commit.author)} <{printable(commit.email)}>"
    return f"commit {commit.id[:10]} by {who}; {handle} {named}"


def names_them(commit: Commit, handle: str) -> bool:
    """Whether a commit's author or address has the handle as a word."""
    text = f" {commit.author} {commit.email} ".casefold()
    cut = "".join(sign if sign.isalnum() or sign == "-" else " " for sign in text)
    return f" {handle} " in cut


def labels(both: Both, subject: Subject, was: Recipe | None, now: Recipe | None) -> Iterator[Change]:
    """Variants of which the club says something else now, and why."""
    old, new = (_standings(book, r) for book, r in ((both.before, was), (both.after, now)))
    turned: dict[tuple[str, str, tuple[str, ...]], list[Cell]] = {}
    for cell in dict.fromkeys((*old, *new)):
        before, after = old.get(cell), new.get(cell)
        if after is None or (before.label if before else "not vetted") == after.label:
            continue
        turned.setdefault((before.label if before else "none", after.label, after.reasons), []).append(cell)
    for (label, then, reasons), cells in turned.items():
        if then != "vetted" and (was is None or label == "none"):
            continue  # a new recipe or variant starts unvetted; that says nothing
        says = f"{_label(label)} → {_label(then)}: {variants_words(cells, both.world, both.names)}."
        yield change(subject, "label-changed", says, facts(("why", "; ".join(reasons))))


def _label(label: str) -> str:
    return {"vetted": "Vetted", "not vetted": "NOT VETTED"}.get(label, label.capitalize())


def _standings(book: Book, recipe: Recipe | None) -> dict[Cell, Standing]:
    """What the club says, for every variant that some car fits."""
    if recipe is None:
        return {}
    cells = [cell for cell, answer in book.cells(recipe.id).items() if answer.kind != "no"]
    try:
        return {cell: book.standing(recipe.id, cell) for cell in cells}
    except NOT_COMPUTED:
        bare = vetted(recipe, book.club, None, (), Count(()))
        return dict.fromkeys(cells, replace(bare, reasons=bare.reasons[:1]))  # reports were not weighed


def codes(both: Both, subject: Subject, was: Recipe, now: Recipe) -> Iterator[Change]:
    """The sheet's code, and the list of past ones."""
    old, new = both.before.past_codes(was.id), both.after.past_codes(now.id)
    if old != new:
        says = (
            "The past codes are rewritten; they are written when the club publishes, never in a pull request."
        )
        left, right = ({c.sheet_code: c for c in side} for side in (old, new))
        yield change(subject, "codes-changed", says, facts(
            ("gone", (f"{c.sheet_code} on {c.on}" for code, c in left.items() if code not in right)),
            ("new", (f"{c.sheet_code} on {c.on}" for code, c in right.items() if code not in left)),
            ("rewritten", (code for code, c in right.items() if code in left and left[code] != c)),
        ))  # fmt: skip
    try:
        before, after = both.before.codes(was.id), both.after.codes(now.id)
    except NOT_COMPUTED:
        return
    if before.sheet != after.sheet:
        work = sorted(
            key for key in {*before.work, *after.work} if before.work.get(key) != after.work.get(key)
        )
        says = "The sheet says something else, so it has another code."
        yield change(subject, "sheet-changed", says, (
            *from_to(before.sheet, after.sheet), *facts(("work that differs", ", ".join(work) or "none")),
        ))  # fmt: skip
