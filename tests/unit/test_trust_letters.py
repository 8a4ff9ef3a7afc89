"""Codes: the alphabet, the check letter, and what slips of the pen it catches."""

from __future__ import annotations

import random
from hashlib import sha256
from itertools import combinations, product

import pytest

from asfound.trust.letters import ALPHABET, check_code, check_letter, make_code, normalise, times_alpha


def multiply(a: int, b: int) -> int:
    """GF(32) by school arithmetic: carry-less product, then division by x⁵ + x² + 1."""
    product_ = 0
    for i in range(5):
        if b >> i & 1:
            product_ ^= a << i
    for degree in range(8, 4, -1):
        if product_ >> degree & 1:
            product_ ^= 0b100101 << degree - 5
    return product_


def power(exponent: int) -> int:
    out = 1
    for _ in range(exponent):
        out = multiply(out, 2)
    return out


WEIGHTS = [power(7 - i) for i in range(8)]
CODES = [make_code(str(i).encode()) for i in range(120)]


def test_alphabet():
    assert len(set(ALPHABET)) == 32 and not set(ALPHABET) & set("ILOU")
    assert list(ALPHABET) == sorted(ALPHABET)


def test_the_polynomial_is_primitive():
    powers = [power(i) for i in range(31)]
    assert len(set(powers)) == 31 and power(31) == 1
    assert [times_alpha(p) for p in powers] == [multiply(p, 2) for p in powers]


def test_proof_over_the_weights():
    """A slip changes the sum by something that is never 0, whatever the code."""
    assert len(set(WEIGHTS)) == 8 and 0 not in WEIGHTS
    assert all(multiply(d, w) for d, w in product(range(1, 32), WEIGHTS))  # one wrong letter
    for w, v in combinations(WEIGHTS, 2):  # two letters that changed places
        assert all(multiply(a ^ b, w ^ v) for a, b in product(range(32), repeat=2) if a != b)


def test_codes_satisfy_the_sum():
    for code in CODES:
        total = 0
        for letter, weight in zip(code, WEIGHTS, strict=True):
            total ^= multiply(ALPHABET.index(letter), weight)
        assert total == 0 and check_code(code) == "ok"


def test_every_single_wrong_letter_is_caught():
    for code in CODES:
        for at, letter in product(range(8), ALPHABET):
            typed = code[:at] + letter + code[at + 1 :]
            assert check_code(typed) == ("ok" if typed == code else "mistyped")


def test_every_swap_is_caught_neighbours_and_others():
    for code in CODES:
        for i, j in combinations(range(8), 2):
            letters = list(code)
            letters[i], letters[j] = letters[j], letters[i]
            typed = "".join(letters)
            assert check_code(typed) == ("ok" if typed == code else "mistyped")


def test_exactly_one_in_32_random_words_is_a_code():
    # The code is linear: of the 32 last letters exactly one is right.
    rng = random.Random(5)
    for _ in range(50):
        head = "".join(rng.choices(ALPHABET, k=7))
        assert [c for c in ALPHABET if check_code(head + c) == "ok"] == [check_letter(head)]


def test_letters_are_the_first_35_bits_of_sha_256():
    # FIPS 180-4 example: SHA-256("abc") = ba7816bf 8f01cfea …; 10111 01001 11100 00001 01101 01111 11100
    assert sha256(b"abc").hexdigest().startswith("ba7816bf8f")
    assert make_code(b"abc")[:7] == "Q9W1DFW"


@pytest.mark.parametrize("typed", ["", "Q9W1DFW", "????????", "Q9W1DFWÄ", "Q9W1DFW\n", "１２３４５６７８"])
def test_what_is_no_code(typed):
    assert check_code(typed) == "mistyped"
    assert check_code(CODES[0] + "0") == "mistyped"


def test_as_people_type():
    code = "ABC01VX" + check_letter("ABC01VX")
    typed = f" {code[:4]}-{code[4:]} ".lower()
    assert normalise(typed) == code
    look_alike = code.replace("0", "o").replace("V", "u")
    for one in "iIlL":
        assert normalise(look_alike.replace("1", one)) == code and check_code(look_alike) == "ok"
    assert normalise("ſ") == "ſ"  # U+017F, whose capital is an ASCII S
