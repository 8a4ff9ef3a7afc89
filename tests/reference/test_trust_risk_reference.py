"""Risk levels and signal words against the published tables."""

from __future__ import annotations

from itertools import product

import pytest

from asfound.trust.risk import (
    LEVELS,
    LIKELIHOODS,
    SEVERITIES,
    SIGNAL_WORDS,
    alert_symbol,
    banner,
    level,
    risk,
    severity,
    signal_word,
)
from asfound.work.recipes import Hazard

# MIL-STD-882E, 11 May 2012, Table III "Risk assessment matrix", column by column (the code keeps rows).
TABLE_III = {
    "catastrophic": {"A": "High", "B": "High", "C": "High", "D": "Serious", "E": "Medium"},
    "critical": {"A": "High", "B": "High", "C": "Serious", "D": "Medium", "E": "Medium"},
    "marginal": {"A": "Serious", "B": "Serious", "C": "Medium", "D": "Medium", "E": "Medium"},
    "negligible": {"A": "Medium", "B": "Medium", "C": "Low", "D": "Low", "E": "Low"},
}
LETTERS = {
    "A": "frequent", "B": "probable", "C": "occasional", "D": "remote", "E": "improbable",
}  # fmt: skip
CELLS = [(s, letter, want) for s, column in TABLE_III.items() for letter, want in column.items()]


def hazard(harm="none", certainty="could", likelihood="remote", loss=None):
    return Hazard("h", "c", "a", harm, certainty, likelihood, loss)


@pytest.mark.parametrize(("column", "letter", "want"), CELLS)
def test_every_cell_of_table_iii(column, letter, want):
    assert level(column, LETTERS[letter]) == want


def test_the_table_has_twenty_cells_and_the_eliminated_row():
    assert len(CELLS) == 20
    assert {level(column, "eliminated") for column in SEVERITIES} == {"Eliminated"}  # Table III, row F


@pytest.mark.parametrize(
    ("column", "likelihood", "wrong"),
    # Cells that circulating copies get wrong, each time too permissive.
    [
        ("critical", "improbable", "Low"),
        ("marginal", "probable", "Medium"),
        ("marginal", "remote", "Low"),
        ("marginal", "improbable", "Low"),
        ("negligible", "probable", "Low"),
    ],
)
def test_not_the_permissive_copies(column, likelihood, wrong):
    assert LEVELS.index(level(column, likelihood)) < LEVELS.index(wrong)


def test_never_more_permissive_for_something_worse_or_likelier():
    grid = list(product(range(4), range(6)))
    for (s, p), (worse, likelier) in product(grid, grid):
        if worse <= s and likelier <= p:
            here = level(SEVERITIES[s], LIKELIHOODS[p])
            there = level(SEVERITIES[worse], LIKELIHOODS[likelier])
            assert LEVELS.index(there) <= LEVELS.index(here)


# Our own mapping of harm to MIL-STD-882E Table I (death or permanent total disability: catastrophic;
# permanent partial disability or injury needing a hospital: critical; lost work days: marginal).
@pytest.mark.parametrize(
    ("harm", "loss", "want"),
    [
        ("death", None, "catastrophic"),
        ("serious", None, "critical"),
        ("minor", None, "marginal"),
        *(("none", s, s) for s in SEVERITIES),
        ("none", None, "catastrophic"),
    ],
)
def test_severity(harm, loss, want):
    assert severity(hazard(harm, loss=loss)) == want


def test_risk_joins_severity_and_likelihood():
    assert risk(hazard("serious", likelihood="occasional")) == "Serious"
    assert risk(hazard("none", likelihood="remote", loss="negligible")) == "Low"


# ANSI Z535.6 (and ISO 3864-2): DANGER will, WARNING could result in death or serious injury, CAUTION could
# result in minor or moderate injury, NOTICE is not related to injury and bears no safety alert symbol.
@pytest.mark.parametrize(
    ("harm", "certainty", "want"),
    [
        ("death", "will", "DANGER"),
        ("serious", "will", "DANGER"),
        ("death", "could", "WARNING"),
        ("serious", "could", "WARNING"),
        ("minor", "will", "CAUTION"),
        ("minor", "could", "CAUTION"),
        ("none", "will", "NOTICE"),
        ("none", "could", "NOTICE"),
    ],
)
def test_signal_words(harm, certainty, want):
    assert signal_word(hazard(harm, certainty, loss="catastrophic" if harm == "none" else None)) == want
    assert alert_symbol(want) is (harm != "none")


def test_no_likelihood_and_no_loss_moves_the_signal_word():
    for likelihood in LIKELIHOODS:
        assert signal_word(hazard("death", "will", likelihood)) == "DANGER"
        assert signal_word(hazard("none", "will", likelihood, "catastrophic")) == "NOTICE"


def test_the_banner_is_the_highest_word():
    one_each = {
        "DANGER": hazard("death", "will"),
        "WARNING": hazard("serious"),
        "CAUTION": hazard("minor"),
        "NOTICE": hazard("none", loss="marginal"),
    }
    assert banner(()) is None
    for i, word in enumerate(SIGNAL_WORDS):
        assert banner([one_each[w] for w in reversed(SIGNAL_WORDS[i:])]) == word
