"""Paints one picture of a form: backdrop, reflection or shadow, bird, foreground, light; the same seed gives the same picture."""

from __future__ import annotations

import random
from dataclasses import dataclass

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageOps

from drillhall.demo.painter.backdrop import Backdrop
from drillhall.demo.painter.bird import Bird, Sun
from drillhall.demo.painter.brush import Brush, Pixel
from drillhall.demo.painter.curves import Point, lerp
from drillhall.demo.painter.figure import Figure
from drillhall.demo.painter.foreground import paint_front
from drillhall.demo.painter.forms import Words, form
from drillhall.demo.painter.light import grade, wobble
from drillhall.demo.painter.places import ON_BILL, Region, find_region, list_places, share_in_view
from drillhall.demo.painter.plumage import paint_bird
from drillhall.demo.painter.poses import POSES
from drillhall.demo.painter.scene import Scene, stage

SIZE = (960, 640)
SPREAD = (("bill", 0.04), ("depth", 0.035), ("neck", 0.08), ("tarsus", 0.025), ("head", 0.015), ("tail", 0.03))
"""How much one individual differs from another, as a share of each measure."""

RINGS = ((1, (225, 230, 232)), (2, (70, 80, 86)), (3, (205, 212, 216)))
SHADOW_SIDE = {"warm": 0.5, "cool": -0.4, "backlit": 0.1}
ROOM = 14  # pixels around the bird on its own canvas


@dataclass(frozen=True)
class Painting:
    """A finished picture and what is known about it."""

    image: Image.Image
    mask: Image.Image  # the bird, as far as it is in view
    parts: dict[str, Image.Image]  # such masks of its parts
    regions: dict[str, Region]
    seen: dict[str, float]  # share of each part that is in view
    head_pixels: float  # sharp pixels along the head: how fine a mark may be and still be seen
    scene: Scene
    pose: str


def paint(key: str, seed: int, scene: Scene | None = None) -> Painting:
    """Paint a form; without a scene, in the one that belongs to the seed."""
    return Studio(key, seed, scene or stage(key, seed)).finish()


