"""Where a ring and a close-up lie on a picture: the geometry that templates draw marks with, in the picture's own pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from drillhall.core.values import Mark

RING_SLACK: Final = 1.3
"""A ring is this much larger than its mark, so that it passes beside what it shows; it may cut the mark's empty corners."""

RING_LEAST: Final = 0.02
"""The least radius of a ring, as a share of the width in view: a smaller one would hide what it shows."""

DETAIL_SLACK: Final = 1.75
"""A close-up is this much larger than its ring."""

DETAIL_LEAST: Final = 0.22
"""The least width of a close-up, as a share of the picture's width: more enlarged, a picture of the common sizes turns to squares."""

DETAIL_SHAPE: Final = 8 / 5
"""Width by height of every close-up, so that two of them stand level."""


@dataclass(frozen=True, slots=True)
class Ring:
    """An ellipse on a picture, in its pixels."""

    cx: int
    cy: int
    rx: int
    ry: int


@dataclass(frozen=True, slots=True)
class Detail:
    """The part of a picture that a close-up shows, in its pixels."""

    x: int
    y: int
    width: int
    height: int


def ring_of(mark: Mark, width_px: int, height_px: int, seen_px: int | None = None) -> Ring:
    """Return the ring round a mark on a picture of that size, of whose width only `seen_px` may be in view.

    >>> ring_of(Mark("bill", 0.25, 0.5, 0.5, 0.25), 1000, 800)
    Ring(cx=500, cy=500, rx=325, ry=130)
    """
    least = RING_LEAST * (seen_px or width_px)
    return Ring(
        cx=round((mark.x + mark.width / 2) * width_px),
        cy=round((mark.y + mark.height / 2) * height_px),
        rx=round(max(mark.width * width_px / 2 * RING_SLACK, least)),
        ry=round(max(mark.height * height_px / 2 * RING_SLACK, least)),
    )


def ring_drawn(ring: Ring, misleads: bool = False) -> Markup:
    """Return the two strokes of a ring: the dark casing, and the ring on it, seen on any plumage. A packet has hundreds of them."""
    at = f'cx="{ring.cx}" cy="{ring.cy}" rx="{ring.rx}" ry="{ring.ry}"/>'
    kind = "ring ring-misleads" if misleads else "ring"
    return Markup(f'<ellipse class="ring-casing" {at}<ellipse class="{kind}" {at}')  # noqa: S704 - whole numbers, and words of ours


def detail_of(mark: Mark, width_px: int, height_px: int) -> Detail:
    """Return what a close-up of a mark shows: the ring and its surroundings, inside the picture, always in one shape.

    >>> detail_of(Mark("bill", 0.0, 0.5, 0.2, 0.1), 1000, 800)
    Detail(x=0, y=298, width=455, height=284)
    """
    ring = ring_of(mark, width_px, height_px)
    wanted = max(2 * ring.rx, 2 * ring.ry * DETAIL_SHAPE) * DETAIL_SLACK
    width = min(max(wanted, DETAIL_LEAST * width_px), width_px, height_px * DETAIL_SHAPE)
    height = width / DETAIL_SHAPE
    return Detail(
        x=round(min(max(ring.cx - width / 2, 0), width_px - width)),
        y=round(min(max(ring.cy - height / 2, 0), height_px - height)),
        width=round(width),
        height=round(height),
    )
