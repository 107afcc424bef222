"""Where on a drawing each part of the bird lies, and how much of it is in view."""

from __future__ import annotations

from PIL import Image, ImageChops

from drillhall.demo.painter.bareparts import EYE
from drillhall.demo.painter.bird import Bird
from drillhall.demo.painter.curves import Outline, Spots, read_table, spots
from drillhall.demo.painter.face import BROW
from drillhall.demo.painter.wings import SHOULDER

BREAST = spots("0.35 -1 | 0.75 -1 | 1 -1 | 1.2 -0.5 | 1 0.2 | 0.6 0.1")
FLANK = spots("0.32 -0.12 | 0 -0.18 | -0.36 -0.12 | -0.3 -0.28 | 0 -0.42 | 0.3 -0.4")
BELLY = spots("0.32 -0.2 | 0 -0.18 | -0.24 -0.28 | -0.2 -0.42 | 0.08 -0.47 | 0.3 -0.42")
BACK = spots("0.02 0.2 | 0.05 1 | 0.4 1 | 0.9 0.8 | 0.9 0.1 | 0.4 0.05")
MANTLE = spots("0.02 0.55 | 0.02 1.05 | 0.3 1.05 | 0.62 0.95 | 0.62 0.45 | 0.3 0.45")
BROW_ROOM = spots("0.50 0 | 0.50 0.17 | 0.14 0.30 | -0.2 0.26 | -0.46 0.14 | -0.46 -0.04")
FOREHEAD = spots("0.42 0.1 | 0.42 0.5 | -0.12 0.5 | -0.12 0.2")
WING_BEND = spots("0.37 0.28 | 0.24 0.28 | 0.10 0.02 | 0.16 -0.24 | 0.42 -0.22")

BREAST_FRONT = spots("0.455 0.10 | 0.54 0.10 | 0.54 -0.06 | 0.465 -0.06")
WEDGE = spots("0.335 0.02 | 0.315 0.18 | 0.28 0.20 | 0.255 0.06 | 0.27 -0.06")

ON_BILL = ("root-above", "root-below", "bill-tip")

Region = tuple[float, float, float, float]
"""Left, top, width and height, as shares of the picture."""


def list_places(bird: Bird) -> dict[str, list[Outline]]:
    """Return the outlines of every part that is not masked as it is painted, in the bird's millimetres."""
    figure = bird.figure

    def on_body(places: Spots) -> list[Outline]:
        return [[figure.body(u, v) for u, v in places]]

    def on_wing(places: Spots) -> list[Outline]:
        return [[figure.wing(a, b) for a, b in places]]

    def on_head(places: Spots) -> list[Outline]:
        return [[figure.face(u, v) for u, v in places]]

    reach = figure.size("eye") * 0.5 * 1.7
    around = tuple((EYE[0] + du * reach, EYE[1] + dv * reach) for du, dv in ((1, 0), (0, 1), (-1, 0), (0, -1)))
    return {
        "head": [figure.head_outline],
        "eye": on_head(around),
        "brow": on_head(BROW_ROOM),
        "forehead": on_head(FOREHEAD),
        "breast": [[figure.neck(t, side) for t, side in BREAST]],
        "flank": on_body(FLANK),
        "belly": on_body(BELLY),
        "back": on_wing(BACK),
        "mantle": on_wing(MANTLE),
        "shoulder": on_body(WING_BEND),
        "breast-front": on_body(BREAST_FRONT),
        "wedge": on_body(WEDGE),
        "wing-bend": on_wing(SHOULDER),
        "brow-front": on_head(_along_brow(0.18, 0.36, 0.0)),
        "brow-rear": on_head(_along_brow(-0.36, -0.12, 0.0)),
        "above-brow": on_head(_along_brow(-0.36, -0.12, 0.13)),
        "below-brow": on_head(_along_brow(-0.36, -0.14, -0.15)),
        "root-above": [figure.bill_piece(0.10, 0.34, 1.0, -0.15)],
        "root-below": [figure.bill_piece(0.10, 0.34, -0.15, 1.0)],
        "bill-tip": [figure.bill_piece(0.72, 0.96)],
        "tail": [figure.tail_outline + figure.wing_tip[1][8:20]],
    }


def _along_brow(rear: float, front: float, above: float) -> Spots:
    """Return a narrow band along the line over the eye, this far above it, in head lengths."""
    share = [rear + (front - rear) * k / 6 for k in range(7)]
    return tuple((u, read_table(BROW, u) + above + 0.022) for u in share) + tuple(
        (u, read_table(BROW, u) + above - 0.022) for u in reversed(share)
    )


def find_region(part: Image.Image, pad: int = 3) -> Region | None:
    """Return the rectangle around a part's mask, a little wider than it, or None where nothing of it is in view."""
    box = part.point([255 if level > 100 else 0 for level in range(256)]).getbbox()
    if box is None:
        return None
    width, height = part.size
    left, top = max(0, box[0] - pad), max(0, box[1] - pad)
    right, bottom = min(width, box[2] + pad), min(height, box[3] + pad)
    return left / width, top / height, (right - left) / width, (bottom - top) / height


def share_in_view(part: Image.Image, hidden: Image.Image) -> float:
    """Return how much of a part is not hidden (0 to 1); nothing of a part without any area."""
    total = sum(level * count for level, count in enumerate(part.histogram()))
    lost = sum(level * count for level, count in enumerate(ImageChops.multiply(part, hidden).histogram()))
    return 1.0 - lost / total if total else 0.0
