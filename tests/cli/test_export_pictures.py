"""`drillhall pictures export`: what leaves, what stays, and that it can all be added again."""

from __future__ import annotations

import csv
import re
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from PIL.ExifTags import GPS, IFD
from sqlalchemy import select

from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow, RightsRow
from tests import cast
from tests.acts.pictures import jpeg
from tests.cli.halls import AT, HER, hers, opened, run, write_pictures

APART = {"id", "public_id", "owner_id", "picture_id", "made_at", "described_at"}
PERMITTED = {"dcterms:rights": "LicenseRef-used-with-permission", "grantedBy": "Ada Mudd", "grantedOn": "2021-01-02"}
OPEN = {"dc:creator": "Ada Mudd", "photoshop:Credit": "Ada Mudd", "dcterms:rights": "CC-BY-SA-2.0"}


def said_of(data: Path, name: str) -> list[dict[str, Any]]:
    """Return everything that is said of somebody's pictures, by file."""
    told = []
    with opened(data) as db:
        for picture in hers(db, name):
            rows = (picture, db.get_one(RightsRow, picture.id))
            said = {column.name: getattr(row, column.name) for row in rows for column in row.__table__.columns if column.name not in APART}
            marks = db.scalars(select(MarkRow).where(MarkRow.picture_id == picture.id))
            said["marks"] = {(mark.trait_id, mark.x, mark.y, mark.width, mark.height) for mark in marks}
            told.append({**said, "is_described": picture.described_at is not None})
    return sorted(told, key=lambda one: str(one["content_sha256"]))


@pytest.mark.parametrize("target", ["out", "out.zip"])
def test_what_was_exported_can_be_added_again_by_somebody_else(data: Path, tmp_path: Path, target: str) -> None:
    her_own = {"dwc:sex": "female", "plumage": "worn", "use": "portrait", "pose": "asleep", "cluster": "tide 1"}
    either = {"form": "lesser|greater", "taxonFormula": "A or B", "typical": "no", "dc:creator": "=Ada", "several": "yes"}
    allowed = {**OPEN, **PERMITTED, "agreed": "group | public page", "until": "2999-01-02"}
    rows = [
        {"file": "b.jpg", "form": "lesser", **her_own, **OPEN},
        {"file": "c.jpg", **either},
        {"file": "d.jpg", "form": "greater", "marks": "bill 0.1 0.2 0.3 0.4; subject 0 0 1 1", "frame": "0.2 0.2 0.75 0.75", **allowed},
        {"file": "e.jpg", "xmp:CreateDate": "2021-02-03"},
    ]
    mine = write_pictures(tmp_path / "mine", {f"{name}.jpg": jpeg(seed, times=2) for seed, name in enumerate("bcde", 2)}, rows)
    told = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert (told.exit_code, told.stderr.count("line")) == (0, 0)
    told = run("pictures", "export", tmp_path / target, "--for", HER, "--data", data, "--with-originals")
    assert (told.exit_code, told.stdout.splitlines()[0], told.stderr) == (0, f"{tmp_path / target}: 4 pictures.", "")
    again = run("pictures", "add", tmp_path / target, "--for", cast.STRANGER.name, "--data", data)
    assert (again.exit_code, again.stdout.splitlines()[-1]) == (0, "Added: 4.")
    assert said_of(data, cast.STRANGER.name) == said_of(data, HER)
    assert said_of(data, HER)[0]["content_sha256"]


def test_what_is_hers_no_longer_to_show_stays_and_is_told(data: Path, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {f"{number}.jpg": jpeg(number) for number in range(2, 6)})
    assert run("pictures", "add", mine, "--for", HER, "--data", data).exit_code == 0
    with opened(data) as db:
        ended, withdrawn, emptied, _ = hers(db)
        rights = db.get_one(RightsRow, ended.id)
        rights.licence, rights.creator, rights.credit, rights.may_until = "LicenseRef-used-with-permission", "Ada", "Ada", date(2021, 2, 3)
        withdrawn.retired_at = AT
        for row in db.scalars(select(FileRow).where(FileRow.picture_id == emptied.id)):
            db.delete(row)
        names = [ended.public_id, emptied.public_id]
    told = run("pictures", "export", tmp_path / "out", "--for", HER, "--data", data)
    assert told.stdout.splitlines()[0] == f"{tmp_path / 'out'}: 1 picture."
    first, second = told.stderr.splitlines()
    assert first.startswith(f"  left out: {names[0]}: The permission ended on 2021-02-03")
    assert second == f"  left out: {names[1]}: Its files are deleted."
    assert len(list((tmp_path / "out" / "pictures").iterdir())) == 1  # its one size
    assert (tmp_path / "out" / "credits.txt").read_text(encoding="utf-8").count("\n") == 1


