"""libyaml's errors in plain words, with the repair that is most often right."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

import yaml
from yaml._yaml import CParser

from .findings import shown

QUOTE = "put the whole text in double quotes"
UNCLOSED = "the quote that opens here is never closed"
CLOSE = "close it at the end of the text"
NO_DIRECTIVES = "YAML directives (lines that start with %) are not read"


_KEY = re.compile(r" *(?:- )*[a-z_]+:(?: |$)")
_ITEM = re.compile(r" *(?:- +)+")


class Explained(NamedTuple):
    """The finding's id, line and column (from 1), what is wrong and what to write."""

    id: str
    line: int
    column: int
    message: str
    repair: str


def explain(error: yaml.YAMLError, lines: Sequence[str]) -> Explained:
    """What a syntax error of libyaml means. ``lines`` are those of the whole file."""
    problem = str(getattr(error, "problem", None) or "no reason given")
    context = str(getattr(error, "context", None) or "")
    at, start = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    here = (at.line, at.column) if at else (0, 0)
    opening = (start.line, start.column) if start else here
    id, (line, column), message, repair = _Place(lines, here, opening).explain(problem, context)
    return Explained(id, line + 1, column + 1, message, repair)


Said = tuple[str, tuple[int, int], str, str]


class _Place:
    """Where libyaml stopped (``here``) and where what it was reading began (``opening``)."""

    def __init__(self, lines: Sequence[str], here: tuple[int, int], opening: tuple[int, int]) -> None:
        self.lines, self.here, self.opening = lines, here, opening
        line = lines[here[0]].rstrip("\r") if here[0] < len(lines) else ""
        self.before, self.sign, self.ended = (
            line[: here[1]],
            line[here[1] : here[1] + 1],
            here[1] >= len(line),
        )

    def explain(self, problem: str, context: str) -> Said:
        match problem:
            case "mapping values are not allowed in this context":
                return self._colon()
            case "did not find expected key":
                return self._no_key()
            case "found unexpected end of stream" | "found unexpected document indicator":
                return self._there(UNCLOSED, CLOSE)
            case "could not find expected ':'":
                return self._there(
                    "this line has no colon", "write key: value, or indent it if it continues text"
                )
            case "found character that cannot start any token":
                return self._here(f"text cannot start with {shown(self.sign)}", QUOTE)
            case "did not find expected ',' or ']'":
                return self._bracket("[", "]")
            case "did not find expected ',' or '}'":
                return self._bracket("{", "}")
            case "did not find expected node content":
                return self._here(
                    f"a value is missing before {shown(self.sign)}",
                    "write the value, or put the text in quotes",
                )
            case "did not find expected '-' indicator":
                return self._here(
                    "a key stands where the list above goes on",
                    "start the line with a dash, or in the column of the key that the list belongs to",
                )
            case "block sequence entries are not allowed in this context":
                return self._here(
                    "a list cannot start behind a key", "start the list in the next line, or write [one, two]"
                )
            case "mapping keys are not allowed in this context":
                return self._here("text cannot start with a question mark and a space", QUOTE)
            case "did not find expected <document start>":
                return self._here(
                    "something follows where the content has already ended",
                    "remove it, or start it in the same column as the keys above",
                )
            case "exceeded maximum nesting depth":
                return (
                    "yaml-too-deep",
                    self.here,
                    "lists and maps lie too deep inside each other",
                    "write it flatter",
                )
        if "directive" in context or "directive" in problem or "YAML document" in problem:
            return "yaml-directive", self.opening, NO_DIRECTIVES, "remove the line"
        return self._by_context(problem, context)

    def _by_context(self, problem: str, context: str) -> Said:
        line, column = self.opening
        first = self.lines[line][column : column + 1] if line < len(self.lines) else ""
        match context:
            case "while scanning a block scalar":
                return self._there(f"text cannot start with {shown(first)}", QUOTE)
            case "while parsing a quoted scalar":
                return self._here(
                    "a backslash inside double quotes must be followed by an escape that YAML knows",
                    "write two backslashes, or use single quotes",
                )
            case "while scanning an alias":
                return (
                    "yaml-alias",
                    self.opening,
                    "text cannot start with *, which refers to another place",
                    QUOTE,
                )
            case "while scanning an anchor":
                return "yaml-anchor", self.opening, "text cannot start with &, which names a place", QUOTE
            case "while parsing a tag" | "while scanning a tag" | "while parsing a node":
                return "yaml-tag", self.opening, "text cannot start with !, which asks for a type", QUOTE
        return self._here(f"the YAML cannot be read: {problem}", "compare the line with those around it")

    def _colon(self) -> Said:
        if ": " in self.before:
            return self._here("a second colon followed by a space in one line", QUOTE)
        above = next(
            (x for x in reversed(self.lines[: self.here[0]]) if x.strip() and not x.lstrip().startswith("#")),
            "",
        )
        if ": " in above:
            repair = "start it in the same column as the key above"
            if item := _ITEM.match(above):
                too_deep = len(self.before) - len(self.before.lstrip()) - len(item[0])
                repair += f", or begin that line {too_deep} column{'s' * (too_deep > 1)} further right"
            return self._here("this line is indented deeper than the line above allows", repair)
        return self._here("the line above has no colon", "write key: value in the line above")

    def _no_key(self) -> Said:
        written = self.before.rstrip()
        if self.sign and self.sign in "}]":
            return self._here(f"a closing {self.sign} without an opening one", f"remove the {self.sign}")
        if written.endswith(('"', "'")):
            begun = self._quote_before((self.here[0], len(written)))
            if begun is not None and any(map(_KEY.match, self.lines[begun[0] + 1 : self.here[0] + 1])):
                return "yaml-syntax", begun, UNCLOSED, CLOSE  # it has taken in the keys below
            return self._here(
                "text goes on after the closing quote",
                'put the whole text in double quotes, and write \\" for a quote inside it',
            )
        if self.sign == ":":
            return self._here("nothing stands before the colon", "write a key before the colon")
        if self.sign == "-" and not written:
            return self._here(
                "a list item stands where a key should be",
                "indent the dash below the key it belongs to, in one column with its neighbours",
            )
        return self._here(
            "this line does not start in the column of the keys above it",
            "start it in the same column as the key it follows",
        )

    def _quote_before(self, end: tuple[int, int]) -> tuple[int, int] | None:
        """Where the quoted text begins that ends here."""
        parser = CParser("\n".join(self.lines))
        try:
            while token := parser.get_token():
                mark = token.end_mark
                if isinstance(token, yaml.ScalarToken) and (mark.line, mark.column) == end:
                    return token.start_mark.line, token.start_mark.column
        except yaml.YAMLError:
            pass
        return None

    def _bracket(self, opened: str, closing: str) -> Said:
        if self.here[0] == self.opening[0] and not self.ended:
            return self._here(
                f"a comma or {closing} is missing before this", "write a comma between two entries"
            )
        return self._there(
            f"the {opened} that opens here is never closed", f"write {closing} after the last entry"
        )

    def _here(self, message: str, repair: str) -> Said:
        return "yaml-syntax", self.here, message, repair

    def _there(self, message: str, repair: str) -> Said:
        return "yaml-syntax", self.opening, message, repair
