"""Reading uploads: every odd way of keeping a picture comes out right, every bad file gets a clear sentence."""

from __future__ import annotations

import struct
import zlib
from datetime import date
from io import BytesIO

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageOps

from drillhall.core.regions import Region
from drillhall.errors import BadPicture
from drillhall.pictures.reading import FORMATS, MOST_BYTES, read_picture
from tests.pictures.drawn import has_corners, is_near, noise, opened, saved, scene

ORIENTATION, GPS, EXIF_PART, TAKEN = 0x0112, 0x8825, 0x8769, 0x9003
# Pillow warns of EXIF it cannot read and goes on; outside of the tests that is what happens.
AS_IT_RUNS = pytest.mark.filterwarnings("ignore::UserWarning", "ignore::PIL.Image.DecompressionBombWarning")


def exif(orientation: int = 1, taken: str = "") -> Image.Exif:
    made = Image.Exif()
    made[ORIENTATION] = orientation
    if taken:
        made.get_ifd(EXIF_PART)[TAKEN] = taken
    return made


def refusal(source: bytes) -> str:
    with pytest.raises(BadPicture) as caught:
        read_picture(source)
    assert caught.value.field == "file"
    return caught.value.sentence


@pytest.mark.parametrize("kind", FORMATS)
def test_each_format_is_read_by_what_it_holds(kind: str) -> None:
    read = read_picture(saved(scene(), kind))
    assert has_corners(read.image)
    assert (read.image.mode, read.width_px, read.height_px) == ("RGB", 800, 600)
    assert read.media_type == f"image/{kind.lower()}"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "AVIF", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_each_orientation_is_set_upright(kind: str, orientation: int) -> None:
    # The inverse of each turn, written out: what the camera stored when it was held that way.
    stored = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}
    turned = scene() if orientation == 1 else scene().transpose(Image.Transpose(stored[orientation]))
    source = saved(turned, kind, exif=exif(orientation))
    read = read_picture(source)
    assert has_corners(read.image)
    assert (read.width_px, read.height_px) == (800, 600) == read.image.size
    # Pillow's own way of setting upright is the second opinion.
    assert ImageOps.exif_transpose(opened(source)).size == (800, 600)


def test_a_large_picture_comes_within_the_large_size_and_keeps_its_own_in_words() -> None:
    read = read_picture(saved(scene(3200, 2400), exif=exif(6)))
    assert (read.width_px, read.height_px) == (2400, 3200)
    assert read.image.size == (1200, 1600)


def test_the_day_it_was_taken_is_kept_without_the_hour() -> None:
    assert read_picture(saved(scene(), exif=exif(taken="2031:02:11 06:45:10"))).taken_on == date(2031, 2, 11)


@pytest.mark.parametrize("taken", ["", "0000:00:00 00:00:00", "yesterday", "2031:13:40 00:00:00"])
def test_a_day_that_is_none_is_left_out(taken: str) -> None:
    assert read_picture(saved(scene(), exif=exif(taken=taken))).taken_on is None


@AS_IT_RUNS
def test_exif_that_cannot_be_read_spoils_nothing() -> None:
    source = saved(scene(), exif=b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + b"\xff" * 40)
    assert has_corners(read_picture(source).image)


def test_sixteen_bits_of_grey_keep_their_range() -> None:
    grey = np.linspace(0, 65535, 400, dtype=np.uint16)
    source = saved(Image.fromarray(np.broadcast_to(grey, (300, 400)).copy()), "PNG")
    assert opened(source).mode.startswith("I")
    picture = read_picture(source).image
    assert is_near(picture.getpixel((200, 150)), (127,) * 3, 2)
    assert is_near(picture.getpixel((399, 150)), (255,) * 3, 2)


def test_sixteen_bits_a_colour_are_read() -> None:
    wide = np.asarray(scene(400, 300)).astype(">u2") * 257
    lines = b"".join(b"\0" + row.tobytes() for row in wide)
    assert has_corners(read_picture(png(400, 300, zlib.compress(lines), depth=16, colour=2)).image)


def test_cmyk_is_read_as_the_colours_it_stands_for() -> None:
    assert has_corners(read_picture(saved(scene().convert("CMYK"))).image)
    assert has_corners(read_picture(saved(scene().convert("CMYK"), "TIFF")).image)


