"""Rectangles on a picture: what makes one valid, how it lies in a cut, and how open standards write it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from drillhall.core.terms import AC_PART_IDS, AC_PART_IRI, ac_part
from drillhall.errors import Invalid
from drillhall.words import say

PLACES: Final = 6
"""Decimals of an exported fraction: it leads back to the same pixel on any picture below 500,000 pixels a side."""

LEAST_SIDE: Final = 0.001
"""The least side of a region, as a share of the picture's: a thinner one could be neither seen nor hit."""

ROI_COLUMNS: Final = (
    "dcterms:identifier",
    "ac:isROIOf",
    "ac:xFrac",
    "ac:yFrac",
    "ac:widthFrac",
    "ac:heightFrac",
    "dcterms:description",
    "ac:subjectPart",
)
"""The columns of a table of regions, as Audiovisual Core's own recipe lays it out."""

ANNOTATION_CONTEXT: Final = "http://www.w3.org/ns/anno.jsonld"
MEDIA_FRAGMENTS: Final = "http://www.w3.org/TR/media-frags/"
_ROUNDING: Final = 1e-9


class Rectangle(Protocol):
    """Anything that lies on a picture as a rectangle, in fractions of its width and height."""

    @property
    def x(self) -> float:
        """Where its left edge lies."""

    @property
    def y(self) -> float:
        """Where its upper edge lies."""

    @property
    def width(self) -> float:
        """How wide it is."""

    @property
    def height(self) -> float:
        """How high it is."""


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle on an upright picture: its upper left corner and its sides, in fractions of the picture's width and height."""

    x: float
    y: float
    width: float
    height: float


WHOLE: Final = Region(0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class NamedRegion:
    """A region to be exported: `name` tells it from the picture's others, `words` say what it shows, `part` is one of our parts."""

    name: str
    words: str
    part: str
    region: Region


def check_region(x: float, y: float, width: float, height: float, *, field: str = "region") -> Region:
    """Return a rectangle as a region, or raise Invalid where it does not lie on the picture.

    Parameters
    ----------
    x, y, width, height : fractions of the upright picture. A sum beyond 1 by less than a billionth counts as rounding.
    field : what the sentence belongs to in a form.

    Source: Audiovisual Core, list of terms 2026-02-24, ac:xFrac to ac:heightFrac: corner within 0 to 1, each sum above 0 and at most
    1, no side of zero.

    >>> check_region(0.25, 0.5, 0.75, 0.25)
    Region(x=0.25, y=0.5, width=0.75, height=0.25)
    """
    sides = (x, y, width, height)
    if not all(abs(side) < 1e6 for side in sides):  # also refuses what is no number at all
        raise Invalid(say("A region is given by four numbers: left, top, width and height."), field=field)
    if width < LEAST_SIDE or height < LEAST_SIDE:
        raise Invalid(say("The region has no size. Draw it over what you mean, or type a width and a height."), field=field)
    if x < 0 or y < 0 or x + width > 1 + _ROUNDING or y + height > 1 + _ROUNDING:
        raise Invalid(
            say("The region reaches beyond the picture. Left and width together, and top and height, make 100 percent at most."),
            field=field,
        )
    return Region(x, y, min(width, 1 - x), min(height, 1 - y))


def in_cut(region: Rectangle, frame: Rectangle) -> Region | None:
    """Return a region of the whole picture as it lies on the cut to a frame: what sticks out is clipped; None where nothing is left.

    >>> in_cut(Region(0.5, 0.5, 0.25, 0.25), Region(0.5, 0.25, 0.5, 0.5))
    Region(x=0.0, y=0.5, width=0.5, height=0.5)
    """
    shown = clipped(region, frame)
    if shown is None:
        return None
    x, y = (shown.x - frame.x) / frame.width, (shown.y - frame.y) / frame.height
    return Region(x, y, min(shown.width / frame.width, 1 - x), min(shown.height / frame.height, 1 - y))


def clipped(region: Rectangle, frame: Rectangle) -> Region | None:
    """Return the part of a region that lies within a frame, both on the whole picture; None where that is nothing to speak of."""
    left, top = max(region.x, frame.x), max(region.y, frame.y)
    width = min(region.x + region.width, frame.x + frame.width) - left
    height = min(region.y + region.height, frame.y + frame.height) - top
    if width < LEAST_SIDE * frame.width or height < LEAST_SIDE * frame.height:
        return None
    return Region(left, top, width, height)


def in_pixels(region: Rectangle, width_px: int, height_px: int) -> tuple[int, int, int, int]:
    """Return a region as left, top, width and height in whole pixels of a picture of that size: at least one pixel, never beyond it.

    >>> in_pixels(Region(0.2575, 0.218369, 0.1125, 0.089972), 1600, 1067)
    (412, 233, 180, 96)
    """
    left, top = min(round(region.x * width_px), width_px - 1), min(round(region.y * height_px), height_px - 1)
    width = max(1, min(round(region.width * width_px), width_px - left))
    height = max(1, min(round(region.height * height_px), height_px - top))
    return left, top, width, height


def roi_rows(media: str, regions: Sequence[NamedRegion]) -> tuple[tuple[str, ...], ...]:
    """Return a picture's regions as rows of Audiovisual Core, in the order of ROI_COLUMNS; `media` is the picture's identifier."""
    return tuple(
        (
            f"{media}#{one.name}",
            media,
            *_fractions(one.region),
            one.words,
            AC_PART_IRI + AC_PART_IDS[ac_part(one.part)],
        )
        for one in regions
    )


def _fractions(region: Region) -> tuple[str, ...]:
    """Return a region's four numbers in words such that, read back, they still lie on the picture."""
    unit = 10**PLACES
    x, y = min(round(region.x * unit), unit - 1), min(round(region.y * unit), unit - 1)
    width = max(1, min(round(region.width * unit), unit - x))
    height = max(1, min(round(region.height * unit), unit - y))
    return tuple(f"{number / unit:.{PLACES}f}" for number in (x, y, width, height))


def annotation(media: str, one: NamedRegion, *, width_px: int, height_px: int, language: str, media_type: str) -> dict[str, Any]:
    """Return a region as a W3C Web Annotation: an object to be written as JSON-LD.

    The region is told in pixels of the upright picture at that size, since Media Fragments knows no decimals and a percent is coarse.

    Source: Web Annotation Data Model, W3C Recommendation 2017-02-23; Media Fragments URI 1.0, section 4.2.2.
    """
    across = ",".join(str(number) for number in in_pixels(one.region, width_px, height_px))
    return {
        "@context": ANNOTATION_CONTEXT,
        "id": f"{media}#{one.name}",
        "type": "Annotation",
        "motivation": "describing",
        "body": [{"type": "TextualBody", "value": one.words, "format": "text/plain", "language": language, "purpose": "describing"}],
        "target": {
            "source": {"id": media, "type": "Image", "format": media_type},
            "selector": [{"type": "FragmentSelector", "conformsTo": MEDIA_FRAGMENTS, "value": f"xywh=pixel:{across}"}],
        },
    }


def annotation_page(identifier: str, items: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return annotations as one page that holds them in order.

    Source: Web Annotation Data Model, W3C Recommendation 2017-02-23, section 5.2.
    """
    plain = [{key: value for key, value in item.items() if key != "@context"} for item in items]
    return {"@context": ANNOTATION_CONTEXT, "id": identifier, "type": "AnnotationPage", "startIndex": 0, "items": plain}
