"""Finds the shape of an organism by how it differs from what lies around it, and says how far that may be trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from PIL import Image, ImageFilter

WORKED_PX: Final = 160
"""The shape is sought on a copy with this long side: fine enough for a bill, coarse enough to be quick."""

EDGE_SHARE: Final = 0.05
GROUNDS: Final = 5
"""Sorts of ground that the edge may show: sky, water, mud, a line of weed and its shadow (common practice, no source)."""

LEAST_APART: Final = 0.8
LEAST_AREA: Final = 0.03
MOST_AREA: Final = 0.65
MOST_AT_EDGE: Final = 0.08
LEAST_IN_ONE: Final = 0.95
INK, PAPER = (28, 29, 31), (220, 220, 220)

Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Shape:
    """A silhouette in the size of the picture, or None with the reason in `why_not`.

    apart: how well organism and ground part by colour, 0 to 1; area: its share of the picture; at_edge: share of the edge that it
    touches; in_one: share of all that differs from the ground which hangs together.
    """

    image: Image.Image | None
    why_not: str
    apart: float
    area: float
    at_edge: float
    in_one: float


def shape_of(image: Image.Image) -> Shape:
    """Return the shape of the one organism on a picture that is cut to it with a little ground around it.

    The edge of the picture is taken for ground, in a few sorts by k-means; what differs from all of them more than a threshold after
    Otsu (1979, IEEE Trans. SMC 9(1):62) is the organism, if it hangs together. Where it does not part clearly, no shape is offered.
    """
    small = image.convert("RGB")
    small.thumbnail((WORKED_PX, WORKED_PX), Image.Resampling.BOX)
    width, height = small.size
    pixels: list[Colour] = list(zip(*(iter(small.tobytes()),) * 3, strict=True))
    edge = _edge(width, height)
    grounds = _sorts([pixels[at] for at in edge])
    away = [min(255, round(min(_apart(pixel, ground) for ground in grounds))) for pixel in pixels]
    threshold, apart = _otsu(away)
    differs = [far > threshold for far in away]
    shape = _largest(differs, width, height)
    filled = _without_holes(shape, width, height)
    area = sum(filled) / len(filled)
    at_edge = sum(filled[at] for at in edge) / len(edge)
    in_one = sum(shape) / max(1, sum(differs))
    why_not = _why_not(apart, area, at_edge, in_one)
    return Shape(None if why_not else _silhouette(filled, (width, height), image.size), why_not, apart, area, at_edge, in_one)


def _why_not(apart: float, area: float, at_edge: float, in_one: float) -> str:
    if apart < LEAST_APART:
        return "It does not part clearly from what lies around it."
    if area < LEAST_AREA:
        return "What parts from the ground is too small to be it. Frame the picture closer."
    if area > MOST_AREA or at_edge > MOST_AT_EDGE:
        return "It reaches the edge. Leave a little ground around it in the frame."
    if in_one < LEAST_IN_ONE:
        return "More than one thing parts from the ground. Frame the picture closer."
    return ""


def _edge(width: int, height: int) -> list[int]:
    broad = max(1, round(EDGE_SHARE * min(width, height)))
    return [y * width + x for y in range(height) for x in range(width) if min(x, y, width - 1 - x, height - 1 - y) < broad]


def _sorts(colours: Sequence[Colour]) -> list[Colour]:
    """Return the middles of a few sorts of colours, by k-means from a spread by lightness."""
    ordered = sorted(colours, key=sum)
    middles = [ordered[(2 * at + 1) * len(ordered) // (2 * GROUNDS)] for at in range(GROUNDS)]
    for _ in range(8):
        groups: list[list[Colour]] = [[] for _ in middles]
        for colour in colours:
            groups[min(range(GROUNDS), key=lambda at: _apart(colour, middles[at]))].append(colour)
        middles = [_middle(group) if group else middle for group, middle in zip(groups, middles, strict=True)]
    return middles


def _middle(colours: Sequence[Colour]) -> Colour:
    red, green, blue = (sum(band) / len(colours) for band in zip(*colours, strict=True))
    return red, green, blue


def _apart(one: Colour, other: Colour) -> float:
    return sqrt((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2 + (one[2] - other[2]) ** 2)


def _otsu(values: Sequence[int]) -> tuple[int, float]:
    """Return the threshold that parts values (0 to 255) best, and how much of their variance lies between the two sides."""
    counts = [0] * 256
    for value in values:
        counts[value] += 1
    total, mean = len(values), sum(values) / len(values)
    variance = sum(count * (value - mean) ** 2 for value, count in enumerate(counts)) / total
    best, between, below, below_sum = 0, 0.0, 0, 0.0
    for value, count in enumerate(counts[:-1]):
        below, below_sum = below + count, below_sum + value * count
        if 0 < below < total:
            gap = below_sum / below - (mean * total - below_sum) / (total - below)
            if (parted := below * (total - below) / total**2 * gap**2) > between:
                best, between = value, parted
    return best, between / variance if variance else 0.0


def _largest(differs: Sequence[bool], width: int, height: int) -> list[bool]:
    """Return the largest part that hangs together side by side."""
    seen, best = [not it for it in differs], [False] * len(differs)
    largest = 0
    for start in range(len(differs)):
        if not seen[start]:
            part = _spread(start, seen, width, height)
            if len(part) > largest:
                largest, best = len(part), [False] * len(differs)
                for at in part:
                    best[at] = True
    return best


def _without_holes(shape: Sequence[bool], width: int, height: int) -> list[bool]:
    """Return the shape with everything filled that cannot be reached from the edge."""
    seen = list(shape)
    outside: set[int] = set()
    for start in (at for at in range(len(shape)) if at % width in (0, width - 1) or at // width in (0, height - 1)):
        if not seen[start]:
            outside |= set(_spread(start, seen, width, height))
    return [at not in outside for at in range(len(shape))]


def _spread(start: int, seen: list[bool], width: int, height: int) -> list[int]:
    """Return all that hangs together with a place and has not been seen, and mark it as seen."""
    seen[start] = True
    part = [start]
    for at in part:
        x, y = at % width, at // width
        for near, is_there in ((at - 1, x > 0), (at + 1, x < width - 1), (at - width, y > 0), (at + width, y < height - 1)):
            if is_there and not seen[near]:
                seen[near] = True
                part.append(near)
    return part


def _silhouette(shape: Sequence[bool], size: tuple[int, int], full: tuple[int, int]) -> Image.Image:
    mask = Image.frombytes("L", size, bytes(255 if it else 0 for it in shape)).resize(full, Image.Resampling.BICUBIC)
    # Blurred by as much as it was enlarged, then made steep again: crisp, and without the steps of the small copy.
    mask = mask.filter(ImageFilter.GaussianBlur(0.7 * full[0] / size[0]))
    steep = mask.point([min(255, max(0, (value - 128) * 4 + 128)) for value in range(256)])
    drawn = Image.new("RGB", full, PAPER)
    drawn.paste(INK, mask=steep)
    return drawn
