"""Paints the head: cheek, throat, crown, bars, forehead, mask, pale line over the eye, lores and streaks."""

from __future__ import annotations

from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.brush import Stroke
from drillhall.demo.painter.curves import Spots, lerp, profile, read_table, ribbon, smooth, spots

CHEEK = spots("0.5 0 | 0.36 0.34 | 0.1 0.52 | -0.2 0.5 | -0.46 0.26 | -0.50 -0.1 | -0.34 -0.36 | 0 -0.48 | 0.36 -0.36")
THROAT = spots("0.52 -0.10 | 0.34 -0.15 | 0.14 -0.27 | 0 -0.44 | 0.08 -0.62 | 0.4 -0.5")
CROWN = spots("0.52 0.02 | 0.34 0.17 | 0.12 0.235 | -0.10 0.225 | -0.30 0.13 | -0.56 -0.02 | -0.66 0.3 | -0.3 0.62 | 0.1 0.66 | 0.48 0.45")
FOREHEAD = spots("0.52 0.02 | 0.38 0.05 | 0.30 0.14 | 0.31 0.34 | 0.36 0.48 | 0.56 0.34")
EAR = spots("0.06 0.02 | -0.16 0.06 | -0.36 0 | -0.36 -0.12 | -0.16 -0.18 | 0.04 -0.10")
BROW = spots("-0.5 0.01 | -0.4 0.07 | -0.2 0.16 | 0 0.215 | 0.135 0.215 | 0.3 0.15 | 0.48 0.065")
"""How high the line over the eye runs along the head."""

LORES = spots("0.49 0 | 0.34 0.035 | 0.15 0.07")
EYE_STRIPE = spots("0.10 0.07 | -0.12 0.055 | -0.36 0")


def paint_face(bird: Bird) -> None:
    """Paint the pattern of the head, ground first, finest lines last."""
    _patch(bird, CHEEK, "cheek", 0.05)
    _patch(bird, THROAT, "throat", 0.06, bird.number("face", "throat_strength", 1.0))
    _patch(bird, CROWN, "crown", 0.03, bird.number("face", "crown_strength", 1.0))
    _streaks(bird)
    _bars(bird)
    _patch(bird, FOREHEAD, "forehead", 0.014, bird.number("face", "forehead_strength"))
    _ear(bird)
    _brow(bird)
    width = bird.number("face", "lores_width", 0.045)
    _stripe(bird, LORES, (width, width * 1.1, width), "lores", 0.012, bird.number("face", "lores_strength"))
    width = bird.number("face", "stripe_width", 0.035)
    _stripe(bird, EYE_STRIPE, (width, width, width * 0.4), "lores", 0.015, bird.number("face", "stripe_strength"))


def _patch(bird: Bird, places: Spots, key: str, blur: float, strength: float = 1.0) -> None:
    """Fill a place of the head; `blur` is in head lengths."""
    outline = smooth([bird.figure.face(u, v) for u, v in places], True, 5)
    bird.brush.lay(outline, bird.tone("face", key, 0.03), blur * bird.head, strength, bird.torso)


def _stripe(bird: Bird, places: Spots, halves: tuple[float, ...], key: str, blur: float, strength: float) -> None:
    """Draw a line of these half-widths through places of the head."""
    line = smooth([bird.figure.face(u, v) for u, v in places], False, 5)
    outline = ribbon(line, profile(halves, bird.head))
    bird.brush.lay(outline, bird.tone("face", key, 0.02), blur * bird.head, strength, bird.torso)


def _bars(bird: Bird) -> None:
    """Draw the dark bar over the forehead and the pale line behind it."""
    width = bird.number("face", "bar_width")
    if width <= 0:
        return
    back = ((0.26 - width, 0.64), (0.20 - width, 0.34), (0.10, 0.16))
    _patch(bird, ((0.30, 0.06), (0.31, 0.24), (0.33, 0.42), (0.30, 0.60), *back), "bar", 0.012)
    line = ((-0.20, 0.19), (0.02, 0.25), (0.20 - width, 0.33), (0.25 - width, 0.56))
    _stripe(bird, line, (0.018, 0.028, 0.028, 0.028), "super", 0.006, bird.number("face", "bar_line"))


def _ear(bird: Bird) -> None:
    """Paint a mask from bill to ear, or a dusky ear patch alone."""
    strength, deep = bird.number("face", "mask_strength"), bird.number("face", "mask_depth", 1.0)
    if strength <= 0:
        _patch(bird, EAR, "ear", 0.05, bird.number("face", "ear_strength"))
        return
    top = ((0.54, 0.05), (0.34, 0.11), (0.14, 0.16), (-0.10, 0.135), (-0.36, 0.05), (-0.47, -0.07))
    low = ((-0.32, -0.18 * deep), (-0.02, -0.17 * deep), (0.22, -0.09), (0.54, -0.04))
    _patch(bird, top + low, "mask", 0.014, strength)


def brow_line(bird: Bird) -> Spots:
    """Return where the pale line over the eye runs, from its rear to its front end, in head lengths."""
    front, rear = bird.number("face", "super_front", 0.42), bird.number("face", "super_rear", -0.4)
    along = [lerp(rear, front, 1 - k / 5) for k in range(6)]
    return tuple((u, read_table(BROW, u)) for u in along)


def _brow(bird: Bird) -> None:
    width = bird.number("face", "super_width", 0.05)
    halves = (0.55 * width, 0.9 * width, width, width, 0.8 * width, 0.2 * width)
    _stripe(bird, brow_line(bird), halves, "super", 0.016, bird.number("face", "super_strength"))


def _streaks(bird: Bird) -> None:
    """Streak crown and cheek finely."""
    dice, figure, amount = bird.dice, bird.figure, bird.number("face", "streaks")
    strokes: list[Stroke] = []
    for _ in range(int(70 * amount)):
        u, v = dice.uniform(-0.5, 0.42), dice.uniform(0.20, 0.48)
        if v >= 0.24 - 0.22 * max(0.0, abs(u) - 0.1):
            start = figure.face(u, v)
            strokes.append((start, start + figure.gaze * complex(-0.07, -0.012) * bird.head, bird.head * 0.022))
    for _ in range(int(46 * amount)):
        start = figure.face(dice.uniform(-0.44, 0.30), dice.uniform(-0.36, 0.0))
        strokes.append((start, start + figure.gaze * complex(-0.045, -0.012) * bird.head, bird.head * 0.014))
    bird.brush.hatch(strokes, bird.tone("face", "streak"), 0.75, bird.torso)
