"""What a new recipe, report, module or vehicle file says before its author has filled it in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..book import Book
from ..car.functions import FUNCTIONS, category
from ..car.phrases import join_words
from ..car.records import Layout, Record, SettingPath
from ..car.settings import Choices, Number, Setting
from ..car.values import decimal, decode, step, with_unit
from ..source.findings import bare, quoted
from ..source.writing import scalar
from ..work.held import HeldProblem, parse_held
from ..work.recipes import Change
from .draft import Draft, described

SLUG = "Small letters and digits, words joined by single hyphens."
MADE_UP = "If you cannot read it on a car, make it up and write made-up below."


def recipe(
    book: Book, name: str, settings: Sequence[SettingPath], media: str | None, by: str | None, day: str
) -> Draft:
    """A recipe that changes these settings, or loads a file into a module."""
    out = Draft("recipe", f"changes/{name}/recipe.yml")
    out.put(0, "recipe", scalar(name))
    out.put(0, "title", None, "title")
    out.put(0, "by", scalar(by) if by else None, "by")
    out.put(0, "purpose", None, "purpose")
    out.put(0, "annoyance", None, "annoyance")
    if settings or media is None:
        _changes(out, book, settings)
    if media is not None:
        _media(out, media)
    _fits(out, book, [*(path.module for path in settings), *([media] if media else [])])
    out.say(0, f"What can go wrong. {_safety(book, settings)}".strip())
    out.offer(
        0,
        "hazards:",
        "  - hazard: What can happen",
        "    consequence: What follows for people or the car",
        "    avoid: What to do or leave",
        "    harm: none            # none, minor, serious, death: the worst credible injury",
        "    loss: marginal        # with harm none only: negligible, marginal, critical, catastrophic",
        "    certainty: could      # could, will",
        "    likelihood: remote    # frequent, probable, occasional, remote, improbable, eliminated",
    )
    _prechecks(out, book, settings)
    out.say(0, "What proves that it worked. It must fail if the change did nothing.")
    out.put(0, "checks", "")
    out.put(2, "- check", None, "checks[].check")
    out.put(4, "expect", None, "checks[].expect")
    out.put(4, "power", None, "checks[].power", "One of: key-off, key-on, engine-running.")
    out.put(0, "way_back", "automatic" if settings or media is None else None, "way_back")
    if settings:
        _examples(out, book, settings)
    elif media is None:
        out.say(0, "For each layout of each record it writes:")
        out.offer(
            0,
            "worked_examples:",
            '  - {record: module/record, layout: its-name, found: "00 00", write: "00 04", read_on: made-up}',
        )
    out.put(0, "status", "draft", "status")
    out.put(0, "history", "")
    out.lines.append(f"  - {{date: {day}, what: Begun.}}")
    return out


def _changes(out: Draft, book: Book, settings: Sequence[SettingPath]) -> None:
    out.put(0, "changes", "", "changes")
    if not settings:
        out.put(2, "- setting", None, "changes[].setting", "As on the page of its module.")
        out.put(4, "from", None, "changes[].from")
        out.say(4, described("recipe", "changes[].to"))
        out.offer(4, 'to: {ask: How many minutes?, suggest: "10"}')
        out.put(4, "to", None)
    for path in settings:
        setting = book.settings[path]
        out.say(2, f"{setting.name}: {values(setting)}")
        out.put(2, "- setting", str(path))
        out.put(4, "from", None, "", "What it is before, in these words; any, if it does not matter.")
        out.say(4, "What it becomes, in these words; or a question to the reader:")
        out.offer(4, _ask(setting))
        out.put(4, "to", None)


def _ask(setting: Setting) -> str:
    """A question about the setting, as an example."""
    match setting.kind:
        case Choices(choices):
            return f"to: {{ask: Which of them?, suggest: {scalar(choices[-1].means)}}}"
        case Number() as kind:
            how = f"How much, in {kind.unit}?" if kind.unit else "How much?"
            return f'to: {{ask: "{how}", suggest: "{decimal(kind.max)}"}}'
        case _:
            return "to: {ask: Which words?, suggest: …}"


def values(setting: Setting) -> str:
    """What a setting can be, in words as a recipe must write them."""
    match setting.kind:
        case Choices(choices):
            return join_words([scalar(choice.means) for choice in choices], "or") + "."
        case Number() as kind:
            special = [scalar(choice.means) for choice in kind.special]
            span = f'"{decimal(kind.min)}" to "{decimal(kind.max)}" {kind.unit}, in steps of {step(setting)}'
            return f"{join_words([span, *special], 'or')}. Write numbers in quotes."
        case kind:
            return f"a text of at most {kind.length} letters, in quotes."


def _media(out: Draft, module: str) -> None:
    out.put(0, "media", "", "media")
    out.put(2, "module", scalar(module))
    for key in ("name", "version", "size", "sha256"):
        out.put(2, key, None, f"media.{key}")
    out.put(2, "origin", "")
    out.put(4, "from", None, "media.origin.from")
    out.put(4, "how", None, "media.origin.how")
    out.put(2, "card", "")
    out.put(4, "file_system", None, "media.card.file_system", "FAT32 or exFAT.")
    out.put(4, "smallest_gb", None, "media.card.smallest_gb")
    out.put(2, "menu", "", "media.menu")
    out.lines.append("    -")
    out.put(2, "minutes", None, "media.minutes")
    out.put(2, "reading", "", "media.reading")
    out.put(4, "where", None, "media.reading.where")
    out.put(4, "before", "", "media.reading.before")
    out.lines.append("      -")
    out.put(4, "after", None, "media.reading.after")


def _fits(out: Draft, book: Book, modules: Iterable[str]) -> None:
    """Which cars: of the lines that have these modules, or of all while none has."""
    needed = set(modules)
    fitting = [line for line, one in book.lines.items() if needed <= {each.module for each in one.fitted}]
    lines = fitting or list(book.lines)
    line = lines[0] if lines else "line"
    items = list(dict.fromkeys(item.id for each in lines for item in book.lines[each].equipment))
    out.say(0, f"{described('recipe', 'fits')} Say less where you are not sure, and name what must be there:")
    out.offer(0, f"fits: {{all: [{{line: {line}}}, {{equipped: {items[0] if items else 'item'}}}]}}")
    if items:
        out.say(0, f"Equipment the book knows: {', '.join(items)}.")
    out.put(0, "fits", f"{{line: {line}}}" if len(lines) == 1 else "")
    if len(lines) != 1:
        out.put(2, "line", None, "", f"One of: {', '.join(lines)}." if lines else "")


def _touched(book: Book, settings: Iterable[SettingPath]) -> list[str]:
    """The functions of the settings, in the list's order."""
    touched = {function for path in settings for function in book.settings[path].functions}
    return [function for function in FUNCTIONS if function in touched]


