"""Severity, risk level and signal word of a hazard.

The risk level is read from the risk assessment matrix of MIL-STD-882E (2012), Table III, §4.3.3. The signal
word follows ANSI Z535.6 (ISO 3864-2 alike): it depends on who could be hurt and how surely, never on the
likelihood, so an author who thinks a deadly hazard improbable cannot talk the word down.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

from ..speech import N_
from ..work.recipes import Hazard

Severity = Literal["catastrophic", "critical", "marginal", "negligible"]
Likelihood = Literal["frequent", "probable", "occasional", "remote", "improbable", "eliminated"]
Level = Literal["High", "Serious", "Medium", "Low", "Eliminated"]
SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]

SEVERITIES: Final[tuple[Severity, ...]] = (
    N_("catastrophic"), N_("critical"), N_("marginal"), N_("negligible")
)  # fmt: skip
LIKELIHOODS: Final[tuple[Likelihood, ...]] = (
    N_("frequent"), N_("probable"), N_("occasional"), N_("remote"), N_("improbable"), N_("eliminated"),
)  # fmt: skip
LEVELS: Final[tuple[Level, ...]] = (
    N_("High"), N_("Serious"), N_("Medium"), N_("Low"), N_("Eliminated"),  # highest first
)  # fmt: skip
SIGNAL_WORDS: Final[tuple[SignalWord, ...]] = (
    N_("DANGER"), N_("WARNING"), N_("CAUTION"), N_("NOTICE"),  # highest first
)  # fmt: skip

# MIL-STD-882E Table III: a row for each likelihood (A to F), a column for each of SEVERITIES (1 to 4).
MATRIX: Final[dict[Likelihood, tuple[Level, Level, Level, Level]]] = {
    "frequent": ("High", "High", "Serious", "Medium"),
    "probable": ("High", "High", "Serious", "Medium"),
    "occasional": ("High", "Serious", "Medium", "Low"),
    "remote": ("Serious", "Medium", "Medium", "Low"),
    "improbable": ("Medium", "Medium", "Medium", "Low"),
    "eliminated": ("Eliminated", "Eliminated", "Eliminated", "Eliminated"),
}

_SEVERITY_OF_HARM: Final[dict[str, Severity]] = {
    "death": "catastrophic", "serious": "critical", "minor": "marginal",
}  # fmt: skip


def severity(hazard: Hazard) -> Severity:
    """How bad the worst credible outcome is (MIL-STD-882E Table I): by the injury, else by the loss.

    The schema demands a loss where nobody is hurt; a hazard that lacks it all the same counts as
    catastrophic, since silence is no reassurance.
    """
    if hazard.harm == "none":
        return hazard.loss or "catastrophic"
    return _SEVERITY_OF_HARM[hazard.harm]


def level(severity: Severity, likelihood: Likelihood) -> Level:
    """The risk level of MIL-STD-882E Table III."""
    return MATRIX[likelihood][SEVERITIES.index(severity)]


def risk(hazard: Hazard) -> Level:
    """The risk level of a hazard."""
    return level(severity(hazard), hazard.likelihood)


def signal_word(hazard: Hazard) -> SignalWord:
    """DANGER: will kill or seriously injure. WARNING: could. CAUTION: minor injury. NOTICE: no injury."""
    if hazard.harm == "none":
        return "NOTICE"
    if hazard.harm == "minor":
        return "CAUTION"
    return "DANGER" if hazard.certainty == "will" else "WARNING"


def banner(hazards: Iterable[Hazard]) -> SignalWord | None:
    """The highest signal word of all, or None when there is no hazard."""
    return min((signal_word(h) for h in hazards), key=SIGNAL_WORDS.index, default=None)


def alert_symbol(word: SignalWord) -> bool:
    """Whether the safety alert symbol goes with the word: only where a person could be hurt (ANSI Z535.6)."""
    return word != "NOTICE"
