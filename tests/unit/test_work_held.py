"""What a record holds, read from text and shown: only what the files allow."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.records import Record, ShownAsNumber
from asfound.work.held import HeldProblem, parse_held, parse_names, show_held, show_names

BYTES = Record("rec", "Record", ())


def number(size: int, order: str) -> Record:
    return Record("rec", "Record", (), shown_as=ShownAsNumber(size, order))


@given(st.binary(min_size=1, max_size=256))
def test_bytes_there_and_back(held):
    assert parse_held(BYTES, len(held), show_held(BYTES, held)) == held


@given(st.binary(min_size=1, max_size=8), st.sampled_from(["big", "little"]))
def test_numbers_there_and_back(held, order):
    record = number(len(held), order)
    assert parse_held(record, len(held), show_held(record, held)) == held


def test_byte_order_of_numbers():
    assert parse_held(number(2, "big"), 2, "2050") == b"\x08\x02"
    assert parse_held(number(2, "little"), 2, "2050") == b"\x02\x08"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "0",
        "1 2",
        "01  02",
        "01 02 ",
        " 01",
        "0102",
        "0a",
        "0G",
        "01\n",
        "01\t02",
        "01-02",
        "٠١",
        "０1",
        "+1",
        "0_1",
        "00 " * 256 + "00",
    ],
)
def test_no_bytes(text):
    with pytest.raises(HeldProblem) as error:
        parse_held(BYTES, None, text)
    assert error.value.reason and error.value.repair
    assert "\n" not in error.value.reason + error.value.repair


@pytest.mark.parametrize(
    "text", ["", "-1", "+1", "01", "1 ", " 1", "1\n", "1_0", "0x1", "1e2", "1.0", "２", "256", "9" * 5000]
)
def test_no_number_of_one_byte(text):
    with pytest.raises(HeldProblem) as error:
        parse_held(number(1, "big"), 1, text)
    assert len(error.value.reason) < 120


def test_the_length_must_be_that_of_the_layout():
    with pytest.raises(HeldProblem, match="2 bytes instead of 3"):
        parse_held(BYTES, 3, "01 02")
    assert parse_held(BYTES, None, "01 02") == b"\x01\x02"


def test_a_record_of_which_only_names_are_known_has_no_bytes():
    with pytest.raises(HeldProblem, match="only names"):
        parse_held(Record("rec", "Record", (), names_only=True), None, "01")


WORDS = st.text(st.sampled_from("ab :;=,"), min_size=1, max_size=8)


@given(WORDS)
def test_one_name_is_its_words(words):
    assert parse_names(["one"], words) == {"one": words}
    assert show_names(["one"], {"one": words}) == words


@given(st.permutations(["one", "one-two", "x"]), st.lists(WORDS, min_size=3, max_size=3))
def test_several_names_there_and_back(order, words):
    held = dict(zip(["one", "one-two", "x"], words, strict=True))
    assert parse_names(["one", "one-two", "x"], show_names(order, held)) == held


@pytest.mark.parametrize(
    "text",
    [
        "",
        "on",
        "one: on",
        "two: off",
        "one: on; one: on; two: off",
        "one: ; two: off",
        "zero: 1; one: on; two: x",
    ],
)
def test_no_names(text):
    with pytest.raises(HeldProblem) as error:
        parse_names(["one", "two"], text)
    assert error.value.repair == "Write 'one: …; two: …'."
