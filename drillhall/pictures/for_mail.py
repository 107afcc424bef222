"""Makes the file that a letter encloses: mail programs of all ages show JPEG, and not all of them WebP."""

from __future__ import annotations

from io import BytesIO
from typing import Final

from PIL import Image

MEDIA_TYPE: Final = "image/jpeg"
QUALITY: Final = 85
"""Of 100, as Pillow counts; our own choice."""


def as_jpeg(content: bytes) -> bytes:
    """Return a stored size of a picture as JPEG, of the same pixels, with the XMP packet that tells its maker, licence and credit.

    A change of format alone makes no altered copy: Creative Commons 4.0 section 2(a)(4), from memory. What is transparent turns white.
    """
    out = BytesIO()
    with Image.open(BytesIO(content)) as image:
        rgba = image.convert("RGBA")
        flat = Image.new("RGB", image.size, "white")
        flat.paste(rgba, mask=rgba.getchannel("A"))
        flat.save(out, format="JPEG", quality=QUALITY, optimize=True, xmp=image.info.get("xmp", b""))
    return out.getvalue()
