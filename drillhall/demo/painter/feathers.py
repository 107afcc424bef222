"""Single feathers of the back and wing: outline, fringe, centre, shaft, spots."""

from __future__ import annotations

from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.brush import Sheet
from drillhall.demo.painter.colours import Colour, blend, lighter
from drillhall.demo.painter.curves import Outline, Point, mix, spots

FEATHER = spots("0 0.45 | 0.25 0.88 | 0.55 1 | 0.8 0.80 | 0.94 0.42")
"""Half-width of a feather along its length."""

SPOT = (1, 0.5 + 1j, -0.5 + 1j, -1, -0.5 - 1j, 0.5 - 1j)


def quill(root: Point, tip: Point, half: float) -> Outline:
    """Return the outline of a feather from root to tip."""
    axis = tip - root
    across = axis / (abs(axis) or 1.0) * 1j * half
    up = [root + axis * s + across * w for s, w in FEATHER]
    down = [root + axis * s - across * w for s, w in FEATHER]
    return [*up, tip, *down[::-1]]


def rim(root: Point, tip: Point, half: float) -> Outline:
    """Return the curve around the end of a feather."""
    axis = tip - root
    across = axis / (abs(axis) or 1.0) * 1j * half
    up = [root + axis * s + across * w for s, w in FEATHER[2:]]
    return [*up, tip, *(root + axis * s - across * w for s, w in reversed(FEATHER[2:]))]


def draw_feather(bird: Bird, sheet: Sheet, root: Point, tip: Point, half: float, tract: str) -> None:
    """Draw one feather of a tract ("wing", "tertial", "scap") in the style of the form."""
    style = bird.word("upper", f"{tract}_style", bird.word("upper", "style", "plain"))
    centre, fringe = _tones(bird, tract)
    width = bird.number("upper", "fringe_width", 0.16) * (1 - 0.5 * bird.wear) * half
    edge = {"plain": blend(centre, fringe, 0.5), "spotted": blend(centre, fringe, 0.18)}.get(style, fringe)
    sheet.shape(quill(root, tip, half), edge)
    axis = (tip - root) / abs(tip - root)
    inner = tip - axis * width * 1.25
    sheet.shape(quill(root, inner, half - width), centre)
    if style == "scaly":
        sheet.line(rim(root, inner, half - width), lighter(centre, 0.62), half * 0.16)
    if style == "dark":
        sheet.shape(quill(mix(root, tip, 0.1), tip - axis * half * 0.30, half * 0.36), bird.tone("upper", "core", 0.06))
    sheet.line([root, mix(root, tip, 0.86)], lighter(centre, 0.68), half * 0.13)
    if style in ("spotted", "notched"):
        _spot(bird, sheet, (root, tip, half), fringe, 6 if tract == "tertial" else 2)


def _tones(bird: Bird, tract: str) -> tuple[Colour, Colour]:
    """Choose centre and fringe of one feather."""
    own = f"{tract}_centre" if bird.word("upper", f"{tract}_centre") else "centre"
    centre = bird.tone("upper", own, 0.07)
    mixed = bird.number("upper", f"{tract}_mixed", bird.number("upper", "mixed"))
    if mixed and bird.dice.random() < mixed:
        centre = bird.tone("upper", "other", 0.08)
    edge = f"{tract}_fringe" if bird.word("upper", f"{tract}_fringe") else "fringe"
    return centre, bird.tone("upper", edge, 0.04)


def _spot(bird: Bird, sheet: Sheet, feather: tuple[Point, Point, float], colour: Colour, count: int) -> None:
    """Set pale spots along both edges of a feather."""
    root, tip, half = feather
    axis = (tip - root) / abs(tip - root)
    across = axis * 1j
    size = half * bird.number("upper", "spot", 0.30) * (1 - 0.35 * bird.wear)
    long, wide = axis * size * 0.75, across * size * 0.8
    for k in range(count):
        place = mix(root, tip, 0.97 - (0.8 / count) * k)
        for side in (1, -1):
            middle = place + across * side * half * (0.74 if k else 0.36)
            sheet.shape([middle + long * p.real + wide * p.imag for p in map(complex, SPOT)], colour)
