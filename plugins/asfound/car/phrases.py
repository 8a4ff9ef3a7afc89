"""Parts of sentences: what is listed, months, minutes, where a byte stands, ranges of versions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from ..speech import N_, gettext
from .where import ordinal

_MONTHS = (
    *(N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June")),
    *(N_("July"), N_("August"), N_("September"), N_("October"), N_("November"), N_("December")),
)
_FLIPPED = {">=": "<", "<": ">=", "<=": ">", ">": "<=", "=": "!="}
_RANGE = {
    ">=": N_("{version} or later"),
    "<=": N_("{version} or earlier"),
    ">": N_("later than {version}"),
    "<": N_("earlier than {version}"),
    "=": "{version}",
    "!=": N_("other than {version}"),
}


def list_words(words: Sequence[str], link: str = "and", comma: str = "") -> str:
    """ "a", "a and b", "a, b and c"; ``comma`` stands before the link."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])}{comma} {gettext(link)} {words[-1]}"


def join_words(words: Iterable[str], link: Literal["and", "or"]) -> str:
    """As ``list_words``, with a comma before the link where parts have commas or the link inside."""
    some, said = list(words), f" {gettext(link)} "
    return list_words(some, link, "," if any("," in word or said in word for word in some) else "")


def listed(words: str) -> bool:
    """Whether the words themselves are a list, so that one around them needs more than a comma."""
    return "," in words or any(f" {gettext(link)} " in words for link in (N_("and"), N_("or")))


def in_place(module: str, place: str | None) -> str:
    """A control module's name with that of its place, where it has one: ``Step controller (left step)``."""
    return f"{module} ({place})" if place else module


def counted(number: int, noun: str) -> str:
    """ "1 entry", "3 entries"; for findings and commands, which stay English."""
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun[:-1] + 'ies' if noun.endswith('y') else noun + 's'}"


def lower_first(text: str) -> str:
    """A name or sentence for use inside another: first letter small, unless the word has more capitals."""
    word = text.split(maxsplit=1)[0] if text.split() else ""
    return text[:1].lower() + text[1:] if word[1:] == word[1:].lower() else text


def month_words(month: str) -> str:
    """An ISO 8601 month as it is said: "September 2021"."""
    year, _, number = month.partition("-")
    if not 1 <= int(number) <= 12:
        return month
    return gettext("{month} {year}", month=gettext(_MONTHS[int(number) - 1]), year=year)


def built_words(built: tuple[str | None, str | None]) -> str:
    """ "built from September 2021 to March 2023"; empty when both ends are open."""
    match built:
        case None, None:
            return ""
        case str(first), None:
            return gettext("built in {month} or later", month=month_words(first))
        case None, str(last):
            return gettext("built in {month} or earlier", month=month_words(last))
        case str(first), str(last) if first == last:
            return gettext("built in {month}", month=month_words(first))
        case first, last:
            return gettext(
                "built from {first} to {last}", first=month_words(first or ""), last=month_words(last or "")
            )


def minutes_words(minutes: int) -> str:
    """``25 min``, ``1 h 5 min``."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return gettext("{minutes} min", minutes=rest)
    return (
        gettext("{hours} h {minutes} min", hours=hours, minutes=rest)
        if rest
        else gettext("{hours} h", hours=hours)
    )


def pair_words(byte: int) -> str:
    """Where a byte stands, said both ways since tools count differently: "byte 4 (the fifth pair)"."""
    return gettext("byte {byte} (the {ordinal} pair)", byte=byte, ordinal=ordinal(byte + 1))


def software_words(text: str, negate: bool = False) -> str:
    """A range of versions as it is said after "software": "0210 or later but earlier than 0405"."""
    comparisons = []
    for part in text.split(","):
        operator = part[: len(part) - len(part.lstrip("<>="))]
        if operator not in _FLIPPED:
            return f"“{text}”"  # unreadable, which is reported where it is written
        comparisons.append((operator, part[len(operator) :]))
    said = [gettext(_RANGE[_FLIPPED[op] if negate else op], version=version) for op, version in comparisons]
    if len(said) < 2:
        return said[0]
    # A range has two ends at most that matter; more are read one after the other.
    link = gettext(", or else ") if negate else gettext(" but ")
    return link.join(said)
