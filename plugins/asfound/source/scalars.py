"""What a plain (unquoted) YAML scalar stands for.

The versions of YAML disagree, and this trade's values are exactly those they disagree about. So a plain
scalar is accepted only if every version reads it as we do: ``true``, ``false``, ``null``, decimal integers
without leading zeros, ``0x…``, decimals, ISO dates (kept as text) and text that nobody reads as anything
else. Sources: YAML 1.0 and 1.1 type repositories (yaml.org/type: bool, int, float, null, timestamp, merge,
value), YAML 1.2.2 chapter 10 (JSON and core schema).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from .findings import bare, quoted
from .limits import DIGITS, SHOWN

Scalar = str | int | bool | Decimal | None


@dataclass(frozen=True, slots=True)
class Refused:
    """A plain scalar that is not accepted: the id of the finding, what is wrong and what to write."""

    id: str
    message: str
    repair: str


WORDS = frozenset(["y", "yes", "n", "no", "on", "off", "true", "false", "null", "~", "=", "<<", "+", "-"])
_INTEGER = re.compile(r"(?:0|-?[1-9][0-9]*)\Z")
_HEXADECIMAL = re.compile(r"0x[0-9A-Fa-f]+\Z")
_DECIMAL = re.compile(r"-?(?:0|[1-9][0-9]*)\.[0-9]+\Z")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}\Z")
_BYTES = re.compile(r"[0-9A-F]{2}(?: [0-9A-F]{2})*\Z")
# Wider than any version's own expressions, so that a reader with a fault of its own is covered too. Each
# alternative takes linear time: no two repetitions can share the same text.
_NUMBERLIKE = re.compile(
    r"""[-+]?(?=[.,_]*[0-9])[0-9.,_]+(?:e[-+]?[0-9_]+)?\Z  # 0123 1_000 +5 5E1 1.2.3 1,000 .5 5.
      | [-+]?0[xob][0-9a-f_]*\Z                               # 0o17 0b1 0x_1
      | [-+]?[0-9_]+(?::[0-9_]+)+(?:\.[0-9_]*)?\Z            # 12:30 1:30:15.5, base 60
      | [-+]?\.(?:inf|nan)\Z                                 # .inf -.INF .NaN
      | \.+\Z                                                # . is a float to some
      | [0-9]{4}-[0-9]{1,2}-[0-9]{1,2}(?:[Tt \t].*)?\Z       # 2024-1-5, 2024-01-05 10:00:00
    """,
    re.VERBOSE | re.IGNORECASE | re.DOTALL,
)


@lru_cache(maxsize=4096)
def resolve(text: str) -> Scalar | Refused:
    """The value of a plain scalar, or why it is not accepted. ``text`` is not empty."""
    first = text[0]
    if first.isascii() and not first.isalpha():
        return _unlettered(text)
    if len(text) <= 5 and text.lower() in WORDS:
        if text == "true":
            return True
        if text == "false":
            return False
        if text == "null":
            return None
        return _refused_word(text)
    if _BYTES.match(text):
        return _refused_bytes(text)
    return text


def _unlettered(text: str) -> Scalar | Refused:
    """A plain scalar that starts with a digit or a sign."""
    if _INTEGER.match(text) or _HEXADECIMAL.match(text) or _DECIMAL.match(text):
        if len(text.lstrip("-")) > DIGITS:
            return Refused(
                "yaml-long-number",
                f"{text[:20]}… is a number of {len(text)} characters; at most {DIGITS} are read",
                "write a shorter number, or quotes around it if it is text",
            )
        if "." in text:
            return Decimal(text)
        return int(text, 16) if text.startswith("0x") else int(text)
    if _DATE.match(text):
        return text
    if text.lower() in WORDS:
        return _refused_word(text)
    if _NUMBERLIKE.match(text):
        return Refused(
            "yaml-plain-number",
            f"{bare(text)} without quotes: some programs read a number, a time or a day, others read text",
            _number_repair(text),
        )
    if _BYTES.match(text):
        return _refused_bytes(text)
    return text


def _refused_word(text: str) -> Refused:
    if text.lower() in ("y", "yes", "on", "true"):
        meant = " for the word, or true"
    elif text.lower() in ("n", "no", "off", "false"):
        meant = " for the word, or false"
    elif text.lower() in ("null", "~"):
        meant = " for the text, or leave the key out"
    else:
        meant = ""
    return Refused(
        "yaml-plain-word",
        f"{bare(text)} without quotes: some programs read it as true, false, nothing or a sign of YAML's own",
        f"write {quoted(text)}{meant}",
    )


def _refused_bytes(text: str) -> Refused:
    return Refused(
        "yaml-plain-bytes",
        f"{bare(text)} without quotes: bytes made of digits, or of digits and an E, would turn into numbers",
        f"write {quoted(text)}",
    )


def _number_repair(text: str) -> str:
    if len(text) > SHOWN:
        return "write it in double quotes if it is text"
    asis = f"write {quoted(text)}"
    digits = text.lstrip("+").lstrip("0").replace("_", "")
    if re.fullmatch(r"[1-9][0-9]*", digits) and len(digits) <= DIGITS:
        return f"{asis}, or {digits} if a number is meant"
    return asis
