"""What must hold for reports, signatures, codes and the club's own file."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..car.bits import combine, replace
from ..car.origin import Origin
from ..car.records import Module, RecordPath
from ..trust.codes import check_code
from ..trust.reports import Report
from ..work.compiled import Edit, EditProblem, FieldEdit
from ..work.held import HeldProblem, parse_held
from ..work.recipes import Recipe
from .base import Problem, Rule

ASK = "ask the club"


def access_codes(book: Book, module: Module) -> Iterator[Problem]:
    """A code stands in a module file only if the club publishes codes."""
    if book.club.access_codes == "publish":
        return
    for record in module.records:
        if record.access_code is not None and record.access_code != ASK:
            yield Problem(
                record.origin.at("access", "code"),
                "an access code is published against the club's policy",
                f"write {ASK}; the repository itself is public, so treat this code as known",
                also=(book.club.origin.at("policy", "access_codes"),),
            )


def codes_are_known(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Reports and signatures name a code that the recipe has or had."""
    try:
        present = book.codes(recipe.id).sheet
    except EditProblem:
        return
    known = {present} | {past.sheet_code for past in book.past_codes(recipe.id)}
    for each in (*book.reports(recipe.id), *book.signatures(recipe.id)):
        if each.sheet_code in known:
            continue
        if check_code(each.sheet_code) == "ok":
            message = f"{each.sheet_code} was never the sheet code of {recipe.id}"
            repair = f"write the code of the sheet that was followed; the present one is {present}"
        else:
            message = f"{each.sheet_code} is mistyped: its check letter does not match"
            repair = f"compare it with the sheet; the present one is {present}"
        yield Problem(each.origin.at("sheet_code"), message, repair)
    for index, past in enumerate(book.past_codes(recipe.id)):
        origin = book.codes_origin(recipe.id).at("codes", index)
        written: dict[tuple[str, ...], str] = {("sheet_code",): past.sheet_code}
        written |= {("work", key): code for key, code in past.work.items()}
        written |= {("fits", key): code for key, code in past.fits.items()}
        for keys, code in written.items():
            if check_code(code) != "ok":
                yield Problem(
                    origin.at(*keys), f"{code} is no code: its check letter does not match", "restore it"
                )
        earlier = book.past_codes(recipe.id)[:index]
        if past.sheet_code in {other.sheet_code for other in earlier}:
            yield Problem(
                origin.at("sheet_code"), f"{past.sheet_code} stands here twice", "remove one of them"
            )
        if earlier and past.on < earlier[-1].on:
            yield Problem(
                origin.at("on"), f"{past.on} is earlier than the entry above", "put the oldest first"
            )


