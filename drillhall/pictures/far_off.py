"""Makes of a picture what is left to see of it from afar: only the detail that an eye tells apart, through haze."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from PIL import Image, ImageMath

from drillhall.core.optics import FarView, hazed, what_is_left

ONE_OVER_GAMMA: Final = 1 / 2.4


def seen_from_afar(image: Image.Image, *, extent_px: float, length_mm: float, view: FarView) -> Image.Image:
    """Return an sRGB picture as it looks from afar, in the size it came.

    extent_px: how long the organism is on it; length_mm: how long it really is. The picture is brought to one pixel for each detail
    that the eye tells apart, in linear light, laid under haze there, and enlarged again smoothly.
    """
    left = what_is_left(length_mm, view)
    scale = min(1.0, left.length_px / extent_px)
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    share = left.transmission
    bands = [_band(band, size, share) for band in image.convert("RGB").split()]
    return Image.merge("RGB", bands).resize(image.size, Image.Resampling.BICUBIC)


def _band(band: Image.Image, size: tuple[int, int], share: float) -> Image.Image:
    light = _each(band.convert("F"), _to_linear)
    small = light.resize(size, Image.Resampling.BOX if size != light.size else Image.Resampling.NEAREST)
    return _each(small, lambda value: _to_srgb(hazed(value, share))).convert("L")


def _each(image: Image.Image, turn: Callable[[Any], Any]) -> Image.Image:
    made: Image.Image = ImageMath.lambda_eval(lambda given: turn(given["v"]), v=image)
    return made


# The curves of core/optics.py, which reckons single values, once more for whole images. Source: IEC 61966-2-1:1999.
def _to_linear(value: Any) -> Any:
    value = value * (1 / 255)
    is_low = _flag(value <= 0.04045)
    return value * (1 / 12.92) * is_low + ((value + 0.055) * (1 / 1.055)) ** 2.4 * (1 - is_low)


def _to_srgb(light: Any) -> Any:
    is_low = _flag(light <= 0.0031308)
    value = light * 12.92 * is_low + (1.055 * light**ONE_OVER_GAMMA - 0.055) * (1 - is_low)
    return value * 255 + 0.5  # turning to whole numbers cuts off


def _flag(compared: Any) -> Any:
    """Return a comparison as 0.0 and 1.0."""
    return compared * 1.0
