"""The difference of colours against scikit-image 0.26, which reckons CIELAB by itself."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import deltaE_cie76, rgb2lab

from drillhall.core.sight import colour_difference


@pytest.mark.parametrize("seed", range(20))
def test_scikit_image(seed: int) -> None:
    one, other = np.random.default_rng(seed).integers(0, 256, (2, 3))
    expected = deltaE_cie76(rgb2lab(one[None, None] / 255), rgb2lab(other[None, None] / 255))[0, 0]
    # Both hold the same matrix to six digits or more; their white points differ in the fifth.
    assert colour_difference(tuple(map(int, one)), tuple(map(int, other))) == pytest.approx(expected, abs=0.02)
