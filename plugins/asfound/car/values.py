"""Values of settings: from words to what the module stores, and back; exact, in fractions.

A number's value is stored × factor + offset. What lies between two storable values is rounded to the
nearest, ties to the even stored number (IEEE 754 roundTiesToEven), and the result is always shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from math import ceil, floor

from ..speech import number_words
from .phrases import counted
from .settings import Choice, Choices, Number, Setting, Text

_DECIMAL = re.compile(r"-?(0|[1-9][0-9]{0,19})(\.[0-9]{1,19})?\Z")
_NEARLY_DECIMAL = re.compile(r"\+?(-?)0*([0-9]{1,20}(?:[.,][0-9]{1,19})?) ?(\D{0,20})\Z", re.ASCII)


class ValueProblem(ValueError):
    """Words that a setting cannot take: ``reason``, and ``repair`` saying what to write; one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(f"{reason} {repair}")
        self.reason = reason
        self.repair = repair


@dataclass(frozen=True, slots=True)
class Stored:
    """What a module stores for asked words: ``raw`` unsigned, as its bits hold it.

    ``shown`` is what ``raw`` means, ``exact`` whether that is just what was asked. A negative number asked
    without a width stays negative, since its two's complement depends on it.
    """

    raw: int
    shown: str
    exact: bool


@dataclass(frozen=True, slots=True)
class Meaning:
    """What stored bits mean; ``known`` is False when they mean nothing the setting's description names."""

    words: str
    known: bool


def decimal(value: Fraction) -> str:
    """``value`` as a decimal number, exactly. ValueError when its digits never end, as those of 1/3."""
    scaled, places = value, 0
    rest = value.denominator
    for factor in (2, 5):
        while rest % factor == 0:
            rest //= factor
    if rest != 1:
        raise ValueError(f"{value} has no exact decimal form")
    while scaled.denominator != 1:
        scaled *= 10
        places += 1
    digits = f"{abs(scaled.numerator):0{places + 1}d}"
    text = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"-{text}" if value < 0 else text


def number(value: Fraction) -> str:
    """The exact decimal number as people of the language of the moment read it."""
    return for_reading(decimal(value))


def for_reading(decimal: str) -> str:
    """A decimal number for people to read: with a minus sign, which no input of a tool need take."""
    said = number_words(decimal)
    return f"−{said[1:]}" if said.startswith("-") else said


def step(setting: Setting) -> str:
    """The smallest step of a number setting with its unit, such as ``0.05 V``; empty for other settings."""
    kind = setting.kind
    return f"{number(abs(kind.factor))} {kind.unit}" if isinstance(kind, Number) else ""


def with_unit(setting: Setting, words: str) -> str:
    """Words with the setting's unit after a number, for reading: ``−5.5 L``, ``not learned``."""
    kind = setting.kind
    if isinstance(kind, Number) and _DECIMAL.match(words):
        return f"{for_reading(words)} {kind.unit}"
    return shown(setting, words)


def shown(setting: Setting, words: str) -> str:
    """A value's words as the page calls it."""
    kind = setting.kind
    choices = kind.choices if isinstance(kind, Choices) else kind.special if isinstance(kind, Number) else ()
    return next((one.shown for one in choices if one.shown and one.means == words), words)


def encode(setting: Setting, words: str, width: int | None) -> Stored:
    """What a module stores in ``width`` bits for ``words``; without a width, nothing is checked against it.

    ValueProblem when the setting has no such value, when its limits forbid it, when only the name of the
    value is known, or when the bits cannot hold it.
    """
    match setting.kind:
        case Choices(choices):
            choice = _choice(choices, words)
            if choice is None:
                raise _no_such_words(setting, words, (c.means for c in choices))
            if choice.raw is None:
                raise ValueProblem(
                    f"Only the name of {words!r} is known, not the number {setting.name!r} stores for it.",
                    "Give the choice a raw value, or keep the record as one of which only names are known.",
                )
            return Stored(_fitting(setting, choice.raw, width), words, True)
        case Number() as kind:
            return _encode_number(setting, kind, words, width)
        case Text(length, pad):
            return _encode_text(setting, length, pad, words, width)


def accept(setting: Setting, words: str) -> str:
    """The words shown for ``words`` where only names are known, so no width. ValueProblem as ``encode``."""
    if isinstance(setting.kind, Choices) and _choice(setting.kind.choices, words) is not None:
        return words
    return encode(setting, words, None).shown


