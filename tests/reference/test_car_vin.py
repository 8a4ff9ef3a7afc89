"""VINs against 49 CFR 565.15 and ISO 3779."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.car.vin import LETTERS, check_digit, faults, model_year, model_years, normal, weighted_sum

vins = st.text(LETTERS, min_size=17, max_size=17)


@pytest.mark.parametrize(
    ("vin", "total", "digit"),
    [
        ("1G4AH59H45G118341", 411, "4"),  # the worked example of 49 CFR 565.15(c)
        ("1M8GDM9AXKP042788", 351, "X"),  # widely printed sample
        ("11111111111111111", 89, "1"),  # all ones, the usual self-test
    ],
)
def test_check_digit(vin: str, total: int, digit: str) -> None:
    assert weighted_sum(vin) == total
    assert check_digit(vin) == digit == vin[8]
    assert faults(vin) == ()


@given(vins, st.integers(0, 16), st.sampled_from("0123456789"))
def test_a_single_wrong_digit_is_caught(vin: str, at: int, other: str) -> None:
    """Modulo 11 with weights below 11: two digits differ by less than 11, so the sum must change."""
    if at == 8 or vin[at] not in "0123456789" or vin[at] == other:
        return
    assert check_digit(vin) != check_digit(vin[:at] + other + vin[at + 1 :])


# 49 CFR 565.15(d)(1), Table VII.
YEARS = dict(zip("ABCDEFGHJKLMNPRSTVWXY123456789", range(1980, 2010), strict=True))


@pytest.mark.parametrize(("code", "year"), YEARS.items())
def test_model_years(code: str, year: int) -> None:
    assert model_years(code) == (year, year + 30)
    assert model_year(f"1G4AH5{1}H4{code}G118341") == year  # a digit in position 7: the first thirty years
    assert model_year(f"1G4AH5{'A'}H4{code}G118341") == year + 30


@pytest.mark.parametrize("code", ["I", "O", "Q", "U", "Z", "0", "", "AB"])
def test_no_model_year(code: str) -> None:
    assert model_years(code) == ()


@pytest.mark.parametrize(
    ("vin", "says"),
    [
        ("1M8GDM9AXKP04278", "16"),
        ("1M8GDM9AXKP0427888", "18"),
        ("1M8GDM9AOKP042788", "letter O"),
        ("1M8GDM9AIKP042788", "letter I"),
        ("1M8GDM9AQKP042788", "letter Q"),
        ("1M8GDM9A*KP042788", "'*'"),
        ("1M8GDM9AXKP04278A", "last four"),
        ("1M8GDM9AXKP04278²", "'\\xb2'"),
    ],
)
def test_structure(vin: str, says: str) -> None:
    assert any(says in sentence for sentence in faults(vin))


def test_what_is_typed() -> None:
    assert normal(" 1m8gdm9axkp-042788\n") == "1M8GDM9AXKP042788"