def _safety(book: Book, settings: Sequence[SettingPath]) -> str:
    grave = [FUNCTIONS[f][1] for f in _touched(book, settings) if category(f) != "ordinary"]
    return f"It acts on {join_words(grave, 'and')}: who can be hurt, and how?" if grave else ""


def _prechecks(out: Draft, book: Book, settings: Sequence[SettingPath]) -> None:
    """A precheck for each safety function: without one the check has a finding."""
    needed = [f for f in _touched(book, settings) if category(f) == "safety"]
    if not needed:
        return
    out.put(0, "before", "", "before")
    for function in needed:
        out.say(2, f"Proves that this works before the change: {FUNCTIONS[function][1]}.")
        out.put(2, "- precheck", None, "before[].precheck")
        out.put(4, "expect", None, "before[].expect")
        out.put(4, "else", None, "before[].else")
        out.put(4, "power", None, "before[].power", "One of: key-off, key-on, engine-running.")
        out.put(4, "proves", function)


def _examples(out: Draft, book: Book, settings: Sequence[SettingPath]) -> None:
    out.say(
        0,
        "For each layout the recipe reaches, a record as found and what must be written. The check works "
        "each out and says where you differ. Remove those of layouts that no car it fits has.",
    )
    out.put(0, "worked_examples", "")
    for path in dict.fromkeys(setting.record_path for setting in settings):
        record = book.record(path)
        assert record is not None  # the settings are the book's
        wanted = [setting.setting for setting in settings if setting.record_path == path]
        for layout in [None] if record.names_only else record.layouts:
            out.put(2, "- record", str(path))
            if layout is not None:
                out.put(4, "layout", scalar(layout.id))
            read = _read_elsewhere(book, str(path), layout)
            how = f"Another car held{_told(record, layout, wanted, read)}:" if read else MADE_UP
            out.say(4, f"{_held(record, layout.length if layout else 0)} {how}")
            if read:
                out.offer(4, quoted(read))
            out.put(4, "found", None)
            out.put(4, "write", None, "worked_examples[].write")
            out.put(4, "read_on", None, "worked_examples[].read_on")


