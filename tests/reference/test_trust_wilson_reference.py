"""Wilson's interval against published rows and statsmodels."""

from __future__ import annotations

import pytest

from asfound.trust.evidence import days, wilson


# R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17
# (1998), Table I, method 3 (score, no continuity correction).
@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_newcombe(k, n, low, high):
    got = wilson(k, n)
    assert [round(x, 4) for x in got] == [low, high]


def test_statsmodels():
    from statsmodels.stats.proportion import proportion_confint  # takes a second, in each process of a run

    for n in range(1, 41):
        for k in range(n + 1):
            low, high = proportion_confint(k, n, alpha=0.05, method="wilson")
            assert wilson(k, n) == pytest.approx((low, high), abs=1e-7)


def test_the_ends_are_exact_and_nothing_says_nothing():
    assert wilson(0, 0) == (0.0, 1.0)
    for n in (1, 7, 1000):
        assert wilson(0, n)[0] == 0.0 and wilson(n, n)[1] == 1.0
        assert wilson(0, n)[1] == pytest.approx(1 - wilson(n, n)[0])


@pytest.mark.parametrize(("k", "n"), [(-1, 3), (4, 3), (1, 0)])
def test_impossible_counts(k, n):
    with pytest.raises(ValueError):
        wilson(k, n)


def test_durations_in_days():
    # ISO 8601-1:2019, 5.5.2; months and years by the mean Gregorian year of 365.2425 days.
    assert days("P3W") == 21 and days("P12M") == pytest.approx(days("P1Y")) == pytest.approx(365.2425)
    order = ["P6D", "P1W", "P30D", "P1M", "P31D", "P11M", "P365D", "P1Y", "P366D", "P53W", "P2Y"]
    assert sorted(order, key=days) == order
