"""What a camera, an editor and an agency write into a file never leaves the hall: an independent reader (Exiv2) reads every byte served.

The keys that must stand in a served file, and no others: IPTC Photo Metadata Standard 2025.1 (creator, copyright notice, credit
line, usage terms, web statement, data mining), XMP rights management (ISO 16684-2) and ccREL (cc:license).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import pyexiv2
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from sqlalchemy import select

from drillhall.core.licences import LICENCES
from drillhall.pictures.ingest import ORIGINAL
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from tests.cast import LEARNER
from tests.pictures.drawn import noise, saved, scene
from tests.visits import Hall, Visitor, open_hall

SECRET = "Sedgewallop"
"""Begins every word that must stay; each ends in where it stood."""

EXIF = {
    "Exif.Image.ImageDescription": f"{SECRET} description",
    "Exif.Image.Artist": f"{SECRET} artist",
    "Exif.Image.HostComputer": f"{SECRET} computer",
    "Exif.Image.Model": f"{SECRET} camera",
    "Exif.Image.XPTitle": " ".join(str(byte) for byte in f"{SECRET} xp title".encode("utf-16-le")),
    "Exif.Image.XPComment": " ".join(str(byte) for byte in f"{SECRET} xp comment".encode("utf-16-le")),
    "Exif.Image.XPKeywords": " ".join(str(byte) for byte in f"{SECRET} xp keywords".encode("utf-16-le")),
    "Exif.Image.XPSubject": " ".join(str(byte) for byte in f"{SECRET} xp subject".encode("utf-16-le")),
    "Exif.Photo.UserComment": f"charset=Ascii {SECRET} comment",
    "Exif.Photo.MakerNote": " ".join(str(byte) for byte in f"{SECRET} maker note".encode()),
    "Exif.Photo.CameraOwnerName": f"{SECRET} owner",
    "Exif.Photo.BodySerialNumber": f"{SECRET} body",
    "Exif.Photo.LensSerialNumber": f"{SECRET} lens",
    "Exif.Photo.ImageUniqueID": f"{SECRET} id",
    "Exif.Photo.DateTimeOriginal": "2031:02:11 06:45:10",
    "Exif.GPSInfo.GPSLatitudeRef": "N",
    "Exif.GPSInfo.GPSLatitude": "51/1 30/1 0/1",
    "Exif.GPSInfo.GPSLongitudeRef": "W",
    "Exif.GPSInfo.GPSLongitude": "2/1 15/1 0/1",
    "Exif.GPSInfo.GPSAreaInformation": f"charset=Ascii {SECRET} area",
}
IPTC = {
    "Iptc.Application2.ObjectName": f"{SECRET} title",
    "Iptc.Application2.Keywords": [f"{SECRET} keyword", "dunlin"],
    "Iptc.Application2.City": f"{SECRET} city",
    "Iptc.Application2.Caption": f"{SECRET} caption",
    "Iptc.Application2.Headline": f"{SECRET} headline",
}
XMP = {
    "Xmp.dc.title": f"{SECRET} xmp title",
    "Xmp.dc.description": f"{SECRET} xmp description",
    "Xmp.dc.subject": [f"{SECRET} xmp subject"],
    "Xmp.photoshop.Headline": f"{SECRET} xmp headline",
    "Xmp.photoshop.City": f"{SECRET} xmp city",
    "Xmp.exif.GPSLatitude": "51,30.0N",
    "Xmp.exif.GPSAreaInformation": f"{SECRET} xmp area",
    "Xmp.iptcExt.LocationCreated": f"{SECRET} created",
    "Xmp.iptc.Location": f"{SECRET} sublocation",
    "Xmp.iptc.AltTextAccessibility": f"{SECRET} alternative",
}
RIGHTS_KEYS = {
    "Xmp.dc.creator",
    "Xmp.dc.rights",
    "Xmp.photoshop.Credit",
    "Xmp.xmpRights.UsageTerms",
    "Xmp.xmpRights.WebStatement",
    "Xmp.xmpRights.Marked",
    "Xmp.cc.license",
}


@dataclass(frozen=True)
class Told:
    """A file with secrets in it, in one format."""

    name: str
    content: bytes


def as_jpeg() -> bytes:
    with pyexiv2.ImageData(saved(scene(900, 600), "JPEG", quality=90, comment=f"{SECRET} comment segment".encode())) as image:
        image.modify_exif(EXIF)
        image.modify_iptc(IPTC)
        image.modify_xmp(XMP)
        image.modify_thumbnail(saved(noise(64, 48), "JPEG", comment=f"{SECRET} thumbnail".encode()))
        return bytes(image.get_bytes())


def as_png() -> bytes:
    text = PngInfo()
    text.add_text("Title", f"{SECRET} png title")
    text.add_itxt("Description", f"{SECRET} png description", zip=False)
    with pyexiv2.ImageData(saved(scene(900, 600), "PNG", pnginfo=text)) as image:
        image.modify_exif({key: value for key, value in EXIF.items() if "MakerNote" not in key})
        image.modify_xmp(XMP)
        return bytes(image.get_bytes())


def as_webp() -> bytes:
    with pyexiv2.ImageData(saved(scene(900, 600), "WEBP", quality=90)) as image:
        image.modify_exif(EXIF)
        image.modify_xmp(XMP)
        return bytes(image.get_bytes())


FILES = (Told("walk.jpg", as_jpeg()), Told("walk.png", as_png()), Told("walk.webp", as_webp()))


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    return open_hall(sqlite_store, tmp_path)


def send(visitor: Visitor, told: Told) -> None:
    fields = {"undisturbed": "yes", "file": (BytesIO(told.content), told.name)}
    assert visitor.post("/my-pictures/send", fields, content_type="multipart/form-data").status_code == 200


def addresses(hall: Hall, *, with_original: bool = False) -> Iterator[tuple[str, str]]:
    with hall.store.look() as db:
        query = select(PictureRow.public_id, FileRow.recipe, FileRow.size_name).join(FileRow, FileRow.picture_id == PictureRow.id)
        for public_id, recipe, size in db.execute(query):
            if with_original or size != ORIGINAL:
                yield size, f"/pictures/{public_id}/{recipe}"


def rights_page(hall: Hall) -> str:
    with hall.store.look() as db:
        return f"/my-pictures/{db.scalars(select(PictureRow.public_id)).one()}/rights"


def check_silent(content: bytes) -> dict[str, object]:
    """Check that nothing but rights stands in a served file, and return its packet as Exiv2 reads it."""
    for coding in ("utf-8", "utf-16-le", "utf-16-be"):
        assert SECRET.encode(coding) not in content
    with pyexiv2.ImageData(content) as read:
        assert read.read_exif() == {}
        assert read.read_iptc() == {}
        assert read.read_comment() == ""
        assert read.read_thumbnail() == b""
        assert read.read_icc() == b""
        packet: dict[str, object] = read.read_xmp()
    opened = Image.open(BytesIO(content))
    assert set(opened.info) <= {"loop", "background", "timestamp", "duration", "xmp"}
    return packet


@pytest.mark.parametrize("told", FILES, ids=lambda told: told.name)
def test_the_secrets_are_in_the_file_that_is_sent(told: Told) -> None:
    assert told.content.count(SECRET.encode()) > 10
    with pyexiv2.ImageData(told.content) as read:
        assert "Exif.GPSInfo.GPSLatitude" in read.read_exif()
        assert "Xmp.dc.title" in read.read_xmp()


@pytest.mark.parametrize("told", FILES, ids=lambda told: told.name)
def test_no_served_file_tells_anything_but_rights(hall: Hall, told: Told) -> None:
    learner = hall.enter(LEARNER)
    send(learner, told)
    before = [check_silent(learner.get(address).data) for _, address in addresses(hall)]
    assert len(before) == 2
    assert all(set(packet) <= RIGHTS_KEYS for packet in before)
    typed = {"licence": "CC-BY-NC-SA-4.0", "creator": "Ada Mudd", "credit": "Ada Mudd / Flats Club", "understood": "yes"}
    typed |= {"title": f"{SECRET} title of hers", "source": f"https://club.example/{SECRET}"}
    assert learner.post(rights_page(hall), typed).status_code == 303
    frame = {"left": "10", "top": "10", "width": "80", "height": "80"}
    assert learner.post(rights_page(hall).replace("rights", "frame"), frame).status_code == 303
    served = list(addresses(hall))
    assert {"large", "small", "cut-large", "cut-small"} == {size for size, _ in served}
    for _, address in served:
        packet = check_silent(learner.get(address).data)
        assert set(packet) == RIGHTS_KEYS
        assert packet["Xmp.dc.creator"] == ["Ada Mudd"]
        assert packet["Xmp.dc.rights"] == {'lang="x-default"': "© Ada Mudd"}
        assert packet["Xmp.photoshop.Credit"] == "Ada Mudd / Flats Club"
        assert packet["Xmp.cc.license"] == LICENCES["CC-BY-NC-SA-4.0"].url


def test_what_the_owner_says_of_data_mining_stands_in_every_file(hall: Hall) -> None:
    learner = hall.enter(LEARNER)
    send(learner, FILES[0])
    typed = {"licence": "CC-BY-4.0", "creator": "Ada Mudd", "credit": "Ada Mudd", "understood": "yes"}
    learner.post(rights_page(hall), typed | {"data_mining": "DMI-PROHIBITED-SEECONSTRAINT"})
    for _, address in addresses(hall):
        packet = check_silent(learner.get(address).data)
        assert set(packet) == RIGHTS_KEYS | {"Xmp.plus.DataMining"}
        assert packet["Xmp.plus.DataMining"] == "http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED-SEECONSTRAINT"


def test_the_file_as_it_came_is_kept_whole_and_sent_to_nobody(hall: Hall) -> None:
    learner = hall.enter(LEARNER)
    send(learner, FILES[0])
    sizes = dict(addresses(hall, with_original=True))
    answer = learner.get(sizes[ORIGINAL])
    assert answer.status_code == 404
    assert SECRET not in answer.text
    with hall.store.look() as db:
        key = db.scalars(select(FileRow.storage_key).where(FileRow.size_name == ORIGINAL)).one()
    assert FolderStorage(hall.folder / "pictures").get(key) == FILES[0].content