def _held(record: Record, length: int) -> str:
    """How the record is written down."""
    if record.names_only:
        names = ", ".join(f"{setting.id}: …" for setting in record.settings)
        return f"What the record held, by name, in quotes: {quoted(names)}."
    if record.shown_as is not None:
        return "What the record held: a decimal number, in quotes."
    return f"What the record held: {length} pairs of hexadecimal digits, in quotes."


def _read_elsewhere(book: Book, path: str, layout: Layout | None) -> str | None:
    """What another recipe's example shows; None if none does. Made-up bytes rarely have a right checksum."""
    for each in book.recipes.values():
        for example in each.worked_examples:
            if (str(example.record), example.layout) == (path, layout.id if layout else None):
                return example.found
    return None


def _told(record: Record, layout: Layout | None, settings: Sequence[str], read: str) -> str:
    """What the settings were there, in words: it may be another value than the recipe is for."""
    try:
        held = parse_held(record, layout.length, read) if layout is not None else b""
    except HeldProblem:
        return ""
    said = []
    for id in settings:
        setting, place = record.setting(id), layout.places.get(id) if layout is not None else None
        if setting is not None and place is not None:
            words = decode(setting, place.gather(held), place.width).words
            said.append(f"{setting.name}: {bare(with_unit(setting, words))}")
    return f" ({'; '.join(said)})" if said else ""


def report(book: Book, recipe_id: str, name: str, by: str, code: str | None, day: str) -> Draft:
    """A report on a recipe by a member who did it that day."""
    found, names = book.recipes[recipe_id], book.names
    out = Draft("report", f"changes/{recipe_id}/reports/{name}.yml")
    out.put(0, "report", scalar(name))
    out.put(0, "recipe", scalar(recipe_id))
    now = f"In quotes. The present page has {book.codes(recipe_id).sheet}; an older sheet another one."
    out.put(0, "sheet_code", f'"{code}"' if code else None, "sheet_code", "" if code else now)
    out.put(0, "by", scalar(by))
    out.put(0, "date", day)
    out.put(0, "car", "", "car")
    fitting = [cell for cell, answer in book.cells(recipe_id).items() if answer.kind != "no"]
    lines = list(dict.fromkeys(line for line, _, _ in fitting)) or list(book.lines)
    alone = lines[0] if len(lines) == 1 else None
    out.put(2, "line", alone, "", "" if alone else f"One of: {', '.join(lines)}.")
    models = [f"{m} ({names.models[line, m]})" for line, m in dict.fromkeys((li, m) for li, m, _ in fitting)]
    phases = [
        f'"{p}" ({names.phases[line, p]})' for line, p in dict.fromkeys((li, p) for li, _, p in fitting)
    ]
    out.put(2, "model", None, "", f"One of: {', '.join(models)}.")
    out.put(2, "phase", None, "", f"In quotes, one of: {', '.join(phases)}.")
    items = [item.id for line in lines for item in book.lines[line].equipment]
    out.say(
        2,
        f"What else you know of the car: {', '.join(items)}." if items else "What else you know of the car.",
    )
    out.offer(2, 'built: "2022-11"', "equipment: []", "without: []")
    out.offer(2, *(f'modules: {{{m}: {{software: "…", part: "…"}}}}' for m in _modules(found.changes)[:1]))
    out.say(0, "The records as you noted them before and afterwards, if you did.")
    for key in ("found", "left"):
        out.offer(0, f"{key}:", *(f'  {path}: "…"' for path in _records(book, recipe_id)))
    out.put(0, "outcome", None, "outcome")
    out.say(0, "What else happened, how long it has been in use, anything the next member should know.")
    out.offer(
        0,
        "side_effects: …",
        "in_use: P3M     # three months; D, W and Y are days, weeks and years",
        "note: …",
    )
    return out


