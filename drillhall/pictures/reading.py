"""Turns the bytes of an upload into one upright sRGB picture, judged by what they decode to and never by a name."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass, field
from datetime import date
from importlib.util import find_spec
from io import BytesIO
from typing import Final

from PIL import ExifTags, Image, ImageCms, UnidentifiedImageError

from drillhall.core.regions import WHOLE, Rectangle, Region, in_pixels
from drillhall.errors import BadPicture
from drillhall.pictures.found import found_day, read_found
from drillhall.words import say

MOST_BYTES: Final = 25_000_000
MOST_PIXELS: Final = 60_000_000
LEAST_LONG_SIDE_PX: Final = 200
LEAST_SHORT_SIDE_PX: Final = 50
LARGE_PX: Final = 1600
"""The long side of the largest picture that is made."""

FORMATS: Final = ("JPEG", "PNG", "WEBP", "AVIF", "TIFF", "GIF")
HEIC: Final = "HEIF"
"""What Pillow calls a HEIC picture, once an extra has taught it to read one (ISO/IEC 23008-12)."""
MEDIA_TYPES: Final = {"MPO": "image/jpeg", HEIC: "image/heic", **{name: f"image/{name.lower()}" for name in FORMATS}}
_HEVC_BRANDS: Final = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs")
"""Brands of files whose pictures are coded by HEVC (ISO/IEC 23008-12, annex B; those of layered pictures from memory)."""
STRIP_PX: Final = 256
"""Rows that are turned at a time where a picture keeps its pixels in a way that must be turned first."""
NEUTRAL_GREY: Final = 220
"""What stands behind a transparent picture: the grey of the mat that pictures lie on."""

_PLAIN: Final = ("L", "RGB", "CMYK", "LAB")
"""Ways of keeping pixels that are shrunk as they are."""
_TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""EXIF orientation (tag 0x0112, CIPA DC-008) to the turn that sets the picture upright."""

# What Pillow's decoders raise on bytes that are not what they claim; anything else is a mistake of ours and goes on.
_BROKEN: Final = (
    *(OSError, EOFError, SyntaxError, struct.error, zlib.error),
    *(ValueError, TypeError, LookupError, ArithmeticError, MemoryError, RuntimeError),
)


@dataclass(frozen=True, slots=True)
class ReadPicture:
    """One decoded picture: RGB in sRGB, upright, its long side at most LARGE_PX; its size before that; what its file says of itself."""

    image: Image.Image
    width_px: int
    height_px: int
    media_type: str
    found: dict[str, str] = field(default_factory=dict)

    @property
    def taken_on(self) -> date | None:
        """The day on which the file says it was taken."""
        return found_day(self.found)


