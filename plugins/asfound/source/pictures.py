"""Pictures: decoded and encoded anew, so that nothing but the picture itself reaches the site.

A file that is a picture to one program and a page or a program to another (or that carries the place where it
was taken) does not survive this.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any
from warnings import catch_warnings

from PIL import Image, ImageOps

from .limits import PICTURE_PIXELS

FORMATS = {"png": "PNG", "jpg": "JPEG", "webp": "WEBP"}
LONGEST_SIDE = 1600  # pixels on the site


class PictureProblem(ValueError):
    """A picture that cannot be shown: ``id``, ``reason`` and ``repair`` as of a finding."""

    def __init__(self, id: str, reason: str, repair: str) -> None:
        super().__init__(f"{reason}; {repair}")
        self.id = id
        self.reason = reason
        self.repair = repair


def clean(content: bytes, name: str) -> bytes:
    """The picture encoded anew without metadata, turned upright, at most 1600 pixels long.

    PictureProblem when the content is not the raster format its name says, is broken or too large.
    """
    return _encoded(decode(content, name), FORMATS[name.rpartition(".")[2]])


def decode(content: bytes, name: str) -> Image.Image:
    """The picture upright, at most 1600 pixels long, all of it decoded. PictureProblem as ``clean``."""
    kind = FORMATS.get(name.rpartition(".")[2])
    if kind is None:
        raise PictureProblem(
            "file-not-a-picture", "the picture is of no format the site shows", "save it as PNG, JPEG or WebP"
        )
    try:
        with catch_warnings(action="ignore"), Image.open(BytesIO(content), formats=[kind]) as opened:
            if opened.width * opened.height > PICTURE_PIXELS:
                raise _too_large(f"{opened.width:,} × {opened.height:,}")
            opened.thumbnail((LONGEST_SIDE, LONGEST_SIDE))  # before it is turned, which takes memory twice
            opened.load()
            return ImageOps.exif_transpose(opened)
    except PictureProblem:
        raise
    except Image.DecompressionBombError as error:  # so many that Pillow does not even open it
        raise _too_large("far too many") from error
    except Exception as error:  # Pillow's decoders raise many kinds, all of which mean the same here
        raise PictureProblem(
            "file-not-a-picture",
            f"the content cannot be read as a {kind} picture",
            "save the picture again, in the format its name says",
        ) from error


def _too_large(pixels: str) -> PictureProblem:
    return PictureProblem(
        "picture-too-large",
        f"the picture has {pixels} pixels; at most {PICTURE_PIXELS // 10**6} million are decoded",
        f"scale it down; the site shows at most {LONGEST_SIDE} on the longer side",
    )


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
