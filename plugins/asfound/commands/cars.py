"""What the commands about a reader's car share: its files, what is typed of it, and the book to work with."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import click

from ..book import Book
from ..car.fitting import possible
from ..car.known import Known
from ..car.records import RecordPath, SettingPath
from ..source.car_file import CarFile, Opened, ReadingFile, open_car, open_reading
from ..source.findings import Finding
from ..source.guards import Unreadable, read_file
from ..source.limits import CAR_BYTES
from ..work.held import HeldProblem, parse_names
from ..work.plan import Plan
from ..work.worksheet import Typed
from .common import open_book, refuse

Kept = TypeVar("Kept")


READING = (
    'A reading, as {"asfound": "reading", "version": 1, "records": {"MODULE/RECORD": "00 04"}}; '
    "the site's page fields/reading says more"
)


def car_option() -> Callable[..., Any]:
    """The option that names a car file."""
    return click.option(
        "--car",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="A car file, as the pages export it; the site's page fields/car says what it holds.",
    )


def choose_option() -> Callable[..., Any]:
    """The option for values the reader chooses."""
    return click.option(
        "--choose",
        "chosen",
        multiple=True,
        metavar="SETTING=VALUE",
        help="A value for a setting you are asked for, as module/record/setting=value. May be repeated.",
    )


def open_file(command: str, path: Path, opens: Callable[[bytes, str], Opened[Kept]]) -> Kept:
    """What a reader's file holds; ends the program with the first of its findings when it has any."""
    try:
        raw = read_file(path, CAR_BYTES)
    except Unreadable as problem:
        refuse(command, f"{path}: {problem.message}; {problem.repair}")
    opened = opens(raw, str(path))
    if opened.value is None:
        refuse(command, one_line(opened.findings))
    return opened.value


def one_line(findings: Sequence[Finding]) -> str:
    """The first of some findings on one line, and how many more there are."""
    first = findings[0]
    where = f"{first.file}:{first.line}:{first.column}"
    more = f" ({len(findings) - 1} more)" if len(findings) > 1 else ""
    said = f"{first.message.removesuffix('.')}; {first.repair}"
    return " ".join(filter(None, (where, first.path, said))) + more


def known_of(command: str, car: Path | None, reading: ReadingFile | None = None) -> Known:
    """What is known of the car, from its file and from a reading."""
    known = open_file(command, car, open_car).known if car else CarFile(Known()).known
    if reading is None:
        return known
    return replace(
        known, software={**known.software, **reading.software}, parts={**known.parts, **reading.parts}
    )


def reading_of(command: str, path: Path | None) -> ReadingFile | None:
    """The reading in a file, if one is named."""
    return open_file(command, path, open_reading) if path else None


def sound_book(command: str, folder: Path, recipes: Sequence[str] | None = None) -> Book:
    """The book, when nothing is wrong with it as far as these recipes (None: no recipe) are concerned.

    What is wrong with other recipes is of no concern to a reader.
    """
    place, book, findings = open_book(command, folder)
    named = set(recipes or ())
    if book is not None:
        for name in list(named):
            named |= _needed(book, name, set())
    wrong = [f for f in findings if not f.file.startswith("changes/") or f.file.split("/")[1] in named]
    if book is None or wrong:
        shown = [replace(f, file=f"{place.shown}/{f.file}") for f in wrong]
        why = one_line(shown) if shown else "the club's own file cannot be read"
        refuse(command, f"the book has findings; run asfound check. {why}")
    return book


def refuse_impossible(command: str, book: Book, car: Path | None, known: Known) -> None:
    """End the program when no car that the book knows is as the car's file says."""
    if car is not None and not possible(known, book.world):
        why = "correct its line, model, phase, month or equipment"
        refuse(command, f"{car}: no car that this book knows was made as this one is described; {why}.")


def refuse_unknown(command: str, plan: Plan) -> None:
    """End the program when a recipe asked for is not there."""
    for trouble in plan.troubles:
        if trouble.kind == "unknown":
            refuse(command, f"{trouble.reason} {trouble.repair}")


def _needed(book: Book, name: str, seen: set[str]) -> set[str]:
    recipe = book.recipes.get(name)
    if recipe is None or name in seen:
        return seen
    seen.add(name)
    for other in recipe.needs:
        _needed(book, other, seen)
    return seen


def choices(command: str, book: Book, chosen: Sequence[str]) -> dict[SettingPath, str]:
    """The values chosen, by setting; ends the program when one names no setting."""
    out = {}
    for one in chosen:
        name, equals, value = one.partition("=")
        path = SettingPath.parse(name) if equals and name.count("/") == 2 else None
        if path is None or book.setting(path) is None:
            refuse(command, f"--choose {one!r}: write module/record/setting=value, with a setting there is.")
        if path in out:
            refuse(command, f"--choose: {path} is chosen twice; leave one out.")
        out[path] = value
    return out


def typed_of(
    command: str, book: Book, paths: Sequence[RecordPath], found: Sequence[str]
) -> dict[RecordPath, Typed]:
    """What was typed for each record of a job: the text alone for its only record, else record=text."""
    out: dict[RecordPath, Typed] = {}
    named = {str(path): path for path in paths}
    for one in found:
        name, equals, text = one.partition("=")
        if one.endswith(".json"):
            refuse(
                command,
                f"--found {one!r}: write what was read, such as 01 4A 00; asfound plan RECIPE --found FILE "
                "reads a file.",
            )
        if equals and name.strip() in named:
            path = named[name.strip()]
        elif len(paths) == 1:
            path, text = paths[0], one
        else:
            refuse(command, f"--found {one!r}: write record=value; the records are {', '.join(named)}.")
        if path in out:
            refuse(command, f"--found: {path} is given twice; leave one out.")
        record = book.record(path)
        if record is not None and record.names_only:
            out[path] = names_of(command, book, path, text)
        else:
            out[path] = text
    return out


def names_of(command: str, book: Book, path: RecordPath, text: str) -> Mapping[str, str] | str:
    """Words for one setting as they are, for several as ``first: words; second: words``."""
    record = book.record(path)
    ids = [setting.id for setting in record.settings] if record else []
    said = [id for id in ids if f"{id}: " in text]
    if not said:
        return text
    try:
        return parse_names(said, text if len(said) > 1 else text.removeprefix(f"{said[0]}: "))
    except HeldProblem as problem:
        refuse(command, f"{path}: {problem.reason} {problem.repair}")


def as_json(data: Mapping[str, Any]) -> str:
    """An object for programs."""
    return json.dumps(data, ensure_ascii=False, indent=2)
