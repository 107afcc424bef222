"""Paints what bears no feathers: legs and toes, bill, eye and its ring; and the feathered thighs over the legs."""

from __future__ import annotations

from itertools import pairwise

from PIL import ImageChops, ImageFilter

from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.colours import Colour, blend, lighter
from drillhall.demo.painter.curves import Outline, lerp, mix, ribbon, smooth, turn

EYE = (0.135, 0.075)
"""The middle of the eye, in head lengths from the middle of the head."""

SOFT_BASE = ((0.72, 1.0), (0.86, 0.7), (1.0, 0.5), (1.14, 0.3))
"""How a pale base of a probing bill runs out: reach and strength of one wash after another."""


def paint_legs(bird: Bird) -> None:
    """Paint the legs, the farther one first, and keep their mask."""
    colour = bird.tone("bare", "legs", 0.05)
    for index in reversed(range(len(bird.figure.feet))):
        _leg(bird, index, lighter(colour, 1.0 if index == 0 else 0.78))


def _leg(bird: Bird, index: int, shade: Colour) -> None:
    figure, brush = bird.figure, bird.brush
    width = figure.size("leg_width")
    hip, joint, foot = figure.leg_bones(index)
    upper = ribbon([mix(joint, hip, 1.25), joint], lambda t: width * lerp(0.75, 0.50, t))
    shank = ribbon([joint, mix(joint, foot, 0.5), foot], lambda t: width * lerp(0.52, 0.46, t))
    knob = [joint + turn(k * 30) * width * 0.72 * (1 + 0.25 * (k % 6 == 3)) for k in range(12)]
    made = brush.whole([upper, shank, knob, *figure.toes(index)])
    brush.flood(shade, made)
    right = 0.17 * width
    lit = [(hip + right, joint + right, width * 0.25), (joint + right, foot + right, width * 0.25)]
    dark = [(joint - 0.3 * width, foot - 0.3 * width, width * 0.3)]
    brush.hatch(lit, lighter(blend(shade, (255, 255, 255), 0.12), 1.1), 0.6, made)
    brush.hatch(dark, lighter(shade, 0.6), 0.55, made)
    bird.legs = ImageChops.lighter(bird.legs, made)


def paint_thighs(bird: Bird) -> None:
    """Paint the feathers that cover the upper part of the nearer leg."""
    figure = bird.figure
    colour = blend(bird.tone("under", "base"), (120, 118, 112), 0.22)
    hip, joint, _ = figure.leg_bones(0)
    low = mix(hip, joint, 0.34)
    half = 0.13 * bird.depth
    top = hip + figure.body_turn * complex(0.02, 0.16) * bird.depth
    tuft = smooth([top - half * 1.2, hip - half * 0.75, low - half * 0.16, low + half * 0.16, hip + half * 0.85, top + half * 1.4])
    made = bird.brush.whole([tuft], 0.010 * bird.depth)
    bird.brush.flood(colour, ImageChops.subtract(made, bird.torso.filter(ImageFilter.GaussianBlur(0.02 * bird.depth * bird.brush.scale))))
    bird.feathered = ImageChops.lighter(bird.feathered, made)


def paint_bill(bird: Bird) -> None:
    """Paint the bill with its base, gape, gloss and nostril."""
    figure, brush = bird.figure, bird.brush
    brush.flood(bird.tone("bare", "bill"), bird.bill)
    _bill_base(bird)
    half = figure.size("bill_depth") * bird.head * 0.5
    line = figure.bill_line
    up = figure.gaze * 1j * half * 0.30
    gape = [(a, b, half * 0.16) for a, b in pairwise(line[1:12])]
    gloss = [(a + up, b + up * 0.9, half * 0.28) for a, b in pairwise(line[2:13])]
    brush.hatch(gloss, (235, 235, 230), 0.26, bird.bill)
    brush.hatch(gape, (20, 16, 14), 0.35, bird.bill)
    nostril = line[3] + up * 0.4
    brush.hatch([(nostril, nostril + figure.gaze * half * 0.9, half * 0.25)], (15, 12, 12), 0.7, bird.bill)


def _bill_base(bird: Bird) -> None:
    share = bird.number("bare", "base_part")
    colour = bird.tone("bare", "bill_base")
    if share <= 0:
        return
    figure = bird.figure
    upper = 1.3 if bird.word("bare", "base_where", "both") == "both" else -0.05
    blur = 0.03 * bird.head * figure.size("bill_depth")
    for reach, strength in ((1.0, 1.0),) if figure.shape["bill_kind"] == "plover" else SOFT_BASE:
        bird.brush.lay(figure.bill_piece(0, min(1.0, share * reach), upper, 1.3), colour, blur, strength, bird.bill)


def paint_eye(bird: Bird) -> None:
    """Paint the eye, its ring if it has one, and the glint of the sky in it."""
    figure, brush = bird.figure, bird.brush
    radius = figure.size("eye") * bird.head * 0.5
    middle = figure.face(*EYE)

    def disc(size: float) -> Outline:
        ring = [turn(k * 18) for k in range(20)]
        return [middle + figure.gaze * complex(size * p.real, size * 0.94 * p.imag) for p in ring]

    ring = bird.number("face", "ring_width")
    if ring > 0:
        strength = bird.number("face", "ring_strength", 1.0)
        brush.lay(disc(radius * (1 + ring)), bird.tone("face", "ring"), 0.004 * bird.head, strength)
    else:
        brush.lay(disc(radius * 1.12), lighter(bird.tone("face", "cheek"), 0.55), 0.01 * bird.head, 0.6)
    brush.lay(disc(radius), (16, 12, 10))
    brush.lay(disc(radius * 0.8), (44, 30, 22), 0.02 * bird.head, 0.5)
    glint = middle + complex(bird.sun.ahead * 0.32, 0.42) * radius
    brush.lay([glint + turn(k * 45) * radius * 0.24 for k in range(8)], (245, 246, 250), 0, 0.95)
