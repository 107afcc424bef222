"""What is left to see at a distance, through glass and haze, and how colours look to eyes that tell fewer apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import atan, exp, pi, tan
from types import MappingProxyType
from typing import Final

from drillhall.words import Said, say

ACUITY_ARCMIN: Final = 1.0
"""The smallest detail that a good eye tells apart, in minutes of arc.

Source: the definition of decimal acuity 1.0 (20/20, logMAR 0): a gap of one minute of arc; ISO 8596 (from memory).
"""

KOSCHMIEDER: Final = 3.912
"""Extinction times visibility: -ln 0.02, since 2 % is the least contrast that is seen.

Source: H. Koschmieder 1924, Theorie der horizontalen Sichtweite (the meteorological optical range of the WMO takes 5 %).
"""

AIRLIGHT: Final = 0.8
"""Linear light, 0 to 1, of haze so thick that nothing else is seen: a bright grey sky (common practice, no source)."""

MACHADO: Final[Mapping[str, tuple[tuple[float, float, float], ...]]] = MappingProxyType(
    {
        "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
        "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    }
)
"""What linear red, green and blue become where one sort of cone is missing; each row sums to 1, so greys stay grey.

Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes 2009, A physiologically-based model for simulation of color vision
deficiency, IEEE TVCG 15(6), severity 1.0. Their tritan set rests on another assumption and is left out.
"""


_PARTS: Final[Mapping[int, Said]] = MappingProxyType(
    {
        2: say("half"),
        3: say("a third"),
        4: say("a quarter"),
        5: say("a fifth"),
        6: say("a sixth"),
        7: say("a seventh"),
        8: say("an eighth"),
        10: say("a tenth"),
        20: say("a twentieth"),
    }
)


class Deficiency(StrEnum):
    """A colour-vision deficiency that somebody has told of: red-weak or green-weak, at its fullest."""

    PROTAN = "protan"
    DEUTAN = "deutan"


@dataclass(frozen=True, slots=True)
class FarView:
    """How something is looked at: distance in metres, magnification of the glass, how far one sees that day in km (None: clear)."""

    distance_m: float
    magnification: float = 1.0
    visibility_km: float | None = None


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of an organism in a view.

    angle_arcmin: how long it looks, in minutes of arc; length_px: in details that the eye tells apart, one pixel each;
    detail_mm: its smallest detail that is still seen; transmission: share of contrast that haze leaves, 0 to 1.
    """

    angle_arcmin: float
    length_px: float
    detail_mm: float
    transmission: float


def angle_arcmin(length_mm: float, distance_m: float, *, magnification: float = 1.0) -> float:
    """Return how long something looks, in minutes of arc.

    Parameters
    ----------
    length_mm : its real length across the line of sight, above 0
    distance_m : above 0
    magnification : of the glass, 1 for the naked eye. Angle times magnification stands for 2 atan(M tan(angle / 2)), which differs
        by less than 0.06 % below five degrees.

    Source: geometry, angle = 2 atan(length / (2 distance)).

    >>> round(angle_arcmin(500, 200), 4), round(angle_arcmin(500, 200, magnification=8), 4)
    (8.5944, 68.7549)
    """
    return magnification * 2 * atan(length_mm / 1000 / (2 * distance_m)) * 60 * 180 / pi


def what_is_left(length_mm: float, view: FarView, *, acuity_arcmin: float = ACUITY_ARCMIN) -> Left:
    """Return what an eye sees of an organism in a view, if neither shake nor optics take anything away.

    Parameters
    ----------
    length_mm : the organism's real length, above 0
    acuity_arcmin : the smallest detail that the eye tells apart, in minutes of arc

    Source: one detail of the acuity is one pixel of what is left; size of the smallest detail = 2 distance tan(acuity / 2) /
    magnification.

    >>> left = what_is_left(500, FarView(200, magnification=8))
    >>> round(left.length_px), round(left.detail_mm, 3), left.transmission
    (69, 7.272, 1.0)
    """
    angle = angle_arcmin(length_mm, view.distance_m, magnification=view.magnification)
    length_px = angle / acuity_arcmin
    detail_mm = 2 * view.distance_m * 1000 * tan(acuity_arcmin / 60 * pi / 180 / 2) / view.magnification
    return Left(angle, length_px, detail_mm, transmission(view.distance_m, view.visibility_km))


