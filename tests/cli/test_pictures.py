"""`drillhall pictures add`: what it says, what it keeps, and the status it ends with."""

from __future__ import annotations

import os
import re
import shutil
import zipfile
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.pictures import storage
from drillhall.store.models.pictures import FileRow, MarkRow, RightsRow
from tests import cast
from tests.acts.pictures import jpeg
from tests.cli.halls import HER, hers, opened, run, write_pictures

STAGE = "http://rs.tdwg.org/dwc/terms/lifeStage"
OPEN = {"dc:creator": "Ada Mudd", "dcterms:rights": "CC-BY-4.0", "photoshop:Credit": "Ada Mudd"}


def test_a_folder_without_a_table_comes_undescribed_and_twice_is_once(data: Path, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2), "deep/c.jpg": jpeg(3), "again.jpg": jpeg(2)})
    told = run("pictures", "add", mine, "--for", HER.upper(), "--data", data)
    assert (told.exit_code, told.stdout.splitlines()) == (
        0,
        [
            "Pictures to add: 2",
            "  2 not described yet",
            "Left aside, since it is the same picture as again.jpg: b.jpg",
            "Added: 2.",
        ],
    )
    with opened(data) as db:
        assert [(one.form_id, one.described_at) for one in hers(db)] == [(None, None)] * 2
    again = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert again.stdout.splitlines()[:2] == ["Pictures to add: 0", "There already, the very same bytes: 2"]
    assert (again.exit_code, again.stdout.splitlines()[-1]) == (0, "Nothing was added.")


def test_a_table_says_what_each_shows_and_its_rights(data: Path, tmp_path: Path) -> None:
    rows = [
        {
            "file": "b.jpg",
            "form": "mudflat:lesser",
            "sex": "female",
            "xmp:CreateDate": "2021-02-11T08:00:00Z",
            "marks": "bill 0.1 0.1 0.2 0.2; subject 0 0 1 1",
        },
        {"file": "c.jpg", "vernacularName": "greater  OOZER", STAGE: "adult", "use": "held-out", **OPEN},
        {"file": "d.jpg", "dwc:scientificName": "Fictavis limosa | Fictavis grandis", STAGE: "adult", "dwc:taxonFormula": "A or B"},
        {"file": "e.jpg", "dc:creator": "Ada Mudd"},
    ]
    mine = write_pictures(tmp_path / "mine", {f"{name}.jpg": jpeg(place) for place, name in enumerate("bcdef", 2)}, rows)
    told = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert (told.exit_code, told.stderr.count("pictures.csv")) == (0, 0)
    assert told.stdout.splitlines() == [
        "Pictures to add: 4",
        "  1 of Lesser Oozer",
        "  1 of Greater Oozer",
        "  1 of Lesser Oozer or Greater Oozer",
        "  1 not described yet",
        "Left aside, since no row names it: f.jpg",
        "Added: 4.",
    ]
    with opened(data) as db:
        one, two, three, four = hers(db)
        assert (one.sex, one.taken_on, one.use) == ("female", date(2021, 2, 11), "practice")
        assert {(mark.trait_id is None, mark.x) for mark in db.scalars(select(MarkRow).where(MarkRow.picture_id == one.id))} == {
            (False, 0.1),
            (True, 0.0),
        }
        assert (two.use, db.get_one(RightsRow, two.id).licence) == ("held-out", "CC-BY-4.0")
        assert (three.form_id, {three.either_form_id, three.or_form_id}) == (None, {one.form_id, two.form_id})
        assert (four.described_at, db.get_one(RightsRow, four.id).creator) == (None, "Ada Mudd")


