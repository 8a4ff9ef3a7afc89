"""Edits of several choices that lie side by side, so that they share digits of their record."""

from __future__ import annotations

from random import Random

from asfound.car.bits import Part, Place
from asfound.car.records import Layout, Record, RecordPath, SettingPath
from asfound.car.settings import Choice, Choices, Setting
from asfound.work.compiled import Edit, compile_edit
from asfound.work.recipes import Change


def side_by_side(turn: Random) -> tuple[Edit, Record]:
    """Two or three choices one after the other, each with values of its own that are no stop."""
    settings, places, changes, start = [], {}, [], turn.randrange(3)
    for at in range(turn.randint(2, 3)):
        width = turn.randint(1, 5)
        raws = turn.sample(range(1 << width), min(1 << width, turn.randint(2, 6)))
        kind = Choices(tuple(Choice(f"value {raw}", raw) for raw in raws))
        settings.append(Setting(f"s{at}", f"Setting {at}", kind, ("comfort",), "club"))
        bits = range(start, start + width)
        places[f"s{at}"] = Place(tuple(Part(b // 8, 7 - b % 8, 7 - b % 8) for b in bits))
        before = turn.choice((None, f"value {raws[0]}"))
        changes.append(Change(SettingPath("m", "r", f"s{at}"), before, f"value {raws[1]}"))
        start += width
    layout = Layout("one", None, 3, places)
    record = Record("r", "R", tuple(settings), (layout,))
    return compile_edit(record, RecordPath("m", "r"), layout, changes), record
