"""Takes the README's pictures from a built site: ``python tests/browser/pictures.py SITE FOLDER``."""

from __future__ import annotations

import shutil
import sys
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

# name, page, selector of what stands at the top, height in CSS pixels
PICTURES = (
    ("find", "find", "h1", 620),
    ("recipe", "recipes/awning-lamp-with-door", "h1", 900),
    ("changes", "recipes/awning-lamp-with-door", "h2#changes", 560),
    ("job", "recipes/awning-lamp-with-door", "h2#job", 700),
    ("module", "modules/living-area", "h2#records", 640),
)
WIDTH = 1100


def main(site: Path, folder: Path) -> None:
    """Write one PNG each, in few colours so that the repository stays small."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("chromium-browser"),
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        page = browser.new_page(viewport={"width": WIDTH, "height": 1000})
        for name, address, selector, height in PICTURES:
            page.goto(f"{site.absolute().as_uri()}/{address}.html")
            page.add_style_tag(content=".md-header, .md-tabs { display: none !important }")
            box = page.locator(f"article {selector}").first.bounding_box()
            if box is None:
                sys.exit(f"{address}.html has no {selector}")
            clip = {"x": 0, "y": box["y"] - 12, "width": WIDTH, "height": height}
            shot = Image.open(BytesIO(page.screenshot(clip=clip, full_page=True)))
            shot.convert("RGB").quantize(64).save(folder / f"{name}.png", optimize=True)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