@pytest.mark.parametrize("kind", ["PNG", "GIF", "TIFF"])
def test_a_palette_is_resolved(kind: str) -> None:
    assert has_corners(read_picture(saved(scene().quantize(64), kind)).image)


@pytest.mark.parametrize("mode", ["1", "L", "LA"])
def test_greys_stay_grey(mode: str) -> None:
    picture = read_picture(saved(scene().convert("L").convert(mode), "PNG")).image
    red, green, blue = picture.getpixel((700, 20))
    assert red == green == blue


def test_what_is_transparent_lies_on_the_grey_of_the_mat() -> None:
    clear = scene().convert("RGBA")
    clear.putalpha(0)
    assert is_near(read_picture(saved(clear, "PNG")).image.getpixel((100, 100)), (220, 220, 220), 1)
    spotted = scene().quantize(64)
    picture = read_picture(saved(spotted, "PNG", transparency=spotted.getpixel((10, 10)))).image
    assert is_near(picture.getpixel((100, 75)), (220, 220, 220), 1)


def test_colours_of_another_space_come_to_srgb() -> None:
    # A profile whose red and blue stand swapped turns the picture's red square blue: a swap no clipping could feign.
    swapped = swapped_profile()
    picture = read_picture(saved(scene(), "PNG", icc_profile=swapped)).image
    assert picture.getpixel((100, 75))[2] > 150 > picture.getpixel((100, 75))[0]
    assert "icc_profile" not in picture.info or picture.info["icc_profile"] != swapped


