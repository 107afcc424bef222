"""Noise, slopes, blurs and stones from which settings are made."""

from __future__ import annotations

import random

from PIL import Image, ImageDraw, ImageFilter

from drillhall.demo.painter.colours import Colour, lighter, rgb

NEARER = 1.5
"""How much larger the nearest cells of a receding plane are than its farthest, less one."""


def clouds(dice: random.Random, size: tuple[int, int], cells: tuple[int, int]) -> Image.Image:
    """Return smooth grey noise with this many cells across and down."""
    raw = Image.frombytes("L", cells, dice.randbytes(cells[0] * cells[1]))
    return raw.resize(size, Image.Resampling.BICUBIC)


def receding(grey: Image.Image) -> Image.Image:
    """Return the same noise as a plane that runs away from the viewer: finer toward the top."""
    width, height = grey.size
    tilt = NEARER / height
    plane = (1.0, 0.5 * width * tilt, 0.0, 0.0, 1.0 + NEARER, 0.0, 0.0, tilt)
    return grey.transform(grey.size, Image.Transform.PERSPECTIVE, plane, Image.Resampling.BILINEAR)


def slope(size: tuple[int, int], top: int, bottom: int) -> Image.Image:
    """Return a grey that runs from top to bottom."""
    strip = Image.new("L", (1, 2))
    strip.putdata([top, bottom])
    return strip.resize(size, Image.Resampling.BILINEAR)


def blurred(picture: Image.Image, factor: int) -> Image.Image:
    """Return a picture blurred strongly and quickly."""
    small = picture.reduce(factor).filter(ImageFilter.GaussianBlur(1.4))
    half = small.resize((picture.width // 2, picture.height // 2), Image.Resampling.BICUBIC)
    return half.resize(picture.size, Image.Resampling.BILINEAR)


def varied(dice: random.Random, colour: str, spread: float = 0.07) -> Colour:
    """Return a colour a little lighter or darker."""
    return lighter(rgb(colour), 1 + dice.uniform(-spread, spread))


def pebble(draw: ImageDraw.ImageDraw, middle: tuple[float, float], size: tuple[float, float], tone: Colour) -> None:
    """Draw one rounded stone: shadow, side, top and shine."""
    (x, y), (w, h) = middle, size
    draw.ellipse((x - w, y - h * 0.8, x + w, y + h * 1.25), fill=lighter(tone, 0.55))
    draw.ellipse((x - w, y - h, x + w, y + h), fill=lighter(tone, 0.88))
    draw.ellipse((x - w * 0.86, y - h * 0.94, x + w * 0.84, y + h * 0.58), fill=tone)
    draw.ellipse((x - w * 0.55, y - h * 0.8, x + w * 0.45, y + h * 0.05), fill=lighter(tone, 1.07))
