"""The camera path on real photographs: scikit-learn's two and those that scikit-image's wheel carries.

They are copied at test time and stand nowhere in this repository. Makers, licences and sources are read from what ships beside
the photographs (scikit-learn: datasets/images/README.txt; scikit-image: the text of each function in skimage.data).
The measure of likeness is scikit-image's structural_similarity (Wang, Bovik, Sheikh and Simoncelli 2004, doi 10.1109/TIP.2003.819861).
"""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
import pyexiv2
import pytest
import skimage.data
import sklearn.datasets
from numpy.typing import NDArray
from PIL import Image
from skimage.metrics import structural_similarity
from sqlalchemy import select

from drillhall.core.licences import CC0, read_licence
from drillhall.core.rights import Rights, credit_line, maker_line, short_credit
from drillhall.errors import BadPicture
from drillhall.pictures.ingest import Taken, add_picture, take
from drillhall.pictures.renditions import SMALL_MOST_BYTES, with_rights
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import accept, add_catalogue
from tests.visits import open_hall

SKLEARN = Path(sklearn.datasets.__file__).parent / "images"
SKIMAGE = Path(skimage.data.__file__).parent
PUBLIC_ID = "3f0c2b5e-6a1d-4c53-9d5e-2f7a8b9c0d1e"
Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Photograph:
    """A photograph copied at test time, with the rights that its package states."""

    file: Path
    rights: Rights

    @property
    def source(self) -> bytes:
        return self.file.read_bytes()


def of_sklearn(name: str, folder: Path) -> Photograph:
    readme = (SKLEARN / "README.txt").read_text()
    told = next(part for part in readme.split("Image: ") if part.startswith(name))
    links = dict(re.findall(r"^\[(\d)\] (\S+)$", told, re.MULTILINE))
    found = re.search(r"^Attribution: (.+ by (\S+)) \[2\]$", told, re.MULTILINE)
    assert found
    rights = Rights(creator=found[2], licence=read_licence(links["1"]), credit=found[1], source=links["3"])
    return Photograph(Path(shutil.copy(SKLEARN / name, folder)), rights)


def of_skimage(name: str, load: Callable[[], Pixels], folder: Path) -> Photograph:
    found = re.search(r"CC0 by the photographer \((.+?)\)", load.__doc__ or "")
    assert found
    return Photograph(Path(shutil.copy(SKIMAGE / name, folder)), Rights(found[1], CC0, found[1]))


NAMES = ("china.jpg", "flower.jpg", "chelsea.png", "coffee.png")


@pytest.fixture(params=NAMES)
def photograph(request: pytest.FixtureRequest, tmp_path: Path) -> Photograph:
    folder = tmp_path / "camera"
    folder.mkdir()
    if request.param.endswith(".jpg"):
        return of_sklearn(request.param, folder)
    return of_skimage(request.param, getattr(skimage.data, request.param.removesuffix(".png")), folder)


def pixels(content: bytes) -> Pixels:
    return np.asarray(Image.open(BytesIO(content)).convert("RGB"))


def likeness(one: Pixels, other: Pixels) -> float:
    return float(structural_similarity(one, other, channel_axis=2))


def sizes_of(taken: Taken) -> dict[str, bytes]:
    return {size.name: size.content for size in taken.sizes}


def test_what_is_served_looks_like_what_was_taken(photograph: Photograph) -> None:
    before, after = pixels(photograph.source), pixels(sizes_of(take(photograph.source))["large"])
    assert after.shape == before.shape
    # Measured: .92 to .97 over the four, and .51 at most for a picture turned over.
    assert likeness(before, after) > 0.9
    assert likeness(before, after[::-1]) < 0.6
    assert np.abs(before.mean((0, 1)) - after.mean((0, 1))).max() < 2


def as_a_phone_would(photograph: Photograph) -> bytes:
    """The photograph at a phone's size, held on its side, with the place, the hour and the phone written into it."""
    image = Image.open(BytesIO(photograph.source)).convert("RGB")
    scale = 4000 / max(image.size)
    image = image.resize((round(image.width * scale), round(image.height * scale)), Image.Resampling.BICUBIC)
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x0110] = "A phone"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    exif.get_ifd(0x8769)[0x9003] = "2031:02:11 06:45:10"
    out = BytesIO()
    image.transpose(Image.Transpose.ROTATE_90).save(out, "JPEG", quality=90, exif=exif, comment=b"seen at the sluice")
    return out.getvalue()


