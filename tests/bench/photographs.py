"""Makes pictures that cost a decoder and an encoder what photographs cost, once, and keeps them in the system's temporary folder."""

from __future__ import annotations

import os
import struct
import tempfile
import zlib
from io import BytesIO
from pathlib import Path
from typing import Final

import numpy as np
from PIL import Image

WIDTH_PX: Final = 4000
HEIGHT_PX: Final = 3000
QUALITY: Final = 90
DIFFERENT: Final = 10
"""Scenes that are drawn; the further photographs are these with another comment, other bytes that cost as much."""
_OCTAVES: Final = (1000, 500, 250, 125, 60, 30, 15, 8, 4, 2)
_VERSION: Final = 1
_KEPT_IN: Final = Path(tempfile.gettempdir())
"""The system's folder, also once a run of the bench has one of its own."""


def folder() -> Path:
    """Return where the pictures are kept from one run to the next."""
    kept = _KEPT_IN / f"drillhall-bench-{os.getuid()}-{_VERSION}"
    kept.mkdir(mode=0o700, exist_ok=True)
    return kept


def photographs(count: int, *, width_px: int = WIDTH_PX, height_px: int = HEIGHT_PX) -> list[Path]:
    """Return so many JPEGs, no two with the same bytes."""
    return [_photograph(number, width_px, height_px) for number in range(count)]


def picture(kind: str, *, width_px: int, height_px: int) -> Path:
    """Return one picture of a kind that is dear to decode: "RGB", "RGBA", "P", "I;16" or "LA" as PNG, "CMYK" as JPEG."""
    path = folder() / f"{kind.replace(';', '')}-{width_px}x{height_px}.{'jpg' if kind == 'CMYK' else 'png'}"
    if not path.exists():
        row = np.tile(np.linspace(0, 255, width_px, dtype=np.uint8), (height_px, 1))
        plain = Image.fromarray(row)
        if kind == "I;16":
            made = Image.fromarray(row.astype(np.uint16) * 256)
        elif kind == "P":
            made = plain.convert("P")
            made.info["transparency"] = 7
        else:
            made = plain.convert("RGB").convert(kind)
        out = BytesIO()
        made.save(out, "JPEG" if kind == "CMYK" else "PNG", **({"quality": 85} if kind == "CMYK" else {"compress_level": 1}))
        _keep(path, out.getvalue())
    return path


def bomb(width_px: int = 20_000, height_px: int = 10_000) -> Path:
    """Return a small PNG that would really decode to so many pixels. Source: W3C PNG, third edition, section 11.2."""
    path = folder() / f"bomb-{width_px}x{height_px}.png"
    if not path.exists():
        packer, row = zlib.compressobj(9), bytes(width_px + 1)
        packed = b"".join(packer.compress(row) for _ in range(height_px)) + packer.flush()
        header = struct.pack(">2I5B", width_px, height_px, 8, 0, 0, 0, 0)
        chunks = ((b"IHDR", header), (b"IDAT", packed), (b"IEND", b""))
        _keep(path, b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, content) for name, content in chunks))
    return path


def _photograph(number: int, width_px: int, height_px: int) -> Path:
    path = folder() / f"photograph-{width_px}x{height_px}-{number:03}.jpg"
    if path.exists():
        return path
    if number >= DIFFERENT:
        scene = _photograph(number % DIFFERENT, width_px, height_px).read_bytes()
        comment = f"photograph {number}".encode()
        # After the start of the image any segment may stand. Source: ITU-T T.81, annex B.
        _keep(path, scene[:2] + b"\xff\xfe" + struct.pack(">H", len(comment) + 2) + comment + scene[2:])
        return path
    out = BytesIO()
    _scene(number, width_px, height_px).save(out, "JPEG", quality=QUALITY)
    _keep(path, out.getvalue())
    return path


def _scene(seed: int, width_px: int, height_px: int) -> Image.Image:
    """Return light that falls off, patches of every size, the finer the fainter, and the grain of a sensor."""
    dice = np.random.default_rng(seed)
    light = np.linspace(0.25, 0.75, height_px, dtype=np.float32)[:, None, None] * np.ones((1, width_px, 3), np.float32)
    for octave in _OCTAVES:
        rough = dice.normal(0, 1, (height_px // octave + 2, width_px // octave + 2)).astype(np.float32)
        patches = np.asarray(Image.fromarray(rough).resize((width_px, height_px), Image.Resampling.BICUBIC))
        light += 0.12 * (octave / 1000) ** 0.45 * patches[:, :, None] * dice.uniform(0.7, 1.0, 3).astype(np.float32)
    light += dice.normal(0, 0.008, (height_px, width_px, 1)).astype(np.float32)
    return Image.fromarray((light.clip(0, 1) * 255).astype(np.uint8))


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def _keep(path: Path, content: bytes) -> None:
    beside = path.with_suffix(f".{os.getpid()}.unfinished")
    beside.write_bytes(content)
    beside.replace(path)
