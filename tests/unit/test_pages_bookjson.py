"""book.json: the schema accepts it, and it is enough to work with, without any of our own code."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from crccheck.crc import Crc8Autosar, Crc8SaeJ1850, Crc16Arc, Crc16Ibm3740, Crc32IsoHdlc
from jsonschema import Draft202012Validator

from asfound.book import Book
from asfound.pages import Pages, links
from asfound.source.loader import Loaded, load
from asfound.source.schemas import documents, registry

ROOT = Path(__file__).parents[2]
LOADED = load(ROOT / "recipes")
CRC = {  # and how many bytes each has
    "crc8-j1850": (Crc8SaeJ1850, 1),
    "crc8-autosar": (Crc8Autosar, 1),
    "crc16-ibm-3740": (Crc16Ibm3740, 2),
    "crc16-arc": (Crc16Arc, 2),
    "crc32-iso-hdlc": (Crc32IsoHdlc, 4),
}


def content(loaded: Loaded = LOADED) -> bytes:
    return dict(Pages(Book(loaded)).documents(links.file_of))[links.BOOK]


@cache
def book() -> dict[str, Any]:
    return json.loads(content())


def recipes() -> dict[str, Any]:
    return {recipe["file"]["recipe"]: recipe for recipe in book()["recipes"]}


def complaints(data: object) -> list[str]:
    found = Draft202012Validator(documents().documents["book.schema.json"], registry=registry())
    return [f"{error.json_path}: {error.message}" for error in found.iter_errors(data)]


def test_the_schema_accepts_it():
    assert complaints(book()) == []
    assert book()["asfound_book"] == 1


def test_the_schema_is_strict():
    small = book() | {"recipes": [r for r in book()["recipes"] if r.get("reports") and r.get("edits")][:1]}
    assert complaints(small) == []
    # A key too many, a key too few, a value of another kind, anywhere: else it would describe nothing.
    for damage in (
        lambda d: d.update(more=1),
        lambda d: d.pop("club"),
        lambda d: d["recipes"][0].update(more=1),
        lambda d: d["recipes"][0].pop("codes"),
        lambda d: d["recipes"][0]["file"].pop("title"),
        lambda d: d["recipes"][0]["variants"][0].update(answer="perhaps"),
        lambda d: d["recipes"][0]["reports"][0].pop("weight"),
        lambda d: d["recipes"][0]["edits"][0].update(mask="4"),
        lambda d: d["modules"][0]["records"][0].pop("name"),
        lambda d: d.update(asfound_book=2),
    ):
        data = deepcopy(small)
        damage(data)
        assert complaints(data)


def test_it_holds_the_whole_book():
    assert LOADED.club is not None
    assert set(recipes()) == set(LOADED.recipes)
    assert {module["module"] for module in book()["modules"]} == set(LOADED.modules)
    assert {line["line"] for line in book()["vehicles"]} == set(LOADED.lines)
    for id, recipe in recipes().items():
        assert {r["report"] for r in recipe.get("reports", [])} == {r.id for r in LOADED.reports.get(id, ())}
        assert {s["by"] for s in recipe.get("signatures", [])} == {
            s.by for s in LOADED.signatures.get(id, ())
        }
        assert recipe["page"] == f"recipes/{id}.html"


def test_the_same_book_gives_the_same_bytes():
    again = load(ROOT / "recipes")
    assert content(replace(again, recipes=dict(reversed(again.recipes.items())))) == content()


def layout_of(edit: dict[str, Any]) -> dict[str, Any]:
    module, record = edit["record"].split("/")
    (found,) = (
        layout
        for m in book()["modules"]
        if m["module"] == module.partition("@")[0]
        for r in m["records"]
        if r["record"] == record
        for layout in r["layouts"]
        if layout["layout"] == edit["layout"]
    )
    return found


def test_worked_examples_come_out_from_the_document_alone():
    """As found, mask, bits and crccheck's checksums: what every reader of the document would do."""
    done = 0
    for recipe in recipes().values():
        for example in recipe["file"].get("worked_examples", []):
            found = example["found"]
            if (
                example.get("choose")
                or "layout" not in example
                or not all(len(p) == 2 for p in found.split())
            ):
                continue  # chosen by the reader, by name, or shown as a number
            results = set()
            for edit in recipe["edits"]:
                if edit["record"].split("/")[1] != example["record"].split("/")[1]:
                    continue
                if edit.get("layout") != example["layout"]:
                    continue
                held, mask, bits = (bytes.fromhex(text) for text in (found, edit["mask"], edit["bits"]))
                assert len(held) == len(mask) == len(bits) == edit["length"]
                out = bytearray((a & ~m) | b for a, m, b in zip(held, mask, bits, strict=True))
                if checksum := layout_of(edit).get("checksum"):
                    first, last = checksum["over"]
                    crc, size = CRC[checksum["kind"]]
                    right = crc.calc(bytes(out[first : last + 1]))
                    out[checksum["at"] : checksum["at"] + size] = right.to_bytes(size, checksum["order"])
                results.add(out.hex(" ").upper())
            assert example["write"] in results
            done += 1
    assert done >= 25


def test_evidence_follows_from_the_reports_in_the_document():
    from statsmodels.stats.proportion import proportion_confint  # takes a second, in each process of a run

    counted = 0
    for recipe in recipes().values():
        reports = [r for r in recipe.get("reports", []) if r["weight"] == "counts"]
        groups = [
            (
                v["evidence"],
                [r for r in reports if all(r["car"][k] == v[k] for k in ("line", "model", "phase"))],
            )
            for v in recipe["variants"]
            if "evidence" in v
        ]
        groups += [
            (each["evidence"], [r for r in reports if each["layout"] in r.get("layouts", [])])
            for each in recipe.get("layouts", [])
        ]
        for evidence, of in groups:
            assert evidence["reports"] == len(of)
            assert evidence["worked"] == sum(r["outcome"] == "worked" for r in of)
            assert evidence["members"] == len({r["by"] for r in of})
            failed = ("no-effect", "refused", "could-not-put-back")
            assert evidence["failed"] == sum(r["outcome"] in failed for r in of)
            if of:
                low, high = proportion_confint(evidence["worked"], len(of), alpha=0.05, method="wilson")
                assert evidence["interval"] == pytest.approx([low * 100, high * 100], abs=0.051)
                counted += 1
            else:
                assert "interval" not in evidence
    assert counted > 60


def test_access_codes_are_not_in_it():
    module = LOADED.modules["living-area"]
    secret = replace(
        module, records=(replace(module.records[0], access_code="C0DE5EC2E7"), *module.records[1:])
    )
    loaded = replace(LOADED, modules={**LOADED.modules, "living-area": secret})
    assert b"C0DE5EC2E7" not in content(loaded)
    assert LOADED.club is not None
    club = replace(LOADED.club, access_codes="publish")
    assert b"C0DE5EC2E7" in content(replace(loaded, club=club))


def test_an_empty_book_is_one_too():
    empty = replace(LOADED, lines={}, modules={}, recipes={}, reports={}, signatures={}, past_codes={})
    data = json.loads(content(empty))
    assert complaints(data) == []
    assert data["recipes"] == []
