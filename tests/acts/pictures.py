"""A few real picture files for imports: small, all different."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from random import Random

from PIL import Image


@cache
def jpeg(seed: int) -> bytes:
    """Return a JPEG of 240 × 180 pixels, another one for each seed."""
    dice = Random(seed)
    patches = Image.new("RGB", (4, 3))
    patches.putdata([(dice.randrange(256), dice.randrange(256), dice.randrange(256)) for _ in range(12)])
    out = BytesIO()
    patches.resize((240, 180), Image.Resampling.BICUBIC).save(out, "JPEG")
    return out.getvalue()
