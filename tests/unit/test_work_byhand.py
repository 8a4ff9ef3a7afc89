"""Changes by hand: doing what lookups and rules say gives what edits compute, and stops where they stop."""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from asfound.book import Book
from asfound.car.bits import Part, Place
from asfound.car.records import Layout, Record, RecordPath, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Setting
from asfound.rules.run import check_book
from asfound.work.byhand import Allowed, DigitWork, NumberWork, Work, by_hand
from asfound.work.compiled import Edit, compile_edit
from asfound.work.edits import assess, write
from asfound.work.recipes import Alternative, Change

sys.path.insert(0, str(Path(__file__).parent))

from side_by_side import side_by_side

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def book() -> Book:
    found = check_book(ROOT / "recipes")[2]
    assert found is not None
    return found


def digit(record: bytes, cell: tuple[int, int]) -> int:
    return record[cell[0]] >> 4 if cell[1] == 0 else record[cell[0]] & 15


def put(record: bytes, cell: tuple[int, int], value: int) -> bytes:
    out = bytearray(record)
    out[cell[0]] = out[cell[0]] & 15 | value << 4 if cell[1] == 0 else out[cell[0]] & 240 | value
    return bytes(out)


def may_be(one: Allowed, found: bytes) -> bool:
    held = [digit(found, cell) for cell in one.cells]
    return any(all(of is None or d in of for d, of in zip(held, p, strict=True)) for p in one.patterns)


def by_digits(work: DigitWork, found: bytes) -> bytes | None:
    """What somebody writes who does just what the lookups say; None: stop."""
    if not all(may_be(one, found) for one in work.allowed):
        return None
    for text in work.texts:
        held = found[text.first : text.last + 1].rstrip(b" " if text.pad == "space" else b"\0")
        if any(not 0x20 <= byte <= 0x7E for byte in held):
            return None
    out = found
    for lookup in work.lookups:
        to = lookup.write[digit(found, lookup.cell)]
        if to is None:
            return None
        out = put(out, lookup.cell, to)
    for fixed in work.fixed:
        out = put(out, fixed.cell, fixed.digit)
    return out


def by_number(work: NumberWork, number: int) -> int | None:
    if work.whole is not None:
        return work.whole if any(a <= number <= b for a, b in work.allowed) else None
    out = number
    for share in work.shares:
        held = number // share.divide
        held = held % share.modulo if share.modulo else held
        if not any(a <= held <= b for a, b in share.allowed):
            return None
        out += (share.to - held) * share.divide
    return out


def by_rules(work: Work, edit: Edit, found: bytes, order: str) -> bytes | None:
    if isinstance(work, DigitWork):
        return by_digits(work, found)
    number = by_number(work, int.from_bytes(found, order))  # type: ignore[arg-type]
    return None if number is None else number.to_bytes(edit.length, order)  # type: ignore[arg-type]


def same(work: Work, edit: Edit, found: bytes, order: str, others: tuple[Alternative, ...]) -> bool:
    """Whether hand and arithmetic agree on one record; the checksum is the tool's affair."""
    bare = replace(edit, checksum=None)
    expected = None if assess(bare, found, others).state == "unexpected" else write(bare, found)
    return by_rules(work, edit, found, order) == expected


def some(edit: Edit, turn: random.Random) -> bytes:
    """A record that is nearly always legal or nearly so, since most random bytes are stops."""
    found = turn.randbytes(edit.length)
    for field in edit.fields:
        near = [field.to_raw, field.before_raw, turn.getrandbits(field.place.width)]
        raw = turn.choice([n for n in near if n is not None]) + turn.choice((-1, 0, 0, 0, 1))
        found = field.place.scatter(found, raw % (1 << field.place.width))
    return found


def test_every_demo_edit_by_hand(book: Book) -> None:
    turn, kinds, stops = random.Random(5), set(), 0
    for recipe in book.recipes.values():
        for edit in book.edits(recipe.id):
            record = book.record(edit.record)
            assert record is not None
            if not isinstance(edit, Edit):
                continue
            work = by_hand(edit, record, recipe.alternatives)
            if edit.checksum is not None and edit.checksum.by == "reader":
                assert work is None
                continue
            assert work is not None, edit
            kinds.add(type(work).__name__)
            order = record.shown_as.order if record.shown_as else "big"
            for _ in range(300):
                found = some(edit, turn)
                assert same(work, edit, found, order, recipe.alternatives), (recipe.id, found.hex(" "))
                stops += by_rules(work, edit, found, order) is None
    assert kinds == {"DigitWork", "NumberWork"}
    assert stops > 100


