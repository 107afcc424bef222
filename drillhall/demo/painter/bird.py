"""One bird on one brush: its form's words, its figure, its own shade of colour, and the masks of its parts."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from PIL import Image, ImageChops, ImageFilter

from drillhall.demo.painter.brush import Brush
from drillhall.demo.painter.colours import Colour, blend, lighter, rgb
from drillhall.demo.painter.curves import Outline
from drillhall.demo.painter.figure import Figure
from drillhall.demo.painter.forms import Words


@dataclass(frozen=True)
class Sun:
    """Where the light comes from: `ahead` is +1 from ahead of the bird, -1 from behind it; `facing` +1 to the right."""

    ahead: float
    facing: int


class Bird:
    """What every painting step needs: words and colours of the form, geometry, brush, dice and masks."""

    def __init__(self, words: Words, figure: Figure, brush: Brush, dice: random.Random, *, wear: float, sun: Sun) -> None:
        self.words, self.figure, self.brush, self.dice, self.wear, self.sun = words, figure, brush, dice, wear, sun
        self.warmth = dice.uniform(-1, 1)
        self.depth_of_tone = dice.uniform(0.95, 1.05)
        self.head = figure.size("head")
        self.depth = figure.depth
        self.torso = self._torso()
        self.legs = Image.new("L", brush.size, 0)
        self.bill = ImageChops.subtract(brush.whole([figure.bill_outline]), brush.whole([figure.head_outline], 0.012 * self.head))
        self.tail = brush.whole([figure.tail_outline, figure.wing_tip[1]])
        self.feathered = ImageChops.lighter(self.torso, self.tail)

    @property
    def outline(self) -> Image.Image:
        """Return the mask of the whole bird."""
        return ImageChops.lighter(ImageChops.lighter(self.feathered, self.legs), self.bill)

    def word(self, table: str, key: str, default: Any = None) -> Any:
        """Return a value of the form."""
        return self.words[table].get(key, default)

    def number(self, table: str, key: str, default: float = 0.0) -> float:
        """Return a number of the form."""
        return float(self.words[table].get(key, default))

    def tone(self, table: str, key: str, spread: float = 0.03) -> Colour:
        """Return a colour of the form, with a little natural spread and, on the back, bleached by wear."""
        base = rgb(self.word(table, key))
        if table == "upper":
            base = blend(lighter(base, self.depth_of_tone), lighter(base, 1.22), 0.35 * self.wear)
        red, green, blue = lighter(base, 1 + self.dice.uniform(-spread, spread))
        tint = round(self.warmth)
        return max(0, min(255, red + tint)), green, max(0, min(255, blue - tint))

    def lay(self, outline: Outline, colour: Colour, blur: float = 0.0, strength: float = 1.0, clip: Image.Image | None = None) -> None:
        """Fill an outline on the body; `blur` is a share of the body's depth."""
        self.brush.lay(outline, colour, blur * self.depth, strength, self.torso if clip is None else clip)

    def _torso(self) -> Image.Image:
        """Let body, neck and head flow into one another: blurred together and cut again at the middle grey."""
        figure = self.figure
        rough = self.brush.whole([figure.body_outline, figure.neck_outline, figure.head_outline])
        radius = max(1.6, 0.075 * self.head * self.brush.scale)
        soft = rough.filter(ImageFilter.GaussianBlur(radius))
        steep = radius * 1.9
        return soft.point([max(0, min(255, round(128 + (i - 118) * steep))) for i in range(256)])
