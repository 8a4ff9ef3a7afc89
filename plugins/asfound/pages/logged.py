"""What a car's log says, in words: drift and handover."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..book import Book
from ..car.bits import hex_pairs
from ..car.records import RecordPath, SettingPath
from ..car.values import with_unit
from ..work.drift import RecordDrift
from ..work.edits import position
from ..work.handover import Handover
from ..work.held import show_held
from ..work.log import Content
from .words import list_words


def drift_lines(book: Book, found: Sequence[RecordDrift], missing: Sequence[RecordPath]) -> Iterator[str]:
    """What became of each record, as lines of text."""
    for one in found:
        by = " (another layout than before, so compared by value)" if one.by == "value" else ""
        yield f"{_record(book, one.record)}{by}"
        if one.problem:
            yield f"  {one.problem}"
        for mark in one.marks:
            to = _value(book, mark.standing.setting, mark.standing.to)
            name = _name(book, mark.standing.setting)
            match mark.state:
                case "stands":
                    yield f"  stands: {name} is {to}"
                case "lost":
                    now = _value(book, mark.standing.setting, mark.now)
                    yield f"  LOST: {name} is {now}, no longer {to}"
                case _:
                    yield f"  cannot tell: {name}, which was set to {to}"
        for moved in one.moved:
            path = SettingPath(one.record.module, one.record.record, moved.setting)
            before, now = _value(book, path, moved.before), _value(book, path, moved.to)
            yield f"  moved: {_name(book, path)} was {before} and is {now}"
        if one.bits:
            yield f"  changed, of unknown meaning: {', '.join(position(*at) for at in one.bits)}"
        if one.restore is not None:
            if one.restore.write is None and one.restore.refused is not None:
                yield f"  cannot be put back: {' '.join(one.restore.refused)}"
            elif one.restore.write is not None:
                yield f"  to put back, write {_shown(book, one.record, one.restore.write)}"
    if missing:
        yield f"Not read: {list_words([str(path) for path in missing])}."


def handover_lines(book: Book, one: Handover, name: str) -> Iterator[str]:
    """What stands in the car, as lines of text."""
    yield f"Changes that stand in {name or 'the car'}"
    if not one.modules and not one.files:
        yield "  None."
    for module in one.modules:
        yield ""
        yield book.unit(module.module, module.place) + (
            f", software {module.software} when written" if module.software else ""
        )
        for stands in module.changes:
            original, to = (_value(book, stands.setting, words) for words in (stands.original, stands.to))
            yield f"  {_name(book, stands.setting)}: {to} (found: {original})"
            yield f"    {stands.did.recipe}, {stands.date}, sheet code {stands.did.sheet_code}"
        yield "  An update or another module may lose these. Read the record again afterwards."
    for file in one.files:
        yield ""
        yield f"{book.unit(file.module, None)}: {file.name} loaded on {file.date}"
        yield f"  version {file.after} (found: {file.before})"


def _record(book: Book, path: RecordPath) -> str:
    record = book.record(path)
    return f"{book.unit(path.module, path.place)}: {record.name if record else path.record} ({path})"


def _name(book: Book, path: SettingPath) -> str:
    setting = book.setting(path)
    return setting.name if setting else str(path)


def _value(book: Book, path: SettingPath, words: str) -> str:
    setting = book.setting(path)
    return with_unit(setting, words) if setting else words


def _shown(book: Book, path: RecordPath, content: Content) -> str:
    if isinstance(content, bytes):
        record = book.record(path)
        return show_held(record, content) if record else hex_pairs(content)
    return "; ".join(f"{name}: {words}" for name, words in content.items())
