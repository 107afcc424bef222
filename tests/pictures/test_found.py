"""What a file says of itself, in files written by pyexiv2, which shares no code with what reads them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pyexiv2
import pytest
from PIL import Image

from drillhall.core.licences import LICENCES
from drillhall.errors import BadPicture
from drillhall.pictures.found import FIELDS, MOST_SIGNS, differences_in, found_day, read_found, refuse_generated
from drillhall.pictures.ingest import take
from drillhall.words import joined
from tests.pictures.drawn import noise, saved, scene

SOURCE_TYPES = "http://cv.iptc.org/newscodes/digitalsourcetype/"
BY_NC = "https://creativecommons.org/licenses/by-nc/4.0/"
pyexiv2.registerNs("http://creativecommons.org/ns#", "cc")


def written(folder: Path, *, exif: Any = None, iptc: Any = None, xmp: Any = None, kind: str = "JPEG") -> Path:
    """Let pyexiv2 write blocks into a picture file."""
    file = folder / f"picture.{kind.lower()}"
    file.write_bytes(saved(scene(240, 180), kind))
    with pyexiv2.Image(str(file)) as picture:
        if exif:
            picture.modify_exif(exif)
        if iptc:
            picture.modify_iptc(iptc)
        if xmp:
            picture.modify_xmp(xmp)
    return file


def found_in(file: Path) -> dict[str, str]:
    with Image.open(file) as image:
        return read_found(image)


def test_all_that_xmp_says_of_rights_is_found(tmp_path: Path) -> None:
    xmp = {
        "Xmp.dc.creator": ["Wren Saltmarsh", "Ada Mudd"],
        "Xmp.dc.rights": {'lang="x-default"': "© 2031 Wren Saltmarsh", 'lang="de"': "anders"},
        "Xmp.photoshop.Credit": "Wren Saltmarsh / Flats Club",
        "Xmp.xmpRights.UsageTerms": {'lang="x-default"': "Ask first, please"},
        "Xmp.xmpRights.WebStatement": BY_NC,
        "Xmp.xmpRights.Owner": ["The Flats Club"],
        "Xmp.photoshop.DateCreated": "2031-02-11T06:45:10+01:00",
        "Xmp.plus.DataMining": "http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED",
        "Xmp.iptcExt.DigitalSourceType": f"{SOURCE_TYPES}digitalCapture",
    }
    assert found_in(written(tmp_path, xmp=xmp)) == {
        "creator": "Wren Saltmarsh; Ada Mudd",
        "copyright": "© 2031 Wren Saltmarsh",
        "credit": "Wren Saltmarsh / Flats Club",
        "usage_terms": "Ask first, please",
        "rights_page": BY_NC,
        "rights_owner": "The Flats Club",
        "taken_on": "2031-02-11",
        "data_mining": "http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED",
        "source_type": f"{SOURCE_TYPES}digitalCapture",
        "licence": "CC-BY-NC-4.0",
    }


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_it_is_found_in_every_kind_of_file(tmp_path: Path, kind: str) -> None:
    found = found_in(written(tmp_path, kind=kind, xmp={"Xmp.dc.creator": ["Ada Mudd"]}, exif={"Exif.Image.Copyright": "© Ada Mudd"}))
    assert (found["creator"], found["copyright"]) == ("Ada Mudd", "© Ada Mudd")


def test_iptc_and_exif_are_read_and_the_day_loses_its_time(tmp_path: Path) -> None:
    iptc = {"Iptc.Application2.Byline": ["Émile Vase"], "Iptc.Application2.Credit": "Flats Club", "Iptc.Application2.Copyright": "© É. V."}
    found = found_in(written(tmp_path, iptc=iptc, exif={"Exif.Photo.DateTimeOriginal": "2031:02:11 06:45:10"}))
    assert found == {"creator": "Émile Vase", "credit": "Flats Club", "copyright": "© É. V.", "taken_on": "2031-02-11"}
    assert str(found_day(found)) == "2031-02-11"


def test_where_the_blocks_disagree_xmp_counts_first_and_it_is_told(tmp_path: Path) -> None:
    file = written(
        tmp_path,
        xmp={"Xmp.dc.creator": ["Ada Mudd"]},
        iptc={"Iptc.Application2.Byline": ["ada  mudd"]},
        exif={"Exif.Image.Artist": "Bo Reed", "Exif.Image.Copyright": "Bo Reed"},
    )
    found = found_in(file)
    assert (found["creator"], found["copyright"]) == ("Ada Mudd", "Bo Reed")
    assert differences_in(found) == (
        "The file does not agree with itself on who made it: “Ada Mudd” in XMP, “ada mudd” in IPTC, “Bo Reed” in EXIF."
    )


def test_iptc_counts_before_exif_and_agreement_is_not_told(tmp_path: Path) -> None:
    iptc, exif = {"Iptc.Application2.Byline": ["Bo Reed"]}, {"Exif.Image.Artist": "BO REED"}
    found = found_in(written(tmp_path, iptc=iptc, exif=exif))
    assert found == {"creator": "Bo Reed"}


@pytest.mark.parametrize(
    ("where", "words", "licence"),
    [
        ("Exif.Image.Copyright", "CC BY-SA 2.0", "CC-BY-SA-2.0"),
        ("Exif.Image.Copyright", f"© Ada, see <{BY_NC}>.", "CC-BY-NC-4.0"),
        ("Xmp.xmpRights.UsageTerms", "CC0", "CC0-1.0"),
        ("Xmp.cc.license", "http://creativecommons.org/licenses/by/3.0/de/", "CC-BY-3.0-DE"),
        ("Exif.Image.Copyright", "free for all good people, by-nc or so", ""),
        ("Exif.Image.Copyright", "CC BY 9.0", ""),
        ("Xmp.xmpRights.WebStatement", "https://licences.example/mine", ""),
    ],
)
def test_a_licence_is_read_where_it_is_named_and_never_guessed(tmp_path: Path, where: str, words: str, licence: str) -> None:
    xmp = {where: {'lang="x-default"': words} if "Usage" in where else words}
    found = found_in(written(tmp_path, xmp=xmp) if where.startswith("Xmp") else written(tmp_path, exif={where: words}))
    assert found.get("licence", "") == licence
    assert words in found.values()


def test_two_licences_in_one_file_are_told_and_neither_is_offered(tmp_path: Path) -> None:
    found = found_in(written(tmp_path, xmp={"Xmp.xmpRights.WebStatement": BY_NC}, exif={"Exif.Image.Copyright": "CC BY 4.0"}))
    assert "licence" not in found
    assert "more than one licence (CC-BY-NC-4.0, CC-BY-4.0)" in differences_in(found)
    assert "mehr als eine Lizenz (CC-BY-NC-4.0, CC-BY-4.0)" in joined("", [differences_in(found)]).told("de")


def test_differences_that_were_kept_as_sentences_are_told_as_they_are() -> None:
    assert (differences_in({"differs": "Kept of old."}), differences_in({"creator": "Ada Mudd"})) == ("Kept of old.", "")


def test_what_gives_the_answer_or_the_place_away_is_never_found(tmp_path: Path) -> None:
    leaks = {"Xmp.dc.title": {'lang="x-default"': "Young stint"}, "Xmp.dc.subject": ["stint"], "Xmp.photoshop.City": "Kelpwick"}
    exif = {"Exif.Image.ImageDescription": "stint", "Exif.GPSInfo.GPSLatitude": "54/1 1/1 2/1", "Exif.Photo.UserComment": "stint"}
    assert found_in(written(tmp_path, xmp=leaks, exif=exif)) == {}


@pytest.mark.parametrize(
    "packet",
    [
        b"<x:xmpmeta",
        b"\xff\xfe\x00",
        b'<!DOCTYPE x [<!ENTITY a "aaaa">]><x:xmpmeta xmlns:x="adobe:ns:meta/">&a;</x:xmpmeta>',
        b"<a>" * 3000 + b"</a>" * 3000,
        b'<x:xmpmeta xmlns:x="adobe:ns:meta/"/>',
        b'<x:xmpmeta xmlns:x="adobe:ns:meta/">words</x:xmpmeta>',
    ],
)
def test_a_broken_packet_says_nothing_and_spoils_nothing(packet: bytes) -> None:
    assert take(saved(scene(240, 180), xmp=packet)).found == {}


def test_words_that_are_no_words_are_left_aside(tmp_path: Path) -> None:
    exif = {"Exif.Image.Artist": "x" * (MOST_SIGNS + 1), "Exif.Image.Copyright": "  ", "Exif.Photo.DateTimeOriginal": "0000:00:00 00:00:00"}
    assert found_in(written(tmp_path, exif=exif)) == {}
    assert read_found(noise(9, 9)) == {}


@pytest.mark.parametrize("kind", ["trainedAlgorithmicMedia", "compositeWithTrainedAlgorithmicMedia"])
def test_what_a_program_made_up_is_refused_as_a_photograph(tmp_path: Path, kind: str) -> None:
    found = found_in(written(tmp_path, xmp={"Xmp.iptcExt.DigitalSourceType": SOURCE_TYPES + kind}))
    with pytest.raises(BadPicture, match="a program generated it"):
        refuse_generated(found)
    refuse_generated(found, medium="Diagram")


def test_what_a_camera_took_or_nobody_said_is_not_refused() -> None:
    for found in ({}, {"source_type": f"{SOURCE_TYPES}digitalCapture"}, {"source_type": f"{SOURCE_TYPES}minorHumanEdits"}):
        refuse_generated(found)


def test_every_field_has_words_and_every_licence_offered_is_known(tmp_path: Path) -> None:
    assert all(len(words.split()) >= 2 for words in FIELDS.values())
    found = found_in(written(tmp_path, xmp={"Xmp.xmpRights.WebStatement": BY_NC}))
    assert found["licence"] in LICENCES
