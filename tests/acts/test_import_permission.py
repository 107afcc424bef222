"""What a catalogue's table says of frames, permissions and made-up pictures goes in and comes out, or is refused by its line."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import import_catalogue, preview_import
from drillhall.catalogues.writing import open_sink
from drillhall.errors import BadImport
from drillhall.people.person import Person
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.session import Store
from tests.acts.conftest import AT
from tests.acts.pictures import jpeg, made_up
from tests.catalogues import folders
from tests.catalogues.folders import ROW

ROWS = [ROW, {**ROW, "file": "b.jpg", "form": "greater", "use": "portrait", "marks": "bill 0.1 0.2 0.3 0.4"}]
FILES = {"a.jpg": jpeg(1), "b.jpg": jpeg(2)}


def _folder(path: Path, **changes: Any) -> Path:
    shutil.rmtree(path, ignore_errors=True)
    return folders.write(path, **{"rows": ROWS, "files": FILES, **changes})


def _import(store: Store, storage: FolderStorage, path: Path, by: Person) -> Any:
    with store.work() as db:
        return import_catalogue(db, storage, path, by=by.id, at=AT)


def _all(store: Store, kind: Any) -> list[Any]:
    with store.look() as db:
        return list(db.scalars(select(kind)))


PERMITTED = {
    "dcterms:rights": "LicenseRef-used-with-permission",
    "agreed": "group | altered rendition",
    "grantedBy": "Wren",
    "evidence": "A letter",
}
DAYS = {"grantedOn": "2030-01-02", "until": "2031-02-03", "dataMining": "DMI-PROHIBITED"}


def test_frame_and_permission_go_through_the_folder(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    rows = [{**ROWS[0], **PERMITTED, **DAYS, "frame": "0.25 0.25 0.7 0.7"}, ROWS[1]]
    files = {**FILES, "a.jpg": jpeg(1, times=4)}
    _import(store, storage, _folder(tmp_path / "in", rows=rows, files=files), keeper)
    first = min(_all(store, PictureRow), key=lambda row: row.id)
    assert (first.frame_x, first.frame_height) == (0.25, 0.7)
    cut = [row for row in _all(store, FileRow) if row.rendition == "cut"]
    assert [(row.picture_id, row.width_px, row.height_px) for row in cut] == [(first.id, 672, 504), (first.id, 640, 480)]
    assert storage.get(cut[0].storage_key)
    rights = next(row for row in _all(store, RightsRow) if row.picture_id == first.id)
    assert (rights.granted_by, str(rights.granted_on), str(rights.may_until)) == ("Wren", "2030-01-02", "2031-02-03")
    assert (rights.may_group, rights.may_alter, rights.may_public, rights.data_mining) == (True, True, False, "DMI-PROHIBITED")
    with store.look() as db, open_sink(tmp_path / "out", "mudflat") as sink:
        export_catalogue(db, storage, "mudflat", sink, by=keeper.id, on=AT.date().replace(year=2031, month=1))
    assert folders.read(tmp_path / "out").pictures == folders.read(tmp_path / "in").pictures
    silent = [{**ROWS[0], "dcterms:rights": PERMITTED["dcterms:rights"]}, ROWS[1]]
    told = _import(store, storage, _folder(tmp_path / "in", rows=silent, files=files), keeper)
    assert told.changes.is_nothing, "a row that is silent on them leaves frame and permission as they are"
    assert next(row for row in _all(store, RightsRow) if row.picture_id == first.id).granted_by == "Wren"
    _import(store, storage, _folder(tmp_path / "in", rows=[{**ROWS[0], "frame": "0 0 1 1"}, ROWS[1]], files=files), keeper)
    assert min(_all(store, PictureRow), key=lambda row: row.id).frame_x is None
    assert {row.rendition for row in _all(store, FileRow)} == {"as taken"}


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ({"frame": "0.5 0.5 0.6 0.1"}, "The frame “0.5 0.5 0.6 0.1” does not lie within the picture."),
        ({"frame": "0.5 0.5"}, "does not lie within the picture."),
        ({"frame": "0 0 0.01 0.01"}, "The frame holds only"),
        ({**PERMITTED, "agreed": "sale"}, "agreed: sale is nothing that can be agreed to."),
        ({**PERMITTED, "agreed": "group"}, "It says what was agreed to, and no grantedOn."),
        ({**PERMITTED, **DAYS, "until": "2029-01-01"}, "The permission ends before it was given."),
        ({"until": "2031-01-01"}, "Only a permission ends on a day"),
        ({**PERMITTED, **DAYS, "dataMining": "perhaps"}, "Choose from the list whether machines may learn"),
    ],
)
def test_a_frame_or_permission_that_cannot_be_is_refused(
    store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path, said: dict[str, str], wrong: str
) -> None:
    folder = _folder(tmp_path / "in", rows=[ROWS[0], {**ROWS[1], **said}])
    with pytest.raises(BadImport) as refused:
        _import(store, storage, folder, keeper)
    assert [wrong in fault for fault in refused.value.faults] == [True], refused.value.faults
    assert refused.value.faults[0].startswith("pictures.csv, line 3 (b.jpg): ")
    assert (_all(store, PictureRow), list(storage.keys())) == ([], [])


def test_what_a_program_made_up_is_no_photograph_in_a_catalogue_either(
    store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path
) -> None:
    files = {**FILES, "b.jpg": made_up(2)}
    drawn = [ROWS[0], {**ROWS[1], "ac:subtypeLiteral": "Illustration"}]
    with pytest.raises(BadImport) as refused:
        _import(store, storage, _folder(tmp_path / "in", files=files), keeper)
    assert "line 3 (b.jpg): The file says that a program generated it" in refused.value.faults[0]
    assert list(storage.keys()) == []
    _import(store, storage, _folder(tmp_path / "in", files=files, rows=drawn), keeper)
    with store.look() as db:
        preview = preview_import(db, storage, _folder(tmp_path / "in", files=files), by=keeper.id)
    assert preview.changes is None, "nor does it become one by another word"
    assert "line 3 (b.jpg): The file says that a program generated it" in preview.report.lines[0]