def transmission(distance_m: float, visibility_km: float | None) -> float:
    """Return the share of contrast that haze leaves over a distance, 0 to 1; `visibility_km` None is clear air.

    Source: Koschmieder 1924, C = C0 exp(-sigma d) with sigma = 3.912 / V. It holds for level sight through uniform
    air and is up to half wrong for sunlit things that are not black (Horvath 1971, from memory).

    >>> round(transmission(1000, 5), 6), transmission(1000, None)
    (0.457307, 1.0)
    """
    if visibility_km is None:
        return 1.0
    return exp(-KOSCHMIEDER / visibility_km * distance_m / 1000)


def hazed(light: float, transmission: float, *, airlight: float = AIRLIGHT) -> float:
    """Return linear light (0 to 1) as it arrives through haze: what is left of its own, and the air's in place of the rest.

    Source: Koschmieder 1924: I = J t + A (1 - t).

    >>> round(hazed(0.2, 0.457307, airlight=0.9), 6)
    0.579885
    """
    return light * transmission + airlight * (1 - transmission)


def to_linear(value: float) -> float:
    """Return an sRGB value (0 to 1) as linear light (0 to 1).

    Source: IEC 61966-2-1:1999.
    """
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def to_srgb(light: float) -> float:
    """Return linear light (0 to 1) as an sRGB value (0 to 1); what lies outside is brought to the nearest end.

    Source: IEC 61966-2-1:1999.
    """
    light = min(1.0, max(0.0, light))
    return light * 12.92 if light <= 0.0031308 else float(1.055 * light ** (1 / 2.4) - 0.055)


def as_seen_by(colour: tuple[int, int, int], deficiency: Deficiency) -> tuple[int, int, int]:
    """Return an sRGB colour (0 to 255 each) as it looks to somebody with a colour-vision deficiency.

    Source: see MACHADO; the matrix is for linear light.

    >>> as_seen_by((255, 0, 0), Deficiency.DEUTAN), as_seen_by((128, 128, 128), Deficiency.PROTAN)
    ((163, 144, 0), (128, 128, 128))
    """
    light = [to_linear(value / 255) for value in colour]
    red, green, blue = (_to_byte(sum(share * value for share, value in zip(row, light, strict=True))) for row in MACHADO[deficiency])
    return red, green, blue


def _to_byte(light: float) -> int:
    return round(to_srgb(light) * 255)


def left_in_words(left: Left) -> tuple[Said, ...]:
    """Return what is left to see as sentences: how long it looks, which details are lost, what haze takes.

    >>> for line in left_in_words(what_is_left(500, FarView(200, magnification=8, visibility_km=5))): print(line)
    It looks as long as 69 of the smallest dots that a good eye tells apart.
    What is narrower than 7 mm on it is lost.
    Haze takes a seventh of the contrast.
    """
    dots = max(1, round(left.length_px))
    sized = say("It looks as long as {n} of the smallest dots that a good eye tells apart.", n=dots)
    if dots < 3:
        sized = say("It is a dot: that something is there can be seen, and no more.")
    lost = say("What is narrower than {size} on it is lost.", size=_size(left.detail_mm))
    return (sized, lost, *_haze_words(1 - left.transmission))


def _size(length_mm: float) -> Said:
    if length_mm < 95:
        return say("{length:.1f} mm", length=length_mm) if length_mm < 0.95 else say("{length:.0f} mm", length=length_mm)
    return say("{length:.0f} cm", length=length_mm / 10)


def _haze_words(lost: float) -> tuple[Said, ...]:
    if lost < 0.02:
        return ()
    if lost > 0.98:
        return (say("Haze leaves nothing to see."),)
    if lost > 0.58:
        return (say("Haze takes {n} tenths of the contrast.", n=min(9, round(lost * 10))),)
    part = min(_PARTS, key=lambda number: abs(1 / number - lost))
    return (say("Haze takes {part} of the contrast.", part=_PARTS[part]),)
