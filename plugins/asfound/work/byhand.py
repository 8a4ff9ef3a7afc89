"""How an edit is made by hand: a lookup for each hexadecimal digit that changes, a rule for a decimal number.

Exact: a digit or number that ``edits.assess`` calls unexpected is a stop here too, and every other one leads
to what ``edits.write`` gives, outside the checksum. Nothing is offered by hand where a reader would have to
work out a checksum, or where what may be found cannot be said digit by digit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import ceil, floor

from ..car.bits import Part
from ..car.records import Record, SettingPath
from ..car.settings import Choices, Number, Setting, Text
from ..car.values import encode
from .compiled import Edit, FieldEdit
from .recipes import Alternative

Span = tuple[int, int]  # whole numbers, both ends included
Cell = tuple[int, int]  # byte, and 0 for its first hexadecimal digit, 1 for its second
Pattern = tuple[frozenset[int] | None, ...]  # for each digit what it may be; None: any

MOST_PATTERNS = 12  # more of them nobody compares by eye


@dataclass(frozen=True, slots=True)
class Lookup:
    """A digit that changes: for each of the sixteen that may be found what to write; None: stop."""

    cell: Cell
    write: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Fixed:
    """A digit to write whatever was found."""

    cell: Cell
    digit: int


@dataclass(frozen=True, slots=True)
class Allowed:
    """What the digits of one setting may be as found; anything else is a stop."""

    setting: Setting
    cells: tuple[Cell, ...]
    patterns: tuple[Pattern, ...]


@dataclass(frozen=True, slots=True)
class AllowedText:
    """The bytes of a text: ASCII letters, then filling; anything else as found is a stop."""

    setting: Setting
    first: int
    last: int
    pad: str


@dataclass(frozen=True, slots=True)
class DigitWork:
    """A record of hex pairs by hand; digits named nowhere stay as found."""

    lookups: tuple[Lookup, ...]
    fixed: tuple[Fixed, ...]
    allowed: tuple[Allowed, ...]
    texts: tuple[AllowedText, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """One run of bits inside a decimal number.

    What it holds: the number ÷ ``divide``, remainder dropped, and of that the remainder of ÷ ``modulo`` (0:
    all of it). ``to`` is what it becomes, ``allowed`` what it may be as found.
    """

    divide: int
    modulo: int
    to: int
    allowed: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class NumberWork:
    """A record shown as a decimal number by hand: ``whole`` is written as it is; else each share moves."""

    whole: int | None
    allowed: tuple[Span, ...]  # of the whole number
    shares: tuple[Share, ...]


Work = DigitWork | NumberWork


def by_hand(edit: Edit, record: Record, alternatives: Sequence[Alternative] = ()) -> Work | None:
    """The edit by hand; None where as found must be typed into a worksheet instead.

    ``alternatives``: the recipe's; those of other settings are passed over.
    """
    if edit.checksum is not None and edit.checksum.by == "reader":
        return None
    spans = {f.setting: _legal(f, alternatives) for f in edit.fields}
    if record.shown_as is not None:
        return _number(edit, record.shown_as.order, [spans[f.setting] for f in edit.fields])
    return _digits(edit, spans)


# what may be found


def _legal(field: FieldEdit, alternatives: Sequence[Alternative]) -> tuple[Span, ...] | None:
    """The raw values that are no stop; None for a text, whose bytes have a rule of their own."""
    definition, width = field.definition, field.place.width
    offered = [encode(definition, one.to, width).raw for one in alternatives if one.setting == field.setting]
    single = [(n, n) for n in (field.to_raw, *offered)]
    if field.before_raw is not None:
        single.append((field.before_raw, field.before_raw))
        if not field.asked:
            return _joined(single)
    match definition.kind:
        case Text():
            return None
        case Choices(choices):
            known = [(c.raw, c.raw) for c in choices if c.raw is not None and c.raw < 1 << width]
        case Number() as kind:
            known = [(c.raw, c.raw) for c in kind.special if c.raw is not None and c.raw < 1 << width]
            ends = sorted((limit - kind.offset) / kind.factor for limit in (kind.min, kind.max))
            known += _stored(ceil(ends[0]), floor(ends[1]), width, kind.signed)
    return _joined([*single, *known])


def _stored(low: int, high: int, width: int, signed: bool) -> list[Span]:
    """The raw values of the stored numbers ``low``…``high``; negative ones as two's complement."""
    size = 1 << width
    if not signed:
        return [(max(low, 0), min(high, size - 1))]
    low, high = max(low, -size // 2), min(high, size // 2 - 1)
    below = [(low + size, min(high, -1) + size)] if low < 0 else []
    return [(max(low, 0), high), *below]


def _joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """In order, overlapping and touching ones as one; empty ones left out."""
    out: list[Span] = []
    for low, high in sorted(s for s in spans if s[0] <= s[1]):
        if out and low <= out[-1][1] + 1:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return tuple(out)


def _patterns(spans: tuple[Span, ...], widths: Sequence[int]) -> list[tuple[frozenset[int] | None, ...]]:
    """The numbers of the spans, cut into pieces of these widths, most significant first."""
    if spans == ((0, (1 << sum(widths)) - 1),):
        return [(None,) * len(widths)]
    if not widths or not spans:
        return []
    rest = sum(widths[1:])
    same: dict[tuple[Span, ...], set[int]] = {}
    for value in range(1 << widths[0]):
        start = value << rest
        end = start + (1 << rest) - 1
        inside = (s for s in spans if s[0] <= end and s[1] >= start)
        below = _joined((max(a, start) - start, min(b, end) - start) for a, b in inside)
        if below:
            same.setdefault(below, set()).add(value)
    return [
        (frozenset(values), *tail)
        for below, values in sorted(same.items(), key=lambda item: min(item[1]))
        for tail in (_patterns(below, widths[1:]) if rest else [()])
    ]


# hex pairs


_ANY = frozenset(range(16))


@dataclass(frozen=True, slots=True)
class _Piece:
    """The bits of one setting in one digit, most significant first."""

    cell: Cell
    bits: tuple[int, ...]

    def of(self, digit: int) -> int:
        """What the digit holds for the setting."""
        value = 0
        for bit in self.bits:
            value = value << 1 | digit >> bit & 1
        return value

    def digits(self, values: frozenset[int] | None) -> frozenset[int] | None:
        """The digits that hold one of these values."""
        return None if values is None else frozenset(d for d in range(16) if self.of(d) in values)


def _pieces(field: FieldEdit) -> list[_Piece] | None:
    """The setting digit by digit; None when it comes back to a digit it has left."""
    runs = [
        (cell, tuple(bit & 3 for _, bit in bits))
        for cell, bits in groupby(field.place.bits(), key=lambda at: (at[0], 0 if at[1] > 3 else 1))
    ]
    return [_Piece(*run) for run in runs] if len({c for c, _ in runs}) == len(runs) else None


def _digits(edit: Edit, spans: Mapping[SettingPath, tuple[Span, ...] | None]) -> DigitWork | None:
    possible: dict[Cell, frozenset[int]] = {}
    alone: dict[Cell, frozenset[int]] = {}  # the same, by settings that no other digit decides about
    allowed, texts = [], []
    for field in edit.fields:
        legal, pieces = spans[field.setting], _pieces(field)
        if legal is None:
            parts: Sequence[Part] = field.place.parts
            bytes_ = [p.byte for p in parts]
            if bytes_ != list(range(bytes_[0], bytes_[0] + len(bytes_))) or any(p.width != 8 for p in parts):
                return None
            assert isinstance(field.definition.kind, Text)
            texts.append(AllowedText(field.definition, bytes_[0], bytes_[-1], field.definition.kind.pad))
            continue
        if pieces is None:
            return None
        said = _patterns(legal, [len(p.bits) for p in pieces])
        if len(said) > MOST_PATTERNS:
            return None
        patterns = [tuple(p.digits(v) for p, v in zip(pieces, one, strict=True)) for one in said]
        for at, piece in enumerate(pieces):
            union = frozenset[int]().union(*(one[at] or range(16) for one in patterns))
            for known in (possible,) if len(patterns) > 1 else (possible, alone):
                known[piece.cell] = known.get(piece.cell, union) & union
        if len(patterns) > 1:
            allowed.append(Allowed(field.definition, tuple(p.cell for p in pieces), tuple(patterns)))
    lookups, fixed = [], []
    for byte, mask in enumerate(edit.mask):
        for half, shift in ((0, 4), (1, 0)):
            part, to = mask >> shift & 15, edit.bits[byte] >> shift & 15
            may = possible.get((byte, half), _ANY)
            if part == 15 and alone.get((byte, half), _ANY) == _ANY:
                fixed.append(Fixed((byte, half), to))
            elif part:
                write = tuple(d & ~part | to if d in may else None for d in range(16))
                lookups.append(Lookup((byte, half), write))
    return DigitWork(tuple(lookups), tuple(fixed), tuple(allowed), tuple(texts))


# a decimal number


def _number(edit: Edit, order: str, spans: Sequence[tuple[Span, ...] | None]) -> NumberWork | None:
    shares = []
    size = 8 * edit.length
    for field, legal in zip(edit.fields, spans, strict=True):
        places = [
            8 * (byte if order == "little" else edit.length - 1 - byte) + bit
            for byte, bit in field.place.bits()
        ]
        low, width = places[-1], len(places)
        if legal is None or places != list(range(low + width - 1, low - 1, -1)):
            return None
        if len(legal) > MOST_PATTERNS:
            return None
        top = low + width == size
        shares.append(Share(1 << low, 0 if top else 1 << width, field.to_raw, legal))
    if len(shares) == 1 and shares[0].divide == 1 and not shares[0].modulo:
        return NumberWork(shares[0].to, shares[0].allowed, ())
    return NumberWork(None, (), tuple(shares))
