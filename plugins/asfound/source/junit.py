"""Findings as JUnit XML, the form in which build servers take the results of tests.

There is no standard; this keeps to what servers have in common: one suite, a case for each file, one failure
in a case that has findings.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from xml.etree import ElementTree

from .findings import Finding, arrange
from .report import as_lines

# What XML 1.0 (section 2.2) cannot hold at all, not even escaped.
_IMPOSSIBLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def as_junit(findings: Iterable[Finding], files: Iterable[str], folder: str = "recipes") -> str:
    """A test suite; ``files`` are all that were checked, those without findings as passed cases."""
    found = arrange(findings)
    by_file: dict[str, list[Finding]] = {}
    for finding in found:
        by_file.setdefault(finding.file, []).append(finding)
    names = sorted({*files, *by_file})
    counts = {"tests": str(len(names)), "failures": str(len(by_file)), "errors": "0", "skipped": "0"}
    suites = ElementTree.Element("testsuites", counts)
    suite = ElementTree.SubElement(suites, "testsuite", {"name": "asfound check", **counts})
    for name in names:
        case = ElementTree.SubElement(
            suite, "testcase", {"classname": _safe(folder), "name": _safe(name), "time": "0"}
        )
        here = by_file.get(name, [])
        if here:
            more = f" (and {len(here) - 1} more)" if len(here) > 1 else ""
            said = {"type": here[0].id, "message": _safe(here[0].message) + more}
            failure = ElementTree.SubElement(case, "failure", said)
            failure.text = _safe("\n".join(as_lines(here, folder, fold=False)))
    ElementTree.indent(suites)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(suites, encoding="unicode")


def _safe(text: str) -> str:
    return _IMPOSSIBLE.sub("\N{REPLACEMENT CHARACTER}", text)
