"""How recipes meet in the records they change.

Edits are kept by record and layout, and there by byte, so that only recipes that truly share a record are
ever compared: the work grows with the meetings there are, not with the number of pairs of recipes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

from ..car.records import RecordPath, SettingPath
from .compiled import Edit, FieldEdit, NamesEdit, NamesFieldEdit

Kind = Literal[
    "same record",
    "same byte, other bits",
    "same bits, agree",
    "same bits, clash",
    "same name, agree",
    "same name, clash",
]
KINDS: tuple[Kind, ...] = (  # from the weakest to the strongest
    "same record",
    "same byte, other bits",
    "same name, agree",
    "same bits, agree",
    "same name, clash",
    "same bits, clash",
)
CLASHES: tuple[Kind, ...] = ("same name, clash", "same bits, clash")  # the two cannot both be done
_RANK = {kind: i for i, kind in enumerate(KINDS)}


class Meeting(NamedTuple):
    """Two recipes that change one record in one layout (None: names only).

    ``settings`` are those of ``recipe`` and then of ``other`` on the shared bits or names, each once.
    """

    recipe: str
    other: str
    record: RecordPath
    layout: str | None
    kind: Kind
    settings: tuple[SettingPath, ...] = ()

    @property
    def clashes(self) -> bool:
        """Whether the two cannot both be done."""
        return self.kind in CLASHES


class _Entry(NamedTuple):
    recipe: str
    edit: Edit | NamesEdit
    mask: int
    bits: int
    bytes: int  # a bit for each byte touched
    asked: int  # the bits whose value the reader chooses, so nobody can say beforehand that they agree


Spot = tuple[RecordPath, str | None]


class Index:
    """The edits of many recipes, by record and layout."""

    def __init__(self, edits: Iterable[tuple[str, Edit | NamesEdit]]) -> None:
        """``edits``: recipe and compiled edit; a recipe may come with several, even for one record."""
        self._at: dict[Spot, list[_Entry]] = defaultdict(list)
        self._spots: dict[str, dict[Spot, None]] = defaultdict(dict)
        for recipe, edit in edits:
            spot = (edit.record, edit.layout if isinstance(edit, Edit) else None)
            self._at[spot].append(_entry(recipe, edit))
            self._spots[recipe][spot] = None

    def meetings(self) -> Iterator[Meeting]:
        """Every two recipes that meet, once for each record and layout, with the strongest kind there."""
        for spot, entries in self._at.items():
            found = _closer(entries)
            recipes = list(dict.fromkeys([e.recipe for e in entries]))
            for i, one in enumerate(recipes, 1):
                close = found.get(one, _NONE)
                for other in recipes[i:]:
                    if other in close:
                        yield _meeting(spot, one, other, close[other])
                    else:
                        yield Meeting(one, other, *spot, "same record")

    def meetings_of(self, recipe: str) -> tuple[Meeting, ...]:
        """The meetings of one recipe, which stands first in each."""
        out = []
        for spot in self._spots.get(recipe, ()):
            mine = [e for e in self._at[spot] if e.recipe == recipe]
            others = [e for e in self._at[spot] if e.recipe != recipe]
            found: _Found = {recipe: {}}
            for one in mine:
                for other in others:
                    _keep(found, one, other)
            for name in dict.fromkeys(e.recipe for e in others):
                close = found[recipe].get(name)
                out.append(
                    _meeting(spot, recipe, name, close)
                    if close
                    else Meeting(recipe, name, *spot, "same record")
                )
        return tuple(out)

    def touching(
        self, record: RecordPath, layout: str | None
    ) -> tuple[tuple[str, FieldEdit | NamesFieldEdit], ...]:
        """Which recipe changes what in a record, in the order of the bits, or of the names."""
        entries = self._at.get((record, layout), [])
        out = [(e.recipe, f) for e in entries for f in e.edit.fields]
        return tuple(sorted(dict.fromkeys(out), key=_position))


def strongest(meetings: Iterable[Meeting]) -> Meeting:
    """The meeting that matters most, the first of several. ValueError of none."""
    return max(meetings, key=lambda m: _RANK[m.kind])


_Closer = tuple[Kind, _Entry, _Entry]
_Found = dict[str, dict[str, _Closer]]  # pairs closer than the same record
_NONE: dict[str, _Closer] = {}


def _entry(recipe: str, edit: Edit | NamesEdit) -> _Entry:
    if isinstance(edit, NamesEdit):
        return _Entry(recipe, edit, 0, 0, 0, 0)
    asked = 0
    for one in edit.fields:
        if one.asked:
            asked |= int.from_bytes(one.place.mask(edit.length), "big")
    touched = sum(1 << i for i, mask in enumerate(edit.mask) if mask)
    mask, bits = int.from_bytes(edit.mask, "big"), int.from_bytes(edit.bits, "big")
    return _Entry(recipe, edit, mask, bits, touched, asked)


def _closer(entries: list[_Entry]) -> _Found:
    """The pairs that share a byte or a name, found through the bytes and names themselves."""
    buckets: dict[object, list[int]] = defaultdict(list)
    first: dict[str, int] = {}
    for i, (recipe, edit, *_) in enumerate(entries):
        first.setdefault(recipe, i)
        if isinstance(edit, NamesEdit):
            for name in {f.setting for f in edit.fields}:
                buckets[name].append(i)
        else:
            for byte, mask in enumerate(edit.mask):
                if mask:
                    buckets[byte].append(i)
    pairs = {(i, j) for bucket in buckets.values() for n, i in enumerate(bucket, 1) for j in bucket[n:]}
    found: _Found = {}
    for i, j in pairs:
        one, other = entries[i], entries[j]
        if one.recipe != other.recipe:
            if first[one.recipe] > first[other.recipe]:
                one, other = other, one
            _keep(found, one, other)
    return found


def _keep(found: _Found, one: _Entry, other: _Entry) -> None:
    kind = _kind(one, other)
    if kind == "same record":
        return
    others = found.setdefault(one.recipe, {})
    known = others.get(other.recipe)
    if known is None or _RANK[known[0]] < _RANK[kind]:
        others[other.recipe] = (kind, one, other)


def _kind(one: _Entry, other: _Entry) -> Kind:
    overlap = one.mask & other.mask
    if overlap:
        open_ = overlap & ((one.bits ^ other.bits) | one.asked | other.asked)
        return "same bits, clash" if open_ else "same bits, agree"
    if isinstance(one.edit, Edit):
        return "same byte, other bits" if one.bytes & other.bytes else "same record"
    assert isinstance(other.edit, NamesEdit)
    theirs = {f.setting: f for f in other.edit.fields}
    shared = [(f, theirs[f.setting]) for f in one.edit.fields if f.setting in theirs]
    if not shared:
        return "same record"
    agree = all(a.to_words == b.to_words and not a.asked and not b.asked for a, b in shared)
    return "same name, agree" if agree else "same name, clash"


def _meeting(spot: Spot, recipe: str, other: str, closer: _Closer) -> Meeting:
    kind, one, two = closer
    settings = () if kind == "same byte, other bits" else (*_shared(one, two), *_shared(two, one))
    return Meeting(recipe, other, *spot, kind, tuple(dict.fromkeys(settings)))


def _shared(one: _Entry, other: _Entry) -> Iterator[SettingPath]:
    """The settings of ``one`` that ``other`` touches too."""
    if isinstance(one.edit, NamesEdit):
        names = {f.setting for f in other.edit.fields}
        yield from (f.setting for f in one.edit.fields if f.setting in names)
    else:
        for field in one.edit.fields:
            if int.from_bytes(field.place.mask(one.edit.length), "big") & other.mask:
                yield field.setting


def _position(item: tuple[str, FieldEdit | NamesFieldEdit]) -> tuple[object, ...]:
    recipe, field = item
    if isinstance(field, FieldEdit):
        byte, bit = min(field.place.bits(), key=lambda at: (at[0], -at[1]))
        return (byte, -bit, recipe)
    return (str(field.setting), recipe)
