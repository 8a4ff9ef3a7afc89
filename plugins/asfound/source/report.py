"""Findings as text for people and as JSON for programs."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from itertools import islice

from ..car.phrases import counted
from .address import of_field, of_kind
from .findings import Finding, arrange

_MOST_KINDS = 5
_PLACES = 8  # shown of those that could be at fault just as well
_EMPTY = "yaml-empty-value"
_WRITE = "write the value: "  # goes without saying in a list of what is to be filled in


def place_text(finding: Finding, folder: str = "recipes") -> str:
    """``recipes/modules/living-area.yml:12:9``; editors and terminals make it a link."""
    return f"{folder}/{finding.file}:{finding.line}:{finding.column}"


def as_lines(findings: Iterable[Finding], folder: str = "recipes", *, fold: bool = True) -> Iterator[str]:
    """Lines of plain text: causes first, what follows from a cause indented below it, once for each file.

    With ``fold``, where several values of a file are empty, as when it has just been begun, they are a list
    of what is to be filled in, below all else, lest it bury what is wrong.
    """
    said = list(_levels(arrange(findings)))
    empty = Counter(one.file for level, one, _ in said if not level and one.id == _EMPTY)
    begun: dict[str, list[tuple[int, Finding, int]]] = {}
    file = ""
    for level, finding, others in said:
        if not level:
            file = finding.file if fold and finding.id == _EMPTY and empty[finding.file] > 1 else ""
        if file:
            begun.setdefault(file, []).append((level, finding, others))
        else:
            yield from _one(level, finding, others, folder)
    for file, parts in begun.items():
        here = [finding for level, finding, _ in parts if not level]
        places = [f"{one.line}:{one.column}" for one in here]
        yield f"{folder}/{file} [{_EMPTY}]"
        yield f"  {counted(len(here), 'thing')} to fill in:"
        for place, one in zip(places, here, strict=True):
            yield f"  {place:{max(map(len, places))}}  {one.path}: {one.repair.removeprefix(_WRITE)}"
        for level, finding, others in parts:
            if level:
                yield from _one(level, finding, others, folder)


def _levels(arranged: Sequence[Finding]) -> Iterator[tuple[int, Finding, int]]:
    """How many causes each finding has above it, and of how many more places of its file the same is said."""
    alike = Counter(_consequence(finding) for finding in arranged)
    depth: dict[str, int] = {}
    for finding in arranged:
        others = alike.pop(_consequence(finding), 0) - 1 if finding.because in depth else 0
        if others < 0:
            continue  # the same was said of another place in this file
        level = depth[finding.because] + 1 if finding.because in depth else 0
        depth.setdefault(finding.key, level)
        yield level, finding, others


def _one(level: int, finding: Finding, others: int, folder: str) -> Iterator[str]:
    indent = "    " * level
    where = f" {finding.path}" if finding.path else ""
    yield f"{indent}{place_text(finding, folder)}{where} [{finding.id}]"
    more = f" (and at {counted(others, 'more place')} in this file)" if others else ""
    yield f"{indent}  {finding.message}{more}"
    for file, line, column in finding.also[:_PLACES]:
        yield f"{indent}  see also {folder}/{file}:{line}:{column}"
    if len(finding.also) > _PLACES:
        yield f"{indent}  see also {counted(len(finding.also) - _PLACES, 'more place')}"
    yield f"{indent}  repair: {finding.repair}"


def _consequence(finding: Finding) -> tuple[str | None, ...]:
    return finding.because, finding.id, finding.file, finding.message


def count_text(findings: Sequence[Finding]) -> str:
    """``3 findings in 2 files, and 5 that follow from them``, or that there are none."""
    if not findings:
        return "No findings."
    present = {finding.key for finding in findings}
    causes = [one for one in findings if one.because not in present - {one.key}] or findings  # or a circle
    said = f"{counted(len(causes), 'finding')} in {counted(len({one.file for one in causes}), 'file')}"
    if more := len(findings) - len(causes):
        them = "it" if len(causes) == 1 else "them"
        said += f", and {more} that follow{'s' if more == 1 else ''} from {them}"
    return f"{said}."


def more_lines(findings: Iterable[Finding], site: str | None = None) -> Iterator[str]:
    """How to read more about the first kinds of finding, causes first: a command, and pages of ``site``."""
    arranged = arrange(findings)
    kinds = list(islice(dict.fromkeys(finding.id for finding in arranged), _MOST_KINDS))
    yield f"Read more: asfound explain {' '.join(kinds)}"
    if site:
        pages = [
            *(of_kind(id, site) for id in kinds),
            *filter(None, (of_field(one, site) for one in arranged)),
        ]
        yield from (f"  {page}" for page in islice(dict.fromkeys(pages), 2 * _MOST_KINDS))


def as_json(findings: Iterable[Finding], folder: str = "recipes") -> str:
    """A JSON array, one object a finding: its fields and its ``key``; ``file`` starts with ``folder``."""
    return json.dumps(
        [
            asdict(finding)
            | {
                "file": f"{folder}/{finding.file}",
                "key": finding.key,
                "also": [
                    {"file": f"{folder}/{file}", "line": line, "column": column}
                    for file, line, column in finding.also
                ],
            }
            for finding in arrange(findings)
        ],
        indent=2,
        ensure_ascii=True,
    )
