"""The kinds of page and the states their tools bring them into, for tests that ask the same of all."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from playwright.sync_api import Page

sys.path.insert(0, str(Path(__file__).parent))
from owners import LAMPS, LAMPS_TO, say_car

SHEET = "[aria-labelledby=worksheet]"
COOL_BOX, FARM = "Trailer socket feeds the cool box", "Farm trailer"


def filtered(page: Page) -> None:
    page.get_by_label("Filter", exact=True).fill("lamp")
    page.locator("#asf-filter-count", has_text=" of ").wait_for()


def searched(page: Page) -> None:
    page.locator(".asf-search").click()
    page.keyboard.type("lamp")
    page.locator(".asf-search__list a").first.wait_for()
    page.keyboard.press("ArrowDown")


def my_car(page: Page) -> None:
    page.get_by_role("button", name="Say what car you have").click()
    for summary in page.locator(".asf-car summary").all():
        summary.click()


def answered(page: Page) -> None:
    say_car(page, software="0310", equipment=("awning",))


def worksheet(page: Page) -> None:
    sheet = page.locator(SHEET)
    sheet.get_by_label("As found").fill(LAMPS)
    sheet.get_by_label("How many minutes").fill("7.3")
    assert sheet.locator(".asf-write").is_visible()
    sheet.get_by_label("As left").fill(LAMPS)
    page.get_by_label("The module answered", exact=True).select_option(index=3)
    page.get_by_role("button", name="Say what car you have").click()
    page.locator(".asf-car summary").first.click()


def half_typed(page: Page) -> None:
    page.locator(SHEET).get_by_label("As found").fill("12 40 0C")
    assert page.locator(f"{SHEET} .asf-ask").first.is_visible()


def stopped(page: Page) -> None:
    page.locator(SHEET).get_by_label("As found").fill(LAMPS.replace("A2 74", "A2 75"))
    assert page.locator(f"{SHEET} .asf-stop").first.is_visible()


def finished(page: Page) -> None:
    say_car(page, software="0310", equipment=("awning",))
    sheet = page.locator(SHEET)
    sheet.get_by_label("As found").fill(LAMPS)
    sheet.get_by_label("How many minutes").fill("7.5")
    sheet.get_by_label("As left").fill(LAMPS_TO)
    sheet.get_by_label("Before the work").fill("P0133")
    sheet.get_by_label("After the work").fill("P0133 U0140 nonsense")
    sheet.get_by_role("button", name="Keep it in the car's log").click()
    page.locator(".asf-back").get_by_label("As it is now").fill(LAMPS_TO)
    assert page.locator(".asf-back .asf-write").is_visible()


def by_name(page: Page) -> None:
    sheet = page.locator(SHEET)
    sheet.get_by_role("group", name="As found").locator("select").first.select_option("with the key")
    sheet.locator(".asf-bytes-in").first.fill("10 45 00 8C")
    assert sheet.get_by_role("heading", name="To write").count() == 2


def planned(page: Page) -> None:
    page.get_by_label("Filter", exact=True).fill("awning lamp")
    page.get_by_label("Awning lamp follows the sliding door").check()
    page.get_by_text("is in it too, because").wait_for()


def refused(page: Page) -> None:
    """Two recipes that clash: no job."""
    for recipe in ("pets-on-board", "wider-key-wake"):
        page.locator(f"#asf-pick-{recipe}").check()
    page.locator("[data-asf-planner] .asf-stop").first.wait_for()


def logged(page: Page) -> None:
    """A job in the car's log, what became of it, and the handover."""
    say_car(page, software="0310", equipment=("awning",))
    planned(page)
    job = page.locator("[data-asf-planner]")
    job.get_by_label("As found").fill(LAMPS)
    job.get_by_label("As left").fill(job.locator(".asf-write").inner_text())
    page.get_by_role("button", name="Keep it in the car's log").click()
    page.get_by_role("heading", name="Handover").wait_for()
    page.locator("#drift ~ div").first.get_by_label("As it is now").fill(LAMPS)


def one_step(page: Page) -> None:
    """A step on a phone, ticked."""
    page.get_by_role("button", name="One step at a time").click()
    page.get_by_role("checkbox").first.press("Space")


def a_record_step(page: Page) -> None:
    page.get_by_role("button", name="One step at a time").click()
    onward = page.get_by_role("button", name="Done, next")
    while not page.locator(".record.now").count():
        onward.click()


def drawn(page: Page) -> None:
    page.locator("body[data-asf-drawn]").wait_for(state="attached")


def typed(code: str) -> Callable[[Page], None]:
    def work(page: Page) -> None:
        page.get_by_label("Code on the paper").fill(code)
        page.locator("section.code:visible").wait_for()

    return work


def _address(**said: object) -> str:
    return f"sheet.html#{quote(json.dumps(said))}"


FIVE = ["awning-lamp-with-door", "fridge-on-the-drive", "cabin-dims-slowly", "battery-replaced"]

KINDS: dict[str, tuple[str, Callable[[Page], None] | None]] = {
    "home": ("index.html", None),
    "find": ("find.html", filtered),
    "search": ("modules/index.html", searched),
    "recipe": ("recipes/step-goes-back-out.html", None),
    "my car": ("recipes/step-goes-back-out.html", my_car),
    "a car that is known": ("find.html", answered),
    "recipe with its worksheet": ("recipes/awning-lamp-time-out.html", worksheet),
    "worksheet, half typed": ("recipes/awning-lamp-time-out.html", half_typed),
    "worksheet, stop": ("recipes/awning-lamp-time-out.html", stopped),
    "worksheet, finished": ("recipes/awning-lamp-time-out.html", finished),
    "worksheet, by name": ("recipes/trailer-cool-box.html", by_name),
    "file to load": ("recipes/map-card-0422.html", None),
    "names only, neighbours": ("recipes/trailer-cool-box.html", None),
    "in another language": ("nl/recipes/step-goes-back-out.html", None),
    "find in another language": ("nl/find.html", None),
    "planner in another language": ("nl/planner.html", None),
    "hand-written, not translated": ("nl/review.html", None),
    "withdrawn": ("recipes/awning-lamp-all-night.html", None),
    "module": ("modules/living-area.html", None),
    "vehicle": ("vehicles/skerry.html", None),
    "planner": ("planner.html", planned),
    "planner, refused": ("planner.html", refused),
    "planner, log and handover": ("planner.html", logged),
    "board": ("board.html", None),
    "glossary": ("glossary.html", None),
    "findings": ("findings.html", None),
    "fields": ("fields/index.html", None),
    "fields of a kind": ("fields/recipe.html", None),
    "hand-written": ("review.html", None),
    "not found": ("404.html", None),
    "garage sheet": ("sheets/step-goes-back-out.html", None),
    "garage sheet in another language": ("nl/sheets/heater-runs-longer.html", None),
    "garage sheet, withdrawn": ("sheets/awning-lamp-all-night.html", None),
    "step by step": ("sheets/step-goes-back-out.html", one_step),
    "step by step, a record": ("sheets/step-goes-back-out.html", a_record_step),
    "sheets": ("sheet.html", None),
    "sheet of a plan": (_address(recipes=FIVE), drawn),
    "sheet codes": ("code.html", None),
    "sheet code, current": ("code.html", typed("D5MT9TSR")),
    "sheet code, outdated": ("code.html", typed("Z9CWPRTG")),
    "sheet code, withdrawn": ("code.html", typed("RVJRJWGM")),
    "sheet code, mistyped": ("code.html", typed("Z9CWPRTH")),
    "sheet code, unknown": ("code.html", typed("00000000")),
}
