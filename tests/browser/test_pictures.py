"""The pictures of the documentation show the pages as they are: same parts, in the same places.

Compared is how dark each square of 30 pixels is, in a font that is the same wherever the tests run; nearly
nothing may differ then.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat
from playwright.sync_api import Browser, Page

from .pictures import COMPARED, ONE_FONT, PICTURES, Picture, squares, take

ROOT = Path(__file__).parents[2]
TOUR = ROOT / "site_src" / "tour"
SAME = 0.12  # per cent of the range from black to white, on average
REPAIR = "Look at the page. If it is as it should be: make pictures"


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(bypass_csp=True)
    yield context.new_page()
    context.close()


def difference(one: Image.Image, other: Image.Image) -> float:
    """Mean difference of squares, in per cent."""
    return float(ImageStat.Stat(ImageChops.difference(one, other)).mean[0]) / 2.55


@pytest.mark.parametrize("picture", PICTURES, ids=lambda one: one.name)
def test_a_picture_shows_the_page_as_it_is(page: Page, bases: dict[str, str], picture: Picture) -> None:
    with Image.open(TOUR / f"{picture.name}.png") as shown:
        assert shown.size == (picture.width, picture.height), REPAIR
    now = squares(take(page, bases["http"], picture, ONE_FONT))
    with Image.open(COMPARED / f"{picture.name}.png") as kept:
        assert kept.size == now.size, REPAIR
        assert difference(kept.convert("L"), now) < SAME, REPAIR


def test_every_picture_is_compared_and_the_pictures_are_few_and_small() -> None:
    names = {f"{picture.name}.png" for picture in PICTURES}
    sizes = {file.name: file.stat().st_size for file in TOUR.glob("*.png")}
    assert {file.name for file in COMPARED.iterdir()} == set(sizes) == names
    assert max(sizes.values()) < 60_000 and sum(sizes.values()) < 600_000


def test_the_comparison_tells_a_broken_layout(page: Page, bases: dict[str, str]) -> None:
    (hazards,) = (one for one in PICTURES if one.name == "hazards")

    def taken(style: str = "") -> Image.Image:
        return squares(take(page, bases["http"], hazards, ONE_FONT + style))

    whole = taken()
    assert difference(whole, taken()) == 0
    assert difference(whole, taken(".asf { transform: translateX(60px) }")) > SAME
    assert difference(whole, taken(".asf-signal { background: none; color: #000 }")) > SAME
    page.route("**/asfound-figures.css", lambda route: route.abort())
    assert difference(whole, taken()) > SAME
