"""What every story begins with: an owner says what car it is. And the record that most stories are about."""

from __future__ import annotations

from typing import Any

LAMPS = "12 40 0C 28 02 5A 08 00 A2 74"  # the recipe's own worked example, layout late
LAMPS_TO = "12 40 0C 0F 02 5A 08 00 CD 14"


def say_car(
    page: Any,
    phase: str = "2",
    software: str | None = None,
    equipment: tuple[str, ...] = (),
    name: str = "the blue one",
) -> None:
    """Fills in the form for the first car and saves it."""
    page.get_by_role("button", name="Say what car you have").click()
    fill_car(page, phase, software, equipment, name)


def fill_car(
    page: Any, phase: str, software: str | None, equipment: tuple[str, ...] = (), name: str = "the blue one"
) -> None:
    """Fills in the open form and saves it."""
    page.get_by_label("What you call it").fill(name)
    page.get_by_label("Model", exact=True).select_option("loft")
    page.get_by_label("Phase", exact=True).select_option(phase)
    if equipment:
        page.get_by_text("Equipment", exact=True).click()
    for item in equipment:
        page.get_by_label(item, exact=True).select_option("yes")
    if software:
        page.get_by_text("What its control modules say").click()
        group = page.get_by_role("group", name="Living-area controller")
        group.get_by_label("Software version").fill(software)
    page.get_by_role("button", name="Save car").click()
    assert page.get_by_text("Saved in this browser").is_visible()
