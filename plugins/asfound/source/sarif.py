"""Findings as SARIF 2.1.0 (OASIS Standard, with errata 01), for services that show them beside the code."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from hashlib import sha256
from urllib.parse import quote

from .address import of_field, of_kind
from .catalogue import Entry
from .findings import Finding, arrange

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def as_sarif(
    findings: Iterable[Finding],
    folder: str,
    kinds: Mapping[str, Entry],
    version: str = "0",
    site: str | None = None,
) -> str:
    """A SARIF log with one run; ``kinds`` says of each id what it means, ``version`` is the program's.

    ``site``: the address of the club's site, where kinds of finding and fields are explained.
    Columns count Unicode code points. A result's fingerprint says nothing of lines, so that services know it
    again when it has moved.
    """
    found = arrange(findings)
    ids = sorted({finding.id for finding in found})
    driver = {
        "name": "asfound",
        "version": version,
        "rules": [_rule(id, kinds.get(id), site) for id in ids],
    }
    results = [_result(finding, ids.index(finding.id), folder, site) for finding in found]
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "invocations": [{"executionSuccessful": True, "exitCode": 1 if found else 0}],
        "results": results,
    }
    return json.dumps({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}, indent=2, ensure_ascii=True)


def _rule(id: str, entry: Entry | None, site: str | None) -> dict[str, object]:
    if entry is None:
        return {"id": id}
    return {
        "id": id,
        **({"helpUri": of_kind(id, site)} if site else {}),
        "shortDescription": {"text": entry.says},
        "fullDescription": {"text": f"{entry.says} {entry.matters}"},
        "help": {"text": entry.helps},
        "defaultConfiguration": {"level": "error"},
    }


def _result(finding: Finding, index: int, folder: str, site: str | None) -> dict[str, object]:
    place = _place(folder, finding.file, finding.line, finding.column)
    if finding.path:
        place["logicalLocations"] = [{"fullyQualifiedName": finding.path, "kind": "member"}]
    result: dict[str, object] = {
        "ruleId": finding.id,
        "ruleIndex": index,
        "level": "error",
        "message": {"text": f"{finding.message}. To repair: {finding.repair}."},
        "locations": [place],
        "partialFingerprints": {"asfound/v1": _fingerprint(finding)},
    }
    if finding.also:
        result["relatedLocations"] = [
            {"id": number, **_place(folder, *where), "message": {"text": "or what stands here is wrong"}}
            for number, where in enumerate(finding.also, 1)
        ]
    more = {"because": finding.because, "field": of_field(finding, site) if site else None}
    if properties := {name: value for name, value in more.items() if value is not None}:
        result["properties"] = properties
    return result


def _place(folder: str, file: str, line: int, column: int) -> dict[str, object]:
    path = f"{folder}/{file}"
    uri = quote(path, errors="backslashreplace")
    return {
        "physicalLocation": {
            "artifactLocation": {"uri": f"file://{uri}" if path.startswith("/") else uri},
            "region": {"startLine": line, "startColumn": column},
        }
    }


def _fingerprint(finding: Finding) -> str:
    said = "\n".join((finding.id, finding.file, finding.path, finding.message))
    return sha256(said.encode("utf-8", "backslashreplace")).hexdigest()[:32]