def _modules(changes: Iterable[Change]) -> list[str]:
    return list(dict.fromkeys(change.setting.module for change in changes))


def _records(book: Book, recipe_id: str) -> list[str]:
    return list(dict.fromkeys(str(one.path) for form in book.forms(recipe_id) for one in form.records))


def module(name: str) -> Draft:
    """A control module with one record and one setting."""
    out = Draft("module", f"modules/{name}.yml")
    out.put(0, "module", scalar(name))
    for key in ("name", "duty", "address", "where"):
        out.put(
            0, key, None, key, "Take the line out if nobody knows." if key in ("address", "where") else ""
        )
    out.put(0, "restart", "", "restart")
    out.put(2, "how", None, "restart.how")
    out.put(2, "minutes", None, "restart.minutes")
    out.put(0, "records", "", "records")
    out.put(2, "- record", None, "", f"A name for the record. {SLUG}")
    out.put(4, "name", None, "records[].name")
    out.put(4, "identifier", None, "records[].identifier", 'As "0x3C21", or {number: 112}.')
    out.put(
        4, "shown_as", "bytes", "records[].shown_as", "Or {number: 2, order: big}: a number of two bytes."
    )
    out.offer(4, "access: {code: ask the club}", "takes_effect: at-once")
    out.put(4, "settings", "", "records[].settings")
    out.put(6, "- setting", None, "", f"A name for the setting. {SLUG}")
    out.put(8, "name", None, "records[].settings[].name")
    out.say(8, "A choice, or in its place a number or a text:")
    out.offer(
        8,
        'number: {factor: "0.05", offset: "0", unit: V, min: "10.5", max: "12.4", signed: false}',
        "text: {length: 16, pad: space}",
    )
    out.put(8, "choices", "")
    for raw in (0, 1):
        out.put(10, "- raw", str(raw))
        out.put(12, "means", None)
    said = f"One or more of: {', '.join(FUNCTIONS)}."
    out.put(8, "functions", None, "records[].settings[].functions", f"{said} As in [comfort].")
    out.put(8, "known_from", None, "records[].settings[].known_from")
    out.put(4, "layouts", "", "records[].layouts")
    out.put(6, "- layout", "only")
    out.offer(8, "for: {line: …, phases: […]}     # where cars differ, one layout for each kind of them")
    out.put(8, "length", None, "records[].layouts[].length")
    out.offer(8, "checksum: {kind: crc8-j1850, over: [0, 6], at: 7, by: tool}")
    more = "As in {name-of-the-setting: {byte: 4, bit: 2}}; bytes and bits count from 0."
    out.put(8, "places", None, "records[].layouts[].places", more)
    return out


def vehicle(book: Book, name: str) -> Draft:
    """A vehicle line with one phase, one model and the modules the book has."""
    out = Draft("line", f"vehicles/{name}.yml")
    out.put(0, "line", scalar(name))
    out.put(0, "name", None, "name")
    out.put(0, "about", None, "about")
    out.put(0, "phases", "", "phases")
    out.put(2, "- phase", '"1"')
    out.put(4, "name", "Phase 1")
    out.put(4, "built", None, "phases[].built")
    out.put(4, "look", None, "phases[].look")
    out.put(0, "models", "", "models")
    out.put(2, "- model", None, "", f"A name for the model. {SLUG}")
    out.put(4, "name", None, "models[].name")
    out.put(4, "look", None, "models[].look")
    out.say(0, f"{described('line', 'equipment')} In place of []:")
    out.offer(0, "equipment:", "  - {item: tow-bar, name: a tow bar, look: How one sees that it is there}")
    out.put(0, "equipment", "[]")
    out.put(0, "fitted", "", "fitted", "Take out what it has not.")
    for each in sorted(book.modules):
        out.put(2, "- module", scalar(each))
    if not book.modules:
        out.put(2, "- module", None)
    return out