class Studio:
    """Everything needed for one picture."""

    def __init__(self, key: str, seed: int, scene: Scene) -> None:
        self.scene, self.size = scene, SIZE
        self.words = form(key)
        self.dice = random.Random(f"{key}:{seed}")
        shape = self._individual()
        wet = scene.wet * (shape["tibia"] + shape["tarsus"]) * 0.75 if scene.setting == "water" else 0.0
        self.figure = Figure(shape, POSES[self._pose()], self.dice, wet)
        self.place = Backdrop(scene, self.size, self.dice)
        self._fit()
        brush = Brush(self.box, self.spot, self.scale)
        sun = Sun(self.dice.choice((1.0, -1.0)) * scene.facing, scene.facing)
        self.bird = Bird(self.words, self.figure, brush, self.dice, wear=scene.wear, sun=sun)

    def _pose(self) -> str:
        """Choose how it feeds: long bills mostly probe."""
        if self.scene.pose != "feeding":
            return self.scene.pose
        long = float(self.words["shape"]["bill"]) >= 0.95
        return "probing" if long and self.dice.random() < 0.6 else "pecking"

    def _individual(self) -> Words:
        """Return the form's measures with the spread of one individual."""
        shape = dict(self.words["shape"])
        for measure, spread in SPREAD:
            shape[measure] = float(shape[measure]) * (1 + max(-2.0, min(2.0, self.dice.gauss(0, 1))) * spread)
        return shape

    def _fit(self) -> None:
        """Choose scale and position so that the whole bird is in the frame."""
        left, bottom, right, top = self.figure.extent
        width, height = self.size
        wide = (right - left) * self.scene.squeeze
        self.ground = self.scene.ground * height
        self.scale = min(self.scene.span * width / wide, (self.ground - 0.08 * height) / (top + 1.0))
        half = 0.5 * wide * self.scale
        self.centre = lerp(half + 0.05 * width, width - half - 0.05 * width, lerp(0.2, 0.8, self.scene.across))
        self.middle = 0.5 * (left + right)
        self.corner = (round(self.centre - half - ROOM), round(self.ground - top * self.scale - ROOM))
        self.box = (round(2 * half + 2 * ROOM), round((top - bottom) * self.scale + 2 * ROOM + 12))

    def spot(self, p: Point) -> Pixel:
        """Turn millimetres into pixels of the bird's own canvas."""
        x = self.centre + self.scene.facing * (p.real - self.middle) * self.scale * self.scene.squeeze
        return x - self.corner[0], self.ground - p.imag * self.scale - self.corner[1]

    @property
    def level(self) -> float | None:
        """Return the height of the water on the bird's canvas, in a wading scene."""
        if self.scene.setting != "water":
            return None
        return self.ground - self.figure.floor * self.scale - self.corner[1]

    # ---- the picture
    def finish(self) -> Painting:
        """Paint everything, back to front, and take down what can be seen."""
        picture = self.place.paint()
        paint_bird(self.bird)
        mask, colours = self.bird.outline, self._lit()
        self._reflect(picture, colours, mask)
        hidden = Image.new("L", self.box, 0)
        if self.level is None:
            self._cast_shadow(picture)
        else:
            ImageDraw.Draw(hidden).rectangle((0, round(self.level), *self.box), fill=255)
            self._ripple(picture, self.level)
        picture.paste(colours, self.corner, ImageChops.subtract(mask, hidden))
        box = (*self.corner, self.corner[0] + self.box[0], self.corner[1] + self.box[1])
        hidden = ImageChops.lighter(hidden, paint_front(self.place, picture, box).crop(box))
        outline = self._on_picture(ImageChops.subtract(mask, hidden))
        masks = self._part_masks()
        parts = {name: self._on_picture(ImageChops.subtract(part, hidden)) for name, part in masks.items()}
        return Painting(
            image=grade(picture, outline, self.scene, self.place.sky),
            mask=outline,
            parts=parts,
            regions={name: found for name, part in parts.items() if (found := find_region(part))},
            seen=self._seen(masks, hidden),
            head_pixels=self.figure.size("head") * self.scale / (1 + 0.55 * self.scene.soft),
            scene=self.scene,
            pose=self.figure.pose.name,
        )

    def _on_picture(self, mask: Image.Image) -> Image.Image:
        """Return a mask of the bird's canvas as one of the whole picture."""
        whole = Image.new("L", self.size, 0)
        whole.paste(mask, self.corner)
        return whole

    def _lit(self) -> Image.Image:
        """Return the painted bird, against the light where the scene is."""
        painted = self.bird.brush.paint
        if self.scene.light != "backlit":
            return painted
        painted = painted.point([round(i * 0.78) for i in range(256)] * 3)
        body = self.bird.feathered
        rim = ImageChops.subtract(body, ImageChops.offset(body, 0, 4)).filter(ImageFilter.GaussianBlur(1.2))
        painted.paste((255, 248, 232), (0, 0), rim.point([round(i * 0.7) for i in range(256)]))
        return painted

    def _reflect(self, picture: Image.Image, colours: Image.Image, mask: Image.Image) -> None:
        """Mirror the bird in water or on wet mud, the farther down the fainter."""
        strength, wading = self.place.mirror, self.level is not None
        if strength <= 0:
            return
        line = min(self.box[1], round(self.ground - self.corner[1] if self.level is None else self.level))
        above = (0, 0, self.box[0], line)
        phase, move = self.dice.uniform(0, 6), 3.2 if wading else 1.0
        flipped = wobble(ImageOps.flip(colours.crop(above)), move, phase)
        cut = wobble(ImageOps.flip(mask.crop(above)), move, phase).filter(ImageFilter.GaussianBlur(1.0 if wading else 2.0))
        fade = Image.new("L", (1, 2))
        fade.putdata([round(255 * strength), round(255 * strength * 0.25)])
        cut = ImageChops.multiply(cut, fade.resize(cut.size, Image.Resampling.BILINEAR))
        picture.paste(flipped, (self.corner[0], self.corner[1] + line), cut)

    def _cast_shadow(self, picture: Image.Image) -> None:
        """Lay a soft shadow around the feet and, in sun, to one side."""
        deep = Image.new("L", (self.size[0] // 4, self.size[1] // 4), 0)
        draw = ImageDraw.Draw(deep)
        reach = self.figure.size("body") * self.scale / 4
        side = 0.5 * SHADOW_SIDE.get(self.scene.light, 0.0)
        x, y = (self.corner[0] + self.spot(self.figure.feet[0])[0]) / 4, (self.ground + 2) / 4
        draw.ellipse((x - (0.42 - side) * reach, y - 0.03 * reach, x + (0.42 + side) * reach, y + 0.07 * reach), fill=95)
        for foot in self.figure.feet:
            at = (self.corner[0] + self.spot(foot)[0]) / 4
            draw.ellipse((at - 0.08 * reach, y - 1, at + 0.14 * reach, y + 1), fill=190)
        deep = deep.filter(ImageFilter.GaussianBlur(1.6)).resize(self.size, Image.Resampling.BILINEAR)
        picture.paste((38, 34, 32), (0, 0), deep)

    def _ripple(self, picture: Image.Image, level: float) -> None:
        """Draw the rings around wading legs."""
        draw = ImageDraw.Draw(picture)
        for index in range(len(self.figure.feet)):
            _, joint, foot = self.figure.leg_bones(index)
            share = max(0.0, min(1.0, self.figure.floor / max(1.0, joint.imag)))
            x, y = self.corner[0] + self.spot(foot + (joint - foot) * share)[0], self.corner[1] + level
            for k, tone in RINGS:
                r = k * 0.055 * self.figure.size("body") * self.scale
                draw.arc((x - r, y - r * 0.2, x + r, y + r * 0.2), 10 * k, 360 - 12 * k, fill=tone, width=1)

    # ---- what is where
    def _part_masks(self) -> dict[str, Image.Image]:
        """Return the masks of the parts on the bird's canvas."""
        bird = self.bird
        masks = {name: bird.brush.whole(outlines) for name, outlines in list_places(bird).items()}
        masks = {name: ImageChops.multiply(mask, bird.bill if name in ON_BILL else bird.feathered) for name, mask in masks.items()}
        legs = ImageChops.subtract(bird.legs, bird.feathered)
        return masks | {"legs": legs, "bill": bird.bill, "whole": bird.outline}

    def _seen(self, masks: dict[str, Image.Image], hidden: Image.Image) -> dict[str, float]:
        """Return how much of each part is in view."""
        out = {name: round(share_in_view(part.reduce(3), hidden.reduce(3)), 2) for name, part in masks.items()}
        out["bill"] = round(out["bill"] * (1 - self.figure.bill_sunk), 2)
        return out