@pytest.mark.parametrize("with_originals", [False, True])
def test_the_place_leaves_only_where_it_is_asked_for_and_that_is_told(data: Path, tmp_path: Path, *, with_originals: bool) -> None:
    where = Image.Exif()
    where.get_ifd(IFD.GPSInfo).update({GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: (51.0, 30.0, 0.0), GPS.GPSAreaInformation: b"the roost"})
    out = BytesIO()
    Image.linear_gradient("L").resize((900, 700)).convert("RGB").save(out, "JPEG", exif=where)
    mine = write_pictures(tmp_path / "mine", {"b.jpg": out.getvalue()})
    assert run("pictures", "add", mine, "--for", HER, "--data", data).exit_code == 0
    told = run("pictures", "export", tmp_path / "out", "--for", HER, "--data", data, *(["--with-originals"] if with_originals else []))
    assert ("may tell where each was taken" in told.stdout) is with_originals
    assert ("are left out, with the place" in told.stdout) is not with_originals
    written = [path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert any(b"the roost" in content for content in written) is with_originals
    assert any(b"original" in content for content in written) is with_originals  # no table names what is not there
    assert "where each was" in " ".join(run("pictures", "export", "--help").stdout.split())


def test_nobody_gets_the_pictures_of_others(data: Path, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2)})
    assert run("pictures", "add", mine, "--for", HER, "--data", data).exit_code == 0
    told = run("pictures", "export", tmp_path / "out", "--for", cast.STRANGER.name, "--data", data)
    assert (told.exit_code, told.stdout) == (0, f"{tmp_path / 'out'}: 0 pictures.\n")  # and not a word of what would have gone along
    assert not (tmp_path / "out" / "pictures").exists()
    with opened(data) as db:
        assert db.scalars(select(PictureRow).where(PictureRow.owner_id == hers(db)[0].owner_id)).all()


def test_an_export_overwrites_nothing_and_needs_somebody(data: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine", encoding="utf-8")
    told = run("pictures", "export", tmp_path / "out", "--for", HER, "--data", data)
    assert (told.exit_code, "is there already" in told.stderr) == (5, True)
    told = run("pictures", "export", tmp_path / "new", "--for", "Nobody", "--data", data)
    assert (told.exit_code, (tmp_path / "new").exists()) == (3, False)


@pytest.mark.parametrize("lost", ["original", "all"])
def test_a_lost_file_is_told_and_keeps_no_other_from_her(data: Path, tmp_path: Path, lost: str) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2), "c.jpg": jpeg(3)})
    assert run("pictures", "add", mine, "--for", HER, "--data", data, "--yes").exit_code == 0
    with opened(data) as db:
        files = db.scalars(select(FileRow).where(FileRow.picture_id == hers(db)[0].id)).all()
        gone = [row for row in files if lost == "all" or row.size_name == "original"]
        for row in gone:
            (data / "pictures" / row.storage_key).unlink()
    told = run("pictures", "export", tmp_path / "out", "--for", HER, "--data", data, "--with-originals")
    assert told.exit_code == 0
    assert told.stderr.count("its bytes are gone") == len(gone)
    assert told.stdout.splitlines()[0].endswith(": 1 picture." if lost == "all" else ": 2 pictures.")
    assert "Files as they came: 1." in told.stdout
    for table in (tmp_path / "out").glob("*.csv"):
        named = re.findall(r"pictures/[^\s,\"]+", table.read_text(encoding="utf-8"))
        assert all((tmp_path / "out" / name).is_file() for name in named), table
    named = [row["file"] for row in csv.DictReader((tmp_path / "out" / "pictures.csv").read_text(encoding="utf-8").splitlines())]
    assert len(named) == (1 if lost == "all" else 2)
    assert all((tmp_path / "out" / "pictures" / name).is_file() for name in named)
