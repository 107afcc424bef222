"""Paints what lies behind the bird: mud, shingle, the edge of a saltmarsh, shallow water."""

from __future__ import annotations

import random

from PIL import Image, ImageDraw, ImageFilter, ImageOps

from drillhall.demo.painter.colours import Colour, blend, lighter
from drillhall.demo.painter.curves import lerp
from drillhall.demo.painter.scene import Scene
from drillhall.demo.painter.textures import blurred, clouds, pebble, receding, slope, varied

MUDS = (
    ("#5f5345", "#a3937d"),
    ("#65605a", "#a9a49b"),
    ("#57503f", "#9a9074"),
    ("#6d5c4a", "#b39c82"),
    ("#8f7d61", "#d3c29f"),
    ("#857a6a", "#c9bda8"),
)
WATERS = (("#5f7380", "#a9bcc4"), ("#6b6f70", "#b4b9b8"), ("#5d5a4c", "#a8a389"), ("#4d6274", "#8fa9ba"), ("#7b6f68", "#c8b6a4"))
STONES = (
    ("#8d857a", "#b9ae9f", "#6f6a64", "#a08f7a"),
    ("#a58f74", "#c7b393", "#8b745a", "#9c9283"),
    ("#7d8287", "#a6a9aa", "#5f646a", "#8f8a83"),
)
MARSHES = (("#4c5a34", "#8b9558"), ("#6e6440", "#b09a62"), ("#5b6650", "#93a083"), ("#6a5a44", "#a58d69"))
SKIES = ("#c9d0d4", "#d6d3cb", "#bcc8d2", "#d9d0c0")


