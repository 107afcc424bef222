"""What a letter encloses: a JPEG of the same pixels that still says whose it is."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image, UnidentifiedImageError

from drillhall.pictures.for_mail import as_jpeg

PACKET = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/></x:xmpmeta>'


def webp(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, format="WEBP", lossless=True, xmp=PACKET)
    return out.getvalue()


def test_it_is_a_jpeg_of_the_same_pixels_with_the_same_rights() -> None:
    half = Image.new("RGB", (96, 64), (40, 90, 160))
    half.paste((200, 180, 60), (48, 0, 96, 64))
    with Image.open(BytesIO(as_jpeg(webp(half)))) as made:
        assert (made.format, made.size, made.info["xmp"]) == ("JPEG", (96, 64), PACKET)
        for at in ((10, 10), (80, 50)):
            near = zip(made.convert("RGB").getpixel(at), half.getpixel(at), strict=True)  # type: ignore[arg-type]  # bands, not a float
            assert all(abs(one - other) <= 6 for one, other in near)
        assert not made.getexif()


def test_what_is_transparent_turns_white() -> None:
    with Image.open(BytesIO(as_jpeg(webp(Image.new("RGBA", (32, 32), (0, 0, 0, 0)))))) as made:
        assert made.getpixel((16, 16)) == (255, 255, 255)


def test_what_is_no_picture_is_not_enclosed() -> None:
    with pytest.raises(UnidentifiedImageError):
        as_jpeg(b"no picture")
