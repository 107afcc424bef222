"""The 64 bits by which near-duplicates are found, against ImageHash, another implementation of the difference hash."""

from __future__ import annotations

from random import Random

import imagehash
import pytest
from PIL import Image, ImageFilter

from drillhall.pictures.ingest import fingerprint


@pytest.mark.parametrize("seed", range(12))
def test_fingerprints_are_those_of_imagehash(seed: int) -> None:
    # Source: ImageHash 4.3 dhash, after N. Krawetz 2013, "Kind of Like That": each bit tells whether a pixel is lighter than its neighbour.
    image = blotches(seed)
    theirs = int(str(imagehash.dhash(image)), 16)
    assert fingerprint(image) % (1 << 64) == theirs


def test_a_worked_example() -> None:
    # By hand: greys that rise to the right set every bit; that fall, none. As a signed number the first is minus one.
    rising = Image.linear_gradient("L").rotate(90).convert("RGB")
    assert {fingerprint(rising), fingerprint(rising.rotate(180))} == {-1, 0}


def blotches(seed: int) -> Image.Image:
    """Draw soft coloured noise, another one for each seed."""
    dice = Random(seed)
    image = Image.frombytes("RGB", (90, 60), dice.randbytes(90 * 60 * 3)).filter(ImageFilter.GaussianBlur(4))
    return image.resize((dice.randrange(200, 900), dice.randrange(200, 900)), Image.Resampling.BICUBIC)