FAULTY = {
    "a missing file": ({"file": "gone.jpg"}, "file: There is no file gone.jpg. Put it beside pictures.csv, or take the row out."),
    "no file": ({"file": "", "form": "lesser"}, "file: It names no file."),
    "a way out": ({"file": "../mine/b.jpg"}, "file: There is no file ../mine/b.jpg."),
    "no such form": ({"form": "nobody"}, "form: There is no form nobody."),
    "no such name": ({"vernacularName": "Nobody"}, "vernacularName: No form here is called Nobody."),
    "no such plumage": (
        {"vernacularName": "Lesser Oozer", "plumage": "worn"},
        "plumage: Lesser Oozer is known, and no form of it with worn.",
    ),
    "names beside the key": (
        {"form": "lesser", "vernacularName": "Greater Oozer"},
        "form: The form mudflat:lesser is Lesser Oozer, and the names",
    ),
    "against the form": ({"form": "lesser", "lifeStage": "juvenile"}, "life_stage: The form chosen is Lesser Oozer, life stage “adult”"),
    "no such sex": ({"sex": "both"}, "sex: Choose from the list which sex it is."),
    "another formula": ({"form": "lesser", "taxonFormula": "A cf."}, "taxonFormula: A cf. is not among what the hall understands."),
    "two without a formula": ({"form": "lesser | greater"}, "taxonFormula: It says A, and the row names 2 forms."),
    "a formula for one": ({"form": "lesser", "taxonFormula": "A or B"}, "taxonFormula: It says A or B, and the row names one form."),
    "twice the same": ({"form": "lesser | lesser", "taxonFormula": "A or B"}, "form: Both names mean one form."),
    "an unknown licence": ({**OPEN, "dcterms:rights": "CC-BY-9.0"}, "dcterms:rights: The licence CC-BY-9.0 is unknown."),
    "a licence without a creator": ({"dcterms:rights": "CC-BY-4.0"}, "creator: Say who made the picture"),
    "an expired permission": (
        {
            **OPEN,
            "dcterms:rights": "LicenseRef-used-with-permission",
            "granted_by": "Ada",
            "grantedOn": "2020-01-02",
            "until": "2021-01-02",
        },
        "until: The permission ended on 2021-01-02.",
    ),
    "an open licence that ends": ({**OPEN, "until": "2999-01-02"}, "until: Only a permission ends on a day"),
    "a day that is none": ({"until": "soon"}, "until: The date soon is none."),
    "agreed to nothing known": ({**OPEN, "agreed": "everything"}, "agreed: everything is nothing that can be agreed to."),
    "a mark outside": (
        {"form": "lesser", "marks": "bill 0.9 0.1 0.2 0.2"},
        "The mark “bill 0.9 0.1 0.2 0.2” does not lie within the picture.",
    ),
    "a mark of nothing": (
        {"form": "lesser", "marks": "crest 0 0 1 1"},
        "marks: There is no trait crest to mark: the catalogue of mudflat:lesser has",
    ),
    "a mark twice": ({"form": "lesser", "marks": "bill 0 0 1 1; bill 0 0 1 1"}, "marks: bill is marked twice."),
    "another use": ({"use": "wall"}, "use: It says wall."),
    "a day to come": ({"xmp:CreateDate": "2999-01-02"}, "taken_on: The day it was taken lies ahead."),
    "too long": ({"pose": "x" * 41}, "pose: Pose is longer than 40 signs."),
    "a name in the words": ({"form": "lesser", "alt": "A lesser oozer asleep"}, "alt: These words are read before the answer"),
}


def test_faults_of_reading_and_of_judging_are_told_in_the_order_of_the_rows(data: Path, tmp_path: Path) -> None:
    rows = [
        {"file": "gone.jpg"},
        {"file": "b.jpg", "until": "soon"},
        {"file": "c.jpg", "sex": "both"},
        {"file": "d.jpg", "typical": "perhaps"},
    ]
    mine = write_pictures(tmp_path / "mine", {f"{name}.jpg": jpeg(place) for place, name in enumerate("bcd", 2)}, rows)
    refused = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert [int(line) for line in re.findall(r"pictures\.csv, line (\d+)", refused.stderr)] == [2, 3, 4, 5]


@pytest.mark.parametrize("wrong", FAULTY)
def test_what_is_wrong_with_a_row_is_told_with_file_row_and_field(data: Path, tmp_path: Path, wrong: str) -> None:
    row, told = FAULTY[wrong]
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2), "c.jpg": jpeg(3)}, [{"file": "b.jpg", **row}, {"file": "c.jpg"}])
    refused = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert f"pictures.csv, line 2 ({row.get('file', 'b.jpg') or 'without a file'}): {told}" in refused.stderr
    with opened(data) as db:
        assert hers(db) == []


def test_all_faults_are_told_at_once_and_the_sound_rest_can_be_added(data: Path, tmp_path: Path) -> None:
    rows = [
        {"file": name, "form": form, "sex": sex}
        for name, form, sex in (
            ("b.jpg", "gone", "both"),
            ("c.jpg", "lesser", ""),
            ("c.jpg", "lesser", ""),
            ("d.jpg", "", ""),
            ("e.jpg", "", ""),
        )
    ]
    files = {"b.jpg": jpeg(2), "c.jpg": jpeg(3), "d.jpg": b"no picture", "e.jpg": jpeg(3)}
    mine = write_pictures(tmp_path / "mine", files, rows)
    refused = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert refused.exit_code == 2
    assert [line.partition(": ")[0].strip() for line in refused.stderr.splitlines()[1:]] == [
        "pictures.csv, line 2 (b.jpg)",
        "pictures.csv, line 2 (b.jpg)",
        "pictures.csv, line 4 (c.jpg)",
        "pictures.csv, line 5 (d.jpg)",
        "pictures.csv, line 6 (e.jpg)",
    ]
    assert "It is the same picture as c.jpg. Keep one of the two rows." in refused.stderr
    told = run("pictures", "add", mine, "--for", HER, "--data", data, "--skip-faulty")
    assert (told.exit_code, told.stdout.splitlines()) == (0, ["Pictures to add: 1", "  1 of Lesser Oozer", "Added: 1."])
    assert "Left aside: 5 faults." in told.stderr


