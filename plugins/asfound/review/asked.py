"""What the rules find in as much of a book as a scope says."""

from __future__ import annotations

from typing import Any

from ..book import Book
from ..rules import Problem, Rule
from ..rules.run import run
from ..source.findings import Finding
from .scope import Scope


def all_findings(book: Book, scope: Scope) -> tuple[Finding, ...]:
    """The files' findings and those of the rules, about whatever may have changed."""

    def ask(rule: Rule, subject: Any) -> tuple[Problem, ...]:
        if rule.subject == "recipes":
            return rule.problems(book, tuple(r for r in subject if scope.together(r.id)))
        return rule.problems(book, subject) if scope.asks(rule.subject, getattr(subject, "id", "")) else ()

    return (*book.loaded.findings, *run(book, ask=ask))
