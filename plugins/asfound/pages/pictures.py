"""Pictures: decoded and encoded anew, so that nothing but the picture itself reaches the site.

A file that is a picture to one program and a page or a program to another (or that carries the place where it
was taken) does not survive this.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any

from PIL import Image, ImageOps

FORMATS = {"png": "PNG", "jpg": "JPEG", "jpeg": "JPEG", "webp": "WEBP"}
LONGEST_SIDE = 1600  # pixels on the site
_MOST_PIXELS = 50_000_000  # of the file; a decoded picture takes up to four bytes each


class PictureProblem(ValueError):
    """A picture that cannot be shown: ``reason`` and ``repair``, one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(f"{reason} {repair}")
        self.reason = reason
        self.repair = repair


def clean(content: bytes, name: str) -> bytes:
    """The picture encoded anew without metadata, turned upright, at most 1600 pixels long.

    PictureProblem when the content is not the raster format its name says, is broken or too large.
    """
    kind = FORMATS.get(name.rpartition(".")[2])
    if kind is None:
        raise PictureProblem("The picture is of no format the site shows.", "Use PNG, JPEG or WebP.")
    try:
        with Image.open(BytesIO(content), formats=[kind]) as opened:
            if opened.width * opened.height > _MOST_PIXELS:
                raise PictureProblem(
                    f"The picture has {opened.width} × {opened.height} pixels.",
                    f"Scale it down; the site shows {LONGEST_SIDE} at most.",
                )
            picture = ImageOps.exif_transpose(opened)
            picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    except PictureProblem:
        raise
    except Exception as error:  # Pillow's decoders raise many kinds, all of which mean the same here
        raise PictureProblem(
            f"The picture cannot be read as {kind}.", "Save it again, in the format its name says."
        ) from error
    return _encoded(picture, kind)


def size(content: bytes) -> tuple[int, int]:
    """Width and height in pixels of a picture that ``clean`` made."""
    with Image.open(BytesIO(content)) as opened:
        return opened.size


def _encoded(picture: Image.Image, kind: str) -> bytes:
    if kind == "JPEG" and picture.mode not in ("L", "RGB"):
        picture = picture.convert("RGB")
    bare = Image.new(picture.mode, picture.size)
    if picture.mode == "P":
        palette = picture.getpalette()
        if palette:
            bare.putpalette(palette)
    bare.paste(picture)
    out = BytesIO()
    options: dict[str, Any] = {"quality": 85} if kind == "JPEG" else {}
    if kind == "PNG" and "transparency" in picture.info:
        options["transparency"] = picture.info["transparency"]
    bare.save(out, kind, **options)
    return out.getvalue()
