"""What a setting acts on, and which of these functions matter for safety or security.

The list is the project's own and closed; ``schema/common.schema.json`` repeats the names for editors and a
test holds the two together.
"""

from __future__ import annotations

from typing import Literal

Category = Literal["ordinary", "safety", "security", "environment"]

FUNCTIONS: dict[str, tuple[Category, str]] = {
    # name: (category, how it reads in a sentence)
    "comfort": ("ordinary", "comfort"),
    "inside-lighting": ("ordinary", "inside lighting"),
    "instruments": ("ordinary", "instruments"),
    "sound": ("ordinary", "sound"),
    "display": ("ordinary", "displays"),
    "navigation": ("ordinary", "navigation"),
    "climate": ("ordinary", "climate"),
    "living-area": ("ordinary", "living area"),
    "power-supply": ("ordinary", "power supply"),
    "maintenance": ("ordinary", "maintenance"),
    "restraint": ("safety", "seat belts and airbags"),
    "braking": ("safety", "braking"),
    "steering": ("safety", "steering"),
    "stability": ("safety", "stability control"),
    "driver-assistance": ("safety", "driver assistance"),
    "outside-view": ("safety", "view outside"),
    "road-lighting": ("safety", "road lighting"),
    "signals": ("safety", "signals to other road users"),
    "entry": ("safety", "doors, steps and windows"),
    "towing": ("safety", "towing"),
    "tyres": ("safety", "wheels and tyres"),
    "drive": ("safety", "engine and gearbox"),
    "burning": ("safety", "gas and fuel-burning heaters"),
    "locking": ("security", "locking"),
    "alarm": ("security", "alarm"),
    "immobiliser": ("security", "immobiliser"),
    "keys": ("security", "keys"),
    "emissions": ("environment", "emissions"),
}


def category(function: str) -> Category:
    """Whether a function is ordinary or touches safety, security or the environment."""
    return FUNCTIONS[function][0]


def words(function: str) -> str:
    """The function as it reads in a sentence."""
    return FUNCTIONS[function][1]
