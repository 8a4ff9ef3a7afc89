"""libyaml's errors in plain words, with the repair that is most often right."""

from __future__ import annotations

from typing import Any

import yaml

from .findings import shown

Explained = tuple[str, int, int, str, str]  # finding id, line, column, message, repair
QUOTE = "put the whole text in double quotes"


def explain(error: yaml.YAMLError, text: str) -> Explained:
    """What a syntax error of libyaml means. ``text`` is the whole file."""
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    problem = str(getattr(error, "problem", None) or "the YAML cannot be read")
    context = str(getattr(error, "context", None) or "")
    lines = text.splitlines()
    at = (mark.line, mark.column) if mark else (0, 0)
    start = (opened.line, opened.column) if opened else at
    id, (line, column), message, repair = _explain(problem, context, lines, at, start)
    line = min(line, max(len(lines) - 1, 0))
    return id, line + 1, column + 1, message, repair


def _explain(
    problem: str, context: str, lines: list[str], at: tuple[int, int], start: tuple[int, int]
) -> tuple[str, tuple[int, int], str, str]:
    line = lines[at[0]] if at[0] < len(lines) else ""
    sign = line[at[1] : at[1] + 1]
    before = line[: at[1]]
    syntax = "yaml-syntax"

    def unclosed(what: str, repair: str) -> Any:
        return syntax, start, what, repair

    match problem:
        case "mapping values are not allowed in this context":
            if ": " in before or before.rstrip().endswith(":"):
                return syntax, at, "a second colon followed by a space in one line", QUOTE
            if _value_above(lines, at[0]):
                return (
                    syntax, at, "this line is indented deeper than the line above allows",
                    "start it in the same column as the key above",
                )  # fmt: skip
            return syntax, at, "the line above has no colon", "write key: value in the line above"
        case "did not find expected key":
            if sign and sign in "}]":
                return syntax, at, f"a closing {sign} without an opening one", f"remove the {sign}"
            if before.strip() and before.rstrip()[-1:] in "\"'":
                return (
                    syntax, at, "text goes on after the closing quote",
                    "put the whole text in double quotes, and write \\\" for a quote inside it",
                )  # fmt: skip
            if sign == ":":
                return syntax, at, "nothing stands before the colon", "write a key before the colon"
            if sign == "-" and not before.strip():
                return (
                    syntax, at, "a list item stands where a key should be",
                    "indent the dash below the key it belongs to, in one column with its neighbours",
                )  # fmt: skip
            return (
                syntax, at, "this line does not start in the column of the keys above it",
                "start it in the same column as the key it follows",
            )  # fmt: skip
        case "found unexpected end of stream" | "found unexpected document indicator":
            return unclosed("the quote that opens here is never closed", "close it at the end of the text")
        case "could not find expected ':'":
            return syntax, start, "this line has no colon", "write key: value, or indent it if it continues text"
        case "found character that cannot start any token":
            return syntax, at, f"text cannot start with {shown(sign)}", QUOTE
        case "did not find expected ',' or ']'" | "did not find expected ',' or '}'":
            bracket, close = ("[", "]") if problem.endswith("']'") else ("{", "}")
            if at[0] == start[0] and at[1] < len(line):
                return syntax, at, f"a comma or {close} is missing before this", "write a comma between two entries"
            return unclosed(f"the {bracket} that opens here is never closed", f"write {close} after the last entry")
        case "did not find expected node content":
            return syntax, at, f"a value is missing before {shown(sign)}", "write the value, or put the text in quotes"
        case "did not find expected '-' indicator":
            return (
                syntax, at, "a key stands where the list above goes on",
                "start the line with a dash, or in the column of the key that the list belongs to",
            )  # fmt: skip
        case "block sequence entries are not allowed in this context":
            return syntax, at, "a list cannot start behind a key", "start the list in the next line, or write [one, two]"
        case "mapping keys are not allowed in this context":
            return syntax, at, "text cannot start with a question mark and a space", QUOTE
        case "did not find expected <document start>":
            return (
                syntax, at, "something follows where the content has already ended",
                "remove it, or start it in the same column as the keys above",
            )  # fmt: skip
        case "exceeded maximum nesting depth":
            return "too-deep", at, "lists and maps lie too deep inside each other", "write it flatter"
        case "found a tab character that violates indentation":
            return syntax, at, "a tab character in the indentation", "write spaces"
    match context:
        case "while scanning a block scalar":
            return syntax, start, f"text cannot start with {shown(_sign(lines, start))}", QUOTE
        case "while parsing a quoted scalar":
            return (
                syntax, at, "a backslash inside double quotes must be followed by an escape that YAML knows",
                "write two backslashes, or use single quotes",
            )  # fmt: skip
        case "while scanning an alias":
            return "alias", start, "text cannot start with *, which refers to another place", QUOTE
        case "while scanning an anchor":
            return "anchor", start, "text cannot start with &, which names a place", QUOTE
        case "while parsing a tag" | "while scanning a tag" | "while parsing a node":
            return "tag", start, "text cannot start with !, which asks for a type", QUOTE
        case "while scanning a directive":
            return "directive", start, "YAML directives (lines that start with %) are not read", "remove the line"
    if "directive" in problem or "YAML document" in problem:
        return "directive", at, "YAML directives (lines that start with %) are not read", "remove the line"
    return syntax, at, f"the YAML cannot be read: {problem}", "compare the line with those around it"


def _value_above(lines: list[str], index: int) -> bool:
    """Whether the nearest line above that holds anything has a key with a value."""
    for line in reversed(lines[:index]):
        if line.strip() and not line.lstrip().startswith("#"):
            return ": " in line
    return False


def _sign(lines: list[str], at: tuple[int, int]) -> str:
    return lines[at[0]][at[1] : at[1] + 1] if at[0] < len(lines) else ""
