"""Paints what stands between viewer and bird, and says what it hides."""

from __future__ import annotations

from PIL import Image, ImageDraw, ImageFilter

from drillhall.demo.painter.backdrop import Backdrop
from drillhall.demo.painter.brush import Box
from drillhall.demo.painter.colours import blend, lighter
from drillhall.demo.painter.curves import lerp, read_table, spots
from drillhall.demo.painter.textures import pebble

STEM = spots("0 1.6 | 0.25 3.2 | 0.6 2.2 | 1 0.4")
"""Breadth of a stem along its height."""


def paint_front(place: Backdrop, picture: Image.Image, box: Box) -> Image.Image:
    """Paint stems or stones before the bird in its box; return the mask of what they hide."""
    if place.scene.setting == "marsh":
        return _stems(place, picture, box)
    if place.scene.setting == "shingle" and place.dice.random() < 0.35:
        return _stones(place, picture, box)
    return Image.new("L", place.size, 0)


def _stones(place: Backdrop, picture: Image.Image, box: Box) -> Image.Image:
    """Lay a few larger stones in front of the feet."""
    dice, (wide, high) = place.dice, place.size
    sheet = Image.new("RGB", (wide * 2, high * 2))
    hide = Image.new("L", sheet.size, 0)
    paint, cover = ImageDraw.Draw(sheet), ImageDraw.Draw(hide)
    middle = dice.uniform(lerp(box[0], box[2], 0.2), lerp(box[0], box[2], 0.8))
    drops = [(dice.uniform(0.01, 0.06), dice.gauss(0, 0.07)) for _ in range(dice.randint(3, 8))]
    for below, aside in sorted(drops):
        x, y = 2 * (middle + aside * wide), 2 * high * (place.scene.ground + below)
        w = 2 * place.unit * dice.uniform(15, 40)
        h = w * dice.uniform(0.5, 0.75)
        pebble(paint, (x, y), (w, h), lighter(dice.choice(place.stone_tones), dice.uniform(0.8, 1.1)))
        cover.ellipse((x - w, y - h, x + w, y + h * 1.2), fill=255)
    front = hide.reduce(2)
    picture.paste(sheet.reduce(2), (0, 0), front)
    return front


def _stems(place: Backdrop, picture: Image.Image, box: Box) -> Image.Image:
    """Set clumps of stems of the saltmarsh edge, one to three of them across the bird."""
    dice, unit, (wide, high) = place.dice, place.unit, place.size
    sheet, front = Image.new("RGB", place.size), Image.new("L", place.size, 0)
    paint, hide, ground = ImageDraw.Draw(sheet), ImageDraw.Draw(front), ImageDraw.Draw(picture)
    crossing = dice.choice((1, 1, 2, 3))
    for k in range(dice.randint(9, 16)):
        before = k < crossing
        x = dice.uniform(box[0], box[2]) if before else dice.uniform(0, wide)
        foot = high * dice.uniform(place.scene.ground + 0.05, 1.10)
        root = (x - 20 * unit, foot - 3.6 * unit, x + 20 * unit, foot + 4.5 * unit)
        ground.ellipse(root, fill=lighter(place.mud_tone, 0.8))
        for _ in range(dice.randint(2, 5)):
            reach = foot - lerp(box[3], box[1], dice.uniform(0.15, 0.9))
            tall = max(reach, 0.1 * high) if before else dice.uniform(0.07, 0.30) * high
            _stem(place, paint, hide, (complex(x + dice.gauss(0, 9 * unit), foot), tall))
    front = front.filter(ImageFilter.GaussianBlur(0.8 * unit))
    picture.paste(sheet.filter(ImageFilter.BoxBlur(1)), (0, 0), front)
    return front


def _stem(place: Backdrop, paint: ImageDraw.ImageDraw, hide: ImageDraw.ImageDraw, stem: tuple[complex, float]) -> None:
    """Draw one tapering stem of this foot and height."""
    foot, tall = stem
    tone = blend(*place.stem_tones, place.dice.random())
    lean, broad = place.dice.gauss(0, 0.20) * tall, place.unit * place.dice.uniform(0.8, 1.3)
    left, right = [], []
    for i in range(8):
        t = i / 7
        w = broad * read_table(STEM, t)
        x, y = foot.real + lean * t * t, foot.imag - tall * t
        left.append((x - w, y))
        right.append((x + w, y))
    paint.polygon(left + right[::-1], fill=tone)
    paint.line(right, fill=lighter(tone, 1.25), width=1)
    hide.polygon(left + right[::-1], fill=255)
