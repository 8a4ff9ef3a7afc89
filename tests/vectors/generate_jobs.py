"""Random vectors about whole jobs: orders, plans, worksheets, logs."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

import objects
import run_jobs

from asfound.car.bits import hex_pairs
from asfound.car.values import decode
from asfound.pages import compiled
from asfound.work.edits import Edit, write
from asfound.work.log import moves
from asfound.work.plan import plan

Json = Any
Vectors = Iterator[dict[str, Json]]


def orders(draw: Random) -> Vectors:
    for size in (3, 6, 9, 14, 20):
        for _ in range(12):
            classes = [draw.randrange(draw.choice([2, 3, 5])) for _ in range(size)]
            names = draw.sample(range(size), size)
            pairs = [sorted(draw.sample(range(size), 2)) for _ in range(draw.randint(0, size + 2))]
            before = [[names[a], names[b]] for a, b in pairs]
            if draw.random() < 0.1:
                before.append([names[-1], names[0]])
            yield {"do": "order", "given": {"classes": classes, "before": before}}
    for _ in range(6):  # as large as jobs get: forty recipes over twelve modules
        classes, before = [], []
        for _ in range(40):
            row = draw.sample(range(12), draw.choices([1, 2, 3], [60, 30, 10])[0])
            before += [[len(classes) + at, len(classes) + at + 1] for at in range(len(row) - 1)]
            classes += row
        yield {"do": "order", "given": {"classes": classes, "before": before}}


def plans(draw: Random) -> Vectors:
    names = sorted(run_jobs.club().recipes)
    for _ in range(220):
        asked = draw.sample(names, draw.choice([1, 1, 2, 2, 2, 3, 3, 4, 5]))
        if draw.random() < 0.03:
            asked.append("unheard-of")
        known: Json = {}
        if draw.random() < 0.7:
            known["lines"] = ["knot"]
        if draw.random() < 0.7:
            known["phases"] = [draw.choice(["1", "2", "2"])]
        if draw.random() < 0.6:
            known["equipment"] = {item: draw.random() < 0.8 for item in ("hook", "screen")}
        if draw.random() < 0.6:
            known["modules"] = {"lamps": {"software": draw.choice(["0100", "0200", "0200A"])}}
        if draw.random() < 0.4:
            known["records"] = {"doors/catch": draw.choice(["01 00 00", "02 00 00 00", "03 00"])}
        given = {"recipes": asked, "known": known}
        if draw.random() < 0.3:
            given["choose"] = {"lamps/bay/time": draw.choice(["10", "30.5", "never", "7.3", "soon"])}
        yield {"do": "plan", "given": given}


BUS: Json = {
    "lines": ["knot"],
    "models": ["bus"],
    "phases": ["2"],
    "equipment": {"hook": True, "screen": True},
    "modules": {"lamps": {"software": "0210"}},
}
DOABLE = [
    ["bay-fades"],
    ["bay-stays"],
    ["bay-time", "bay-fades"],
    ["strip-with-door"],
    ["chime-then-lamp", "heater-greets"],
    ["watch-quick"],
    ["watch-on", "steps-wait", "left-step-waits"],
    ["facelift-theme"],
]


def _contents(draw: Random, names: list[str]) -> Json:
    """What each record of a job could hold, and what it will be: record → (edit, found, to write)."""
    out = {}
    for record in plan(names, run_jobs.club().shop, objects.known(BUS)).records:
        edit = record.edits[-1]
        if not isinstance(edit, Edit):
            found = {
                f.setting.setting: f.before_words or f.definition.kind.choices[0].means for f in edit.fields
            }
            to = found | {f.setting.setting: f.to_words for f in edit.fields}
            out[record.path] = (edit, found, to)
            continue
        held = draw.randbytes(edit.length)
        if record.path.record == "catch":
            held = b"\x02" + held[1:]
        for field in edit.fields:
            held = field.place.scatter(held, field.to_raw if field.before_raw is None else field.before_raw)
            if field.before_raw is None and draw.random() < 0.8:
                other = draw.randrange(1 << field.place.width)
                if decode(field.definition, other, field.place.width).known:
                    held = field.place.scatter(held, other)
        held = edit.checksum.applied(held) if edit.checksum else held
        out[record.path] = (edit, held, write(edit, held))
    return out


def worksheets(draw: Random) -> Vectors:
    for _ in range(60):
        names = draw.choice(DOABLE)
        typed: Json = {}
        for path, (_, found, _) in _contents(draw, names).items():
            if draw.random() < 0.1:
                continue
            if isinstance(found, bytes):
                if draw.random() < 0.2:
                    found = bytes([found[0] ^ 1 << draw.randrange(8), *found[1:]])
                record = run_jobs.club().record(path)
                assert record is not None
                number = record.shown_as is not None and draw.random() < 0.7
                typed[str(path)] = (
                    str(int.from_bytes(found, "big")) if number else draw.choice(["0x", "", ""]) + found.hex()
                )
                if draw.random() < 0.05:
                    typed[str(path)] = typed[str(path)][2:]
            else:
                typed[str(path)] = found if draw.random() < 0.8 else draw.choice(["off", {"watch": "odd"}])
        yield {"do": "worksheet", "given": {"recipes": names, "known": BUS, "typed": typed}}


def logs(draw: Random) -> Vectors:
    for _ in range(90):
        entries: list[Json] = []
        last: Json = {}
        for day in range(draw.randint(1, 3)):
            for path, (edit, found, to) in _contents(draw, draw.choice(DOABLE)).items():
                if str(path) in last and draw.random() < 0.7:
                    continue
                last[str(path)] = (edit, found, to)
                entries.append(_wrote(draw, day, path, edit, found, to))
                if draw.random() < 0.15:
                    entries.append(_wrote(draw, day, path, edit, found, to, back=True))
        if draw.random() < 0.2:
            version = str(draw.randint(2, 4))
            said = {"module": "screen", "recipe": "new-map", "sheet_code": "4M7Q0Z2K", "name": "MAP.BIN"}
            entries.append({"date": "2026-05-09", "loaded": {**said, "before": "1", "after": version}})
        log = {"asfound": "log", "version": 1, "entries": entries}
        yield {"do": "standing", "given": {"log": log}}
        present = {path: _later(draw, *one) for path, one in last.items() if draw.random() < 0.9}
        yield {"do": "drift", "given": {"log": log, "present": present}}


def _wrote(draw: Random, day: int, path: Any, edit: Any, found: Any, to: Any, back: bool = False) -> Json:
    changes = []
    for moved in moves(edit, found):
        pair = (moved.to, moved.before) if back else (moved.before, moved.to)
        changes.append({"setting": moved.setting, "from": pair[0] or " ", "to": pair[1] or " "})
    before, after = (to, found) if back else (found, to)
    wrote: Json = {"record": str(path)}
    if isinstance(edit, Edit):
        wrote["layout"] = edit.layout
    if draw.random() < 0.4:
        wrote["software"] = draw.choice(["0210", "0300"])
    wrote |= {"found": run_jobs.content(before), "written": run_jobs.content(after)}
    if draw.random() < 0.8:
        wrote["left"] = run_jobs.content(after)
    wrote["recipes"] = [{"recipe": "some-recipe", "sheet_code": "4M7Q0Z2K", "changes": changes}]
    return {"date": f"2026-05-{day + 1:02d}", "put_back" if back else "wrote": wrote}


def _later(draw: Random, edit: Any, found: Any, to: Any) -> Json:
    """A record read later: unchanged, as it was found, a little changed, or in another layout."""
    chance = draw.random()
    if not isinstance(edit, Edit):
        words = draw.choice([found, to, {**to, "watch": draw.choice(["on", "odd"])}, {"tone": "high"}])
        return {"held": words}
    layout, held = edit.layout, to
    if chance < 0.35:
        held = found
    elif chance < 0.6:
        at = draw.randrange(8 * len(to))
        held = bytes(b ^ (1 << at % 8 if i == at // 8 else 0) for i, b in enumerate(to))
    elif chance < 0.75:
        record = run_jobs.club().record(edit.record)
        assert record is not None
        other = draw.choice(record.layouts)
        layout, held = other.id, draw.randbytes(other.length)
        held = other.checksum.applied(held) if other.checksum else held
    elif chance < 0.8:
        layout, held = draw.choice([("unheard-of", to), (layout, to + b"\0")])
    if edit.checksum and layout == edit.layout and len(held) == edit.length and draw.random() < 0.8:
        held = edit.checksum.applied(held)
    return {"layout": layout, "held": hex_pairs(held)}


def jobs(draw: Random) -> Vectors:
    """Everything that needs the whole club."""
    yield from plans(draw)
    yield from worksheets(draw)
    yield from logs(draw)
    yield from crowds()
    for unit in ("step@left", "step@right", "step@roof", "step", "lamps", "kite@left"):
        yield {"do": "unit-name", "given": {"unit": unit}}


def crowds() -> Vectors:
    """Recipes that together ask about more facts than can be weighed, until more is known of the car."""
    boxes = [f"box-{number}" for number in range(24)]
    asks = [{"any": [{"software": box, "range": ">1"} for box in boxes[at::2]]} for at in (0, 1)]
    for told in (0, 1, 2, 12, 24):
        yield {
            "do": "plan",
            "given": {
                "recipes": ["bay-time", "bay-fades"],
                "fits": dict(zip(("bay-time", "bay-fades"), asks, strict=True)),
                "known": {"modules": {box: {"software": "0"} for box in boxes[:told]}},
            },
        }


def club_data() -> Json:
    """The invented club as pages give it to the browser."""
    book = run_jobs.club()
    return {
        "world": compiled.world(book),
        "modules": [compiled.module(book, name) for name in book.modules],
        "recipes": [compiled.recipe(book, name) for name in book.recipes],
    }
