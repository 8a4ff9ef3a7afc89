"""Version order against natsort; ranges against plain comparison."""

import itertools
import random

import pytest
from natsort import natsort_keygen, natsorted

from asfound.car.versions import RangeProblem, key, parse_range, points, range_of

NATSORT = natsort_keygen()


def some_versions(seed: int, n: int) -> list[str]:
    rng = random.Random(seed)
    alphabet = "0012359AABbz.."
    return ["".join(rng.choices(alphabet, k=rng.randint(1, 6))) for _ in range(n)]


def test_the_order_natsort_gives() -> None:
    # natsort 8.4
    versions = ["1.9", "1.10", "0210", "0210A", "0310", "0405"]
    assert sorted(reversed(versions), key=key) == versions == natsorted(reversed(versions))


def test_random_versions_agree_with_natsort() -> None:
    versions = some_versions(1, 400)
    for a, b in itertools.product(versions[:200], versions[200:]):
        if NATSORT(a) < NATSORT(b):
            assert key(a) < key(b), (a, b)
        elif NATSORT(a) > NATSORT(b):
            assert key(a) > key(b), (a, b)
        else:  # natsort leaves these as they came; here text decides, so that the order is total
            assert (key(a) < key(b)) == (a < b) and (key(a) == key(b)) == (a == b)


def test_leading_zeros_make_another_version_next_door() -> None:
    assert key("00210") < key("0210") < key("210") < key("210A") and key("0209") < key("00210")
    assert not parse_range("=0210").contains("210")
    assert NATSORT("0210") == NATSORT("210")  # nothing lies between them but more zeros


def test_numbers_are_not_decimals_and_letters_no_prereleases() -> None:
    # PEP 440 would put 0210A below 0210, decimal reading would put 1.10 below 1.9.
    assert parse_range(">=0210,<0405").contains("0210A")
    assert parse_range(">1.9").contains("1.10")


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        (">=0210,<0405", ["0210", "0210A", "0404", "0300"], ["0209", "0405", "0405A", "99999"]),
        (">0210,<=0405", ["0210A", "0405"], ["0210", "0405A"]),
        ("=1.2", ["1.2"], ["1.20", "1.02", "1.2.0"]),
        (">1,<3,>=2", ["2", "2.9"], ["1.5", "3"]),
    ],
)
def test_ranges(text: str, inside: list[str], outside: list[str]) -> None:
    found = parse_range(text)
    assert str(found) == text
    assert all(found.contains(v) for v in inside) and not any(found.contains(v) for v in outside)


@pytest.mark.parametrize(
    "text",
    ["", ">=", "0210", ">= 0210", ">=0210,", "~0210", ">=0210\n", ">=0²10", ">=02_10", ">=" + "1" * 25],
)
def test_an_unreadable_range_is_refused(text: str) -> None:  # fmt: skip
    with pytest.raises(RangeProblem) as caught:
        parse_range(text)
    assert "\n" not in caught.value.reason + caught.value.repair and caught.value.repair


@pytest.mark.parametrize(
    "text", [">2,<1", ">2,<2", ">=2,<2", ">2,<=2", "=1,=2", "=1,>1", ">=0405,<0210", "=0210,=210"]
)
def test_an_empty_range_is_refused(text: str) -> None:  # fmt: skip
    with pytest.raises(RangeProblem, match="No software version"):
        parse_range(text)


def test_points_stand_for_all_versions_between_bounds() -> None:
    versions = some_versions(2, 300)
    rng = random.Random(3)
    for _ in range(100):
        bounds = tuple(rng.sample(versions, rng.randint(1, 4)))
        every = points(bounds)
        assert list(every) == sorted(every) and len(every) == 2 * len(set(bounds)) + 1
        ranges = [parse_range(op + b) for op in (">=", "<=", "<", ">", "=") for b in bounds]
        for version in versions:
            # The one point whose own range holds the version answers as the version does.
            (point,) = [p for p in every if parse_range(range_of(p, bounds)).contains(version)]
            assert all(r.contains(version) == r.contains_point(point) for r in ranges)
