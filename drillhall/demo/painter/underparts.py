"""Paints the trunk, neck and underside: ground colours, breast, flanks, belly patch, collar and breast band."""

from __future__ import annotations

from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.brush import Stroke
from drillhall.demo.painter.curves import Outline, profile, ribbon, smooth, spots

NOTCH = spots("0.40 -0.20 | 0.335 0.02 | 0.315 0.20 | 0.275 0.24 | 0.25 0.06 | 0.22 -0.16 | 0.28 -0.28")
FLANK = spots("0.36 -0.08 | 0.1 -0.14 | -0.25 -0.16 | -0.42 -0.10 | -0.30 -0.27 | 0.0 -0.36 | 0.28 -0.32")
PATCH = spots("0.30 -0.22 | 0.12 -0.17 | -0.08 -0.20 | -0.24 -0.30 | -0.22 -0.46 | 0.0 -0.60 | 0.26 -0.52 | 0.35 -0.34")
BAND = spots("0.16 0.60 | 0.24 0.43 | 0.33 0.25 | 0.41 0.10 | 0.50 0.02 | 0.62 0.0")
BROKEN_BAND = spots("0.24 0.40 | 0.29 0.30 | 0.345 0.20 | 0.40 0.10 | 0.445 0.02 | 0.47 -0.03")
NAPE_SIDE = spots("1.3 0.4 | 0.95 0.25 | 0.6 0.2 | 0.3 0.15 | 0 0.1")
FLANK_MARKS = {
    "bars": (complex(-0.030, -0.065), 0.7),
    "spots": (complex(-0.025, -0.02), 1.6),
    "streaks": (complex(-0.06, -0.015), 0.9),
}
"""How a mark on the flank runs, in body depths, and how broad it is."""


def paint_ground(bird: Bird) -> None:
    """Lay the ground colours of the underside, back and nape."""
    figure = bird.figure
    bird.brush.flood(bird.tone("under", "base", 0.01), bird.torso)
    upper = [figure.wing(a, 1.3) for a in (-0.02, 0.2, 0.4, 0.6, 0.8, 1.0)]
    upper += [figure.wing(a, 0.3) for a in (1.0, 0.8, 0.6, 0.4, 0.2, 0.04)]
    bird.lay(upper, bird.tone("upper", "centre"), 0.03)
    nape = [figure.neck(t, 1.5) for t in (0.0, 0.3, 0.6, 0.9, 1.25)] + [figure.neck(t, side) for t, side in NAPE_SIDE]
    bird.lay(nape, bird.tone("upper", "nape"), 0.06, bird.number("upper", "nape_strength", 1.0))


def paint_breast(bird: Bird) -> None:
    """Wash and streak the breast, paler in the middle where the form is."""
    low, top = bird.number("under", "breast_low", 1.1), bird.number("under", "breast_top", 0.12)
    strength, gap = bird.number("under", "breast_strength"), bird.number("under", "breast_gap")
    if strength > 0:
        zone = bird.figure.collar((top, low), (0.2, 1.2))
        bird.lay(zone, bird.tone("under", "breast"), bird.number("under", "breast_soft", 0.05), strength)
    if gap > 0:
        bird.lay(bird.figure.collar((0.35, low + 0.4), (0.6, 0.6)), bird.tone("under", "base"), 0.10, gap)
    _streak_breast(bird, low, top)


def _streak_breast(bird: Bird, low: float, top: float) -> None:
    figure, dice = bird.figure, bird.dice
    strokes: list[Stroke] = []
    for _ in range(int(190 * bird.number("under", "streaks"))):
        t, side = dice.uniform(top + 0.05, low + 0.03), dice.uniform(-1.05, 0.35)
        end = figure.neck(min(1.4, t + dice.uniform(0.05, 0.09)), side + dice.uniform(-0.03, 0.05))
        strokes.append((figure.neck(t, side), end, bird.depth * dice.uniform(0.007, 0.016)))
    bird.brush.hatch(strokes, bird.tone("under", "streak"), bird.number("under", "streak_strength", 0.8), bird.torso)


def notch(bird: Bird) -> Outline:
    """Return the pale wedge that runs up in front of the folded wing."""
    return smooth([bird.figure.body(u, v) for u, v in NOTCH], True, 4)


def paint_flank(bird: Bird) -> None:
    """Wash the flank and mark it with bars or streaks."""
    figure, dice = bird.figure, bird.dice
    zone = smooth([figure.body(u, v) for u, v in FLANK])
    bird.lay(zone, bird.tone("under", "flank"), 0.06, bird.number("under", "flank_strength"))
    style = bird.word("under", "flank_style", "plain")
    if style == "plain":
        return
    lean, size = FLANK_MARKS[style]
    strokes: list[Stroke] = []
    for _ in range(int(bird.word("under", "marks", 34))):
        u = dice.uniform(-0.42, 0.30)
        v = dice.uniform(-0.38, -0.14) + 0.12 * max(0.0, -u - 0.1)
        start = figure.body(u, v)
        strokes.append((start, start + figure.body_turn * lean * bird.depth * dice.uniform(0.8, 1.3), bird.depth * 0.020 * size))
    bird.brush.hatch(strokes, bird.tone("under", "flank_mark"), bird.number("under", "mark_strength", 0.7), bird.torso)


def paint_belly_patch(bird: Bird) -> None:
    """Paint a dark belly patch with a frayed upper edge."""
    strength = bird.number("under", "belly_patch")
    if strength <= 0:
        return
    figure, dice = bird.figure, bird.dice
    rim = [figure.body(u + dice.uniform(-0.015, 0.015), v + dice.uniform(-0.02, 0.02)) for u, v in PATCH]
    bird.lay(smooth(rim), bird.tone("under", "patch"), 0.02, strength)
    flecks: list[Stroke] = []
    for _ in range(36):
        u = dice.uniform(-0.24, 0.34)
        start = figure.body(u, dice.uniform(-0.26, -0.19) - 0.14 * max(0.0, -u))
        flecks.append((start, start + figure.body_turn * complex(-0.09, -0.04) * bird.depth, bird.depth * 0.02))
    bird.brush.hatch(flecks, bird.tone("under", "base"), 0.65, bird.torso)


def paint_band(bird: Bird) -> None:
    """Paint a pale collar, and a breast band that is complete or broken."""
    figure = bird.figure
    collar, width = bird.number("upper", "collar"), bird.number("under", "band_width")
    if collar > 0:
        bird.lay(figure.collar((0.02, 0.72), (0.26, 0.60)), bird.tone("under", "base", 0.01), 0.02, collar)
    if width <= 0:
        return
    narrow = bird.number("under", "band_narrow", 1.0)
    places, halves = BAND, (0.12, 0.15, 0.62, 0.66, 0.55 * narrow, 0.50 * narrow)
    if bird.word("under", "band_kind", "complete") == "broken":
        places, halves = BROKEN_BAND, (0.10, 0.40, 0.55, 0.42, 0.16, 0.0)
    line = smooth([figure.body(u, v) for u, v in places], False, 5)
    bird.lay(ribbon(line, profile(halves, width * bird.depth)), bird.tone("under", "band"), 0.016)
