"""What a setting acts on, and which of these functions matter for safety or security.

The list is the project's own and closed; ``schema/common.schema.json`` repeats the names for editors and a
test holds the two together.
"""

from __future__ import annotations

from typing import Literal

from ..speech import N_, gettext

Category = Literal["ordinary", "safety", "security", "environment"]

FUNCTIONS: dict[str, tuple[Category, str]] = {
    # name: (category, how it reads in a sentence)
    "comfort": ("ordinary", N_("comfort")),
    "inside-lighting": ("ordinary", N_("inside lighting")),
    "instruments": ("ordinary", N_("instruments")),
    "sound": ("ordinary", N_("sound")),
    "display": ("ordinary", N_("displays")),
    "navigation": ("ordinary", N_("navigation")),
    "climate": ("ordinary", N_("climate")),
    "living-area": ("ordinary", N_("living area")),
    "power-supply": ("ordinary", N_("power supply")),
    "maintenance": ("ordinary", N_("maintenance")),
    "restraint": ("safety", N_("seat belts and airbags")),
    "braking": ("safety", N_("braking")),
    "steering": ("safety", N_("steering")),
    "stability": ("safety", N_("stability control")),
    "driver-assistance": ("safety", N_("driver assistance")),
    "outside-view": ("safety", N_("view outside")),
    "road-lighting": ("safety", N_("road lighting")),
    "signals": ("safety", N_("signals to other road users")),
    "entry": ("safety", N_("doors, steps and windows")),
    "towing": ("safety", N_("towing")),
    "tyres": ("safety", N_("wheels and tyres")),
    "drive": ("safety", N_("engine and gearbox")),
    "burning": ("safety", N_("gas and fuel-burning heaters")),
    "locking": ("security", N_("locking")),
    "alarm": ("security", N_("alarm")),
    "immobiliser": ("security", N_("immobiliser")),
    "keys": ("security", N_("keys")),
    "emissions": ("environment", N_("emissions")),
}


def category(function: str) -> Category:
    """Whether a function is ordinary or touches safety, security or the environment."""
    return FUNCTIONS[function][0]


_KEEPS: dict[Category, str] = {
    "safety": N_("keeps people safe"),
    "security": N_("protects the car"),
    "environment": N_("protects the surroundings"),
}


def keeps(function: str) -> str:
    """What a function is there for, where it is more than ordinary; else empty."""
    said = _KEEPS.get(category(function))
    return gettext(said) if said else ""


def words(function: str) -> str:
    """The function as it reads in a sentence."""
    return gettext(FUNCTIONS[function][1])
