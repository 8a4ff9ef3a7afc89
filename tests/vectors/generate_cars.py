"""Random vectors about cars: conditions, versions, VINs."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

import objects
import run
from generate import WORDS

Json = Any
Vectors = Iterator[dict[str, Json]]

LINES: Json = {
    "gannet": {
        "id": "gannet",
        "name": "Gannet",
        "phases": [
            {"id": "1", "name": "Phase 1", "built": "2015-01/2018-06", "look": "Round."},
            {"id": "2", "name": "Phase 2", "built": "2018-07/2021-12", "look": "Square."},
            {"id": "3", "name": "Phase 3", "built": "2022-01/..", "look": "Flat."},
        ],
        "models": [
            {"id": "short", "name": "Short", "look": "Short."},
            {"id": "long", "name": "Long", "phases": ["2", "3"], "look": "Long."},
        ],
        "markets": [
            {"id": "north", "name": "North", "look": "Left."},
            {"id": "south", "name": "South", "look": "Right."},
        ],
        "equipment": [
            {"id": "hook", "name": "a hook", "look": "Hook."},
            {
                "id": "lens",
                "name": "a lens",
                "look": "Lens.",
                "phases": ["2", "3"],
                "standard": [[None, "3"]],
            },
            {
                "id": "rail",
                "name": "a rail",
                "look": "Rail.",
                "models": ["long"],
                "standard": [["long", "2"]],
            },
        ],
        "fitted": [{"module": "box"}],
        "vin": {
            "begins": ["0GN"],
            "check_digit": True,
            "positions": [
                {
                    "at": [4, 4],
                    "codes": [{"code": "S", "models": ["short"]}, {"code": "L", "models": ["long"]}],
                },
                {
                    "at": [5, 6],
                    "codes": [
                        {"code": "A1", "equipment": ["hook", "rail"]},
                        {"code": "A0", "without": ["hook"]},
                        {"code": "B2", "phases": ["2", "3"], "markets": ["north"]},
                        {"code": "C3"},
                    ],
                },
                {
                    "at": [7, 7],
                    "codes": [{"code": "N", "markets": ["north"]}, {"code": "S", "markets": ["south"]}],
                },
            ],
            "model_year": {"at": 10, "starts": 8},
            "serials": [
                {"at": [13, 17], "from": "00001", "to": "00999", "built": "2015-01/2015-12"},
                {"at": [13, 17], "from": "01000", "to": "01001", "built": "2018-07/2018-07"},
                {
                    "at": [13, 17],
                    "from": "01000",
                    "to": "49999",
                    "built": "2018-07/..",
                    "where": [{"at": 11, "is": "K"}],
                },
            ],
        },
    },
    "tern": {
        "id": "tern",
        "name": "Tern",
        "phases": [{"id": "1", "name": "Phase 1", "built": "2019-03/..", "look": "Small."}],
        "models": [{"id": "only", "name": "Only", "look": "One."}],
        "equipment": [{"id": "hook", "name": "a hook", "look": "Hook."}],
        "fitted": [{"module": "box"}],
        "vin": {"begins": ["0GNT", "0TE"], "model_year": {"at": 10, "starts": 1}},
    },
}
VERSIONS = ["0210", "0300", "0300A", "0405", "1.9", "1.10", "210"]
MONTHS = ["2015-01", "2018-06", "2018-07", "2020-02", "2021-12", "2022-01", "2024-05"]


def _leaf(draw: Random) -> Json:
    match draw.randrange(10):
        case 0 | 1 | 2:
            line = draw.choice(["gannet", "gannet", "tern"])
            leaf: Json = {"line": line}
            if draw.random() < 0.5:
                leaf["phases"] = sorted(draw.sample(["1", "2", "3"], draw.randint(1, 2)))
            if draw.random() < 0.3:
                leaf["models"] = [draw.choice(["short", "long", "only"])]
            if draw.random() < 0.3:
                leaf["markets"] = [draw.choice(["north", "south"])]
            if draw.random() < 0.3:
                first, last = sorted(draw.sample(MONTHS, 2))
                leaf["built"] = draw.choice([f"{first}/{last}", f"{first}/..", f"../{last}"])
            return leaf
        case 3 | 4 | 5:
            return {"equipped": draw.choice(["hook", "lens", "rail", "unheard-of"])}
        case 6 | 7:
            low, high = sorted(draw.sample(VERSIONS, 2), key=run.key)
            text = draw.choice(
                [f">={low}", f"<{high}", f">={low},<{high}", f"={low}", f">{low}", f"<={high}"]
            )
            return {"software": draw.choice(["box", "panel"]), "range": text}
        case 8:
            return {"part": "box", "is": draw.sample(["GN 1", "GN 2", "GN 3"], draw.randint(1, 2))}
        case _:
            if draw.random() < 0.5:
                return {"setting": "box/lamps/mode", "is": [draw.choice(WORDS[:3])]}
            mask = draw.choice([0xFF, 0x0F, 0x80])
            value = draw.randrange(256) & mask
            return {"holds": {"record": "box/lamps", "byte": 1, "is": f"{value:02X}", "mask": f"{mask:02X}"}}


def _test(draw: Random, depth: int) -> Json:
    if depth == 0 or draw.random() < 0.25:
        return _leaf(draw)
    kind = draw.choice(["all", "any", "not"])
    if kind == "not":
        return {"not": _test(draw, depth - 1)}
    return {kind: [_test(draw, depth - 1) for _ in range(draw.randint(1, 3))]}


def _known(draw: Random) -> Json:
    known: Json = {}
    if draw.random() < 0.6:
        known["lines"] = draw.choice([["gannet"], ["gannet"], ["tern"], ["gannet", "tern"]])
    if draw.random() < 0.3:
        known["phases"] = sorted(draw.sample(["1", "2", "3"], draw.randint(1, 2)))
    if draw.random() < 0.2:
        known["models"] = [draw.choice(["short", "long"])]
    if draw.random() < 0.2:
        known["markets"] = [draw.choice(["north", "south"])]
    if draw.random() < 0.2:
        known["built"] = draw.choice(MONTHS)
    equipment = {item: draw.random() < 0.5 for item in ("hook", "lens", "rail") if draw.random() < 0.3}
    if equipment:
        known["equipment"] = equipment
    if draw.random() < 0.3:
        known["modules"] = {"box": {"software": draw.choice([*VERSIONS, "0", "9"]), "part": "GN 2"}}
    if draw.random() < 0.2:
        known["records"] = {"box/lamps": draw.choice(["00 8F 01", "00", "11 22"])}
    if draw.random() < 0.2:
        known["settings"] = {"box/lamps/mode": draw.choice(WORDS[:4])}
    return known


def conditions(draw: Random) -> Vectors:
    made = 0
    while made < 300:
        test, known = _test(draw, 3), _known(draw)
        lines = draw.choice([["gannet"], ["gannet", "tern"], ["gannet", "tern"]])
        cars = run.completions(test, known, {name: LINES[name] for name in lines}, 40)
        if cars is None:
            continue
        made += 1
        given = {"condition": test, "known": known, "lines": lines, "cars": cars}
        if run.answer(objects.condition(test), objects.known(known), _lines(lines)).kind != "if":
            del given["cars"]
        yield {"do": "condition", "given": given}


def _lines(names: list[str]) -> Any:
    return {name: objects.line(LINES[name]) for name in names}


def versions(draw: Random) -> Vectors:
    for _ in range(30):
        some = [_version(draw) for _ in range(7)]
        yield {"do": "versions", "given": {"versions": some}}
    for _ in range(60):
        parts = [draw.choice([">=", "<=", "=", "<", ">"]) + _version(draw) for _ in range(draw.randint(1, 3))]
        version = draw.choice([_version(draw), parts[0].lstrip("<>=")])
        yield {"do": "range", "given": {"range": ",".join(parts), "version": version}}


def _version(draw: Random) -> str:
    pieces = ["0", "00", "1", "9", "10", "210", "0210", "A", "b", ".", "B", "300"]
    return "".join(draw.choice(pieces) for _ in range(draw.randint(1, 4)))[:24]


def vins(draw: Random) -> Vectors:
    letters = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
    for _ in range(60):
        vin = "".join(draw.choice(letters) for _ in range(13)) + f"{draw.randrange(10000):04d}"
        spoilt = draw.choice([vin, vin, vin.lower(), f"{vin[:3]}-{vin[3:9]} {vin[9:]}", vin[:16], vin + "1"])
        if draw.random() < 0.2:
            spoilt = spoilt.replace(draw.choice(spoilt), draw.choice("IOQ*é"), 1)
        yield {"do": "vin-check", "given": {"vin": spoilt}}
    for _ in range(120):
        begin = draw.choice(["0GN", "0GN", "0GN", "0GN", "0GNT", "0TE", "0XX"])
        vin = (
            begin
            + draw.choice("SLSLSLX")
            + draw.choice(["A1", "A0", "B2", "C3", "Z9"])
            + draw.choice("NSNSX")
        )
        vin = f"{vin}00000"[:8] + "0" + draw.choice("FGHJKLMNPRA") + draw.choice("JK") + "0"
        vin += draw.choice(["00500", "00999", "01000", "01001", "30000", "99999"])
        if draw.random() < 0.8:
            vin = vin[:8] + run.check_digit(vin) + vin[9:]
        if draw.random() < 0.1:
            vin = vin[: draw.randint(3, 16)]
        yield {"do": "vin", "given": {"vin": vin, "lines": draw.choice([["gannet"], ["gannet", "tern"]])}}
