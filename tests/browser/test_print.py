"""A recipe's page on paper: A4, nothing but the recipe, and its parts in order."""

from __future__ import annotations

from io import BytesIO
from typing import Any
from unicodedata import normalize

import pytest
from pypdf import PdfReader

A4 = (210 / 25.4 * 72, 297 / 25.4 * 72)  # ISO 216, in points
FURNITURE = ".md-skip, .md-header, .md-tabs, .md-search, .md-sidebar, .md-nav, .md-footer, .md-top"


def squeezed(text: str) -> str:
    """Text without white space or ligatures, since a PDF keeps places and not spaces, and drawn letters."""
    return "".join(normalize("NFKC", text).split())


@pytest.mark.parametrize("path", ["recipes/step-goes-back-out.html", "recipes/map-card-0422.html"])
def test_a_recipe_on_paper(opener: Any, path: str) -> None:
    with opener("file") as reader:
        page = reader.open(path)
        title = page.locator("h1").inner_text()
        page.emulate_media(media="print")
        assert page.locator(f":is({FURNITURE}):visible").all_inner_texts() == []
        headings = page.locator(".asf h2:visible").all_inner_texts()
        tab = page.title()
        pdf = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True, print_background=False)))
    for sheet in pdf.pages:
        assert (float(sheet.mediabox.width), float(sheet.mediabox.height)) == pytest.approx(A4, abs=1)
    assert tab.startswith(title)
    text = squeezed("\n".join(sheet.extract_text() for sheet in pdf.pages))
    place = text.index(squeezed(title))
    assert place < 200, "something is printed before the title"
    for heading in headings:
        place = text.index(squeezed(heading), place) + len(squeezed(heading))
    for foreign in ("Skip to content", "Back to top", "Made with", "Type to start search"):
        assert squeezed(foreign) not in text


def test_a_worksheet_is_printed_once_something_is_noted(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("recipes/other-tyres-true-speed.html")
        heading = page.locator("#worksheet")
        assert heading.is_visible()
        page.emulate_media(media="print")
        assert not heading.is_visible()
        page.emulate_media(media="screen")
        page.locator("[aria-labelledby=worksheet]").get_by_label("As found").fill("2092")
        page.emulate_media(media="print")
        assert heading.is_visible()
        assert not page.get_by_text("After the work", exact=True).first.is_visible()
        page.emulate_media(media="screen")
        page.get_by_role("button", name="Empty this worksheet").click()
