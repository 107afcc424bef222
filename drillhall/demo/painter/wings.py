"""Paints tail, folded wing, mantle and the marks that lie over them."""

from __future__ import annotations

from PIL import Image, ImageChops, ImageFilter

from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.brush import Sheet, Stroke
from drillhall.demo.painter.colours import blend, lighter
from drillhall.demo.painter.curves import lerp, mix, ribbon, smooth, spots
from drillhall.demo.painter.feathers import draw_feather
from drillhall.demo.painter.underparts import notch

UNDER_WING = spots("0.1 -0.13 | 0.3 -0.13 | 0.55 -0.13 | 0.8 -0.13 | 0.95 -0.03 | 0.8 0.27 | 0.3 0.27")
BREAST_COVER = spots("0.55 0.30 | 0.37 0.38 | 0.335 0.16 | 0.29 -0.04 | 0.20 -0.24 | 0.40 -0.42 | 0.60 -0.10")
SHOULDER = spots("0.04 0.30 | 0.10 0.02 | 0.24 0.02 | 0.22 0.20 | 0.14 0.36")
BRACES = ((0.93, 0.04, 0.58), (0.60, 0.16, 0.60))
"""The two pale lines of the mantle: height on the wing, start and end along it."""


def paint_tail(bird: Bird) -> None:
    """Paint the closed tail: its ground, bars or end band, and white sides."""
    outline = bird.figure.tail_outline
    under = bird.tone("under", "base", 0.01)
    bird.brush.flood(under, bird.tail)
    clip = bird.brush.whole([outline])
    bird.lay(outline, lighter(under, 0.9), 0, 1.0, clip)
    upper = [*outline[:4], mix(outline[3], outline[4], 0.6), mix(outline[1], outline[6], 0.45)]
    bird.lay(upper, bird.tone("upper", "tail"), 0.01, 1.0, clip)
    style = bird.word("upper", "tail_style", "plain")
    if style == "barred":
        shares = [(k + 0.4) / 7 for k in range(7)]
        bars = [(mix(outline[1], outline[3], s), mix(outline[6], outline[4], s), bird.depth * 0.022) for s in shares]
        bird.brush.hatch(bars, bird.tone("upper", "tail_mark"), 0.9, clip)
    elif style == "band":
        end = [mix(outline[1], outline[3], 0.40), outline[3], outline[4], mix(outline[6], outline[4], 0.45)]
        bird.lay(end, bird.tone("upper", "tail_mark"), 0.01, 1.0, clip)
    sides = [outline[6], outline[5], outline[4], mix(outline[4], outline[3], 0.45), mix(outline[6], outline[1], 0.35)]
    bird.lay(sides, (246, 245, 240), 0, bird.number("upper", "tail_edge"), clip)


def paint_wing(bird: Bird) -> None:
    """Paint the folded wing feather by feather, from the primaries to the mantle, and the marks over it."""
    figure = bird.figure
    area = [figure.wing(a, 0.0) for a in (0.0, 0.12, 0.3, 0.55, 0.8, 1.0)]
    area += [figure.wing(a, 1.15) for a in (1.0, 0.8, 0.55, 0.3, 0.12, 0.0)]
    bird.lay([figure.wing(a, b) for a, b in UNDER_WING], (70, 64, 58), 0.03, 0.22)
    _primaries(bird)
    sheet = Sheet(bird.brush, area, 3)
    _coverts(bird, sheet)
    _tertials(bird, sheet)
    _scapulars(bird, sheet)
    clip = bird.brush.whole([smooth(area, True, 4)])
    sheet.press(ImageChops.multiply(bird.feathered, _soft_front(bird, clip)))
    _mantle(bird)
    _braces(bird)
    _shoulder(bird)


def _soft_front(bird: Bird, clip: Image.Image) -> Image.Image:
    """Soften the wing in front, where breast feathers lie over its bend."""
    cover = smooth([bird.figure.body(u, v) for u, v in BREAST_COVER])
    hide = bird.brush.whole([cover], 0.045 * bird.depth)
    return ImageChops.subtract(clip.filter(ImageFilter.GaussianBlur(0.8)), hide)


