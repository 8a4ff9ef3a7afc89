"""Errors of ``oneOf`` and ``anyOf`` explained by the alternative that comes nearest to what was written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from .compiled import Schema
from .findings import bare, quoted
from .flow import flow
from .meaning import Wrong
from .positions import Positions
from .schemawords import TYPE_NAMES, Error, SchemaWords, described, nearest, path_of, types


def explain_branches(
    error: Error,
    words: SchemaWords,
    positions: Positions,
    explain: Callable[[Iterable[Error]], Iterator[Wrong]],
) -> Iterator[Wrong]:
    """What is wrong with a value that satisfies no alternative, or two.

    ``explain`` explains the errors inside the alternative chosen.
    """
    branches = words.branches(error)
    value = error.instance
    if error.schema.get("type") == "object" and not isinstance(value, dict):
        return  # said already
    fitting = [n for n, branch in enumerate(branches) if _type_fits(branch, value)]
    if not fitting:
        yield _no_type(error, words, positions, branches)
        return
    best = fitting[0]
    mixed: list[str] = []
    if isinstance(value, dict) and len(fitting) > 1:
        scores = {n: _score(branches[n], value) for n in fitting}
        best = max(fitting, key=lambda n: scores[n])
        if scores[best][:2] == (0, 0):
            yield _no_telling_key(error, words, [branches[n] for n in fitting])
            return
        foreign = {key for n in fitting if n != best for key in branches[n].get("required", ())}
        foreign -= {*branches[best].get("properties", ()), *branches[best].get("required", ())}
        mixed = [key for key in value if key in foreign]
    within = [inner for inner in error.context or () if inner.relative_schema_path[0] == best]
    if mixed and (not within or "properties" in branches[best]):
        yield from _mixed(error, branches[best], mixed)
    else:
        yield from explain(within)


def _no_type(error: Error, words: SchemaWords, positions: Positions, branches: Sequence[Schema]) -> Wrong:
    """No alternative takes a value of this type."""
    path, value = path_of(error), error.instance
    source = positions.source(path)
    wanted = " or ".join(dict.fromkeys(TYPE_NAMES[name] for branch in branches for name in types(branch)))
    if value is None:
        repair = f"write {wanted}{words.or_leave_out(error)}"
    elif (
        source is not None
        and not any(_takes(each, source) for each in branches)
        and (counted := _counted(branches, source))
    ):
        repair = f"write {counted}"
    elif TYPE_NAMES["string"] in wanted and source is not None:
        repair = f"put it in quotes: {quoted(source)}"
    else:
        repair = f"write {wanted}, such as {words.example(error, most=2)}"
    return Wrong("wrong-type", path, f"{described(value, source)} where {wanted} is expected", repair)


def _no_telling_key(error: Error, words: SchemaWords, branches: Sequence[Schema]) -> Wrong:
    """A map without any key that tells which alternative is meant."""
    telling = list(dict.fromkeys(branch["required"][0] for branch in branches if branch.get("required")))
    own = {key for branch in branches for key in branch.get("properties", {})}
    for key in error.instance:
        if own and key not in own and (near := nearest(key, telling)):
            return Wrong(
                "unknown-key",
                (*path_of(error), key),
                f"there is no key {bare(key)}{words.inside(error)}",
                f"write {near}",
                at_key=True,
            )
    listed = ", ".join(telling)
    example = words.example(error) if own else ""
    return Wrong(
        "missing-key",
        path_of(error),
        f"one of these keys is missing{words.inside(error)}: {listed}",
        f"write {example}" if example else f"add one of {listed}",
        at_key=True,
    )


def _mixed(error: Error, best: Schema, foreign: Sequence[str]) -> Iterator[Wrong]:
    """Keys of two alternatives in one map."""
    mine = next((key for key in best.get("required", ()) if key in error.instance), "the others")
    for key in foreign:
        if error.schema.get("title") == "Condition":
            repair = f"join two conditions: all: [{{{mine}: …}}, {{{key}: …}}]"
        else:
            repair = f"remove {key}, or {mine} and what belongs to it"
        yield Wrong(
            "key-out-of-place",
            (*path_of(error), key),
            f"the key {key} does not go together with {mine}",
            repair,
            at_key=True,
        )


def _type_fits(branch: Schema, value: Any) -> bool:
    return not types(branch) or any(_is(name, value) for name in types(branch))


def _takes(branch: Schema, text: str) -> bool:
    """Whether a text is what the alternative takes."""
    return branch.get("type") == "string" and bool(re.search(branch.get("pattern", ""), text))


def _counted(branches: Iterable[Schema], source: str) -> str:
    """``{number: 7}`` for 7, where an alternative is a map around one whole number; empty where none is."""
    if not re.fullmatch("0|[1-9][0-9]*", source):
        return ""
    for branch in branches:
        match branch.get("required"):
            case [key] if branch.get("properties", {}).get(key, {}).get("type") == "integer":
                return flow({key: int(source)})
    return ""


def _is(name: str, value: Any) -> bool:
    match name:
        case "string":
            return isinstance(value, str)
        case "array":
            return isinstance(value, list)
        case "object":
            return isinstance(value, dict)
        case "boolean":
            return isinstance(value, bool)
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def _score(branch: Schema, value: Mapping[str, Any]) -> tuple[float, int, int]:
    """How near a map comes to an alternative: share of its required keys, keys in common, few missing."""
    required = branch.get("required", ())
    have = sum(key in value for key in required)
    common = sum(key in branch.get("properties", {}) for key in value)
    return (have / len(required) if required else 0, common, have - len(required))