def test_the_same_bytes_of_two_owners_keep_the_rights_of_each(data: Path, tmp_path: Path) -> None:
    for place, (name, licence) in enumerate({HER: "CC-BY-4.0", cast.STRANGER.name: "CC0-1.0"}.items()):
        mine = write_pictures(tmp_path / str(place), {"b.jpg": jpeg(2)}, [{"file": "b.jpg", **OPEN, "dcterms:rights": licence}])
        assert run("pictures", "add", mine, "--for", name, "--data", data).exit_code == 0
    with opened(data) as db:
        kept = {name: [db.get_one(RightsRow, one.id).licence for one in hers(db, name)] for name in (HER, cast.STRANGER.name)}
    assert kept == {HER: ["CC-BY-4.0"], cast.STRANGER.name: ["CC0-1.0"]}


def test_a_zip_and_a_table_by_name_do_as_well(data: Path, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2), "pictures/c.jpg": jpeg(3)}, [{"file": "b.jpg"}, {"file": "c.jpg"}])
    shutil.make_archive(str(tmp_path / "mine"), "zip", tmp_path, "mine")
    assert "Added: 2." in run("pictures", "add", tmp_path / "mine.zip", "--for", HER, "--data", data).stdout
    (mine / "pictures.csv").rename(mine / "may.csv")
    told = run("pictures", "add", mine / "may.csv", "--for", cast.STRANGER.name, "--data", data)
    assert (told.exit_code, told.stdout.splitlines()[-1]) == (0, "Added: 2.")
    (mine / "may.csv").write_text("file,form\nb.jpg,gone\n", encoding="utf-8")
    assert (
        "  may.csv, line 2 (b.jpg): form: There is no form gone."
        in run("pictures", "add", mine / "may.csv", "--for", HER, "--data", data).stderr
    )


def test_a_zip_that_leads_out_or_unpacks_to_far_more_is_refused(data: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "bad.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("../b.jpg", jpeg(2))
        packed.writestr("c.jpg", bytes(8 * 2**20))
    told = run("pictures", "add", tmp_path / "bad.zip", "--for", HER, "--data", data)
    assert told.exit_code == 2
    assert "The name leads out of the folder." in told.stderr
    assert "It unpacks to more than 100 times its size." in told.stderr


@pytest.mark.parametrize(
    ("made", "told"),
    [
        ("nothing", "There is nothing at"),
        ("empty", "There are no pictures in"),
        ("text", "cannot be read as a zip"),
        ("headers", "There are no pictures in"),
    ],
)
def test_where_nothing_can_be_added_it_is_said(data: Path, tmp_path: Path, made: str, told: str) -> None:
    path = tmp_path / "mine"
    if made == "text":
        path.write_text("no zip", encoding="utf-8")
    elif made != "nothing":
        path.mkdir()
    if made == "headers":
        (path / "pictures.csv").write_text("form,file\n", encoding="utf-8")
    said = run("pictures", "add", path, "--for", HER, "--data", data)
    assert (said.exit_code, told in said.stderr) == (2, True)


def test_a_folder_that_cannot_be_opened_is_told(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mine, scan = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2), "shut/c.jpg": jpeg(3)}), os.scandir

    def locked(path: str) -> object:
        if str(path).endswith("shut"):
            raise PermissionError(13, "Permission denied", str(path))
        return scan(path)

    monkeypatch.setattr(os, "scandir", locked)
    told = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert (told.exit_code, "the folder shut: It cannot be opened (Permission denied)." in told.stderr) == (2, True)


def test_nobody_of_that_name_is_told(data: Path, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2)})
    told = run("pictures", "add", mine, "--for", "Nobody", "--data", data)
    assert (told.exit_code, "Nobody here is called Nobody." in told.stderr) == (3, True)


def test_broken_off_it_leaves_nothing_half_and_goes_on_where_it_was(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mine = write_pictures(tmp_path / "mine", {f"{number}.jpg": jpeg(number) for number in range(2, 7)})
    put, done = storage.FolderStorage.put, []

    def breaks(self: storage.FolderStorage, key: str, content: bytes) -> None:
        if len(done) == 5:  # each has a size and its original: this breaks the third between the two
            raise KeyboardInterrupt
        done.append(key)
        put(self, key, content)

    monkeypatch.setattr(storage.FolderStorage, "put", breaks)
    assert run("pictures", "add", mine, "--for", HER, "--data", data).exit_code == 1
    monkeypatch.setattr(storage.FolderStorage, "put", put)
    with opened(data) as db:
        assert len(hers(db)) == 2
        assert sorted(db.scalars(select(FileRow.storage_key))) == sorted(storage.FolderStorage(data / "pictures").keys())
    told = run("pictures", "add", mine, "--for", HER, "--data", data)
    assert told.stdout.splitlines()[:3] == ["Pictures to add: 3", "  3 not described yet", "There already, the very same bytes: 2"]
    with opened(data) as db:
        assert len({one.content_sha256 for one in hers(db)}) == 5