def reports_agree(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A report's car exists and fits; what it found and left agree with what the recipe does."""
    for report in book.reports(recipe.id):
        car, at = report.car, report.origin.at
        if report.recipe != recipe.id:
            continue  # the reader has said so
        line = book.lines.get(car.line)
        if line and (car.model, car.phase) not in line.variants():
            if car.model in {m.id for m in line.models} and car.phase in {p.id for p in line.phases}:
                yield Problem(
                    at("car", "phase"),
                    f"model {car.model} was not made in phase {car.phase}",
                    "look again how to tell the phases",
                    also=(at("car", "model"),),
                )
                continue
        if line and car.built is not None:
            phase = next((p for p in line.phases if p.id == car.phase), None)
            if phase and not (phase.built[0] or "") <= car.built <= (phase.built[1] or "9999-12"):
                yield Problem(
                    at("car", "built"),
                    f"a car built in {car.built} is not of phase {car.phase}",
                    "correct the month or the phase",
                    also=(at("car", "phase"),),
                )
        for index, item in enumerate(car.equipment):
            if item in car.without:
                yield Problem(
                    at("car", "equipment", index), f"{item} stands in equipment and in without", "keep one"
                )
        touched = {str(c.setting.record_path) for c in recipe.changes}
        for key, held in (("found", report.found), ("left", report.left)):
            for name in held:
                path = RecordPath.parse(name)
                if f"{path.module}/{path.record}" not in touched and book.record(path) is not None:
                    yield Problem(
                        at(key, name),
                        f"the recipe does not touch record {path.module}/{path.record}",
                        "leave it out, or report under the recipe that does",
                    )
        for key, held in (("found", report.found), ("left", report.left)):
            for name, value in held.items():
                yield from _can_be_held(book, RecordPath.parse(name), value, at(key, name))
        yield from _left_as_written(book, recipe, report)


def _can_be_held(book: Book, path: RecordPath, value: str, origin: Origin) -> Iterator[Problem]:
    """What is said to have been read has the form and a length the record can have."""
    record = book.record(path)
    if record is None or record.names_only:
        return
    try:
        size = len(parse_held(record, None, value))
    except HeldProblem as problem:
        yield Problem(origin, problem.reason, problem.repair)
        return
    lengths = sorted({layout.length for layout in record.layouts})
    if size not in lengths:
        yield Problem(
            origin,
            f"{size} bytes; {path.module}/{path.record} has {' or '.join(map(str, lengths))}",
            "copy all the bytes that were read",
        )


def _left_as_written(book: Book, recipe: Recipe, report: Report) -> Iterator[Problem]:
    """Where it worked with the present sheet, what was left is what one of the recipe's edits writes."""
    if report.outcome != "worked":
        return
    try:
        if report.sheet_code != book.codes(recipe.id).sheet:
            return
        edits = book.edits(recipe.id)
    except EditProblem:
        return
    for name in sorted(set(report.found) & set(report.left)):
        path = RecordPath.parse(name)
        record = book.record(path)
        if record is None or record.names_only:
            continue
        try:
            found = parse_held(record, None, report.found[name])
            left = parse_held(record, None, report.left[name])
        except HeldProblem:
            continue  # said above
        possible = []
        for edit in edits:
            if isinstance(edit, Edit) and (edit.record.module, edit.record.record) == (
                path.module,
                path.record,
            ):
                if edit.length == len(found) == len(left):
                    possible.append(edit)
        if possible and not any(_comes_from(edit, recipe, found, left) for edit in possible):
            yield Problem(
                report.origin.at("left", name),
                f"{report.left[name]} is not what the recipe writes over {report.found[name]}",
                "compare both with the notes; if they are right, the outcome is not worked",
                also=(report.origin.at("found", name),),
            )


def _comes_from(edit: Edit, recipe: Recipe, found: bytes, left: bytes) -> bool:
    """Whether ``left`` is ``found`` edited, with any value where the reader or an alternative may choose."""
    free = [f.place.mask(edit.length) for f in edit.fields if f.asked or _has_alternative(recipe, f)]
    if edit.checksum is not None:
        if not (edit.checksum.matches(found) and edit.checksum.matches(left)):
            return False
        free.append(edit.checksum.place.mask(edit.length))
    ignore = combine(free, edit.length)
    wanted = replace(found, edit.mask, edit.bits)
    return all((a ^ b) & ~m & 0xFF == 0 for a, b, m in zip(wanted, left, ignore, strict=True))


def _has_alternative(recipe: Recipe, field: FieldEdit) -> bool:
    return any(alternative.setting == field.setting for alternative in recipe.alternatives)


def examples_come_from_reports(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """An example read on a car shows what that car's report says was found."""
    reports = {report.id: report for report in book.reports(recipe.id)}
    for example in recipe.worked_examples:
        report = reports.get(example.read_on)
        if report is None:
            continue
        path = f"{example.record.module}/{example.record.record}"
        held = {
            value
            for name, value in report.found.items()
            if (p := RecordPath.parse(name)) and f"{p.module}/{p.record}" == path
        }
        if example.found not in held:
            yield Problem(
                example.origin.at("found"),
                f"report {report.id} does not say that {path} held {example.found}",
                "copy what the report says was found, or write read_on: made-up",
                also=(example.origin.at("read_on"), report.origin.at("found")),
            )


def club_is_sound(book: Book) -> Iterator[Problem]:
    """The club can reach its own thresholds and names each reviewer once."""
    club = book.club
    seen: set[str] = set()
    for index, reviewer in enumerate(club.reviewers):
        origin = club.origin.at("reviewers", index)
        if reviewer.handle in seen:
            yield Problem(origin.at("handle"), f"{reviewer.handle} is named twice", "remove one of them")
        seen.add(reviewer.handle)
        if reviewer.until is not None and reviewer.until < reviewer.since:
            yield Problem(
                origin.at("until"), f"{reviewer.until} is before {reviewer.since}", "correct one of the days"
            )
    if club.reviewers and club.vetting.signatures > len(seen):
        yield Problem(
            club.origin.at("vetting", "signatures"),
            f"{club.vetting.signatures} signatures are asked for and there are {len(seen)} reviewers",
            f"write at most {len(seen)}",
            also=(club.origin.at("reviewers"),),
        )


RULES = (
    Rule(
        "access-code-published",
        "An access code is published only if the club's policy says so.",
        "A code once public cannot be taken back.",
        "module",
        access_codes,
    ),
    Rule(
        "unknown-code",
        "Reports and signatures name a sheet code that the recipe has or had.",
        "Evidence for one set of instructions would count for another.",
        "recipe",
        codes_are_known,
    ),
    Rule(
        "report-disagrees",
        "A report's car was made, and what it found and left agree with the recipe.",
        "A misreading would count as evidence.",
        "recipe",
        reports_agree,
    ),
    Rule(
        "example-not-in-report",
        "A worked example read on a car shows what that report found.",
        "Made-up bytes would pass for read ones.",
        "recipe",
        examples_come_from_reports,
    ),
    Rule(
        "club-unsound",
        "The club can reach its own thresholds.",
        "Nothing could ever be vetted, or one reviewer would count twice.",
        "book",
        club_is_sound,
    ),
)
