"""Points as complex numbers (x to the right, y up), smooth closed outlines, ribbons and two-bone legs."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from itertools import pairwise

Point = complex
Outline = list[Point]
Spots = tuple[tuple[float, float], ...]


def spots(text: str) -> Spots:
    """Read points written as "u v | u v | ...", so that a table of places stays short enough to be read.

    >>> spots("0.5 0 | -1 2")
    ((0.5, 0.0), (-1.0, 2.0))
    """
    pairs = [place.split() for place in text.split("|")]
    return tuple((float(u), float(v)) for u, v in pairs)


def lerp(a: float, b: float, share: float) -> float:
    """Return the number a share of the way from a to b."""
    return a + (b - a) * share


def mix(a: Point, b: Point, share: float) -> Point:
    """Return the point a share of the way from a to b."""
    return a + (b - a) * share


def turn(degrees: float) -> complex:
    """Return the unit vector at this angle: a point multiplied by it is rotated."""
    return cmath.rect(1.0, math.radians(degrees))


def smooth(points: Sequence[Point], closed: bool = True, steps: int = 7) -> Outline:
    """Return a Catmull-Rom curve through the points, `steps` points a span."""
    count = len(points)

    def at(index: int) -> Point:
        return points[index % count] if closed else points[max(0, min(count - 1, index))]

    out: Outline = []
    for i in range(count if closed else count - 1):
        p0, p1, p2, p3 = at(i - 1), at(i), at(i + 1), at(i + 2)
        for k in range(steps):
            t = k / steps
            bent = (2 * p0 - 5 * p1 + 4 * p2 - p3) * t * t + (3 * p1 - p0 - 3 * p2 + p3) * t**3
            out.append(0.5 * (2 * p1 + (p2 - p0) * t + bent))
    if not closed:
        out.append(points[-1])
    return out


def bezier(a: Point, b: Point, c: Point, d: Point, t: float) -> Point:
    """Return the point at t (0 to 1) of the cubic curve from a to d with the handles b and c."""
    s = 1 - t
    return s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d


def read_table(rows: Sequence[tuple[float, float]], x: float) -> float:
    """Read a small table of (x, y), straight between its rows and level after its last."""
    for (x0, y0), (x1, y1) in pairwise(rows):
        if x <= x1:
            return lerp(y0, y1, (x - x0) / (x1 - x0))
    return rows[-1][1]


def profile(halves: Sequence[float], unit: float) -> Callable[[float], float]:
    """Return the half-widths along a ribbon, straight between the given ones and in this unit."""
    rows = [(i / (len(halves) - 1), half * unit) for i, half in enumerate(halves)]
    return lambda t: read_table(rows, t)


def ribbon(line: Sequence[Point], half: Callable[[float], float]) -> Outline:
    """Return a closed band around a line; half(t) is its half-width at the share t of its points."""
    left: Outline = []
    right: Outline = []
    last = len(line) - 1
    for i, p in enumerate(line):
        ahead = line[min(last, i + 1)] - line[max(0, i - 1)]
        normal = ahead * 1j / (abs(ahead) or 1.0)
        width = half(i / last)
        left.append(p + normal * width)
        right.append(p - normal * width)
    return left + right[::-1]


def bend(hip: Point, foot: Point, upper: float, lower: float) -> Point:
    """Return the joint between hip and foot of a two-bone leg, bent backwards (to smaller x)."""
    reach = max(1e-6, min(abs(foot - hip), (upper + lower) * 0.9995))
    along = (upper * upper - lower * lower + reach * reach) / (2 * reach)
    across = math.sqrt(max(0.0, upper * upper - along * along))
    axis = (foot - hip) / (abs(foot - hip) or 1.0)
    return hip + axis * along + axis * -1j * across
