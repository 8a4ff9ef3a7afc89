"""Random vectors, reproducible: each function yields what is given; what is expected, ``run`` works out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

import objects
import run

from asfound.car.bits import hex_pairs
from asfound.car.checksums import KINDS, Checksum
from asfound.car.records import Layout, Record, RecordPath, SettingPath
from asfound.car.values import decimal
from asfound.pages import compiled
from asfound.trust.letters import ALPHABET, make_code
from asfound.work.edits import EditProblem, Stop, compile_edit, write
from asfound.work.recipes import Ask, Change

Json = Any
Vectors = Iterator[dict[str, Json]]

# values


def _choices(draw: Random, name: str, width: int) -> Json:
    count = draw.randint(2, min(5, 1 << width))
    raws = draw.sample(range(1 << width), count)
    words = draw.sample(WORDS, count)
    return {
        "id": name,
        "name": name.capitalize(),
        "choices": [[str(r), w] for r, w in zip(raws, words, strict=True)],
    }


def _number(draw: Random, name: str, width: int) -> Json:
    factor = Fraction(draw.choice(["0.05", "0.5", "5", "1", "0.1", "2.5", "-0.25", "0.125", "40"]))
    offset = Fraction(draw.choice(["0", "0", "-40", "12", "-0.5", "273.15"]))
    signed = draw.random() < 0.4 and width > 1
    low, high = (-(1 << width - 1), (1 << width - 1) - 1) if signed else (0, (1 << width) - 1)
    raws = sorted(draw.randint(low, high) for _ in range(2))
    ends = sorted(raw * factor + offset for raw in (raws if raws[0] < raws[1] else (low, high)))
    special = []
    if draw.random() < 0.5:
        special = [[str((1 << width) - 1), "not learned"]]
    number = {
        "factor": decimal(factor),
        "offset": decimal(offset),
        "unit": draw.choice(["V", "min", "km/h", "°C"]),
    }
    number |= {"min": decimal(ends[0]), "max": decimal(ends[1])}
    number |= ({"signed": True} if signed else {}) | ({"special": special} if special else {})
    return {"id": name, "name": name.capitalize(), "number": number}


def _text(draw: Random, name: str, length: int) -> Json:
    text = {"length": length, "pad": draw.choice(["space", "zero"])}
    return {"id": name, "name": name.capitalize(), "text": text}


def _words(draw: Random, setting: Json) -> str:
    """Words for a setting: mostly ones it has, some nearly so, some wild."""
    wild = draw.random()
    match setting:
        case {"choices": choices}:
            return draw.choice(choices)[1] if wild < 0.9 else draw.choice(["", "On", "perhaps", "FOLLOWS"])
        case {"number": n}:
            if wild < 0.1:
                return draw.choice(["not learned", "1,5", "+3", "007", "1e3", "", "-0", "12 V", "NaN", "٣"])
            low, high = Fraction(n["min"]), Fraction(n["max"])
            if wild < 0.4:  # half-way between two that can be stored: ties to even
                step = abs(Fraction(n["factor"])) / 2
                return decimal(low + step * draw.randint(0, max(0, int((high - low) / step))))
            return decimal(low + (high - low) * draw.randint(-8, 136) / 128)
        case {"text": t}:
            if wild < 0.15:
                return draw.choice(["Möwe", "x" * (t["length"] + 1), "tab\t", "end "])
            return "".join(draw.choice("AZ az09~ !") for _ in range(draw.randint(0, t["length"])))
    raise AssertionError(setting)


WORDS = ["stays off", "follows", "dim", "bright", "never", "after a minute", "with the door", "sand & salt"]


def values(draw: Random) -> Vectors:
    for i in range(160):
        width = draw.randint(1, 16)
        setting = draw.choice([_choices, _number, _number])(draw, f"s{i}", width)
        yield {"do": "encode", "given": {"setting": setting, "words": _words(draw, setting), "width": width}}
        raw = draw.randrange(1 << width)
        yield {"do": "decode", "given": {"setting": setting, "raw": str(raw), "width": width}}
    for i in range(40):
        length = draw.randint(1, 12)
        setting = _text(draw, f"t{i}", length)
        yield {
            "do": "encode",
            "given": {"setting": setting, "words": _words(draw, setting), "width": 8 * length},
        }
        held = bytes(draw.choice(b"AZ az09~ \0\0  ") if draw.random() < 0.97 else 200 for _ in range(length))
        raw = int.from_bytes(held, "big")
        yield {"do": "decode", "given": {"setting": setting, "raw": str(raw), "width": 8 * length}}


def checksums(draw: Random) -> Vectors:
    for kind in KINDS:
        for length in (0, 1, 2, 9, 40):
            yield {"do": "crc", "given": {"kind": kind, "bytes": _bytes(draw, length) if length else ""}}
    for _ in range(60):
        body = draw.randint(1, 12)
        checksum = _checksum(draw, body)
        size = checksum.size
        record = bytearray(draw.randbytes(body + size))
        if draw.random() < 0.5:
            record = bytearray(checksum.applied(bytes(record)))
        yield {
            "do": "checksum",
            "given": {"checksum": compiled.checksum(checksum), "record": hex_pairs(bytes(record))},
        }


def _checksum(draw: Random, body: int) -> Checksum:
    """A checksum of ``body`` bytes, before or behind them."""
    kind = draw.choice(list(KINDS))
    size = KINDS[kind].width // 8
    order, by = draw.choice(["big", "little"]), draw.choice(["tool", "reader"])
    if draw.random() < 0.3:
        return Checksum(kind, size, size + body - 1, 0, order, by)
    return Checksum(kind, 0, body - 1, body, order, by)


def _bytes(draw: Random, length: int) -> str:
    return hex_pairs(draw.randbytes(length))


# what people type


def held(draw: Random) -> Vectors:
    layouts = [
        {"id": "early", "length": 4, "places": {}},
        {
            "id": "late",
            "length": 6,
            "places": {},
            "checksum": {"kind": "crc8-j1850", "over": [0, 4], "at": 5, "order": "big", "by": "tool"},
        },
        {
            "id": "other",
            "length": 6,
            "places": {},
            "checksum": {"kind": "crc8-autosar", "over": [0, 4], "at": 5, "order": "big", "by": "tool"},
        },
    ]
    for _ in range(90):
        length = draw.choice([4, 6, 6, 5])
        record = (
            draw.randbytes(length)
            if draw.random() < 0.8
            else bytes(draw.randint(10, 99) for _ in range(length))
        )
        if length == 6 and draw.random() < 0.7:
            record = objects.checksum(draw.choice(layouts[1:])["checksum"]).applied(record)
        yield {"do": "typed", "given": {"record": {"layouts": layouts}, "text": _typed(draw, record)}}
    for _ in range(40):
        size = draw.randint(1, 4)
        record = {"shown_as": [size, draw.choice(["big", "little"])]}
        layouts = [{"id": "only", "length": size, "places": {}}]
        number = draw.randrange(300**size)
        text = draw.choice(
            [str(number), f" {number}\n", f"0{number}", f"0x{number:0{2 * size}X}", f"{number}."]
        )
        yield {"do": "typed", "given": {"record": {**record, "layouts": layouts}, "text": text}}
        yield {"do": "held", "given": {"record": record, "length": size, "text": text}}
    for _ in range(40):
        length = draw.randint(1, 6)
        text = _bytes(draw, length)
        text = draw.choice(
            [text, text, text.lower(), text.replace(" ", ""), text + " ", text[:-1], "0x" + text]
        )
        yield {
            "do": "held",
            "given": {"record": {}, "length": draw.choice([length, length, 4]), "text": text},
        }


def _typed(draw: Random, record: bytes) -> str:
    match draw.randrange(8):
        case 0:
            return record.hex(" ")
        case 1:
            return record.hex().upper()
        case 2:
            return ", ".join(f"0x{byte:02X}" for byte in record)
        case 3:
            return "  " + record.hex(":") + "\r\n"
        case 4:
            return " ".join(f"{byte:08b}" for byte in record)
        case 5:
            return "".join(f"{byte:08b}" for byte in record)
        case 6:
            return " ".join(map(str, record))
        case _:
            return record.hex(" ").upper() + draw.choice(["", " 0", " 0G", " ..", "\t"])


# edits

RECORD = RecordPath("box", "lamps")


def _job(draw: Random, layout_id: str = "early", settings: list[Json] | None = None) -> Json:
    """A record with settings in scattered bits, perhaps with a checksum; as compiled record data."""
    body = draw.randint(3, 7)
    checksum = _checksum(draw, body) if draw.random() < 0.6 else None
    start = 0 if checksum is None or checksum.at else checksum.size
    free = [(byte, bit) for byte in range(start, start + body) for bit in range(8)]
    made = []
    places: dict[str, Json] = {}
    for i in range(draw.randint(1, 4) if settings is None else len(settings)):
        width = draw.randint(1, 5) if settings is None else settings[i]["width"]
        if draw.random() < 0.3:
            draw.shuffle(free)
        if len(free) < width:
            break
        bits = [free.pop(0) for _ in range(width)]
        name = f"s{i}"
        places[name] = [[byte, bit, bit] for byte, bit in bits]
        setting = draw.choice([_choices, _number])(draw, name, width) if settings is None else settings[i]
        made.append({**setting, "width": width})
    length = body + (checksum.size if checksum else 0)
    layout = {"id": layout_id, "length": length, "places": places}
    if checksum:
        layout["checksum"] = compiled.checksum(checksum)
    return {"settings": made, "layout": layout}


def _changes(draw: Random, settings: list[Json]) -> list[Change]:
    changes = []
    for setting in settings:
        before = None if draw.random() < 0.3 else _stored(draw, setting)
        to = _stored(draw, setting)
        asked = draw.random() < 0.3
        changes.append(
            Change(SettingPath("box", "lamps", setting["id"]), before, Ask("Which?", to) if asked else to)
        )
    return changes


def _stored(draw: Random, setting: Json) -> str:
    """Words the setting can really hold."""
    if "choices" in setting:
        return draw.choice(setting["choices"])[1]
    defined, width = objects.setting(setting), setting["width"]
    for _ in range(40):
        words = run.decode(defined, draw.randrange(1 << width), width)
        if words.known:
            return words.words
    return setting["number"]["min"]


def _compiled(draw: Random, job: Json, changes: list[Change]) -> Json | None:
    layout: Layout = objects.layout(job["layout"])
    record = Record("lamps", "Lamps", tuple(map(objects.setting, job["settings"])), (layout,))
    try:
        return compiled.edit(compile_edit(record, RECORD, layout, changes))
    except EditProblem:
        return None


def _found(draw: Random, edit: Json, settings: list[Json]) -> bytes:
    """A record as found: mostly what the edit expects, its checksum mostly right."""
    one = objects.edit(edit, settings)
    assert isinstance(one, run.Edit)
    found = draw.randbytes(one.length)
    for field in one.fields:
        raw = draw.choice([field.before_raw, field.before_raw, field.to_raw, None])
        if raw is not None:
            found = field.place.scatter(found, raw)
    if one.checksum and draw.random() < 0.85:
        found = one.checksum.applied(found)
    return found if draw.random() < 0.95 else found[:-1]


def _plain(settings: list[Json]) -> list[Json]:
    return [{key: value for key, value in one.items() if key != "width"} for one in settings]


def edits(draw: Random) -> Vectors:
    for _ in range(110):
        job = _job(draw)
        changes = _changes(draw, job["settings"])
        edit = _compiled(draw, job, changes)
        if edit is None:
            continue
        settings = _plain(job["settings"])
        base = {"edit": edit, "settings": settings}
        found = _found(draw, edit, settings)
        others = [
            {"setting": f"box/lamps/{s['id']}", "to": _stored(draw, s), "does": "another"}
            for s in job["settings"]
            if draw.random() < 0.3
        ]
        more = {"alternatives": others} if others else {}
        yield {"do": "assess", "given": {**base, "found": hex_pairs(found), **more}}
        yield {"do": "write", "given": {**base, "found": hex_pairs(found)}}
        yield from _after(draw, base, found)
        asked = [
            s
            for s in job["settings"]
            if any(f.get("asked") and f["setting"] == s["id"] for f in edit["fields"])
        ]
        if asked:
            choose = {s["id"]: _words(draw, s) for s in asked}
            yield {"do": "choose", "given": {**base, "choose": choose}}


def _after(draw: Random, base: Json, found: bytes) -> Vectors:
    """The way back: from what was written, sometimes with something else changed meanwhile."""
    one = objects.edit(base["edit"], base["settings"])
    try:
        present = bytearray(write(one, found))
    except Stop:
        return
    if draw.random() < 0.5:
        present[draw.randrange(len(present))] ^= 1 << draw.randrange(8)
        if one.checksum and draw.random() < 0.8:
            present = bytearray(one.checksum.applied(bytes(present)))
    yield {
        "do": "undo",
        "given": {**base, "noted": hex_pairs(found), "present": hex_pairs(bytes(present))},
    }


def merging(draw: Random) -> Vectors:
    """Several edits of one record, and the way back into another layout."""
    for _ in range(60):
        job = _job(draw)
        first, second = (_changes(draw, job["settings"]) for _ in range(2))
        one = _compiled(draw, job, first[: draw.randint(1, len(first))])
        two = _compiled(draw, job, second[-draw.randint(1, len(second)) :])
        if one and two:
            yield {"do": "compose", "given": {"edits": [one, two], "settings": _plain(job["settings"])}}
        other = _job(draw, "late", job["settings"])
        old, new = _compiled(draw, job, first), _compiled(draw, other, first)
        if old is None or new is None:
            continue
        settings = _plain(job["settings"])
        noted = _found(draw, old, settings)
        then = objects.edit(new, settings)
        present = draw.randbytes(then.length)
        for field in then.fields:
            if draw.random() < 0.95:
                present = field.place.scatter(present, field.to_raw)
        if then.checksum:
            present = then.checksum.applied(present)
        given = {"old": old, "new": new, "settings": settings, "noted": hex_pairs(noted)}
        yield {"do": "put-back", "given": {**given, "present": hex_pairs(present)}}


def names(draw: Random) -> Vectors:
    for _ in range(50):
        settings = []
        for i in range(draw.randint(1, 3)):
            choices = [[None, w] for w in draw.sample(WORDS, draw.randint(2, 4))]
            settings.append({"id": f"s{i}", "name": f"S{i}", "choices": choices})
        fields = []
        for setting in settings:
            field = {"setting": setting["id"], "to_words": draw.choice(setting["choices"])[1]}
            if draw.random() < 0.7:
                field["before_words"] = draw.choice(setting["choices"])[1]
            if draw.random() < 0.3:
                field["asked"] = True
            fields.append(field)
        base = {"edit": {"record": "box/lamps", "fields": fields}, "settings": settings}
        found = {s["id"]: draw.choice([*(w for _, w in s["choices"]), "unheard of"]) for s in settings}
        yield {"do": "assess-names", "given": {**base, "found": found}}
        yield {"do": "write-names", "given": {**base, "found": found}}
        present = {f["setting"]: f["to_words"] if draw.random() < 0.8 else "unheard of" for f in fields}
        yield {"do": "put-back-names", "given": {**base, "noted": found, "present": present}}


# codes and faults


def codes(draw: Random) -> Vectors:
    for _ in range(40):
        code = make_code(draw.randbytes(4))
        wrong = list(code)
        wrong[draw.randrange(8)] = draw.choice(ALPHABET)
        at = draw.randrange(7)
        swapped = code[:at] + code[at + 1] + code[at] + code[at + 2 :]
        typed = draw.choice(
            [code, code.lower(), f"{code[:4]}-{code[4:]}", code.replace("1", "l").replace("0", "o")]
        )
        for one in (typed, "".join(wrong), swapped, draw.choice([code[:7], code + "0", "ÅBCDEFGH", ""])):
            yield {"do": "code-check", "given": {"typed": one}}
    for length in (0, 1, 3, 55, 56, 63, 64, 65, 119, 120, 200):
        yield {"do": "sha256", "given": {"bytes": draw.randbytes(length).hex()}}
    for document in (
        None,
        [],
        {},
        {"b": 1, "a": [True, None, 'é\n"\\']},
        "ſ",
        {"€": 1, "A": {"z": 0, "B": ""}},
    ):
        yield {"do": "make-code", "given": {"document": document}}
    for _ in range(15):
        yield {"do": "make-code", "given": {"document": ["work 1", _document(draw, 3)]}}


def _document(draw: Random, depth: int) -> Json:
    """A document of the kind codes are computed over: text, whole numbers, truth, lists, maps."""
    kind = draw.randrange(6 if depth else 4)
    if kind == 4:
        return [_document(draw, depth - 1) for _ in range(draw.randint(0, 4))]
    if kind == 5:
        names = draw.sample(
            ["record", "at", "after", "when", "edit", "mask", "bits", "fields"], draw.randint(1, 4)
        )
        return {name: _document(draw, depth - 1) for name in names}
    return draw.choice(
        [draw.choice(WORDS), draw.randint(-5, 70000), draw.choice([True, False, None]), 'Ω "15" \\']
    )


def faults(draw: Random) -> Vectors:
    for number in (0x0133, 0x4412, 0x9234, 0xC158, 0xFFFF, 0, *(draw.randrange(65536) for _ in range(20))):
        yield {"do": "fault", "given": {"number": number}}
    for code in ("P0133", "U3FFF", "u0140", "P4000", "X0000", "P013", "P01333", "B1A2F", "C0000"):
        yield {"do": "fault", "given": {"code": code}}
