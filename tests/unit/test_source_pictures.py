"""Pictures on the site: nothing but the picture itself, upright, small."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image, PngImagePlugin

from asfound.source.limits import PICTURE_PIXELS
from asfound.source.pictures import LONGEST_SIDE, PictureProblem, clean, size

SECRET = b"57.1497N 2.0943W"  # a position, as text; tags hold one in numbers


def picture(kind: str, **more: object) -> bytes:
    content = BytesIO()
    Image.new("RGB", (40, 20), "teal").save(content, kind, **more)
    return content.getvalue()


def with_everything(kind: str) -> bytes:
    """A picture with a position, a comment, a profile and a page behind it."""
    exif = Image.Exif()
    exif[0x010E] = SECRET.decode()  # ImageDescription
    exif[0x0112] = 6  # Orientation: the top is at the right (TIFF 6.0, Exif 2.3)
    exif.get_ifd(0x8825)[0x0002] = (57.0, 8.0, 59.0)  # GPSLatitude
    more: dict[str, object] = {"exif": exif, "icc_profile": SECRET}
    if kind == "PNG":
        more["pnginfo"] = PngImagePlugin.PngInfo()
        more["pnginfo"].add_text("Comment", SECRET.decode())  # type: ignore[attr-defined]
    if kind == "JPEG":
        more["comment"] = SECRET
    if kind == "WEBP":
        more["xmp"] = SECRET
    return picture(kind, **more) + b"<script>" + SECRET + b"</script>"


@pytest.mark.parametrize(("kind", "ending"), [("PNG", "png"), ("JPEG", "jpg"), ("WEBP", "webp")])
def test_nothing_but_the_picture_itself_is_left(kind: str, ending: str) -> None:
    content = with_everything(kind)
    assert content.count(SECRET) >= 3, "the test's own picture holds what must go"
    cleaned = clean(content, f"a.{ending}")
    assert SECRET not in cleaned and b"<script" not in cleaned and b"Exif" not in cleaned
    again = Image.open(BytesIO(cleaned))
    assert again.format == kind and not again.getexif() and "icc_profile" not in again.info
    assert size(cleaned) == (20, 40)  # turned upright, as a viewer of the original would have it


def test_the_same_picture_gives_the_same_bytes() -> None:
    content = with_everything("JPEG")
    assert clean(content, "a.jpg") == clean(content, "a.jpg")


def test_a_large_picture_is_scaled_down() -> None:
    content = BytesIO()
    Image.new("L", (3200, 100)).save(content, "PNG")
    assert size(clean(content.getvalue(), "a.png")) == (LONGEST_SIDE, 50)


@pytest.mark.parametrize("name", ["a.gif", "a.svg", "a.png.html", "a", "a.PNG"])
def test_other_names_are_refused(name: str) -> None:
    with pytest.raises(PictureProblem) as refused:
        clean(picture("PNG"), name)
    assert refused.value.id == "file-not-a-picture"


def test_the_limit_of_pixels_is_exact() -> None:
    content = BytesIO()
    Image.new("1", (PICTURE_PIXELS // 4000, 4001)).save(content, "PNG")
    with pytest.raises(PictureProblem, match="at most 24 million"):
        clean(content.getvalue(), "a.png")
