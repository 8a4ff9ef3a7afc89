"""Fault codes against the bit description of SAE J2012 / ISO 15031-6, for all 65,536 values."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from asfound.work.faults import decode_fault, encode_fault


def by_description(number: int) -> str:
    """Written from the description alone, digit by digit, on the string of bits.

    SAE J2012: of the two bytes the first two bits name the system (00 powertrain, 01 chassis, 10 body,
    11 network), the next two bits the first digit, and each further four bits one hexadecimal digit.
    """
    bits = format(number, "016b")
    system = {"00": "P", "01": "C", "10": "B", "11": "U"}[bits[:2]]
    first = {"00": "0", "01": "1", "10": "2", "11": "3"}[bits[2:4]]
    rest = [format(int(bits[i : i + 4], 2), "X") for i in (4, 8, 12)]
    return system + first + "".join(rest)


def test_all_values_and_back():
    codes = [decode_fault(n) for n in range(0x10000)]
    assert codes == [by_description(n) for n in range(0x10000)]
    assert len(set(codes)) == 0x10000
    assert [encode_fault(c) for c in codes] == list(range(0x10000))


# Examples on which two independent public implementations of ISO 15031-6 agree.
@pytest.mark.parametrize(
    ("number", "code"),
    [(0x0133, "P0133"), (0x4412, "C0412"), (0x9234, "B1234"), (0xC158, "U0158"), (0xFFFF, "U3FFF")],
)
def test_quoted_examples(number, code):
    assert decode_fault(number) == code
    assert encode_fault(code) == number


def test_what_decode_gives_is_what_the_schema_takes():
    schema = json.loads((Path(__file__).parents[2] / "schema" / "recipe.schema.json").read_text())
    pattern = re.compile(schema["properties"]["faults_to_expect"]["items"]["properties"]["code"]["pattern"])
    assert all(pattern.search(decode_fault(n)) for n in range(0, 0x10000, 7))


@pytest.mark.parametrize(
    "bad", ["", "P013", "P01333", "X0133", "P4133", "p0133", "P0G33", "P0133\n", " P0133", "P٠133"]
)
def test_no_code(bad):
    with pytest.raises(ValueError, match="fault code"):
        encode_fault(bad)


@pytest.mark.parametrize("bad", [-1, 0x10000])
def test_no_two_byte_number(bad):
    with pytest.raises(ValueError, match="two bytes"):
        decode_fault(bad)
