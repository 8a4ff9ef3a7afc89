"""Takes the documentation's pictures from a built site: ``python tests/browser/pictures.py SITE FOLDER``.

`make pictures` does that; `test_pictures.py` says when they no longer show the pages as they are. Each is
taken twice: in the fonts of the machine, to be looked at, and in one font that every machine has that runs
the tests, to be compared; of that only how dark each square is is kept.
"""

from __future__ import annotations

import shutil
import sys
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright


@dataclass(frozen=True)
class Picture:
    """A page, what stands at the top of the picture, its size in CSS pixels, and light or dark."""

    name: str
    page: str
    top: str
    height: int
    width: int = 1100
    scheme: str = "light"


PICTURES = (
    Picture("find", "find", "h1", 620),
    Picture("recipe", "recipes/awning-lamp-with-door", "h1", 900),
    Picture("fit", "recipes/awning-lamp-with-door", "h2#fit", 480),
    Picture("hazards", "recipes/step-goes-back-out", "h2#hazards", 620),
    Picture("changes", "recipes/awning-lamp-with-door", "h2#changes", 560),
    Picture("job", "recipes/awning-lamp-with-door", "h2#job", 700),
    Picture("module", "modules/living-area", "h2#records", 640),
    Picture("phone", "recipes/trailer-cool-box", "h1", 740, 360, "dark"),
)
SQUARE = 30
COMPARED = Path(__file__).parent / "pictures"
ONE_FONT = "* { font-family: 'Liberation Sans Narrow' !important }"  # the sheets' face
ALONE = ".md-header, .md-tabs, .md-main::before { display: none !important }"  # the frame is the theme's


def take(page: Page, base: str, picture: Picture, style: str = "") -> Image.Image:
    """The picture as the page is now; ``style`` is added to it."""
    page.set_viewport_size({"width": picture.width, "height": 1000})
    page.emulate_media(color_scheme=picture.scheme, reduced_motion="reduce")  # type: ignore[arg-type]
    page.goto(f"{base}{picture.page}.html")
    page.evaluate("localStorage.clear()")  # the theme keeps light or dark there
    page.reload()
    page.locator(".asf-car").wait_for()
    page.add_style_tag(content=ALONE + style)
    box = page.locator(f"article {picture.top}").first.bounding_box()
    if box is None:
        sys.exit(f"{picture.page}.html has no {picture.top}")
    clip = {"x": 0, "y": box["y"] - 12, "width": picture.width, "height": picture.height}
    shot = page.screenshot(clip=clip, full_page=True)  # type: ignore[arg-type]
    return Image.open(BytesIO(shot)).convert("RGB")


def squares(image: Image.Image) -> Image.Image:
    """How dark each square of 30 pixels is."""
    small = image.width // SQUARE, image.height // SQUARE
    return image.convert("L").resize(small, Image.Resampling.BOX)


def main(site: Path, folder: Path) -> None:
    """Write one PNG each, in few colours so that the repository stays small."""
    for each in (folder, COMPARED):
        each.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("chromium-browser"),
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        page = browser.new_context(bypass_csp=True).new_page()
        base = f"{site.absolute().as_uri()}/"
        for picture in PICTURES:
            shot = take(page, base, picture)
            shot.quantize(48).save(folder / f"{picture.name}.png", optimize=True)
            compared = squares(take(page, base, picture, ONE_FONT))
            compared.save(COMPARED / f"{picture.name}.png", optimize=True)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
