"""Parts an organism from its ground by colour and by where the picture changes: two models of colour, refined in turns."""

from __future__ import annotations

import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import e, log
from typing import Any, Final

from PIL import Image, ImageMath

EDGE_SHARE: Final = 0.05
"""So broad an edge of what is framed, as a share of its shorter side, is taken for ground."""

TURNS: Final = 8
STEPS: Final = 20
LIKE_NEIGHBOURS: Final = 0.8
CHANGE: Final = 0.005
"""How much a pixel leans on its four neighbours, and how fast that fades where colours change; tuned on drawings of our own."""

MOST_EVIDENCE: Final = 3.0
PLACE_COUNTS: Final = 0.6
BINS: Final = (16, 32, 32)
"""Levels told apart of lightness and of the two differences of colour."""


@dataclass(frozen=True, slots=True)
class Parted:
    """The chance of each pixel, row by row, that it shows the organism; `edge` are the places taken for ground."""

    chances: Sequence[float]
    edge: frozenset[int]


def part(image: Image.Image) -> Parted:
    """Return what of a small picture that is framed closely shows the organism, from the chances of a field that agrees with itself.

    The edge is ground; the middle is the likelier organism. Colours of both are counted, weighed with the chances so far; each pixel
    takes the side that its colour and its neighbours speak for, the less of these the more the colour changes between them.
    Source: Rother, Kolmogorov, Blake 2004, ACM Trans. Graph. 23(3):309, for models refined in turns and the weight of neighbours;
    the mean field in place of their cut, and all numbers, are our own.
    """
    width, height = image.size
    colours = image.convert("RGB").convert("YCbCr")
    cells = _cells(colours)
    edge = _edge(width, height)
    places = [0.0 if at in edge else _by_place(at, width, height) for at in range(width * height)]
    chances = places
    weights = _weights(colours)
    for _ in range(TURNS):
        organism = _counted(cells, chances)
        ground = _counted(cells, [(1 - chance) * (3 if at in edge else 1) for at, chance in enumerate(chances)])
        speaks = [
            -9.0 if at in edge else _bounded(log(organism[cell] / ground[cell])) + PLACE_COUNTS * log(place / (1 - place))
            for at, (cell, place) in enumerate(zip(cells, places, strict=True))
        ]
        chances = _settled(speaks, chances, weights, (width, height))
    return Parted(chances, edge)


def _edge(width: int, height: int) -> frozenset[int]:
    broad = max(2, round(EDGE_SHARE * min(width, height)))
    return frozenset(y * width + x for y in range(height) for x in range(width) if min(x, y, width - 1 - x, height - 1 - y) < broad)


def _by_place(at: int, width: int, height: int) -> float:
    across, down = 2 * (at % width) / max(1, width - 1) - 1, 2 * (at // width) / max(1, height - 1) - 1
    return min(0.7, max(0.08, 0.75 - 0.9 * (across * across + down * down)))


def _bounded(evidence: float) -> float:
    return min(MOST_EVIDENCE, max(-MOST_EVIDENCE, evidence))


def _cells(colours: Image.Image) -> list[int]:
    """Return for each pixel the cell of its colour among BINS; differences of colour lie near the middle, so they are spread."""
    light, blue, red = (band.tobytes() for band in colours.split())
    _, blues, reds = BINS
    return [((y * BINS[0] // 256) * blues + _spread(b, blues)) * reds + _spread(r, reds) for y, b, r in zip(light, blue, red, strict=True)]


def _spread(difference: int, bins: int) -> int:
    return min(bins - 1, max(0, (difference - 128) * 2 * bins // 256 + bins // 2))


def _counted(cells: Sequence[int], weights: Sequence[float]) -> list[float]:
    """Return how likely each cell is among pixels with these weights, blurred over the cells beside it."""
    counts = [0.0] * (BINS[0] * BINS[1] * BINS[2])
    for cell, weight in zip(cells, weights, strict=True):
        counts[cell] += weight
    for stride in (1, BINS[2], BINS[1] * BINS[2]):
        before, after = [0.0] * stride + counts[:-stride], counts[stride:] + [0.0] * stride
        counts = [0.6 * here + 0.2 * (one + other) for here, one, other in zip(counts, before, after, strict=True)]
    total = sum(counts) + 1e-9
    least = 1e-3 / len(counts)
    return [count / total + least for count in counts]


def _weights(colours: Image.Image) -> tuple[Image.Image, Image.Image]:
    """Return how much each pixel leans on the one to its right, and on the one below."""
    light, blue, red = (band.convert("F") for band in colours.split())
    size = colours.size
    leans = []
    for x, y in ((1, 0), (0, 1)):
        moved = [_moved(band, -x, -y) for band in (light, blue, red)]
        change = _made(
            lambda g: (g["a"] - g["d"]) ** 2 * 0.15 + (g["b"] - g["e"]) ** 2 + (g["c"] - g["f"]) ** 2,
            **dict(zip("abcdef", (light, blue, red, *moved), strict=True)),
        )
        lean = _made(lambda g: e ** (g["v"] * -CHANGE), v=change)
        leans.append(lean.crop((0, 0, size[0] - x, size[1] - y)).crop((0, 0, *size)))
    return leans[0], leans[1]


def _settled(
    speaks: Sequence[float], chances: Sequence[float], weights: tuple[Image.Image, Image.Image], size: tuple[int, int]
) -> list[float]:
    """Let each pixel's chance settle between what its colour says and what its neighbours are."""
    right, below = weights
    said, field = _image(speaks, size), _image(chances, size)
    leans = {"r": right, "b": below, "l": _moved(right, 1, 0), "a": _moved(below, 0, 1)}
    for _ in range(STEPS):
        side = _made(lambda g: g["m"] * 2.0 - 1.0, m=field)
        near = {"R": _moved(side, -1, 0), "B": _moved(side, 0, -1), "L": _moved(side, 1, 0), "A": _moved(side, 0, 1)}
        pulled = _made(lambda g: g["R"] * g["r"] + g["B"] * g["b"] + g["L"] * g["l"] + g["A"] * g["a"], **leans, **near)
        field = _made(lambda g: 1.0 / (e ** (g["p"] * -LIKE_NEIGHBOURS - g["u"]) + 1.0), p=pulled, u=said)
    return [float(chance) for chance in struct.unpack(f"{size[0] * size[1]}f", field.tobytes())]


def _image(values: Sequence[float], size: tuple[int, int]) -> Image.Image:
    return Image.frombytes("F", size, struct.pack(f"{len(values)}f", *values))


def _moved(image: Image.Image, x: int, y: int) -> Image.Image:
    """Return an image moved by some pixels; what comes in from outside is 0."""
    return image.crop((-x, -y, image.width - x, image.height - y))


def _made(reckon: Callable[[Any], Any], **images: Image.Image) -> Image.Image:
    made: Image.Image = ImageMath.lambda_eval(reckon, **images)
    return made