def test_a_phones_copy_comes_upright_in_two_sizes_without_place_or_phone(photograph: Photograph) -> None:
    source = as_a_phone_would(photograph)
    taken = take(source)
    assert max(taken.width_px, taken.height_px) == 4000
    assert [max(size.width_px, size.height_px) for size in taken.sizes] == [1600, 640]
    for size in taken.sizes:
        wanted = Image.open(BytesIO(photograph.source)).convert("RGB").resize((size.width_px, size.height_px), Image.Resampling.BICUBIC)
        assert likeness(np.asarray(wanted), pixels(size.content)) > 0.85
        with pyexiv2.ImageData(with_rights(size, photograph.rights).content) as read:
            assert read.read_exif() == {}
            assert read.read_xmp()["Xmp.dc.creator"] == [photograph.rights.creator]
            assert read.read_xmp()["Xmp.cc.license"] == photograph.rights.licence.url
            assert not read.read_comment()
    assert len(sizes_of(taken)["small"]) < SMALL_MOST_BYTES
    with pyexiv2.ImageData(source) as read:
        assert "Exif.GPSInfo.GPSLatitude" in read.read_exif()


def test_the_licence_and_the_credit_are_those_that_ship_beside_the_photograph(photograph: Photograph) -> None:
    licence = photograph.rights.licence
    assert licence is not None
    assert licence.name == ("CC BY 2.0" if photograph.file.suffix == ".jpg" else "CC0 1.0")
    line = credit_line(photograph.rights, "Photograph")
    assert all(part in line for part in (photograph.rights.creator, photograph.rights.credit, photograph.rights.source, licence.url))
    assert short_credit(photograph.rights) == f"Photograph: {photograph.rights.creator}, {licence.name}"


def test_a_photograph_is_shown_with_its_credit_and_served(photograph: Photograph, sqlite_store: Store, tmp_path: Path) -> None:
    hall = open_hall(sqlite_store, tmp_path)
    visitor, owner = hall.enter(LEARNER), 1
    with sqlite_store.work() as db:
        shown = add_picture(
            db,
            hall.app.extensions["drillhall.storage"],
            take(photograph.source),
            public_id=PUBLIC_ID,
            owner_id=owner,
            form_id=None,
            rights=photograph.rights,
            at=hall.clock(),
        )
        accept(db, add_catalogue(db), shown)
        recipe = db.scalars(select(FileRow.recipe).join(PictureRow).where(FileRow.size_name == "large")).one()
    page = html.unescape(visitor.get("/my-pictures").text)
    assert maker_line(photograph.rights, "Photograph") in page
    assert photograph.rights.licence
    assert f'href="{photograph.rights.licence.url}"' in page
    sent = hall.enter(STRANGER).get(f"/pictures/{PUBLIC_ID}/{recipe}")
    assert likeness(pixels(sent.data), pixels(photograph.source)) > 0.88


def test_the_four_are_no_near_duplicates_and_a_phones_copy_of_each_is_one(tmp_path: Path) -> None:
    photographs = [of_sklearn(name, tmp_path) for name in NAMES[:2]]
    photographs += [of_skimage(f"{name}.png", getattr(skimage.data, name), tmp_path) for name in ("chelsea", "coffee")]
    marks = [take(one.source).fingerprint & (2**64 - 1) for one in photographs]
    copies = [take(as_a_phone_would(one)).fingerprint & (2**64 - 1) for one in photographs]
    apart = np.array([[(mark ^ copy).bit_count() for copy in copies] for mark in marks])
    assert apart.diagonal().max() <= 4
    assert apart[~np.eye(4, dtype=bool)].min() >= 16


def test_every_picture_file_of_the_wheel_gives_a_likeness_or_a_sentence() -> None:
    taken, refused = {}, {}
    for file in sorted(path for path in SKIMAGE.iterdir() if path.suffix in (".png", ".jpg", ".gif", ".tif")):
        try:
            taken[file.name] = take(file.read_bytes())
        except BadPicture as error:
            refused[file.name] = error.sentence
    assert len(taken) >= 20
    assert all(sentence.endswith(".") for sentence in refused.values())
    for name, one in taken.items():
        image = Image.open(BytesIO((SKIMAGE / name).read_bytes()))
        if "icc_profile" in image.info:
            continue  # its numbers stand for other colours than ours, so they must differ
        ground = Image.new("RGBA", image.size, (220, 220, 220, 255))
        before = np.asarray(Image.alpha_composite(ground, image.convert("RGBA")).convert("RGB"))
        assert likeness(before, pixels(sizes_of(one)["large"])) > 0.8, name
