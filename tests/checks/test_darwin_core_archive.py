"""An export of somebody's pictures, read by others: the archive by python-dwca-reader, its terms by the standards' own definitions.

Sources: python-dwca-reader 0.17.1 (BSD-3-Clause), which follows the Darwin Core text guide; the definitions of Occurrence (2022-02-02)
and of Audiovisual Core's Multimedia (2020-10-06) as dwca-writer 0.2.0 (MIT) carries them. Regions of interest and dwc:taxonFormula are
younger than these copies and are named one by one below (from the lists of terms of 2026-02-24 and 2026-05-26). The schema
tdwg_dwc_text.xsd comes with no package, so the order of elements is asked of the text guide's section 2, from memory.
"""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
from importlib.metadata import distribution
from pathlib import Path
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from dwca.read import DwCAReader
from PIL import Image

from drillhall.pictures.archive import EXTENSIONS, OCCURRENCES, iri_of, meta_xml
from tests.acts.pictures import jpeg
from tests.cli.halls import HER, make_hall, run, write_pictures
from tests.hashing import light_hashing

DWC, AC = "http://rs.tdwg.org/dwc/terms/", "http://rs.tdwg.org/ac/terms/"
TEXT = "{http://rs.tdwg.org/dwc/text/}"
LINES = "linesTerminatedBy"
YOUNGER = {
    f"{DWC}taxonFormula",
    *(f"{AC}{name}" for name in ("isROIOf", "xFrac", "yFrac", "widthFrac", "heightFrac")),
}
ROW = {"dc:creator": "Ada Mudd", "dcterms:rights": "CC-BY-4.0", "photoshop:Credit": "Ada Mudd / Flats Club", "xmp:CreateDate": "2021-05-04"}

