"""A review as JSON for programs; ``schema/review.schema.json`` describes it."""

from __future__ import annotations

import json

from .review import Review

VERSION = 1


def as_json(review: Review) -> str:
    """The whole review, ASCII only; keys are added within a version, never changed or removed."""
    return json.dumps(as_data(review), indent=2, ensure_ascii=True) + "\n"


def as_data(review: Review) -> dict[str, object]:
    """The review as plain data."""
    return {
        "asfound_review": VERSION,
        "base": review.base,
        "head": review.head,
        "folder": review.folder,
        "needs_a_human": review.needs_a_human,
        "notes": list(review.notes),
        "owners_files": [{"path": file.path, "how": file.how, "what": file.what} for file in review.owners],
        "changes": [
            {
                "area": change.subject.area,
                "id": change.subject.id,
                "title": change.subject.title,
                "file": change.subject.state,
                "kind": change.kind,
                "need": change.need,
                "says": change.says,
                "facts": [{"label": fact.label, "text": fact.text} for fact in change.facts],
            }
            for change in review.changes
        ],
        "findings": [
            {
                "state": found.state,
                "id": found.finding.id,
                "file": f"{review.folder}/{found.finding.file}",
                "line": found.finding.line,
                "column": found.finding.column,
                "path": found.finding.path,
                "message": found.finding.message,
            }
            for found in review.findings
        ],
        "look_at": [{"ask": look.ask, "of": list(look.of)} for look in review.looks],
    }
