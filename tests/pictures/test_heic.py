"""HEIC pictures: read by an extra under the bounds of all others, refused in a sentence without it.

They are made by pillow-heif with x265, and judged by its own decoder beside ours; the boxes are those of ISO/IEC 14496-12 and 23008-12.
"""

from __future__ import annotations

import struct
import sys
from datetime import date
from io import BytesIO

import numpy as np
import pillow_heif
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from drillhall.errors import BadPicture
from drillhall.pictures.ingest import take
from drillhall.pictures.reading import list_readable, read_picture
from tests.pictures.drawn import has_corners, noise, scene
from tests.pictures.test_reading import exif, refusal, swapped_profile


def heic(image: Image.Image, **how: object) -> bytes:
    out = BytesIO()
    pillow_heif.from_pillow(image).save(out, quality=90, **how)
    return out.getvalue()


def placed() -> Image.Exif:
    """EXIF as a phone writes it, with the day, the camera and the place."""
    made = exif(taken="2031:02:11 06:45:10")
    made[0x010F] = "Mudphone"
    made.get_ifd(0x8825)[2] = (52.0, 7.0, 30.0)
    return made


SOURCE = heic(scene(), exif=placed().tobytes())


def test_a_heic_picture_is_read_as_its_makers_own_decoder_reads_it() -> None:
    read = read_picture(SOURCE)
    assert (read.image.mode, read.width_px, read.height_px, read.media_type) == ("RGB", 800, 600, "image/heic")
    assert read.taken_on == date(2031, 2, 11)
    theirs = np.asarray(pillow_heif.read_heif(SOURCE).to_pillow().convert("RGB")).astype(int)
    assert np.abs(np.asarray(read.image).astype(int) - theirs).max() <= 2


@pytest.mark.parametrize("orientation", range(1, 9))
def test_each_orientation_is_set_upright(orientation: int) -> None:
    # The inverse of each turn; the maker writes the turn as the boxes irot and imir, which alone count (ISO/IEC 23008-12, 6.5.10).
    stored = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}
    turned = scene() if orientation == 1 else scene().transpose(Image.Transpose(stored[orientation]))
    read = read_picture(heic(turned, exif=exif(orientation).tobytes()))
    assert has_corners(read.image)
    assert (read.width_px, read.height_px) == (800, 600) == read.image.size


def test_what_is_made_of_it_tells_neither_place_nor_camera() -> None:
    assert b"Mudphone" in SOURCE
    taken = take(SOURCE)
    assert {size.name for size in taken.sizes} >= {"large", "small"}
    for size in taken.sizes:
        assert b"Mudphone" not in size.content
        assert Image.open(BytesIO(size.content)).getexif().get_ifd(0x8825) == {}
    assert taken.original is not None
    assert (taken.original.media_type, taken.original.content) == ("image/heic", SOURCE)


def test_colours_of_another_space_come_to_srgb() -> None:
    coloured = scene()
    coloured.info["icc_profile"] = swapped_profile()
    picture = read_picture(heic(coloured)).image
    assert picture.getpixel((100, 75))[2] > 150 > picture.getpixel((100, 75))[0]


def boxes(source: bytes, kind: bytes) -> list[int]:
    """Return where each box of a kind begins to say what it has to."""
    found, at = [], source.find(kind)
    while at >= 0:
        found.append(at + 8)
        at = source.find(kind, at + 4)
    return found


@pytest.mark.parametrize(
    ("size", "told"),
    [
        ((9_000, 7_000), "The picture has more than 60 million pixels."),
        ((60_000, 60_000), "The picture has more than 60 million pixels."),
        ((199, 100), "The picture is too small"),
        ((400, 300), "The file is damaged"),  # so that a large picture cannot call itself a small one
    ],
)
def test_sizes_are_judged_before_anything_is_decoded_and_held_to_afterwards(size: tuple[int, int], told: str) -> None:
    source = bytearray(SOURCE)
    for place in boxes(SOURCE, b"ispe"):
        source[place : place + 8] = struct.pack(">II", *size)
    assert boxes(SOURCE, b"ispe")
    assert refusal(bytes(source)).startswith(told)


def test_several_pictures_in_one_file_are_refused() -> None:
    both = pillow_heif.from_pillow(scene())
    both.add_from_pillow(scene(300, 200))
    out = BytesIO()
    both.save(out)
    assert refusal(out.getvalue()).startswith("The file holds several frames or pages.")


def test_truncated_is_refused() -> None:
    assert refusal(SOURCE[: len(SOURCE) * 6 // 10]).startswith(("The file is damaged", "This file is no picture"))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(places=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=30))
def test_bytes_changed_anywhere_give_a_picture_or_a_sentence(places: list[tuple[float, int]]) -> None:
    source = bytearray(SMALL)
    for place, value in places:
        source[int(place**2 * (len(source) - 1))] = value
    try:
        read = read_picture(bytes(source))
    except BadPicture:
        return
    assert read.image.mode == "RGB"


SMALL = heic(noise(240, 200))


def test_without_the_extra_it_is_refused_with_the_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    assert list_readable()[-1] == "image/heic"
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    assert list_readable() == ("image/jpeg", "image/png", "image/webp", "image/avif", "image/tiff", "image/gif")
    assert refusal(SOURCE) == "This is a HEIC picture, which the hall cannot read. Save it as JPEG and add that."