def read_picture(source: bytes, *, part: Rectangle = WHOLE) -> ReadPicture:
    """Decode an upload, or a part of it, or raise BadPicture with a sentence that says what is wrong and how to mend it.

    `part` is told on the upright picture; only what is decoded of it is shrunk to LARGE_PX. Sizes are those of the whole.
    """
    if not source:
        raise _bad(say("The file is empty. Choose the picture again."))
    if len(source) > MOST_BYTES:
        raise _bad(say("The file is larger than {most} MB. Save it smaller, as JPEG for instance.", most=MOST_BYTES // 1_000_000))
    image = _open(source)
    _check_shape(image)
    media_type = MEDIA_TYPES[image.format or ""]
    full_width, full_height = image.size
    _decode(image, max(part.width, part.height))
    if image.format in ("TIFF", HEIC):  # these are turned upright while they are decoded
        full_width, full_height = image.size
    try:
        orientation, found = _orientation(image), read_found(image)
        profile = image.info.get("icc_profile")
        picture = _shrink(_cut(image, part, orientation))
        picture = picture.transpose(_TURNS[orientation]) if orientation in _TURNS else picture
        picture = _to_srgb(picture, profile)
    except _BROKEN as error:
        raise _unreadable() from error
    if orientation >= 5:
        full_width, full_height = full_height, full_width
    return ReadPicture(picture, full_width, full_height, media_type, found)


def _bad(sentence: str) -> BadPicture:
    return BadPicture(sentence, field="file")


def _unreadable() -> BadPicture:
    return _bad(say("The file is damaged: not all of the picture can be read. Copy it again from the camera, or save it anew as JPEG."))


def _open(source: bytes) -> Image.Image:
    formats: tuple[str, ...] = FORMATS
    if _is_heic(source):
        if not reads_heic():
            raise _bad(say("This is a HEIC picture, which the hall cannot read. Save it as JPEG and add that."))
        formats = (HEIC,)
    try:
        return Image.open(BytesIO(source), formats=formats)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels() from None
    except UnidentifiedImageError:
        raise _bad(say("This file is no picture that the hall can read. It takes JPEG, PNG, WebP, AVIF, TIFF and still GIF.")) from None
    except _BROKEN as error:
        raise _unreadable() from error


def _is_heic(source: bytes) -> bool:
    # AVIF shares the general brands mif1 and msf1, and then names itself among those it is compatible with.
    brand = source[8:12] if source[4:8] == b"ftyp" else b""
    return brand in _HEVC_BRANDS or (brand in (b"mif1", b"msf1") and b"avif" not in source[:64])


def reads_heic() -> bool:
    """Have Pillow taught to read HEIC, and return whether that could be; not before it is asked, since most halls see none."""
    try:
        from pi_heif import register_heif_opener  # an extra
    except ImportError:
        return False
    register_heif_opener(thumbnails=False, depth_images=False, aux_images=False, decode_threads=1)
    return True


def list_readable() -> tuple[str, ...]:
    """Return the media types of the files that can be read here, in order; HEIC is the last, where its extra is there."""
    heic = ("image/heic",) if find_spec("pi_heif") else ()
    return (*(MEDIA_TYPES[name] for name in FORMATS), *heic)


def _too_many_pixels() -> BadPicture:
    return _bad(say("The picture has more than {most} million pixels. Save it smaller and add it again.", most=MOST_PIXELS // 1_000_000))


def _check_shape(image: Image.Image) -> None:
    """Judge by the header alone, before anything is decoded."""
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise _too_many_pixels()
    if max(width, height) < LEAST_LONG_SIDE_PX:
        raise _bad(
            say(
                "The picture is too small: {width} × {height} pixels. Its longer side needs at least {least}.",
                width=width,
                height=height,
                least=LEAST_LONG_SIDE_PX,
            )
        )
    if min(width, height) < LEAST_SHORT_SIDE_PX:
        raise _bad(
            say(
                "The picture is too narrow: {width} × {height} pixels. Its shorter side needs at least {least}.",
                width=width,
                height=height,
                least=LEAST_SHORT_SIDE_PX,
            )
        )
    try:
        # A phone's JPEG may carry further frames behind the picture (format MPO); the first one is what was taken.
        moves = image.format != "MPO" and getattr(image, "is_animated", False)
    except _BROKEN as error:
        raise _unreadable() from error
    if moves:
        raise _bad(say("The file holds several frames or pages. Save the one frame that you mean as a picture of its own."))


def _decode(image: Image.Image, share: float) -> None:
    """Decode the picture such that a share of its longer side still has LARGE_PX, if it ever had."""
    scale = min(1.0, LARGE_PX / (share * max(image.size)))
    try:
        # JPEG alone: decodes at half or a quarter of the size where that still is large enough.
        image.draft(None, (max(1, int(image.width * scale)), max(1, int(image.height * scale))))
        image.load()
    except _BROKEN as error:
        raise _unreadable() from error


def _orientation(image: Image.Image) -> int:
    """Return how the picture is to be turned; EXIF that cannot be read says nothing and spoils nothing."""
    try:
        orientation = image.getexif().get(ExifTags.Base.Orientation, 1)
    except _BROKEN:
        return 1
    return orientation if orientation in _TURNS else 1


def _cut(image: Image.Image, part: Rectangle, orientation: int) -> Image.Image:
    """Return a part that is told on the upright picture, out of the picture as it is stored."""
    if part == WHOLE:
        return image
    x, y, width, height = part.x, part.y, part.width, part.height
    right, below = 1 - x - width, 1 - y - height
    stored = {2: (right, y), 3: (right, below), 4: (x, below), 5: (y, x), 6: (y, right), 7: (below, right), 8: (below, x)}
    x, y = stored.get(orientation, (x, y))
    width, height = (height, width) if orientation >= 5 else (width, height)
    left, top, wide, high = in_pixels(Region(x, y, width, height), *image.size)
    return image.crop((left, top, left + wide, top + high))


def _eight_bits(image: Image.Image) -> Image.Image:
    """Bring any way of keeping pixels to one of L, LA, RGB, RGBA, CMYK or LAB, eight bits each."""
    if image.mode == "F":
        raise _bad(say("The picture keeps its brightness as fractions. Save it with 8 or 16 bits a colour."))
    if image.mode == "I" or image.mode.startswith("I;16"):
        wide = image.convert("I")
        low, high = wide.getextrema()
        if not (isinstance(low, int) and isinstance(high, int)) or low < 0 or high > 0xFFFF:
            raise _bad(say("The picture keeps more than 16 bits a colour. Save it with 8 or 16."))
        return wide.point([value >> 8 for value in range(0x10000)], "L")
    if image.mode in ("1", *_PLAIN, "LA", "RGBA"):
        plain = "L" if image.mode == "1" else image.mode
        return image.convert("RGBA") if _is_see_through(image) else image if plain == image.mode else image.convert(plain)
    return image.convert("RGBA" if image.has_transparency_data else "RGB")


def _is_see_through(image: Image.Image) -> bool:
    return image.info.get("transparency") is not None and image.mode in ("1", "L", "RGB")


def _shrink(image: Image.Image) -> Image.Image:
    """Return the picture within LARGE_PX, opaque, in one of L, RGB, CMYK or LAB."""
    if image.mode in _PLAIN and not _is_see_through(image):
        image.thumbnail((LARGE_PX, LARGE_PX), Image.Resampling.LANCZOS, reducing_gap=3.0)
        return image
    scale = min(1.0, LARGE_PX / max(image.size))
    wide, high = (max(1, round(side * scale)) for side in image.size)
    return _narrow(image, wide).resize((wide, high), Image.Resampling.LANCZOS)


def _narrow(image: Image.Image, width_px: int) -> Image.Image:
    """Return the picture in its full height and in that width, opaque, eight bits a colour.

    It is worked off in strips: turned as a whole, a picture of 60 million pixels would be in memory twice or three times over.
    """
    narrow: Image.Image | None = None
    for top in range(0, image.height, STRIP_PX):
        bottom = min(top + STRIP_PX, image.height)
        strip = _flatten(_eight_bits(image.crop((0, top, image.width, bottom))))
        strip = strip.resize((width_px, bottom - top), Image.Resampling.LANCZOS)
        narrow = narrow or Image.new(strip.mode, (width_px, image.height))
        narrow.paste(strip, (0, top))
    if narrow is None:
        raise ValueError("a picture has at least one row")
    return narrow


def _flatten(image: Image.Image) -> Image.Image:
    """Lay a transparent picture on the neutral grey of the mat."""
    if image.mode not in ("LA", "RGBA"):
        return image
    opaque = "L" if image.mode == "LA" else "RGB"
    ground = Image.new(opaque, image.size, (NEUTRAL_GREY,) * len(opaque))
    ground.paste(image.convert(opaque), mask=image.getchannel("A"))
    return ground


def _to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Bring colours to sRGB by the picture's own profile; without one, or with a broken one, they count as sRGB."""
    if image.mode != "LAB" and not profile:
        return image.convert("RGB")
    try:
        own = ImageCms.ImageCmsProfile(BytesIO(profile) if profile else ImageCms.createProfile("LAB"))
        turned = ImageCms.profileToProfile(image, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError):
        return image.convert("RGB")
    return turned if turned is not None else image.convert("RGB")
