"""Draws a text as a square code that a phone's camera reads (ISO/IEC 18004), row by row."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Final

import segno

QUIET: Final = 4
"""Light squares around it, which the standard asks for."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawn code: squares a side, the quiet ones included, and dark bars as (x, y, width), each one square high."""

    size: int
    bars: tuple[tuple[int, int, int], ...]


def draw(text: str) -> Drawn:
    """Return a text as a drawn code that is still read with a seventh of it lost (level M)."""
    rows = segno.make_qr(text, error="m").matrix
    bars = [(x + QUIET, y + QUIET, width) for y, row in enumerate(rows) for x, width in _runs(bytes(row))]
    return Drawn(len(rows) + 2 * QUIET, tuple(bars))


def _runs(row: bytes) -> list[tuple[int, int]]:
    found = []
    for is_dark, run in groupby(enumerate(row), key=lambda square: square[1]):
        places = [place for place, _ in run]
        if is_dark:
            found.append((places[0], len(places)))
    return found
