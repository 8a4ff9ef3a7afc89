"""Values of settings: words to stored bits and back."""

import random
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.car import values
from asfound.car.settings import Choice, Choices, Kind, Number, Setting, Text
from asfound.car.values import (
    Meaning,
    Stored,
    ValueProblem,
    accept,
    decimal,
    decode,
    encode,
    for_reading,
    step,
    with_unit,
)

DECIMALS = st.decimals(-500, 500, places=3, allow_nan=False, allow_infinity=False).map(Fraction)
FACTORS = DECIMALS.filter(lambda f: f != 0)


def setting(kind: Kind) -> Setting:
    return Setting("it", "It", kind, ("comfort",), "maker")


def number(factor: str, offset: str, low: str, high: str, signed: bool = False, *special: Choice) -> Setting:
    return setting(
        Number(Fraction(factor), Fraction(offset), "V", Fraction(low), Fraction(high), signed, special)
    )


CUT_OFF = number("0.05", "0", "10.5", "12.4", False, Choice("not learned", 4095))
LAMP = setting(Choices((Choice("stays off", 0), Choice("follows", 1), Choice("dimmed", 9))))


def problem(of: Setting, words: str, width: int | None = 12) -> ValueProblem:
    with pytest.raises(ValueProblem) as caught:
        encode(of, words, width)
    assert caught.value.reason and caught.value.repair
    assert not set("\r\n") & set(caught.value.reason + caught.value.repair)
    return caught.value


def test_numbers() -> None:
    assert encode(CUT_OFF, "11.4", 12) == Stored(228, "11.4", True)
    assert encode(CUT_OFF, "11.42", 12) == Stored(228, "11.4", False)
    assert decode(CUT_OFF, 228, 12) == Meaning("11.4", True)
    assert decode(CUT_OFF, 209, 12) == Meaning("10.45", False)
    assert decode(CUT_OFF, 4095, 12) == Meaning("not learned", True)
    assert encode(CUT_OFF, "not learned", 12) == Stored(4095, "not learned", True)
    assert step(CUT_OFF) == "0.05 V" and step(LAMP) == ""
    assert with_unit(CUT_OFF, "-0.5") == "−0.5 V" and values.number(Fraction(-11, 2)) == "−5.5"  # no hyphen
    assert for_reading("-40") == "−40" and for_reading("40") == "40"
    assert with_unit(CUT_OFF, "11.4") == "11.4 V" and with_unit(CUT_OFF, "not learned") == "not learned"


def test_ties_go_to_the_even_stored_number() -> None:
    # IEEE 754 roundTiesToEven
    halves = number("2", "0", "-100", "100", True)
    assert [encode(halves, w, 8).shown for w in ("1", "3", "5", "-1", "-3")] == ["0", "4", "4", "0", "-4"]


def test_signed_is_twos_complement() -> None:
    degrees = number("0.5", "-40", "-104", "23.5", True)
    assert encode(degrees, "-41", 8).raw == 0xFE and decode(degrees, 0xFE, 8).words == "-41"
    assert encode(degrees, "-104", 8).raw == 0x80 and encode(degrees, "23.5", 8).raw == 0x7F
    assert encode(degrees, "-41", None).raw == -2


@settings(deadline=None)
@given(FACTORS, DECIMALS, st.integers(1, 10), st.booleans(), st.data())
def test_decode_then_encode_gives_the_same_bits(
    factor: Fraction, offset: Fraction, width: int, signed: bool, data: st.DataObject
) -> None:
    raws = range(1 << width)
    half = 1 << width - 1
    values = [(r - (1 << width) if signed and r >= half else r) * factor + offset for r in raws]
    special = (Choice("not learned", data.draw(st.sampled_from(raws))),)
    it = setting(Number(factor, offset, "V", min(values), max(values), signed, special))
    raw = data.draw(st.sampled_from(raws))
    meaning = decode(it, raw, width)
    assert meaning.known
    assert encode(it, meaning.words, width) == Stored(raw, meaning.words, True)
    if raw != special[0].raw:
        assert Fraction(meaning.words) == values[raw]


@settings(deadline=None)
@given(FACTORS, DECIMALS, st.integers(1, 9), st.booleans(), st.data())
def test_nearest_by_brute_force(
    factor: Fraction, offset: Fraction, width: int, signed: bool, data: st.DataObject
) -> None:
    stored = range(-(1 << width - 1), 1 << width - 1) if signed else range(1 << width)
    values = {n: n * factor + offset for n in stored}
    low, high = min(values.values()), max(values.values())
    asked = Fraction(data.draw(st.decimals(Decimal(decimal(low)), Decimal(decimal(high)), places=4)))
    found = encode(setting(Number(factor, offset, "V", low, high, signed)), decimal(asked), width)
    best = min(stored, key=lambda n: (abs(values[n] - asked), n % 2))
    assert found == Stored(best % (1 << width), decimal(values[best]), values[best] == asked)


@settings(deadline=None)
@given(st.decimals(allow_nan=False, allow_infinity=False, places=6, min_value=-(10**9), max_value=10**9))
def test_decimal_text_is_exact(value: Decimal) -> None:
    text = decimal(Fraction(value))
    assert Decimal(text) == value and "E" not in text and not (text.endswith("0") and "." in text)


