"""Where a club's site explains a finding: its kind, and the field it is about.

The site is named by whoever runs the command, or by the base branch, never by the files that are checked:
those may be anybody's.
"""

from __future__ import annotations

from .fields import anchor_of
from .findings import Finding
from .names import kind_of


def of_kind(id: str, site: str) -> str:
    """The address of what a kind of finding means."""
    return f"{_folder(site)}findings.html#{id}"


def of_field(finding: Finding, site: str) -> str | None:
    """The address of the field that a finding is about; None when it is about a file as such."""
    kind = kind_of(finding.file)
    if kind is None or not finding.path:
        return None
    anchor = anchor_of(kind, finding.path)
    return f"{_folder(site)}fields/{kind}.html" + (f"#{anchor}" if anchor else "")


def _folder(site: str) -> str:
    return site if site.endswith("/") else f"{site}/"
