"""Colours as three levels from 0 to 255, and how they are mixed."""

from __future__ import annotations

Colour = tuple[int, int, int]


def rgb(text: str) -> Colour:
    """Return the colour written as #rrggbb."""
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def blend(a: Colour, b: Colour, share: float) -> Colour:
    """Return the colour a share of the way from a to b."""
    return (
        round(a[0] + (b[0] - a[0]) * share),
        round(a[1] + (b[1] - a[1]) * share),
        round(a[2] + (b[2] - a[2]) * share),
    )


def lighter(colour: Colour, factor: float) -> Colour:
    """Return the colour made lighter (factor above 1) or darker (below 1)."""
    return (
        min(255, round(colour[0] * factor)),
        min(255, round(colour[1] * factor)),
        min(255, round(colour[2] * factor)),
    )