def _primaries(bird: Bird) -> None:
    figure = bird.figure
    tip, outline = figure.wing_tip
    dark = bird.tone("upper", "primaries")
    bird.brush.lay(outline, dark)
    edges: list[Stroke] = []
    for k in range(4):
        middle = mix(figure.body(-0.42, 0.06), tip, 0.30 + 0.17 * k)
        back, front = complex(-0.01, 0.035), complex(-0.14, -0.02)
        edges.append((middle + figure.body_turn * back * bird.depth, middle + figure.body_turn * front * bird.depth, bird.depth * 0.016))
    bird.brush.hatch(edges, blend(dark, (235, 228, 214), 0.55), 0.75 * (1 - 0.5 * bird.wear), bird.brush.whole([outline]))


def _coverts(bird: Bird, sheet: Sheet) -> None:
    for row in range(4):
        for k in range(7, 0, -1):
            along = 0.08 + 0.50 * (k - 0.5 * (row % 2)) / 7
            _feather(bird, sheet, (along, 0.06 + 0.15 * row), (0.17 - 0.012 * row, 0.085), "wing")


def _tertials(bird: Bird, sheet: Sheet) -> None:
    for k in range(4):
        root = bird.figure.wing(0.42 - 0.03 * k, 0.22 + 0.15 * k)
        tip = bird.figure.wing(1.0 - 0.085 * k, 0.30 + 0.18 * k)
        draw_feather(bird, sheet, root, tip, 0.085 * bird.depth, "tertial")


def _scapulars(bird: Bird, sheet: Sheet) -> None:
    for row in range(5):
        count, last = 8 - row // 2, 0.62 - 0.04 * row
        for k in range(count, -1, -1):
            along = 0.07 + (last - 0.07) * (k - 0.5 * (row % 2)) / count
            length = lerp(0.11, 0.19, k / count) if row < 3 else 0.12
            _feather(bird, sheet, (along, 0.50 + 0.13 * row), (length, 0.09 - 0.008 * row), "scap")


def _feather(bird: Bird, sheet: Sheet, place: tuple[float, float], size: tuple[float, float], tract: str) -> None:
    """Draw a feather rooted at a place of the wing; size is its length in body lengths and half its width in depths."""
    figure, dice = bird.figure, bird.dice
    along, high = place[0] + dice.uniform(-0.012, 0.012), place[1] + dice.uniform(-0.02, 0.02)
    root = figure.wing(along, high)
    axis = figure.wing(along + 0.08, high - 0.035) - root
    tip = root + axis / abs(axis) * size[0] * figure.size("body") * 0.95
    draw_feather(bird, sheet, root, tip, size[1] * bird.depth * dice.uniform(0.92, 1.08), tract)


def _mantle(bird: Bird) -> None:
    """Streak the mantle between wing and nape, so that it is not a blank."""
    figure, dice = bird.figure, bird.dice
    strokes: list[Stroke] = []
    for _ in range(70):
        t, side = dice.uniform(0.45, 1.15), dice.uniform(0.25, 1.05)
        start = figure.neck(t, side)
        step = (figure.neck(t + 0.1, side) - start) * dice.uniform(0.4, 0.8)
        strokes.append((start, start + step, bird.depth * 0.012))
    strength = 0.45 * bird.number("upper", "mantle_streaks", 1.0)
    bird.brush.hatch(strokes, lighter(bird.tone("upper", "nape"), 0.72), strength, bird.torso)


def _braces(bird: Bird) -> None:
    """Draw the two pale lines along the mantle."""
    strength = bird.number("upper", "brace")
    if strength <= 0:
        return
    pale = bird.tone("upper", "brace_colour", 0.02)
    for high, start, stop in BRACES:
        line = [bird.figure.wing(lerp(start, stop, k / 6), high - 0.16 * k / 6) for k in range(7)]
        bird.lay(ribbon(line, lambda t: 0.022 * bird.depth * (1 - 0.5 * t)), pale, 0.004, strength)


def _shoulder(bird: Bird) -> None:
    """Draw what stands at the bend of the wing: a white wedge before it or a dark patch on it."""
    if bird.word("under", "notch", 0):
        bird.lay(notch(bird), bird.tone("under", "base", 0.01), 0.012)
    patch = smooth([bird.figure.wing(a, b) for a, b in SHOULDER])
    bird.lay(patch, bird.tone("upper", "shoulder_colour"), 0.02, bird.number("upper", "shoulder"))