WORN = {**ROW, "plumage": "worn"}


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A zip of her three pictures: one form, one of two, and one of which nothing is said."""
    with light_hashing():
        place = tmp_path_factory.mktemp("archive")
        data = make_hall(place)
    rows = [
        {
            "file": "b.jpg",
            "form": "lesser",
            "marks": "bill 0.1 0.2 0.3 0.4; subject 0 0 1 1",
            "ac:subjectOrientation": "left",
            "plumage": "worn",
            **ROW,
        },
        {"file": "c.jpg", "form": "lesser | greater", "taxonFormula": "A or B", **ROW, "dcterms:title": '=1+1, "or" so\nand so'},
        {"file": "d.jpg"},
    ]
    mine = write_pictures(place / "mine", {f"{name}.jpg": jpeg(seed) for seed, name in enumerate("bcd", 2)}, rows)
    told = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert told.exit_code == 0, told.stderr
    told = run("pictures", "export", place / "out.zip", "--for", HER, "--data", data, "--with-originals")
    assert (told.exit_code, told.stderr) == (0, "")
    return place / "out.zip"


def test_the_archive_is_read_and_its_tables_joined(archive: Path) -> None:
    with DwCAReader(str(archive)) as read:
        assert read.descriptor.core.type == f"{DWC}Occurrence"
        rows = list(read)
        assert [row.data[f"{DWC}scientificName"] for row in rows] == ["Fictavis limosa", "", ""]
        one, two, three = rows
        assert one.data[f"{DWC}nameAccordingTo"] == "Invented List 2031"
        assert (one.data[f"{DWC}lifeStage"], one.data[f"{DWC}occurrenceRemarks"]) == ("adult", "plumage: worn")
        assert (two.data[f"{DWC}taxonFormula"], two.data[f"{DWC}verbatimIdentification"]) == ("A or B", "Lesser Oozer or Greater Oozer")
        assert three.data[f"{DWC}taxonFormula"] == ""
        kinds = [sorted(extension.rowtype.removeprefix(AC) for extension in row.extensions) for row in rows]
        assert kinds[0] == ["Multimedia", "RegionOfInterest", "RegionOfInterest", "ServiceAccessPoint", "ServiceAccessPoint"]
        assert kinds[2] == ["Multimedia", "ServiceAccessPoint", "ServiceAccessPoint"]


def test_full_credit_and_rights_are_in_it(archive: Path) -> None:
    with DwCAReader(str(archive)) as read:
        media = [next(one.data for one in row.extensions if one.rowtype == f"{AC}Multimedia") for row in read]
    assert media[0]["http://purl.org/dc/elements/1.1/creator"] == "Ada Mudd"
    assert media[0]["http://purl.org/dc/terms/rights"] == "https://creativecommons.org/licenses/by/4.0/"
    assert media[0]["http://ns.adobe.com/photoshop/1.0/Credit"] == "Ada Mudd / Flats Club"
    assert media[0][f"{AC}subjectOrientation"] == "http://rs.tdwg.org/acorient/values/r0005"
    assert media[1]["http://purl.org/dc/terms/title"] == '\'=1+1, "or" so and so'  # no formula, one line
    for one in media:  # the three things that Audiovisual Core requires of every item
        assert one["http://purl.org/dc/elements/1.1/type"] == "StillImage"
        assert one[f"{AC}metadataLanguageLiteral"] == "eng"
        assert one["http://purl.org/dc/elements/1.1/rights"]


def test_every_access_point_is_in_the_archive_with_its_hash_and_size(archive: Path) -> None:
    with DwCAReader(str(archive)) as read, zipfile.ZipFile(archive) as packed:
        points = [one.data for row in read for one in row.extensions if one.rowtype == f"{AC}ServiceAccessPoint"]
        for point in points:
            content = packed.read(f"pictures-of-one/{point[f'{AC}accessURI']}")
            assert (point[f"{AC}hashFunction"], point[f"{AC}hashValue"]) == ("SHA-256", hashlib.sha256(content).hexdigest())
            size = tuple(int(point[f"http://ns.adobe.com/exif/1.0/Pixel{axis}Dimension"]) for axis in "XY")
            assert Image.open(io.BytesIO(content)).size == size
    assert len(points) == 6


def test_regions_lie_on_the_picture(archive: Path) -> None:
    with DwCAReader(str(archive)) as read:
        regions = [one.data for row in read for one in row.extensions if one.rowtype == f"{AC}RegionOfInterest"]
    assert sorted(tuple(float(region[f"{AC}{name}"]) for name in ("xFrac", "yFrac", "widthFrac", "heightFrac")) for region in regions) == [
        (0.0, 0.0, 1.0, 1.0),
        (0.1, 0.2, 0.3, 0.4),
    ]


def defined(name: str) -> set[str]:
    """Return the terms that a definition of the standards lists."""
    # Read as a file: to import the package would need what it does not say that it needs.
    text = Path(str(distribution("dwca-writer").locate_file(f"dwcawriter/{name}"))).read_text(encoding="utf-8")
    return {one.get("qualName") or "" for one in fromstring(text).iter() if one.get("qualName")}


def test_every_term_is_one_of_the_standards() -> None:
    known = defined("data/core/dwc_occurrence_2022-02-02.xml") | defined("data/extension/ac/audubon_2020_10_06.xml")
    named = {iri_of(term) for table in (OCCURRENCES, *EXTENSIONS) for term in table.columns}
    assert named - known == YOUNGER
    assert len(named & known) > 30


def test_meta_xml_keeps_the_order_of_the_text_guide() -> None:
    archive: Element = fromstring(meta_xml())
    assert archive.tag == f"{TEXT}archive"
    assert [part.tag for part in archive] == [f"{TEXT}core", *[f"{TEXT}extension"] * 3]
    for part in archive:
        tags = [child.tag.removeprefix(TEXT) for child in part]
        assert tags[:2] == ["files", "id" if part.tag == f"{TEXT}core" else "coreid"]
        assert set(tags[2:]) == {"field"}
        assert set(part.attrib) == {
            "encoding",
            "fieldsTerminatedBy",
            "linesTerminatedBy",
            "fieldsEnclosedBy",
            "ignoreHeaderLines",
            "rowType",
        }


def test_every_row_has_a_cell_for_every_column(archive: Path) -> None:
    with zipfile.ZipFile(archive) as packed:
        for table in (OCCURRENCES, *EXTENSIONS):
            header, *rows = csv.reader(io.StringIO(packed.read(f"pictures-of-one/{table.file}").decode(), newline=""))
            assert rows
            assert {len(row) for row in rows} == {len(header)}