class Backdrop:
    """One place, painted; it keeps the tones that the foreground takes up."""

    def __init__(self, scene: Scene, size: tuple[int, int], dice: random.Random) -> None:
        self.scene, self.size, self.dice = scene, size, dice
        self.sky = varied(dice, dice.choice(SKIES), 0.04)
        self.unit = size[0] / 960
        self.mirror = {"mud": dice.uniform(0.10, 0.34), "water": dice.uniform(0.35, 0.6)}.get(scene.setting, 0.0)
        self.stem_tones: tuple[Colour, Colour] = ((70, 80, 50), (140, 150, 90))
        self.mud_tone: Colour = (90, 80, 66)
        self.stone_tones: list[Colour] = []

    def paint(self) -> Image.Image:
        """Return the picture without the bird."""
        paint = {"mud": self._mud, "shingle": self._shingle, "marsh": self._marsh, "water": self._water}[self.scene.setting]
        return self._blur_distance(paint())

    def _blur_distance(self, picture: Image.Image) -> Image.Image:
        """Blur what lies well behind the feet."""
        wide, high = self.size
        deep = round(high * (self.scene.ground - 0.07) / 8) * 8
        strip = Image.new("L", (1, deep))
        strip.putdata([max(0, min(255, round(255 * (deep - y) / (0.31 * high)))) for y in range(deep)])
        picture.paste(blurred(picture.crop((0, 0, wide, deep)), 8), (0, 0), strip.resize((wide, deep)))
        return picture

    @property
    def half(self) -> tuple[int, int]:
        """Return half the size of the picture."""
        return self.size[0] // 2, self.size[1] // 2

    def _tones(self, choices: tuple[tuple[str, str], ...]) -> tuple[Colour, Colour]:
        dark, light = self.dice.choice(choices)
        return varied(self.dice, dark), varied(self.dice, light)

    def _shore(self, picture: Image.Image) -> None:
        """Draw a dim far bank near the top, now and then."""
        if self.dice.random() < 0.5:
            return
        wide, level = self.size[0], self.size[1] * self.dice.uniform(0.04, 0.20)
        draw = ImageDraw.Draw(picture)
        draw.rectangle((0, 0, wide, level), fill=self.sky)
        bank = blend(varied(self.dice, self.dice.choice(MARSHES)[0]), self.sky, 0.35)
        tops = [(x * wide / 12, level - self.dice.uniform(4, 26) * self.unit) for x in range(13)]
        draw.polygon([*tops, (wide, level + 5 * self.unit), (0, level + 5 * self.unit)], fill=bank)

    def _mud(self) -> Image.Image:
        """Paint wet mud with films of water."""
        dice, half = self.dice, self.half
        dark, light = self._tones(MUDS)
        streaks = receding(clouds(dice, half, (18, 70)))
        grey = Image.blend(Image.blend(clouds(dice, half, (5, 15)), streaks, 0.4), slope(half, 205, 70), 0.45)
        picture = ImageOps.colorize(grey, dark, light)
        film = receding(clouds(dice, half, (dice.randint(3, 6), dice.randint(16, 30))))
        level = dice.randint(125, 165)
        picture.paste(blend(self.sky, light, 0.25), (0, 0), film.point([max(0, min(165, (i - level) * 5)) for i in range(256)]))
        picture.paste(lighter(dark, 0.7), (0, 0), film.point([max(0, 60 - 9 * abs(i - level)) for i in range(256)]))
        picture = picture.resize(self.size, Image.Resampling.BILINEAR)
        self._crumbs(picture, dark, dice.randint(20, 150))
        self._shore(picture)
        return picture

    def _crumbs(self, picture: Image.Image, dark: Colour, count: int) -> None:
        """Draw worm casts and small stones, larger towards the viewer."""
        dice, draw = self.dice, ImageDraw.Draw(picture)
        for _ in range(count):
            near = dice.random() ** 0.7
            x, y = dice.uniform(0, self.size[0]), self.size[1] * lerp(0.2, 1.0, near)
            r = self.unit * lerp(1.0, 4.2, near) * dice.uniform(0.5, 1.2)
            draw.ellipse((x - r * 1.5, y - 0.5 * r, x + r * 1.5, y + 0.8 * r), fill=lighter(dark, 0.72))
            draw.ellipse((x - r * 1.3, y - 0.9 * r, x + r * 1.2, y + 0.4 * r), fill=lighter(dark, dice.uniform(1.05, 1.4)))

    def _shingle(self) -> Image.Image:
        """Paint pebbles, larger towards the viewer."""
        dice = self.dice
        tones = self.stone_tones = [varied(dice, colour) for colour in dice.choice(STONES)]
        twice = (self.size[0] * 2, self.size[1] * 2)
        grain = clouds(dice, (self.size[0] // 4, self.size[1] // 4), (60, 80))
        picture = ImageOps.colorize(grain, lighter(tones[0], 0.62), tones[1]).resize(twice)
        draw = ImageDraw.Draw(picture)
        for near in sorted(dice.random() ** 0.8 for _ in range(620)):
            middle = (dice.uniform(0, twice[0]), twice[1] * lerp(0.30, 1.04, near))
            r = 2 * self.unit * lerp(3.0, 15.0, near**1.4) * dice.uniform(0.5, 1.25)
            size = (r * dice.uniform(1.0, 1.5), r * dice.uniform(0.5, 0.75))
            pebble(draw, middle, size, lighter(dice.choice(tones), dice.uniform(0.82, 1.14)))
        made = picture.reduce(2)
        self._shore(made)
        return made

    def _marsh(self) -> Image.Image:
        """Paint soft ground with the edge of a saltmarsh behind."""
        dice = self.dice
        dark, light = self._tones(MARSHES)
        mud_dark, mud_light = self._tones(MUDS)
        ground = Image.blend(receding(clouds(dice, self.half, (9, 34))), slope(self.half, 190, 90), 0.45)
        picture = ImageOps.colorize(ground, mud_dark, mud_light).resize(self.size, Image.Resampling.BILINEAR)
        line = self.scene.ground - dice.uniform(0.10, 0.22)
        edge = Image.new("L", (240, 160), 0)
        bumps = [(x * 10, 160 * line + dice.uniform(-5, 5)) for x in range(25)]
        ImageDraw.Draw(edge).polygon([(0, 0), *bumps, (240, 0)], fill=255)
        edge = edge.filter(ImageFilter.GaussianBlur(2.5)).resize(self.size, Image.Resampling.BILINEAR)
        picture.paste(self._grass(dark, light), (0, 0), edge)
        self._crumbs(picture, mud_dark, dice.randint(20, 110))
        self.stem_tones, self.mud_tone = (dark, light), mud_dark
        return picture

    def _grass(self, dark: Colour, light: Colour) -> Image.Image:
        """Return a wall of stems, out of focus."""
        dice = self.dice
        small = Image.new("RGB", (self.size[0] // 4, self.size[1] // 4), blend(dark, light, 0.4))
        draw = ImageDraw.Draw(small)
        for _ in range(420):
            x, y = dice.uniform(0, small.width), dice.uniform(0.1, 1.05) * small.height
            length, lean = dice.uniform(14, 46), dice.gauss(0, 5)
            draw.line((x, y, x + lean, y - length), fill=blend(dark, light, dice.random()), width=dice.choice((1, 2, 2)))
        return small.filter(ImageFilter.GaussianBlur(0.8)).resize(self.size, Image.Resampling.BILINEAR)

    def _water(self) -> Image.Image:
        """Paint shallow water with ripples."""
        dice, half = self.dice, self.half
        dark, light = self._tones(WATERS)
        ripples, fine = receding(clouds(dice, half, (9, 60))), receding(clouds(dice, half, (34, 120)))
        both = Image.blend(ripples, fine, dice.uniform(0.2, 0.55))
        grey = Image.blend(both, slope(half, 225, 60), dice.uniform(0.5, 0.72))
        picture = ImageOps.colorize(grey, dark, light).resize(self.size, Image.Resampling.BILINEAR)
        self._shore(picture)
        return picture
