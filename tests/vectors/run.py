"""What Python answers to each kind of vector; the browser answers the same kinds from its own code."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

import objects
import run_jobs
import run_search

from asfound.car.bits import differing, hex_pairs
from asfound.car.checksums import crc
from asfound.car.completions import Space
from asfound.car.fitting import answer, truth
from asfound.car.known import Known
from asfound.car.records import Layout, Record, RecordPath, SettingPath
from asfound.car.values import ValueProblem, decode, encode, for_reading
from asfound.car.versions import BELOW_ALL, Point, RangeProblem, key, parse_range
from asfound.car.vin import check_digit, faults, model_year, model_years, normal
from asfound.car.vin_reading import read_vin
from asfound.car.world import World, iso_month
from asfound.pages import compiled
from asfound.trust.canonical import spell
from asfound.trust.letters import check_code, make_code, normalise
from asfound.work.edits import (
    Edit,
    EditProblem,
    NamesEdit,
    Stop,
    UndoProblem,
    WrongChecksum,
    WrongLength,
    assess,
    assess_names,
    compile_edit,
    compose,
    compose_names,
    put_back_by_value,
    put_back_names,
    undo,
    write,
    write_names,
)
from asfound.work.faults import decode_fault, encode_fault
from asfound.work.held import HeldProblem, parse_held, show_held
from asfound.work.recipes import Ask, Change
from asfound.work.typed import matches, readings

Json = Any
REFUSED: Json = {"refused": True}

# bytes and values


def _crc(given: Json) -> Json:
    return {"crc": f"{crc(given['kind'], bytes.fromhex(given['bytes'])):X}"}


def _checksum(given: Json) -> Json:
    one = objects.checksum(given["checksum"])
    held = bytes.fromhex(given["record"])
    assert one is not None
    return {"matches": one.matches(held), "applied": hex_pairs(one.applied(held))}


def _encode(given: Json) -> Json:
    try:
        stored = encode(objects.setting(given["setting"]), given["words"], given["width"])
    except ValueProblem:
        return REFUSED
    return {"raw": str(stored.raw), "shown": stored.shown, "exact": stored.exact}


def _decode(given: Json) -> Json:
    meaning = decode(objects.setting(given["setting"]), int(given["raw"]), given["width"])
    return {"words": meaning.words, "known": meaning.known}


def _bare(given: Json) -> Record:
    return objects.record(
        {"id": "r", "name": "R", "takes_effect": "at-once", "settings": [], **given["record"]}
    )


def _held(given: Json) -> Json:
    record = _bare(given)
    try:
        held = parse_held(record, given["length"], given["text"])
    except HeldProblem:
        return REFUSED
    return {"bytes": hex_pairs(held), "shown": show_held(record, held)}


def _typed(given: Json) -> Json:
    record = _bare(given)
    found = matches(record, record.layouts, given["text"])
    return {
        "readings": [{"bytes": hex_pairs(r.held), "how": r.how} for r in readings(record, given["text"])],
        "matches": [
            {"bytes": hex_pairs(m.reading.held), "layout": m.layout.id}
            | ({} if m.checksum_ok is None else {"checksum_ok": m.checksum_ok})
            for m in found
        ],
    }


# edits


def _edit(given: Json, key: str = "edit") -> Edit:
    one = objects.edit(given[key], given["settings"])
    assert isinstance(one, Edit)
    return one


def _names(given: Json) -> NamesEdit:
    one = objects.edit(given["edit"], given["settings"])
    assert isinstance(one, NamesEdit)
    return one


def _stop(error: Stop) -> Json:
    kinds = {WrongLength: "length", WrongChecksum: "checksum", UndoProblem: "undo"}
    return {"stop": kinds[type(error)]}


def _assess(given: Json) -> Json:
    others = objects.alternatives(given.get("alternatives", ()))
    try:
        found = assess(_edit(given), bytes.fromhex(given["found"]), others)
    except WrongLength as error:
        return _stop(error)
    except EditProblem:
        return REFUSED
    out: Json = {"state": found.state, "fields": run_jobs.fields(found.fields)}
    return out if found.checksum_ok is None else out | {"checksum_ok": found.checksum_ok}


def _write(given: Json) -> Json:
    found = bytes.fromhex(given["found"])
    try:
        to = write(_edit(given), found)
    except Stop as error:
        return _stop(error)
    return {"write": hex_pairs(to), "changed": [list(at) for at in differing(found, to)]}


def _undo(given: Json) -> Json:
    try:
        back = undo(_edit(given), bytes.fromhex(given["noted"]), bytes.fromhex(given["present"]))
    except Stop as error:
        return _stop(error)
    return {"write": hex_pairs(back)}


def _put_back(given: Json) -> Json:
    noted, present = bytes.fromhex(given["noted"]), bytes.fromhex(given["present"])
    try:
        back = put_back_by_value(_edit(given, "old"), noted, _edit(given, "new"), present)
    except Stop as error:
        return _stop(error)
    return {"write": hex_pairs(back)}


def _compose(given: Json) -> Json:
    edits = [objects.edit(one, given["settings"]) for one in given["edits"]]
    try:
        if isinstance(edits[0], Edit):
            return {"edit": compiled.edit(compose([e for e in edits if isinstance(e, Edit)]))}
        return {"edit": compiled.edit(compose_names([e for e in edits if isinstance(e, NamesEdit)]))}
    except EditProblem:
        return {"clash": True}


def _choose(given: Json) -> Json:
    """The edit anew with what the reader chose, by compiling the changes it stands for."""
    one = _edit(given)
    settings = tuple(map(objects.setting, given["settings"]))
    places = {f.setting.setting: f.place for f in one.fields}
    layout = Layout(one.layout, None, one.length, places, one.checksum)
    changes = [
        Change(f.setting, f.before_words, Ask("", f.to_words) if f.asked else f.to_words) for f in one.fields
    ]
    choose = {SettingPath(one.record.module, one.record.record, s): to for s, to in given["choose"].items()}
    try:
        new = compile_edit(Record("r", "R", settings, (layout,)), one.record, layout, changes, choose)
    except EditProblem:
        return REFUSED
    return {"edit": compiled.edit(new)}


def _paths(given: Json, words: Mapping[str, str]) -> dict[SettingPath, str]:
    where = RecordPath.parse(given["edit"]["record"])
    return {SettingPath(where.module, where.record, s): text for s, text in words.items()}


def _assess_names(given: Json) -> Json:
    others = objects.alternatives(given.get("alternatives", ()))
    found = assess_names(_names(given), _paths(given, given["found"]), others)
    return {"state": found.state, "fields": run_jobs.fields(found.fields)}


def _write_names(given: Json) -> Json:
    return {"write": _ids(write_names(_names(given), _paths(given, given["found"])))}


def _put_back_names(given: Json) -> Json:
    noted, present = _paths(given, given["noted"]), _paths(given, given["present"])
    try:
        return {"write": _ids(put_back_names(_names(given), noted, present))}
    except Stop as error:
        return _stop(error)


def _ids(words: Mapping[SettingPath, str]) -> dict[str, str]:
    return {path.setting: text for path, text in words.items()}


# conditions and versions


def _condition(given: Json, lines: Mapping[str, Any]) -> Json:
    world = World({name: objects.line(lines[name]) for name in given["lines"]})
    test, known = objects.condition(given["condition"]), objects.known(given["known"])
    exact = answer(test, known, world)
    out: Json = {"kleene": truth(test, known, world), "answer": exact.kind}
    if exact.residual is not None:
        values = [truth(exact.residual, objects.known(car), world) for car in given["cars"]]
        out["true"] = "".join("?" if value is None else str(int(value)) for value in values)
    return out


def completions(test: Json, known: Json, lines: Mapping[str, Any], most: int) -> list[Json] | None:
    """Every car still possible, as far as the condition can tell, fully known; None beyond ``most``."""
    world = World({name: objects.line(data) for name, data in lines.items()})
    held = objects.known(known)
    space = Space((objects.condition(test),), held, world)
    if space.valid.bit_count() > most:
        return None
    out = []
    rest = space.valid
    while rest:
        found = space.example(rest)
        rest &= rest - 1
        assert found is not None
        try:
            out.append(_as_known(*found, held, space))
        except NoVersion:
            return None
    return out


class NoVersion(Exception):
    """Between two versions that differ in leading zeros only, room is taken to be, but there is none."""


def _as_known(car: Any, values: Any, held: Known, space: Space) -> Json:
    out: Json = {"lines": [car.line], "models": [car.model], "phases": [car.phase]}
    if car.market:
        out["markets"] = [car.market]
    out["built"] = iso_month(car.month)
    out["equipment"] = dict(held.equipment)
    records = {name: bytearray(record) for name, record in held.records.items()}
    for name, value in values.items():
        match name[0]:
            case "equipped":
                out["equipment"][name[1]] = value
            case "software":
                version = held.software.get(name[1]) or _sample(value, space.values[name])
                out.setdefault("modules", {}).setdefault(name[1], {})["software"] = version
            case "part":
                out.setdefault("modules", {}).setdefault(name[1], {})["part"] = value or "OTHER 0"
            case "setting":
                out.setdefault("settings", {})[name[1]] = value or "something else"
            case "holds":
                if name[1] not in held.records:
                    record = records.setdefault(name[1], bytearray())
                    record.extend(bytes(max(0, int(name[2]) + 1 - len(record))))
                    record[int(name[2])] = value
    if records:
        out["records"] = {name: hex_pairs(bytes(record)) for name, record in records.items()}
    return out


def _sample(point: Point, every: Any) -> str:
    """A version of the class that a point stands for."""
    (_, version), above = point
    if not above:
        return version
    others = sorted(p for p in every if p > point)
    for text in ("0", "00") if point == BELOW_ALL else (f"{version}A", f"{version}.0"):
        sample = (key(text), 0)
        if point < sample and not any(other <= sample for other in others):
            return text
    raise NoVersion(point)


def _versions(given: Json) -> Json:
    return {"sorted": sorted(given["versions"], key=key)}


def _range(given: Json) -> Json:
    try:
        return {"contains": parse_range(given["range"]).contains(given["version"])}
    except RangeProblem:
        return REFUSED


# VINs


def _vin_check(given: Json) -> Json:
    vin = normal(given["vin"])
    wrong = faults(vin)
    if wrong:
        return {"faults": len(wrong)}
    year = model_year(vin)
    return {"check_digit": check_digit(vin), "years": list(model_years(vin[9]))} | (
        {"year": year} if year else {}
    )


def _vin(given: Json, lines: Mapping[str, Any]) -> Json:
    got = read_vin(given["vin"], {name: objects.line(lines[name]) for name in given["lines"]})
    out: Json = {"warnings": len(got.warnings)}
    if got.line is not None:
        out["line"] = got.line
    for name in ("models", "phases", "markets"):
        told = getattr(got, name)
        if told is not None:
            out[name] = sorted(told)
    if got.built != (None, None):
        out["built"] = compiled.months(got.built)
    return out | ({"equipment": dict(got.equipment)} if got.equipment else {})


# codes


def _code_check(given: Json) -> Json:
    return {"normal": normalise(given["typed"]), "right": check_code(given["typed"]) == "ok"}


def _make_code(given: Json) -> Json:
    return {"code": make_code(spell(given["document"]))}


def _sha256(given: Json) -> Json:
    return {"sha256": sha256(bytes.fromhex(given["bytes"])).hexdigest()}


def _fault(given: Json) -> Json:
    if "number" in given:
        return {"code": decode_fault(given["number"])}
    try:
        return {"number": encode_fault(given["code"])}
    except ValueError:
        return REFUSED


DO: dict[str, Callable[[Json], Json]] = {
    **run_jobs.DO,
    **run_search.DO,
    "crc": _crc,
    "checksum": _checksum,
    "encode": _encode,
    "decode": _decode,
    "held": _held,
    "typed": _typed,
    "assess": _assess,
    "write": _write,
    "undo": _undo,
    "put-back": _put_back,
    "compose": _compose,
    "choose": _choose,
    "assess-names": _assess_names,
    "write-names": _write_names,
    "put-back-names": _put_back_names,
    "versions": _versions,
    "range": _range,
    "vin-check": _vin_check,
    "code-check": _code_check,
    "make-code": _make_code,
    "sha256": _sha256,
    "fault": _fault,
    "for-reading": lambda given: {"words": for_reading(given["number"])},
}
SHARED: dict[str, Callable[[Json, Json], Json]] = {
    "condition": lambda given, shared: _condition(given, shared["lines"]),
    "vin": lambda given, shared: _vin(given, shared["lines"]),
}


def run(vector: Json, shared: Json) -> Json:
    """What Python expects of a vector."""
    do = vector["do"]
    return DO[do](vector["given"]) if do in DO else SHARED[do](vector["given"], shared)
