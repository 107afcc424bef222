"""Paints the whole bird, back to front, and gives it roundness and the look of feathers."""

from __future__ import annotations

from PIL import Image, ImageChops, ImageFilter

from drillhall.demo.painter.bareparts import paint_bill, paint_eye, paint_legs, paint_thighs
from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.brush import Stroke
from drillhall.demo.painter.face import paint_face
from drillhall.demo.painter.underparts import paint_band, paint_belly_patch, paint_breast, paint_flank, paint_ground
from drillhall.demo.painter.wings import paint_tail, paint_wing

SHADE = 3  # roundness is worked out on a canvas this many times smaller
DARKEST, LIGHTEST = 128 - 38, 128 + 14
"""How far shading may go, as levels of a hard light around its middle of 128."""


def paint_bird(bird: Bird) -> None:
    """Paint every part of a bird onto its brush."""
    paint_legs(bird)
    paint_tail(bird)
    paint_ground(bird)
    paint_breast(bird)
    paint_flank(bird)
    paint_belly_patch(bird)
    paint_wing(bird)
    paint_band(bird)
    paint_face(bird)
    paint_thighs(bird)
    shade(bird)
    rough_up(bird)
    paint_bill(bird)
    paint_eye(bird)


def shade(bird: Bird) -> None:
    """Light the bird from above and a little from one side: the slope of its blurred outline stands for its roundness."""
    size, depth = bird.brush.size, bird.depth * bird.brush.scale
    light = Image.new("L", size, 128)
    for radius, power in ((0.20 * depth, 1.25), (0.07 * depth, 0.45)):
        small = bird.feathered.reduce(SHADE).filter(ImageFilter.GaussianBlur(radius / SHADE))
        step = radius * 2 / SHADE
        aside, down = round(0.12 * step * bird.sun.ahead * bird.sun.facing), max(1, round(0.30 * step))
        slope = ImageChops.subtract(ImageChops.offset(small, 0, -down), ImageChops.offset(small, aside, down), 1.0 / power, 128)
        light = ImageChops.add(light, slope.resize(size, Image.Resampling.BILINEAR), 1.0, -128)
    light = light.point([max(DARKEST, min(LIGHTEST, i)) for i in range(256)])
    lit = ImageChops.hard_light(bird.brush.paint, Image.merge("RGB", (light, light, light)))
    bird.brush.paint.paste(lit, (0, 0), bird.feathered)


def rough_up(bird: Bird) -> None:
    """Draw fine strokes that make the soft plumage look like feathers."""
    figure, dice = bird.figure, bird.dice
    pale: list[Stroke] = []
    dark: list[Stroke] = []
    for k in range(190):
        if k % 3:
            start = figure.body(dice.uniform(-0.5, 0.48), dice.uniform(-0.5, -0.1))
            step = figure.body_turn * complex(-0.09, -0.03)
        else:
            t, side = dice.uniform(0.1, 1.3), dice.uniform(-1, 0.6)
            start = figure.neck(t, side)
            step = (figure.neck(min(1.39, t + 0.08), side) - start) / bird.depth * 0.9
        (pale if k % 2 else dark).append((start, start + step * bird.depth * dice.uniform(0.6, 1.2), bird.depth * 0.008))
    bird.brush.hatch(pale, (255, 252, 246), 0.17, bird.torso)
    bird.brush.hatch(dark, (60, 54, 48), 0.09, bird.torso)
