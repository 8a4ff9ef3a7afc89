"""What people type of a record: every way of writing the same bytes is read as these bytes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.checksums import Checksum
from asfound.car.records import Layout, Record, ShownAsNumber
from asfound.work.held import show_held
from asfound.work.typed import LONGEST, matches, readings

BYTES = Record("rec", "Record", ())
NUMBER = Record("rec", "Record", (), shown_as=ShownAsNumber(2, "little"))
SUM = Checksum("crc8-j1850", 0, 1, 2)


def layout(name: str, length: int, checksum: Checksum | None = None) -> Layout:
    return Layout(name, None, length, {}, checksum)


@given(st.binary(min_size=1, max_size=40), st.sampled_from([" ", "", ", ", ":", "-", "\n"]), st.booleans())
def test_hex_in_any_dress(held: bytes, between: str, prefix: bool) -> None:
    text = between.join(f"{'0x' if prefix and between else ''}{byte:02x}" for byte in held)
    assert (held, "hex") in [(r.held, r.how) for r in readings(BYTES, text)]
    assert (held, "hex") in [
        (r.held, r.how) for r in readings(BYTES, f"  {text.upper().replace('X', 'x')}\r\n")
    ]


@given(st.binary(min_size=1, max_size=40))
def test_binary_and_decimal(held: bytes) -> None:
    assert held in [r.held for r in readings(BYTES, " ".join(f"{b:08b}" for b in held))]
    assert held in [r.held for r in readings(BYTES, "".join(f"0b{b:08b} " for b in held))]
    assert held in [r.held for r in readings(BYTES, " ".join(str(b) for b in held))]


@given(st.binary(min_size=2, max_size=2))
def test_a_number_is_read_as_one_only(held: bytes) -> None:
    assert [r.held for r in readings(NUMBER, show_held(NUMBER, held))] == [held]
    assert [r.held for r in readings(NUMBER, "0x" + held.hex())] == [held]


@given(st.binary(min_size=1, max_size=8))
def test_what_asfound_shows_it_can_read(held: bytes) -> None:
    assert held in [r.held for r in readings(BYTES, show_held(BYTES, held))]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "0",
        "012",
        "0x",
        "0x1",
        "GG",
        "1.5",
        "256 1 x",
        "٣٣",
        "0b1",
        "12 3g",
        "f" * (LONGEST + 2),
        "-",
        "²²",
    ],
)
def test_what_is_no_record(text: str) -> None:
    read = [r for r in readings(BYTES, text) if r.how != "decimal"]
    assert not read


def test_numbers_that_do_not_fit() -> None:
    assert readings(NUMBER, "65535") and not readings(NUMBER, "65536") and not readings(NUMBER, "9" * 50)


def test_layouts_by_length_and_checksum() -> None:
    plain, summed = layout("plain", 3), layout("summed", 3, SUM)
    good = SUM.applied(b"\x0a\x0b\x00")
    bad = good[:2] + bytes([good[2] ^ 1])
    assert [m.layout.id for m in matches(BYTES, [plain, summed], good.hex())] == ["plain", "summed"]
    assert [m.layout.id for m in matches(BYTES, [plain, summed], bad.hex())] == ["plain"]
    assert [(m.layout.id, m.checksum_ok) for m in matches(BYTES, [summed], bad.hex())] == [("summed", False)]
    assert matches(BYTES, [plain], "0a0b") == ()
