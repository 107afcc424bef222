"""Measures in a finished drawing whether it shows the state that its form is said to have.

Bills and legs are measured on the outlines of those parts, everything else in the picture's own levels within the part.
Not measured, because no simple number tells their states apart: build, reach of the tail, the pattern of back, breast,
flanks and tail, lines on the back and across the crown, and a thin pale ring from none at all.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PIL import Image, ImageStat

from drillhall.demo.book import DrawnTrait
from drillhall.demo.painter.colours import rgb
from drillhall.demo.painter.curves import Point
from drillhall.demo.painter.studio import Painting

Levels = tuple[float, float, float]
Numbers = dict[str, float]
Range = tuple[float, float]

STANDING = ("alert", "standing", "walking")
UPRIGHT = (*STANDING, "resting")

INSIDE = 150
"""A pixel belongs to a part from this level of its mask on."""

LEAST = 12
"""Fewer pixels than this say nothing."""


def _solid(mask: Image.Image) -> Image.Image:
    return mask.point([255 if level > INSIDE else 0 for level in range(256)])


def _levels(picture: Image.Image, mask: Image.Image) -> Levels | None:
    """Return the mean red, green and blue within a mask."""
    stat = ImageStat.Stat(picture, _solid(mask))
    if stat.count[0] < LEAST:
        return None
    red, green, blue = stat.mean
    return red, green, blue


def _luma(levels: Levels) -> float:
    """Return the brightness of a colour, 0 to 255 (ITU-R BT.601 weights, as Pillow's own conversion to grey)."""
    return 0.299 * levels[0] + 0.587 * levels[1] + 0.114 * levels[2]


def _brightness(picture: Image.Image, painting: Painting, *names: str) -> list[float] | None:
    found = [_levels(picture, painting.parts[name]) for name in names]
    known = [_luma(levels) for levels in found if levels is not None]
    return known if len(known) == len(names) else None


def lab(levels: Levels) -> Levels:
    """Return a colour of sRGB levels as CIE L*a*b* (D65; IEC 61966-2-1 for the levels, CIE 15 for the rest).

    >>> [round(n) for n in lab((255, 255, 255))]
    [100, 0, 0]
    """
    r, g, b = ((c / 3294.6 if c <= 10.31475 else ((c / 255 + 0.055) / 1.055) ** 2.4) for c in levels)
    x = (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047
    y = 0.2126729 * r + 0.7151522 * g + 0.0721750 * b
    z = (0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883
    fx, fy, fz = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@dataclass(frozen=True, slots=True)
class Bill:
    """A bill by its outline: length and depth at the root in head sizes, bow of its middle in bill lengths (up is positive)."""

    length: float
    depth: float
    bow: float


def measure_bill(painting: Painting) -> Bill | None:
    """Measure the bill on its outline; a head's size is the square root of its area. None where it is not wholly in view."""
    mask, head = _solid(painting.parts["bill"]), _solid(painting.parts["head"])
    box, around = mask.getbbox(), head.getbbox()
    if box is None or around is None or painting.seen["bill"] < 0.75 or painting.pose == "probing":
        return None
    size = math.sqrt(sum(head.histogram()[128:]))
    middle = complex((around[0] + around[2]) / 2, (around[1] + around[3]) / 2)
    crop = mask.crop(box)
    spots = [complex(i % crop.width + box[0], i // crop.width + box[1]) for i, level in enumerate(crop.tobytes()) if level]
    near = min(abs(p - middle) for p in spots)
    roots = [p for p in spots if abs(p - middle) < near + 3]
    root, tip = sum(roots) / len(roots), max(spots, key=lambda p: abs(p - middle))
    length = abs(tip - root)
    across = _slices(spots, root, (tip - root) / length, painting.scene.facing)
    if not across[1] or not across[5]:
        return None
    bow = (min(across[5]) + max(across[5])) / 2 / length
    return Bill(length / size, (max(across[1]) - min(across[1])) / size, bow)


def _slices(spots: list[Point], root: Point, axis: Point, facing: int) -> list[list[float]]:
    """Return, for each tenth of the bill, how far its pixels lie above the line from root to tip."""
    length = max(((p - root) * axis.conjugate()).real for p in spots)
    out: list[list[float]] = [[] for _ in range(10)]
    for p in spots:
        turned = (p - root) * axis.conjugate()
        out[max(0, min(9, int(10 * turned.real / length)))].append(-turned.imag * facing)
    return out


def _bill_numbers(_: Image.Image, painting: Painting) -> Numbers | None:
    bill = measure_bill(painting)
    return None if bill is None else {"length": bill.length, "depth": bill.depth, "bow": bill.bow}


def _leg_numbers(_: Image.Image, painting: Painting) -> Numbers | None:
    box, head = _solid(painting.parts["legs"]).getbbox(), sum(_solid(painting.parts["head"]).histogram()[128:])
    if box is None or painting.seen["legs"] < 0.9 or painting.scene.setting == "water" or painting.pose not in STANDING or head < LEAST:
        return None
    return {"height": (box[3] - box[1]) / math.sqrt(head)}


def _bill_colour_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    above, below, tip = (_levels(picture, painting.parts[name]) for name in ("root-above", "root-below", "bill-tip"))
    if above is None or below is None or tip is None:
        return None
    return {
        "warm above": above[0] - above[2],
        "warm below": below[0] - below[2],
        "yellow": above[1] - above[2],
        "paler": _luma(below) - _luma(tip),
    }


def _brow_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    """Take by how much the line behind the eye outshines crown and cheek; a head held down lies in its own shade."""
    found = _brightness(picture, painting, "brow-front", "brow-rear", "above-brow", "below-brow")
    if found is None or painting.pose not in UPRIGHT:
        return None
    front, rear, crown, cheek = found
    return {"behind": rear - max(crown, cheek), "front less rear": front - rear}


def _eye_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    levels = _levels(picture, painting.parts["eye"])
    return None if levels is None else {"warm": levels[0] - levels[2]}


def _belly_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    found = _brightness(picture, painting, "belly")
    return None if found is None else {"bright": found[0]}


def _band_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    """Take the darkest fifth of the front of the breast, where a band closes or does not."""
    counts = picture.convert("L").histogram(_solid(painting.parts["breast-front"]))
    total, passed = sum(counts), 0
    if total < LEAST:
        return None
    for level, count in enumerate(counts):
        passed += count
        if passed >= 0.2 * total:
            return {"dark fifth": float(level)}
    return None


def _shoulder_numbers(picture: Image.Image, painting: Painting) -> Numbers | None:
    found = _brightness(picture, painting, "wing-bend", "wedge", "back", "breast")
    if found is None:
        return None
    bend, wedge, back, breast = found
    return {"bend": bend - back, "wedge": wedge - max(back, breast)}


READERS: Mapping[str, Callable[[Image.Image, Painting], Numbers | None]] = {
    "bill_shape": _bill_numbers,
    "bill_length": _bill_numbers,
    "bill_strength": _bill_numbers,
    "leg_length": _leg_numbers,
    "bill_colour": _bill_colour_numbers,
    "supercilium": _brow_numbers,
    "eye_ring": _eye_numbers,
    "belly": _belly_numbers,
    "breast_band": _band_numbers,
    "shoulder": _shoulder_numbers,
}
"""How each trait is measured, beside those told by the nearest colour."""

LIGHTNESS = 0.7

BY_COLOUR = {"leg_colour": "legs", "tone": "back"}
"""Traits whose state is the one of nearest colour in L*a*b*, and where that is taken."""

RANGES: Mapping[str, Mapping[str, Mapping[str, Range]]] = {
    "bill_shape": {
        "stubby": {"length": (0, 0.76)},
        "straight": {"length": (0.78, 9), "bow": (-0.0115, 0.025)},
        "drooped_tip": {"length": (0.78, 9), "bow": (0.035, 0.056)},
        "curved": {"length": (0.78, 9), "bow": (0.057, 0.2)},
        "upturned": {"length": (0.78, 9), "bow": (-0.2, -0.0125)},
    },
    "bill_length": {
        "shorter": {"length": (0, 0.76)},
        "equal": {"length": (0.78, 1.25)},
        "longer": {"length": (1.26, 1.80)},
        "twice": {"length": (1.81, 9)},
    },
    "bill_strength": {"heavy": {"depth": (0.168, 1)}, "slight": {"depth": (0, 0.162)}},
    "leg_length": {"short": {"height": (0, 1.90)}, "medium": {"height": (1.95, 2.42)}, "long": {"height": (2.45, 9)}},
    "shoulder": {
        "none": {"bend": (-30, 90), "wedge": (-255, 34)},
        "dark_patch": {"bend": (-255, -50)},
        "white_wedge": {"bend": (-30, 90), "wedge": (35, 255)},
    },
    "belly": {"white": {"bright": (110, 255)}, "black_patch": {"bright": (0, 95)}},
    "breast_band": {"closed": {"dark fifth": (0, 122)}, "open": {"dark fifth": (126, 255)}},
    "eye_ring": {"none": {"warm": (-9, 27)}, "pale": {"warm": (-9, 27)}, "yellow": {"warm": (30, 255)}},
    "supercilium": {
        "none": {"behind": (-3.4, 9), "front less rear": (-30, 90)},
        "faint": {"behind": (-15, 15.5), "front less rear": (-9, 31)},
        "front": {"behind": (-40, -3.6), "front less rear": (33, 255)},
        "long": {"behind": (16.5, 255), "front less rear": (-20, 25)},
        "behind": {"behind": (45, 255), "front less rear": (-255, -30)},
    },
    "bill_colour": {
        "dark": {"yellow": (-9, 10.5), "warm above": (-9, 36), "warm below": (-9, 45)},
        "dull_root": {"yellow": (11.5, 40), "warm above": (5, 46), "warm below": (10, 55)},
        "orange_root": {"yellow": (47, 255), "warm above": (85, 255)},
        "red_root": {"yellow": (18, 45), "warm above": (80, 255)},
        "red_below": {"warm above": (-9, 30), "warm below": (90, 255)},
        "pink_root": {"yellow": (5, 17.9), "warm above": (48, 95)},
    },
}
"""What each state allows: trait → state → number → least and most. Set by looking at the first drawings of every form."""


def measure(trait: str, picture: Image.Image, painting: Painting) -> Numbers | None:
    """Return the numbers of a trait in a picture of this drawing, or None where they cannot be taken."""
    return READERS[trait](picture, painting)


def shows_state(trait: DrawnTrait, state: str, picture: Image.Image, painting: Painting) -> bool | None:
    """Return whether a picture of this drawing measures as the state, or None where that is not measured."""
    if trait.key in BY_COLOUR:
        levels = _levels(picture, painting.parts[BY_COLOUR[trait.key]])
        return None if levels is None else _nearest(trait, levels) == state
    allowed = RANGES.get(trait.key, {}).get(state)
    numbers = measure(trait.key, picture, painting) if allowed else None
    if not allowed or numbers is None:
        return None
    return all(least <= numbers[name] <= most for name, (least, most) in allowed.items())


def _nearest(trait: DrawnTrait, levels: Levels) -> str:
    """Return the state of nearest colour; lightness counts for less, since it changes most with the light."""
    here = lab(levels)

    def distance(colour: str) -> float:
        there = lab(rgb(colour))
        return math.hypot(LIGHTNESS * (here[0] - there[0]), here[1] - there[1], here[2] - there[2])

    return min(trait.states, key=lambda state: distance(state.colour)).key