def test_decimal_of_many_digits() -> None:
    with localcontext() as context:
        context.prec = 60
        for denominator in (2**20, 5**9, 2**5 * 5**11, 1):
            value = Fraction(-7, denominator)
            assert Decimal(decimal(value)) == Decimal(-7) / denominator
    with pytest.raises(ValueError, match="no exact decimal"):
        decimal(Fraction(1, 3))


@pytest.mark.parametrize(
    ("words", "repair"),
    [
        ("12.41", "Write a number from 10.5 to 12.4."),
        ("10.49", "Write a number from 10.5 to 12.4."),
        ("11,4", "Write 11.4, without unit, sign + or leading zeros."),
        ("11.4 V", "Write 11.4, without unit, sign + or leading zeros."),
        ("011.4", "Write 11.4, without unit, sign + or leading zeros."),
        ("+11.4", "Write 11.4, without unit, sign + or leading zeros."),
        ("not learnt", "Write 'not learned'."),
        ("off", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("1e1", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("1_1", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("NaN", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("١١", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("11\n", "Write a number from 10.5 to 12.4 or 'not learned'."),
        ("9" * 5000, "Write a number from 10.5 to 12.4 or 'not learned'."),
    ],
)
def test_numbers_refused(words: str, repair: str) -> None:
    assert problem(CUT_OFF, words).repair == repair


def test_a_number_the_bits_cannot_hold() -> None:
    assert "unsigned 7 bits" in problem(CUT_OFF, "11.4", 7).reason
    assert encode(CUT_OFF, "11.4", 8).raw == 228
    assert "signed 8 bits" in problem(number("1", "0", "-200", "200", True), "128", 8).reason
    assert "unsigned bits" in problem(number("1", "0", "-200", "200"), "-1", None).reason


def test_rounding_never_leaves_the_limits_or_meets_a_special_value() -> None:
    coarse = number("5", "0", "1", "13", False, Choice("not learned", 1))
    assert problem(coarse, "13").repair == "Write 10, or make the limits values it can store."
    assert "'not learned'" in problem(coarse, "6").reason
    assert "nothing between them" in problem(number("5", "0", "1", "4"), "3").repair
    assert "factor 0" in problem(number("0", "0", "0", "1"), "1").reason


def test_choices() -> None:
    assert encode(LAMP, "follows", 1) == Stored(1, "follows", True)
    assert decode(LAMP, 1, 4) == Meaning("follows", True) and decode(LAMP, 3, 4) == Meaning("3", False)
    assert problem(LAMP, "Folows").repair == "Write 'follows'."
    assert problem(LAMP, "xyzzy").repair == "Write 'stays off' or 'follows' or 'dimmed'."
    assert problem(LAMP, "dimmed", 3).repair.startswith("Give it a place of at least 4 bits")


def test_names_only() -> None:
    named = setting(Choices((Choice("stays off", None), Choice("follows", None))))
    assert accept(named, "follows") == "follows" and accept(CUT_OFF, "11.42") == "11.4"
    assert "Only the name" in problem(named, "follows").reason
    with pytest.raises(ValueProblem, match="stays off"):
        accept(named, "stays of")


@pytest.mark.parametrize(("pad", "filling"), [("space", b" "), ("zero", b"\0")])
def test_text(pad: str, filling: bytes) -> None:
    label = setting(Text(4, pad))  # type: ignore[arg-type]
    stored = encode(label, "AB", 32)
    assert stored.raw.to_bytes(4, "big") == b"AB" + 2 * filling
    assert decode(label, stored.raw, 32) == Meaning("AB", True)
    assert decode(label, int.from_bytes(b"A\x01B ", "big"), 32) == Meaning("41 01 42 20", False)
    assert problem(label, "ABCDE", 32).repair == "Shorten it to 4 characters."
    assert "'é'" in problem(label, "é", 32).reason and "'\\n'" in problem(label, "A\n", 32).reason
    assert problem(label, "AB", 24).repair == "Give it a place of 4 whole bytes."


@settings(deadline=None)
@given(st.binary(min_size=3, max_size=3), st.sampled_from(["space", "zero"]))
def test_text_that_means_something_encodes_to_the_same_bytes(held: bytes, pad: str) -> None:
    label = setting(Text(3, pad))  # type: ignore[arg-type]
    meaning = decode(label, int.from_bytes(held, "big"), 24)
    if meaning.known:
        assert encode(label, meaning.words, 24).raw == int.from_bytes(held, "big")
    else:
        assert bytes.fromhex(meaning.words) == held


def test_spaces_that_filling_would_swallow_are_refused() -> None:
    problem(setting(Text(4, "space")), "AB ", 32)
    assert encode(setting(Text(4, "zero")), "AB ", 32).shown == "AB "


def test_random_signed_numbers_against_plain_integers() -> None:
    rng = random.Random(5)
    for _ in range(500):
        size = rng.randint(1, 4)
        held = rng.randbytes(size)
        it = number("1", "0", str(-(1 << 40)), str(1 << 40), True)
        expected = int.from_bytes(held, "big", signed=True)
        assert decode(it, int.from_bytes(held, "big"), 8 * size).words == str(expected)
