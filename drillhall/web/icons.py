"""Draws the hall's icon as a PNG from the rectangles of its SVG: the midline and the two ladders, in paper and ink."""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Final

from drillhall.web import assets

UNITS: Final = 64
"""The side of the drawing."""

_RECTANGLE: Final = re.compile(r"M(\d+) (\d+)h(\d+)v(\d+)")
_FILL: Final = re.compile(r'fill="#([0-9a-f]{6})"')


@dataclass(frozen=True, slots=True)
class Icon:
    """One icon: its side in pixels, and how many of them a unit of the drawing takes; what the drawing leaves is paper.

    A system that cuts icons to its own shape leaves the middle: a circle as wide as 4 fifths of the side.
    """

    side_px: int
    unit_px: int
    purpose: str


ICONS: Final = {
    "icon-192": Icon(192, 3, "any"),
    "icon-512": Icon(512, 8, "any"),
    "icon-cut-512": Icon(512, 5, "maskable"),
}


@cache
def draw(icon: Icon) -> bytes:
    """Return the icon as a PNG of two colours.

    Source: W3C, Portable Network Graphics (Third Edition), sections 5 (chunks), 9 (filter 0) and 11.2 (IHDR, PLTE, IDAT, IEND).
    """
    told = assets.read("icon.svg")
    paper, ink = (bytes.fromhex(colour) for colour in list(dict.fromkeys(_FILL.findall(told)))[:2])
    rows = _rows(icon, [tuple(map(int, found)) for found in _RECTANGLE.findall(told)])
    lines = b"".join(b"\0" + bytes(row) for row in rows)
    head = struct.pack(">IIBBBBB", icon.side_px, icon.side_px, 8, 3, 0, 0, 0)
    parts = ((b"IHDR", head), (b"PLTE", paper + ink), (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, content) for name, content in parts)


def _rows(icon: Icon, rectangles: Iterable[tuple[int, ...]]) -> list[bytearray]:
    """Return the colour of every pixel, row by row: 0 for paper, 1 for ink."""
    edge = (icon.side_px - UNITS * icon.unit_px) // 2
    rows = [bytearray(icon.side_px) for _ in range(icon.side_px)]
    for x, y, width, height in rectangles:
        left, right = (edge + icon.unit_px * unit for unit in (x, x + width))
        for row in rows[edge + icon.unit_px * y : edge + icon.unit_px * (y + height)]:
            row[left:right] = b"\1" * (right - left)
    return rows


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
