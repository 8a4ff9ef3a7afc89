"""What must not be published: access codes written anywhere, if the club has readers ask for them.

The repository itself is public, so comments and names of files count too. What is found is something that
could be a code beside words that call it one, or say that it unlocks. Nobody can find a code that nothing
calls a code.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Any

from ..book import Book
from ..car.origin import Origin
from ..source.guards import Unreadable
from ..source.reader import read
from ..trust.codes import check_code
from .base import Problem, Rule, Stage

# Digits as schema/module.schema.json has them (4 to 16 hexadecimal), in pairs, or in groups with hyphens.
_CODE = r"""(?<![0-9a-z])
    (?: (?:0x)?[0-9a-f]{4,16} | [0-9a-f]{2}(?:[ .:-][0-9a-f]{2}){1,7} | [0-9]{1,4}(?:-[0-9]{1,4}){1,7} )
    (?![0-9a-z])"""
_NAME = r"""(?:
    (?:access|unlock(?:ing)?|security|secret|log-?in|log-?on|service|pass)[ -]?codes?
    | security[ ](?:access|key) | pass(?:word|phrase)s? | pins? )(?![a-z])"""
_OPENS = r"(?: unlock(?:s|ed|ing)? | log(?:s|ged|ging)?[ ]?[io]n )(?![a-z])"
_WORDS = r"(?:[ :,=]{1,3}[a-z'-]{1,24}){0,6}"  # the rest of a sentence that comes to the point
_TO = r"""[ :="'`*({-]{1,4}"""
_BEFORE = re.compile(
    rf"""(?: {_NAME}{_WORDS}
    | {_OPENS}{_WORDS}[ ](?:with|by|using|through)(?:[ ][a-z'-]{{1,24}}){{0,3}}
    | (?P<kind>[a-z]{{1,24}}[ _-])?(?:[a-z]{{0,24}}codes?|log-?[io]ns?)(?:[ ](?:is|was|are|of|being))?
    ){_TO}(?P<code>{_CODE})""",
    re.VERBOSE,
)
_BEHIND = re.compile(
    rf"""(?P<code>{_CODE})["'`*),:-]{{0,3}}[ ]
    (?: {_OPENS} | (?:is|as|was|for|being)[ ](?:(?:the|an?|its|our)[ ])?(?:{_NAME}|code(?![a-z])) )""",
    re.VERBOSE,
)
# Every match of either has one of these in it.
_CUES = ("code", "unlock", "log in", "log on", "login", "logon", "log-", "passw", "passp", "pin", "secur")
_CUE = re.compile("|".join(_CUES))
_NEAR = 240  # characters; more than the longest match
_OTHER = re.compile(  # codes of another kind, by the word before
    r"(?:chassis|colou?r|country|error|fault|market|model|option|paint|part|past|post|qr|refusal|sheet|status"
    r"|trouble|type|vin|work|zip)[ _-]"
)
_ELSE = re.compile(  # a fault (ISO 15031-6), a day or year, a word
    r"[pcbu][0-3][0-9a-f]{3}|(?:19|20)[0-9]{2}(?:-[0-9]{2}){0,2}|[a-f]+"
)
_ESCAPE = re.compile(r"\\(?:x([0-9A-Fa-f]{2})|u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8}))")
_MARK = re.compile(r"\s#+")  # what begins a comment
_IN_PATHS = re.compile("[/.-]")
_COMMENT = re.compile(r"(?:^|(?<=[ \t]))#(.*)")
_SAYS = "what looks like an access code stands here"
_REPAIR = (
    "take it out, here and from the history, and treat it as known; if it is none, say what it is, such as"
    " fault code or part number"
)


def holds_code(text: str) -> bool:
    """Whether something in the text is called an access code, or said to unlock."""
    low = unicodedata.normalize("NFKC", text).casefold().replace("sheet_code", "")
    if not any(cue in low for cue in _CUES):
        return False
    return any(map(_says_code, _around_cues(" ".join(low.split()))))


def _around_cues(text: str) -> Iterator[str]:
    """The parts of a text that are near enough to a word that matters."""
    start = end = 0
    for found in _CUE.finditer(text):
        if found.start() - _NEAR > end:
            yield text[start:end]
            start = found.start() - _NEAR
        end = found.end() + _NEAR
    yield text[start:end]


def _says_code(text: str) -> bool:
    for pattern in (_BEFORE, _BEHIND):
        for found in pattern.finditer(text):
            kind = found.groupdict().get("kind") or ""
            if _OTHER.fullmatch(kind) or _ELSE.fullmatch(found["code"]):
                continue
            if check_code(found["code"].upper()) != "ok":  # of a sheet
                return True
    return False


def codes_are_asked_for(book: Book, path: str) -> Iterator[Problem]:
    """The file says no code, in its values, comments or name."""
    if book.club.access_codes == "publish":
        return
    policy = (book.club.origin.at("policy", "access_codes"),)
    if holds_code(_IN_PATHS.sub(" ", path)):
        yield Problem(
            Origin(path),
            "the name of this file holds what looks like an access code",
            "rename the file; the name stays in the history, so treat the code as known",
            also=policy,
        )
    if not path.endswith(".yml"):
        return
    try:
        raw = book.loaded.tree.read(path)
    except Unreadable:
        return
    text = raw.decode("utf-8", "replace")
    if not holds_code(_as_one(text)):
        return
    data = read(raw, path).data
    values = [(keys, value) for keys, value in _texts(data, ()) if holds_code(value)]
    for keys, _ in values:
        yield Problem(Origin(path, keys), _SAYS, _REPAIR, also=policy)
    said = " ".join(" ".join(value for _, value in values).split())
    for line, comment in _comments(text, everything=data is None):
        if holds_code(comment) and " ".join(comment.split()) not in said:
            yield Problem(Origin(path), f"{_SAYS}, in a comment", _REPAIR, also=policy, at=(line, 1))


def _as_one(text: str) -> str:
    """A file as one text in which all it holds is found, in escapes and in comments of several lines too."""
    if "\\" in text:
        text = _ESCAPE.sub(lambda found: chr(int(found[1] or found[2] or found[3], 16) % 0x110000), text)
    return _MARK.sub(" ", text) if "#" in text[1:] else text  # most have none but in the first line


def _texts(data: Any, keys: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Every text of a file with the keys that lead to it."""
    if isinstance(data, str):
        yield keys, data
    elif isinstance(data, dict | list):
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield from _texts(value, (*keys, key))


def _comments(text: str, everything: bool) -> Iterator[tuple[int, str]]:
    """Comments with their first lines, those on lines that follow each other as one; or every line."""
    first, lines = 0, list[str]()
    for number, line in enumerate(text.split("\n"), 1):
        if everything:
            yield number, line
            continue
        found = _COMMENT.search(line)
        if lines and not (found and not line[: found.start()].strip()):
            yield first, " ".join(lines)
            lines = []
        if found:
            first = first if lines else number
            lines.append(found[1])
    if lines:
        yield first, " ".join(lines)


RULES = (
    Rule(
        "access-code-written",
        "No access code stands anywhere below recipes/ if readers are to ask the club for it.",
        "The repository is public: comments, reports and names of files are read by everybody.",
        "Take the code out, and treat it as known, since the repository's history keeps it.",
        "file",
        codes_are_asked_for,
        Stage.NAMES,
    ),
)
