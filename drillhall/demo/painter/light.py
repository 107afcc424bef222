"""What light, haze and distance do to a finished picture, and how water moves a reflection."""

from __future__ import annotations

import math

from PIL import Image

from drillhall.demo.painter.colours import Colour
from drillhall.demo.painter.scene import Scene

CASTS = {
    "overcast": (0.98, 0.99, 1.0),
    "warm": (1.03, 1.0, 0.945),
    "cool": (0.955, 0.995, 1.045),
    "backlit": (1.03, 1.01, 0.96),
}
"""Gains of red, green and blue over the surroundings."""

CURVES = {"overcast": (0.94, 4), "warm": (1.04, 0), "cool": (1.0, 0), "backlit": (0.96, 10)}
"""Contrast around the middle grey, and lift in levels."""

CAST_ON_BIRD = 0.25
"""Share of the cast that falls on the bird: the eye discounts the light, and a grey bird must stay grey."""


def grade(picture: Image.Image, bird: Image.Image, scene: Scene, sky: Colour) -> Image.Image:
    """Return the picture in the light of its scene, with less of the light's colour where the mask `bird` is."""
    done = picture.point(_curve(scene, sky, 1.0))
    done.paste(picture.point(_curve(scene, sky, CAST_ON_BIRD)), (0, 0), bird)
    return _soften(done, scene.soft) if scene.soft > 0.35 else done


def _curve(scene: Scene, sky: Colour, share: float) -> list[int]:
    contrast, lift = CURVES[scene.light]
    curve = []
    for cast, air in zip(CASTS[scene.light], sky, strict=True):
        gain = 1 + (cast - 1) * share
        for level in range(256):
            value = ((level - 128) * contrast + 128 + lift) * gain
            curve.append(max(0, min(255, round(value + (air - value) * scene.haze))))
    return curve


def _soften(picture: Image.Image, soft: float) -> Image.Image:
    """Blur as distance does."""
    share = 1 / (1 + 0.55 * soft)
    size = (round(picture.width * share), round(picture.height * share))
    way = Image.Resampling.BOX if share < 0.5 else Image.Resampling.BILINEAR
    return picture.resize(size, way).resize(picture.size, Image.Resampling.BICUBIC)


def wobble(picture: Image.Image, strength: float, phase: float) -> Image.Image:
    """Return a reflection with its rows shifted sideways in waves."""
    out = Image.new(picture.mode, picture.size)
    for y in range(0, picture.height, 4):
        swing = strength * (0.4 + y / picture.height) * math.sin(phase + y * 0.21)
        shift = swing + 0.5 * strength * math.sin(phase * 2 + y * 0.47)
        out.paste(picture.crop((0, y, picture.width, min(picture.height, y + 4))), (round(shift), y))
    return out