def test_any_place_by_hand(book: Book) -> None:
    """Settings of the demo moved to random places of random records, shown as bytes and as numbers."""
    turn = random.Random(7)
    edits = [e for r in book.recipes for e in book.edits(r) if isinstance(e, Edit)]
    done = refused = 0
    for _ in range(1500):
        edit = turn.choice(edits)
        length = turn.randint(2, 6)
        if any(f.place.width > 8 * length - 1 for f in edit.fields):
            continue
        field = turn.choice(edit.fields)
        width = field.place.width
        start = turn.randrange(8 * length - width + 1)
        bits = list(range(start, start + width))
        if turn.random() < 0.2:
            turn.shuffle(bits)
        place = Place(tuple(Part(b // 8, 7 - b % 8, 7 - b % 8) for b in bits))
        if turn.random() < 0.3:
            field = replace(field, before_raw=None)
        field = replace(field, place=place)
        one = replace(
            edit, length=length, fields=(field,), checksum=None,
            mask=place.mask(length), bits=place.scatter(bytes(length), field.to_raw),
        )  # fmt: skip
        record = book.record(edit.record)
        assert record is not None
        order = turn.choice(("big", "little"))
        shown = None if turn.random() < 0.6 else ShownAsNumber(length, order)  # type: ignore[arg-type]
        work = by_hand(one, replace(record, shown_as=shown))
        if work is None:
            refused += 1
            continue
        done += 1
        for _ in range(30):
            found = some(one, turn)
            assert same(work, one, found, order, ()), (one, found.hex(" "))
    assert done > 600
    assert refused > 20  # shuffled bits come back to a digit they have left


def test_settings_side_by_side_by_hand() -> None:
    """Several choices that share digits, each with values of its own that are no stop."""
    turn, stops, done = random.Random(11), 0, 0
    for _ in range(400):
        edit, record = side_by_side(turn)
        work = by_hand(edit, record)
        assert work is not None
        for _ in range(60):
            found = some(edit, turn)
            assert same(work, edit, found, "big", ()), (edit, found.hex(" "))
            stops += by_rules(work, edit, found, "big") is None
            done += 1
    assert 0 < stops < done


def test_a_digit_that_one_setting_shares_with_a_longer_one_is_no_fixed_digit() -> None:
    kinds = (
        Choices((Choice("low", 1), Choice("high", 2))),
        Choices((Choice("early", 7), Choice("late", 25))),
    )
    settings = tuple(
        Setting(id, id, kind, ("comfort",), "club") for id, kind in zip("ab", kinds, strict=True)
    )
    places = {"a": Place((Part(0, 5, 7),)), "b": Place((Part(0, 0, 4),))}
    layout = Layout("one", None, 1, places)
    record = Record("r", "R", settings, (layout,))
    changes = [
        Change(SettingPath("m", "r", "a"), "low", "high"),
        Change(SettingPath("m", "r", "b"), "early", "late"),
    ]
    work = by_hand(compile_edit(record, RecordPath("m", "r"), layout, changes), record)
    assert isinstance(work, DigitWork)
    # The first digit holds a and one bit of b: 2 or 3 is low, 4 or 5 high; anything else is a stop.
    (lookup,) = work.lookups
    assert lookup.cell == (0, 0)
    assert [digit for digit, to in enumerate(lookup.write) if to is not None] == [2, 3, 4, 5]
    assert [fixed.cell for fixed in work.fixed] == [(0, 1)]


def test_a_setting_is_named_where_its_digits_hang_together(book: Book) -> None:
    edit = next(e for e in book.edits("distance-from-carrier") if isinstance(e, Edit))
    record = book.record(edit.record)
    assert record is not None
    work = by_hand(edit, record)
    assert isinstance(work, DigitWork)
    (one,) = work.allowed
    assert isinstance(one.setting, Setting)
    # 0 to 45 of six bits: 5 in the first three leaves 0 to 5 in the last three, worked out on paper
    assert [[sorted(s) if s is not None else None for s in p] for p in one.patterns] == [
        [[0, 1, 2, 3, 4, 8, 9, 10, 11, 12], None],
        [[5, 13], list(range(12))],
    ]
