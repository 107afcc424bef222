"""Finds the shape of an organism by how it differs from what lies around it, and says how far that may be trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from PIL import Image, ImageChops, ImageFilter

from drillhall.pictures.parting import part
from drillhall.words import say

WORKED_PX: Final = 140
"""The shape is sought on a copy with this long side: fine enough for a bill, coarse enough to be quick."""

LEAST_SURE: Final = 0.975
LEAST_SURE_AT_OUTLINE: Final = 0.90
LEAST_AREA: Final = 0.03
MOST_AREA: Final = 0.65
MOST_AT_EDGE: Final = 0.08
LEAST_IN_ONE: Final = 0.95
"""From these on a shape is offered.

Set on 60 drawings of our own, framed with 8 % of ground around: 32 are offered, 29 of which share 85 % or more of their area with
the true outline; of 40 others 17, and so do all of these.
"""

AT_EDGE: Final = say("It reaches the edge. Leave a little ground around it in the frame.")
OUTLINE_PX: Final = 2
"""So far from its outline, within and without, a shape is asked how sure it is there."""

INK, PAPER = (28, 29, 31), (220, 220, 220)


@dataclass(frozen=True, slots=True)
class Shape:
    """A silhouette in the size of the picture, or None with the reason in `why_not`."""

    image: Image.Image | None
    why_not: str


def shape_of(image: Image.Image) -> Shape:
    """Return the shape of the one organism on a picture that is cut to it with a little ground around it.

    What is organism and what ground is parted by `parting.part`. Where it does not part clearly, no shape is offered.
    """
    small = image.convert("RGB")
    small.thumbnail((WORKED_PX, WORKED_PX), Image.Resampling.BOX)
    width, height = small.size
    parted = part(small)
    differs = [chance > 0.5 for chance in parted.chances]
    shape = _largest(differs, width, height)
    filled = _without_holes(shape, width, height)
    sures = [abs(2 * chance - 1) for chance in parted.chances]
    outline = _outline(filled, small.size)
    sure = sum(sures) / len(sures)
    at_outline = sum(sures[at] for at in outline) / max(1, len(outline))
    area = sum(filled) / len(filled)
    in_one = sum(shape) / max(1, sum(differs))
    why_not = _why_not(sure, at_outline, area, in_one) or (AT_EDGE if _at_edge(filled, parted.edge, width) > MOST_AT_EDGE else "")
    return Shape(None if why_not else _silhouette(filled, (width, height), image.size), why_not)


def _why_not(sure: float, at_outline: float, area: float, in_one: float) -> str:
    """Return why a shape is not offered, or nothing.

    sure: how far its pixels are on one side or the other, 0 to 1; at_outline: the same near its outline; area: its share of the
    picture; in_one: share of all that parts from the ground which hangs together.
    """
    if area < LEAST_AREA:
        return say("What parts from the ground is too small to be it. Frame the picture closer.")
    if area > MOST_AREA:
        return AT_EDGE
    if sure < LEAST_SURE or at_outline < LEAST_SURE_AT_OUTLINE:
        return say("It does not part clearly from what lies around it.")
    if in_one < LEAST_IN_ONE:
        return say("More than one thing parts from the ground. Frame the picture closer.")
    return ""


def _outline(shape: Sequence[bool], size: tuple[int, int]) -> list[int]:
    mask = _mask(shape, size)
    wide, narrow = (mask.filter(kind(2 * OUTLINE_PX + 1)) for kind in (ImageFilter.MaxFilter, ImageFilter.MinFilter))
    return [at for at, differs in enumerate(ImageChops.difference(wide, narrow).tobytes()) if differs]


def _at_edge(shape: Sequence[bool], edge: frozenset[int], width: int) -> float:
    """Return the share of the places just within the edge at which the shape lies."""
    inner = [at for at in range(len(shape)) if at not in edge and not edge.isdisjoint((at - 1, at + 1, at - width, at + width))]
    return sum(shape[at] for at in inner) / max(1, len(inner))


def _mask(shape: Sequence[bool], size: tuple[int, int]) -> Image.Image:
    return Image.frombytes("L", size, bytes(255 if it else 0 for it in shape))


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
    mask = _mask(shape, size).resize(full, Image.Resampling.BICUBIC)
    # Blurred by as much as it was enlarged, then made steep again: crisp, and without the steps of the small copy.
    mask = mask.filter(ImageFilter.GaussianBlur(0.7 * full[0] / size[0]))
    steep = mask.point([min(255, max(0, (value - 128) * 4 + 128)) for value in range(256)])
    drawn = Image.new("RGB", full, PAPER)
    drawn.paste(INK, mask=steep)
    return drawn