def decode(setting: Setting, raw: int, width: int) -> Meaning:
    """What ``raw``, an unsigned number of ``width`` bits, means."""
    match setting.kind:
        case Choices(choices):
            means = _named(choices, raw)
            return Meaning(str(raw), False) if means is None else Meaning(means, True)
        case Number() as kind:
            means = _named(kind.special, raw)
            if means is not None:
                return Meaning(means, True)
            value = _signed(kind, raw, width) * kind.factor + kind.offset
            return Meaning(decimal(value), kind.min <= value <= kind.max)
        case Text(length, pad):
            return _decode_text(raw.to_bytes(max(length, -(-width // 8)), "big"), pad)


def _choice(choices: tuple[Choice, ...], words: str) -> Choice | None:
    return next((c for c in choices if c.means == words), None)


def _named(choices: tuple[Choice, ...], raw: int) -> str | None:
    return next((c.means for c in choices if c.raw == raw), None)


def _signed(kind: Number, raw: int, width: int) -> int:
    return raw - (1 << width) if kind.signed and raw >> width - 1 & 1 else raw


def _no_such_words(setting: Setting, words: str, known: Iterable[str]) -> ValueProblem:
    """Name the nearest words there are, or all of them when none is near."""
    by_folded = {means.casefold(): means for means in known}
    near = get_close_matches(words.casefold(), by_folded, n=3, cutoff=0.5) or list(by_folded)[:12]
    return ValueProblem(
        f"{setting.name!r} has no value {words[:80]!r}.",
        "Write " + " or ".join(repr(by_folded[f]) for f in near) + ".",
    )


def _fitting(setting: Setting, raw: int, width: int | None) -> int:
    if width is not None and raw >> width:
        raise ValueProblem(
            f"The value {raw} of {setting.name!r} does not fit into {counted(width, 'bit')}.",
            f"Give it a place of at least {counted(raw.bit_length(), 'bit')}, or correct the value.",
        )
    return raw


def _encode_number(setting: Setting, kind: Number, words: str, width: int | None) -> Stored:
    special = _choice(kind.special, words)
    if special is not None and special.raw is not None:
        return Stored(_fitting(setting, special.raw, width), words, True)
    if not _DECIMAL.match(words):
        raise _not_a_number(setting, kind, words)
    asked = Fraction(words)
    if not kind.min <= asked <= kind.max:
        raise ValueProblem(
            f"{words} {kind.unit} is outside the limits of {setting.name!r}.",
            f"Write a number from {decimal(kind.min)} to {decimal(kind.max)}.",
        )
    if kind.factor == 0:
        raise ValueProblem(f"{setting.name!r} has the factor 0.", "Write how much one stored step is worth.")
    exactly = (asked - kind.offset) / kind.factor
    stored = round(exactly)  # Fraction rounds ties to even
    if not _can_hold(kind, width, stored):
        bits = counted(width, "bit") if width is not None else "bits"
        raise ValueProblem(
            f"{words} {kind.unit} is stored as {stored}, which {'' if kind.signed else 'un'}signed {bits} of "
            f"{setting.name!r} cannot hold.",
            "Give it a wider place, say that it is signed, or narrow its limits.",
        )
    value = stored * kind.factor + kind.offset
    if not kind.min <= value <= kind.max:
        inward = (floor if stored > exactly else ceil)(exactly) * kind.factor + kind.offset
        raise ValueProblem(
            f"The nearest {setting.name!r} can store to {words} is {decimal(value)}, outside its limits.",
            f"Write {decimal(inward)}, or make the limits values it can store."
            if kind.min <= inward <= kind.max
            else "Correct the limits: nothing between them can be stored.",
        )
    raw = stored if width is None else stored % (1 << width)
    means = _named(kind.special, raw)
    if means is not None:
        raise ValueProblem(
            f"{words} {kind.unit} would be stored as {raw}, which means {means!r}.",
            f"Write another number, or {means!r} if that is meant.",
        )
    return Stored(raw, decimal(value), value == asked)


def _can_hold(kind: Number, width: int | None, stored: int) -> bool:
    if width is None:
        return kind.signed or stored >= 0
    half = 1 << width - 1
    return -half <= stored < half if kind.signed else 0 <= stored < 2 * half


def _not_a_number(setting: Setting, kind: Number, words: str) -> ValueProblem:
    nearly = _NEARLY_DECIMAL.match(words)
    if nearly and nearly[3] in ("", kind.unit):
        repair = f"Write {nearly[1]}{nearly[2].replace(',', '.')}, without unit, sign + or leading zeros."
        return ValueProblem(f"{words[:80]!r} is not written as a plain decimal number.", repair)
    if kind.special:
        near = get_close_matches(words, [c.means for c in kind.special], n=1, cutoff=0.5)
        if near:
            return ValueProblem(f"{setting.name!r} has no value {words[:80]!r}.", f"Write {near[0]!r}.")
    named = "".join(f" or {c.means!r}" for c in kind.special)
    return ValueProblem(
        f"{setting.name!r} is a number, {words[:80]!r} is not.",
        f"Write a number from {decimal(kind.min)} to {decimal(kind.max)}{named}.",
    )


def _encode_text(setting: Setting, length: int, pad: str, words: str, width: int | None) -> Stored:
    odd = next((c for c in words if not " " <= c <= "~"), None)
    if odd is not None:
        raise ValueProblem(
            f"{setting.name!r} cannot hold the character {odd!r}.",
            "Use only letters without accents, digits, spaces and ASCII punctuation.",
        )
    if len(words) > length:
        raise ValueProblem(
            f"{words[:80]!r} has {counted(len(words), 'character')}, {setting.name!r} holds {length}.",
            f"Shorten it to {counted(length, 'character')}.",
        )
    if pad == "space" and words.endswith(" "):
        raise ValueProblem(
            f"Spaces at the end of {words[:80]!r} cannot be told from the filling of {setting.name!r}.",
            "Leave the spaces at the end away.",
        )
    if width is not None and width != 8 * length:
        raise ValueProblem(
            f"{setting.name!r} takes {counted(8 * length, 'bit')}, its place has {width}.",
            f"Give it a place of {counted(length, 'whole byte')}.",
        )
    filled = words.encode("ascii").ljust(length, b" " if pad == "space" else b"\0")
    return Stored(int.from_bytes(filled, "big"), words, True)


def _decode_text(held: bytes, pad: str) -> Meaning:
    """Trailing filling goes; anything that is no printable ASCII is shown as hex pairs, as not known."""
    text = held.rstrip(b" " if pad == "space" else b"\0")
    if all(0x20 <= byte <= 0x7E for byte in text):
        return Meaning(text.decode("ascii"), True)
    return Meaning(held.hex(" ").upper(), False)