def swapped_profile() -> bytes:
    """Take the sRGB profile and swap the entries of its red and its blue primary in the table of tags (ICC.1, 7.3)."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    at = {bytes(profile[start : start + 4]): start for start in range(132, 132 + 12 * struct.unpack(">I", profile[128:132])[0], 12)}
    profile[at[b"rXYZ"] : at[b"rXYZ"] + 4], profile[at[b"bXYZ"] : at[b"bXYZ"] + 4] = b"bXYZ", b"rXYZ"
    profile[84:100] = bytes(16)  # the profile's own digest no longer holds; zero means that it is not given
    return bytes(profile)


@pytest.mark.parametrize("mode", ["RGB", "CMYK", "L"])
def test_a_broken_profile_counts_as_none(mode: str) -> None:
    picture = read_picture(saved(scene().convert(mode), icc_profile=b"not a profile")).image
    assert picture.mode == "RGB"


def test_a_profile_for_another_mode_counts_as_none() -> None:
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert read_picture(saved(scene().convert("L"), icc_profile=srgb)).image.mode == "RGB"


def test_a_phones_picture_with_frames_behind_it_is_the_first_of_them() -> None:
    source = saved(scene(), "MPO", save_all=True, append_images=[noise(200, 200)])
    assert opened(source).format == "MPO"
    read = read_picture(source)
    assert has_corners(read.image)
    assert read.media_type == "image/jpeg"


@pytest.mark.parametrize("kind", ["GIF", "PNG", "WEBP", "TIFF", "AVIF"])
def test_several_frames_or_pages_are_refused(kind: str) -> None:
    source = saved(scene(), kind, save_all=True, append_images=[noise(800, 600)])
    assert refusal(source).startswith("The file holds several frames or pages.")


def test_too_small_and_too_narrow_are_refused_with_their_size() -> None:
    assert refusal(saved(scene(199, 150))) == "The picture is too small: 199 × 150 pixels. Its longer side needs at least 200."
    assert refusal(saved(scene(900, 49))) == "The picture is too narrow: 900 × 49 pixels. Its shorter side needs at least 50."
    assert read_picture(saved(scene(200, 50))).image.size == (200, 50)


def test_too_many_bytes_are_refused_before_anything_is_read() -> None:
    assert refusal(saved(scene()) + bytes(MOST_BYTES)) == "The file is larger than 25 MB. Save it smaller, as JPEG for instance."
    assert refusal(b"").startswith("The file is empty")


def png(width: int, height: int, lines: bytes, *, depth: int = 8, colour: int = 2) -> bytes:
    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", lines) + chunk(b"IEND", b"")


@AS_IT_RUNS
@pytest.mark.parametrize(("width", "height"), [(9000, 7000), (10_000, 9_500), (30_000, 30_000), (60_000, 60_000)])
def test_too_many_pixels_are_refused_by_the_header_alone(width: int, height: int) -> None:
    # The lines are empty: whoever decoded would say that the file is damaged, or fall over.
    assert refusal(png(width, height, zlib.compress(b""))).startswith("The picture has more than 60 million pixels.")


@pytest.mark.parametrize("kind", FORMATS)
def test_truncated_is_refused(kind: str) -> None:
    source = saved(noise(400, 300), kind)
    assert refusal(source[: len(source) * 6 // 10]).startswith(("The file is damaged", "This file is no picture"))


@pytest.mark.parametrize(
    ("source", "told"),
    [
        (b"MZ" + bytes(4000), "This file is no picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "This file is no picture"),
        (b"%PDF-1.7\n" + bytes(4000), "This file is no picture"),
        (b"\xff\xd8\xff\xe0" + bytes(4000), "This file is no picture"),
        (b"\x89PNG\r\n\x1a\n" + bytes(4000), "This file is no picture"),
        (b"\0\0\0\x18ftypheic" + bytes(4000), "This file is no picture"),
    ],
)
def test_what_is_no_picture_is_refused_whatever_it_is_called(source: bytes, told: str) -> None:
    assert refusal(source).startswith(told)


def test_brightness_as_fractions_is_refused() -> None:
    image = Image.fromarray(np.zeros((300, 400), dtype=np.float32))
    assert refusal(saved(image, "TIFF")).startswith("The picture keeps its brightness as fractions")
    deep = Image.fromarray(np.full((300, 400), 70_000, dtype=np.int32))
    assert refusal(saved(deep, "TIFF")).startswith("The picture keeps more than 16 bits a colour")


SOURCES = {kind: saved(noise(240, 200), kind) for kind in FORMATS}


@AS_IT_RUNS
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(kind=st.sampled_from(FORMATS), places=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=30))
def test_bytes_changed_anywhere_give_a_picture_or_a_sentence(kind: str, places: list[tuple[float, int]]) -> None:
    source = bytearray(SOURCES[kind])
    for place, value in places:
        # Squared, since the headers stand in front.
        source[int(place**2 * (len(source) - 1))] = value
    try:
        read = read_picture(bytes(source))
    except BadPicture:
        return
    assert read.image.mode == "RGB"
    assert Image.open(BytesIO(saved(read.image))).size == read.image.size


@pytest.mark.parametrize("mode", ["RGBA", "LA", "I;16"])
def test_what_is_turned_in_strips_has_no_seams(mode: str) -> None:
    ramp = np.tile(np.linspace(0, 255, 2000, dtype=np.uint8)[:, None], (1, 300))  # strips end at 256, 512 …
    image = Image.fromarray(ramp.astype(np.uint16) << 8) if mode == "I;16" else Image.fromarray(ramp).convert("RGB").convert(mode)
    shown = np.asarray(read_picture(saved(image, "PNG")).image.convert("L")).astype(int)
    assert shown.shape == (1600, 240)
    assert np.diff(shown[:, 120]).max() <= 1
    assert np.ptp(shown, axis=1).max() <= 1


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_part_is_told_on_the_upright_picture(kind: str, orientation: int) -> None:
    stored = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}
    turned = scene() if orientation == 1 else scene().transpose(Image.Transpose(stored[orientation]))
    read = read_picture(saved(turned, kind, exif=exif(orientation)), part=Region(0.75, 0.5, 0.25, 0.5))
    assert (read.image.size, read.width_px, read.height_px) == ((200, 300), 800, 600)
    assert is_near(read.image.getpixel((100, 225)), (30, 30, 200), 25)  # the blue square is the lower half of this part
    assert is_near(read.image.getpixel((100, 75)), (113, 113, 113), 25)


def test_a_part_of_a_large_picture_keeps_its_pixels() -> None:
    source = saved(scene(4000, 3000))
    assert read_picture(source, part=Region(0.0, 0.0, 0.25, 0.25)).image.size == (1000, 750)
    assert read_picture(source).image.size == (1600, 1200)
