"""Sound files of every kind that the hall reads, to be damaged."""

from __future__ import annotations

import io
import json
import zipfile
from functools import cache
from io import BytesIO
from typing import Any

from PIL import ExifTags, Image, ImageCms

from tests import oneroster
from tests.acts.pictures import jpeg, made_up
from tests.catalogues.folders import CATALOGUE, ROW, SETS, table

WHOLE_ROW = {
    **ROW,
    "marks": "bill 0.1 0.1 0.2 0.2; legs 0 0 1 1",
    "dcterms:rights": "LicenseRef-used-with-permission",
    "typical": "no",
    "CreateDate": "2031-05-17",
    "subjectOrientation": "left",
    "frame": "0.1 0.1 0.8 0.8",
    "agreed": "group | public page",
    "grantedBy": "Ada Mudd",
    "grantedOn": "2031-01-02",
    "until": "2032-01-02",
    "alt": "One bird",
    "pose": "swimming",
    "distance": "near",
    "evidence": "a letter",
    "cluster": "a",
    "own column": "=1",
}
MORE = """
[[mappings]]
subjectTaxonConcept = "invented-list-2031/fictavis-limosa"
mappingRelation = "isCongruentWith"
objectTaxonConcept = "older-list/fictavis-limosa"
"""


@cache
def catalogue_files() -> dict[str, bytes]:
    """Return the files of a sound catalogue, by name."""
    rows = [WHOLE_ROW, {**ROW, "file": "b.jpg", "form": "greater"}]
    said = {"catalogue.toml": CATALOGUE.encode() + MORE.encode(), "pair-sets.toml": SETS.encode(), "pictures.csv": table(rows).encode()}
    return said | {"pictures/a.jpg": jpeg(1, times=2), "pictures/b.jpg": jpeg(2)}


def zipped(files: dict[str, bytes]) -> bytes:
    """Return files as a zip."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return out.getvalue()


@cache
def rosters() -> dict[str, bytes]:
    """Return lists of a class: pasted, as CSV, with columns of a family name, and as a bulk zip."""
    people = [oneroster.a_user("u-1", "Wenna", "Tresco"), oneroster.a_user("u-2", "Jory", "Pol")]
    rolls = [oneroster.enrolled("e-1", "u-1", beginDate="2031-01-01", endDate="2032-01-01"), oneroster.enrolled("e-2", "u-2")]
    return {
        "pasted": "Wenna T.\nJory\nMärta Ö.\n".encode(),
        "columns": b'given name;family name;code\n"Wenna";Tresco;a1\nJory;Pol;b2\n',
        "csv": b"\xef\xbb\xbfname,code\r\nWenna T.,a1\r\nJory P.,b2\r\n",
        "zip": oneroster.bulk_zip(people, rolls),
    }


@cache
def pictures() -> dict[str, bytes]:
    """Return small pictures in each format that the hall takes, with all that such a file may carry, and some that it refuses."""
    plain = Image.open(BytesIO(jpeg(5))).convert("RGB")
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Artist] = "Ada Mudd"
    exif[ExifTags.Base.Copyright] = "Ada Mudd\0Flats"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2031:05:04 07:30:00"
    about: dict[str, Any] = {"exif": exif, "icc_profile": ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()}
    with Image.open(BytesIO(made_up(6))) as told:
        about["xmp"] = told.info["xmp"]
    wide = Image.new("I;16", (240, 180), 40_000)
    return {
        "jpeg": _saved(plain, "JPEG", **about),
        "jpeg progressive": _saved(plain, "JPEG", progressive=True),
        "jpeg cmyk": _saved(plain.convert("CMYK"), "JPEG"),
        "jpeg grey": _saved(plain.convert("L"), "JPEG"),
        "png": _saved(plain, "PNG", exif=exif, icc_profile=about["icc_profile"]),
        "png palette": _saved(plain.quantize(16), "PNG", transparency=3),
        "png alpha": _saved(plain.convert("RGBA"), "PNG"),
        "png 16": _saved(wide, "PNG"),
        "webp": _saved(plain, "WEBP", **about),
        "webp lossless": _saved(plain.convert("RGBA"), "WEBP", lossless=True),
        "avif": _saved(plain, "AVIF"),
        "tiff": _saved(plain, "TIFF", compression="tiff_lzw", exif=exif),
        "tiff tiles": _saved(plain, "TIFF", compression="tiff_adobe_deflate"),
        "tiff lab": _saved(plain.convert("LAB"), "TIFF"),
        "gif": _saved(plain.quantize(32), "GIF"),
        "gif moving": _saved(plain.quantize(4), "GIF", save_all=True, append_images=[plain.quantize(3)]),
        "bmp": _saved(plain, "BMP"),
        "heic": b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(300),
    }


def _saved(image: Image.Image, kind: str, **how: Any) -> bytes:
    out = BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def batch() -> bytes:
    """Return a batch of answers as the player sends it."""
    one = {"id": "00000000-0000-4000-8000-000000000001", "showing": 1, "ask": 0, "said": "1", "sure": "certain", "seconds": 2.5}
    more = {"hint": False, "at": "2031-03-03T09:00:00+00:00", "phone_now": "2031-03-03T09:00:01+00:00"}
    return json.dumps({"queue": "x", "answers": [one | more, one | more | {"id": "b", "sure": None}]}).encode()


LOG = b'{"at": "2031-03-03T09:00:00.000+00:00", "level": "error", "event": "fault abc at learner.today: ValueError", "way": ""}\n' * 3
