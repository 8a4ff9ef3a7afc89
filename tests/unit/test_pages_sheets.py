"""Sheets say of what was found exactly what the edits say of it; words and numbers agree."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import cast

import pytest

from asfound.book import Book
from asfound.car.records import Module, Record, RecordPath, SettingPath, ShownAsNumber
from asfound.car.settings import Choice, Choices, Number, Setting
from asfound.pages.views.changes import shown_words
from asfound.pages.views.desk import Desk
from asfound.pages.views.sheet_records import Written, record_refs
from asfound.rules.run import check_book
from asfound.work.compiled import NamesEdit, compile_names
from asfound.work.edits import assess_names
from asfound.work.jobs import Job, Target
from asfound.work.loading import card_size
from asfound.work.recipes import Alternative, Change, ExpectedFault, Media
from asfound.work.wording import Unit, faults_expect, note_expect, read_back_expect, write

ROOT = Path(__file__).parents[2]
PATH = RecordPath("m", "r")
VOLTS = Setting(
    "volts", "Cut-off", Number(1, 0, "V", 0, 20, False, (Choice("never", 63),)), ("comfort",), "club"
)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def book() -> Book:
    found = check_book(ROOT / "recipes")[2]
    assert found is not None
    return found


def may_show(book: Book, record: Record, edit: NamesEdit, others: tuple[Alternative, ...]) -> str:
    """What the sheet lets the one setting of the edit show before."""
    known = Book(replace(book.loaded, modules={**book.modules, "m": Module("m", "M", "", "", 1, (record,))}))
    (ref,) = record_refs(Desk(known), [(" ", [Written(PATH, record, (), (edit,))])], others, {})
    return ref.blocks[0].names[0].may


def test_a_record_of_names_stops_where_its_assessment_does(book: Book) -> None:
    turn, stops = Random(3), 0
    for _ in range(200):
        means = [f"value {n}" for n in range(turn.randint(2, 6))]
        kind = Choices(tuple(Choice(one, None) for one in means))
        setting = Setting("s", "S", kind, ("comfort",), "club")
        record = Record("r", "R", (setting,), names_only=True)
        path = SettingPath("m", "r", "s")
        before = turn.choice((None, means[0]))
        edit = compile_names(record, PATH, [Change(path, before, means[1])])
        others = tuple(Alternative(path, one, "Does it.") for one in turn.sample(means, turn.randint(0, 2)))
        may = may_show(book, record, edit, others)
        for one in means:
            stop = assess_names(edit, {path: one}, others).state == "unexpected"
            assert (f"“{one}”" in may) is not stop, (edit, others, one)
            stops += stop
    assert stops > 100


def test_numbers_have_their_unit_wherever_a_person_compares_them() -> None:
    record = Record("r", "R", (VOLTS,), names_only=True)
    change = Change(SettingPath("m", "r", "volts"), "11", "12")
    unit = Unit(Module("m", "M", "", "", 1, (record,)))
    assert note_expect([(change, VOLTS), (replace(change, before="never"), VOLTS)]) == (
        "Cut-off: 11 V; Cut-off: never."
    )
    assert read_back_expect(record, [(VOLTS, "12")]) == "Cut-off: 12 V."
    assert write(record, (), [(VOLTS, "12")], unit) == "In record R of M, set Cut-off to “12 V”."


def test_when_a_fault_may_come_stands_in_a_sentence() -> None:
    one = ExpectedFault("U0140", "While the plug is out.", "Clear it once.")
    said = "No fault that was not there before, except perhaps U0140 (while the plug is out): Clear it once."
    assert faults_expect([one, one]) == said


@pytest.mark.parametrize(("wished", "said"), [("12", "12"), ("11.6", "12"), ("never", "never"), ("99", "99")])
def test_the_job_says_what_a_setting_becomes_and_not_what_was_wished(wished: str, said: str) -> None:
    change = Change(SettingPath("m", "r", "volts"), None, wished)
    record = Record("r", "R", (VOLTS,), names_only=True)
    assert Target(PATH, record, (), ((cast(Job, SimpleNamespace(choose={})), change),)).wishes() == [
        (VOLTS, said)
    ]


@pytest.mark.parametrize(
    ("least", "most", "said"), [(8, None, "8 GB or more"), (8, 32, "8 to 32 GB"), (16, 16, "16 GB")]
)
def test_how_large_a_card_may_be(least: int, most: int | None, said: str) -> None:
    media = Media(
        "m", "A.BIN", "1", 1, "00" * 32, "maker", "", "FAT32", least, most, ("Load",), 5, "About", ("0",), "1"
    )  # fmt: skip
    assert card_size(media) == said


def test_a_number_of_one_byte_has_no_order() -> None:
    assert shown_words(ShownAsNumber(1, "little")) == "as one decimal number of one byte"
    assert shown_words(ShownAsNumber(2, "big")) == (
        "as one decimal number of 2 bytes, most significant first"
    )
