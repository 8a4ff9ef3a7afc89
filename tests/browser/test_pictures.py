"""The pictures of the documentation show the pages as they are: same parts, in the same places.

Compared is how dark each square of 30 pixels is. With the fonts of the machine that took the pictures nearly
nothing may differ. Other fonts break lines elsewhere; then more is allowed, measured so that the widest and
the narrowest font at hand pass and a page without its style, or moved by two squares, does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat
from playwright.sync_api import Browser, Page

from .pictures import PICTURES, Picture, fonts, take

ROOT = Path(__file__).parents[2]
TOUR = ROOT / "site_src" / "tour"
SQUARE = 30
SAME_FONTS, OTHER_FONTS = 0.4, 1.35  # per cent of the range from black to white, on average
REPAIR = "Look at the page. If it is as it should be: make pictures"


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(bypass_csp=True)
    yield context.new_page()
    context.close()


def difference(one: Image.Image, other: Image.Image) -> float:
    """Mean difference of the squares, in per cent."""
    small = one.width // SQUARE, one.height // SQUARE
    squares = [image.convert("L").resize(small, Image.Resampling.BOX) for image in (one, other)]
    return float(ImageStat.Stat(ImageChops.difference(*squares)).mean[0]) / 2.55


@pytest.mark.parametrize("picture", PICTURES, ids=lambda one: one.name)
def test_a_picture_shows_the_page_as_it_is(page: Page, bases: dict[str, str], picture: Picture) -> None:
    with Image.open(TOUR / f"{picture.name}.png") as kept:
        assert kept.size == (picture.width, picture.height), REPAIR
        same = kept.info["fonts"] == fonts(page)
        if not (same or picture.anywhere):
            pytest.skip(
                "other fonts than those of the picture, and too much text above what could be compared"
            )
        now = take(page, bases["http"], picture)
        assert difference(kept.convert("RGB"), now) < (SAME_FONTS if same else OTHER_FONTS), REPAIR


def test_the_comparison_tells_a_broken_layout_from_another_font(page: Page, bases: dict[str, str]) -> None:
    (hazards,) = (one for one in PICTURES if one.name == "hazards")
    whole = take(page, bases["http"], hazards)
    for face in ("DejaVu Sans", "Liberation Sans Narrow"):  # common on Linux; a missing one is a third font
        other = take(page, bases["http"], hazards, f"* {{ font-family: '{face}' !important }}")
        assert difference(whole, other) < OTHER_FONTS
    moved = take(page, bases["http"], hazards, ".asf { transform: translateX(60px) }")
    page.route("**/asfound-figures.css", lambda route: route.abort())
    bare = take(page, bases["http"], hazards)
    page.unroute("**/asfound-figures.css")
    for broken in (moved, bare):
        assert difference(whole, broken) > OTHER_FONTS


def test_the_pictures_are_few_and_small() -> None:
    sizes = {file.name: file.stat().st_size for file in TOUR.glob("*.png")}
    assert set(sizes) == {f"{one.name}.png" for one in PICTURES}
    assert max(sizes.values()) < 60_000 and sum(sizes.values()) < 600_000
