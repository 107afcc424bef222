"""A catalogue goes into the hall as a whole or not at all, comes out the same, and a second import changes nothing."""

from __future__ import annotations

import shutil
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from sqlalchemy import select

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import import_catalogue, pictures_kept, preview_import
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import find_catalogue_id, open_sink, stored_catalogue, write_folder
from drillhall.errors import BadImport, Conflict, NameTaken, NotFound
from drillhall.people.person import Person
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StateRow,
    StewardRow,
    TraitRow,
)
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.people import AuditRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.session import Store
from tests.acts.conftest import AT
from tests.acts.pictures import jpeg
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW
from tests.catalogues.invented import catalogues

ROWS = [ROW, {**ROW, "file": "b.jpg", "form": "greater", "use": "portrait", "marks": "bill 0.1 0.2 0.3 0.4"}]
FILES = {"a.jpg": jpeg(1), "b.jpg": jpeg(2)}


def _folder(path: Path, **changes: Any) -> Path:
    shutil.rmtree(path, ignore_errors=True)
    return folders.write(path, **{"rows": ROWS, "files": FILES, **changes})


def _import(store: Store, storage: FolderStorage, path: Path, by: Person, *, days: int = 0) -> Any:
    with store.work() as db:
        return import_catalogue(db, storage, path, by=by.id, at=AT + timedelta(days=days))


def _stored(store: Store, key: str = "mudflat") -> FolderCatalogue:
    with store.look() as db:
        catalogue_id = find_catalogue_id(db, key)
        assert catalogue_id is not None
        return stored_catalogue(db, catalogue_id)


def _all(store: Store, kind: Any) -> list[Any]:
    with store.look() as db:
        return list(db.scalars(select(kind)))


def test_the_store_says_what_the_folder_says(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")
    imported = _import(store, storage, folder, keeper)
    assert _stored(store) == folders.read(folder)
    assert (imported.pictures_added, imported.changes.is_new) == (2, True)
    assert [row.account_id for row in _all(store, StewardRow)] == [keeper.id]
    assert {row.owner_id for row in _all(store, PictureRow)} == {keeper.id}
    assert all(row.first_form_id < row.second_form_id for row in _all(store, PairRow))
    assert ("catalogue imported", "mudflat") in [(row.act, row.subject) for row in _all(store, AuditRow)]


def test_a_second_import_changes_nothing(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")
    _import(store, storage, folder, keeper)
    before = sorted(storage.keys())
    again = _import(store, storage, folder, keeper, days=1)
    assert (again.changes.is_nothing, again.pictures_added) == (True, 0)
    assert [row.changed_at for row in _all(store, CatalogueRow)] == [AT]
    assert sorted(storage.keys()) == before


def test_a_preview_writes_nothing_and_tells_what_would_change(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    text = CATALOGUE.replace('label = "bent"', 'label = "curved"').replace('title = "The mudflat"', 'title = "Mud"')
    folder = _folder(tmp_path / "in", catalogue=text, rows=[ROW, {**ROW, "file": "c.jpg"}], files={"a.jpg": jpeg(3), "c.jpg": jpeg(4)})
    with store.look() as db:
        preview = preview_import(db, storage, folder, by=keeper.id)
    assert preview.changes is not None
    changed = {part.part: (part.added, part.changed, part.retired, part.left) for part in preview.changes.parts}
    assert changed == {
        "catalogue": ((), ("mudflat",), (), 0),
        "traits": ((), ("bill",), (), 1),
        "forms": ((), (), (), 3),
        "pairs": ((), (), (), 1),
        "pair sets": ((), (), (), 1),
        "pictures": (("c.jpg",), ("a.jpg",), ("b.jpg",), 0),
    }
    assert preview.changes.parts[5].line == "pictures: 1 to add (c.jpg), 1 to change (a.jpg), 1 to retire (b.jpg), 0 left as they are"
    assert _stored(store).title == "The mudflat"


def test_what_is_gone_is_retired_and_taken_back(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    whole = folders.read(_folder(tmp_path / "in"))
    _import(store, storage, tmp_path / "in", keeper)
    start = CATALOGUE.index('[[forms]]\nkey = "third"')
    less = CATALOGUE[:start].replace(', { key = "pale", label = "pale" }', ', { key = "red", label = "red" }')
    _import(store, storage, _folder(tmp_path / "in", catalogue=less, sets=None, rows=[ROW]), keeper, days=1)
    retired = {
        kind: [row for row in _all(store, kind) if row.retired_at == AT + timedelta(days=1)]
        for kind in (CatalogueFormRow, CataloguePairRow, PairSetRow, StateRow, CataloguePictureRow, PictureRow, TraitRow)
    }
    assert {kind: len(rows) for kind, rows in retired.items()} == {**dict.fromkeys(retired, 1), TraitRow: 0}
    _import(store, storage, _folder(tmp_path / "in"), keeper, days=2)
    assert _stored(store) == whole
    assert [len(_all(store, kind)) for kind in (PictureRow, CataloguePairRow, CatalogueFormRow)] == [2, 1, 3]
    assert not any(row.retired_at for kind in retired for row in _all(store, kind) if kind is not StateRow)


def test_keys_may_change_places(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    ids = {form.key: form.form_id for form in _all(store, CatalogueFormRow)}
    swapped = CATALOGUE.replace('"lesser"', '"x"').replace('"greater"', '"lesser"').replace('"x"', '"greater"')
    folder = _folder(tmp_path / "in", catalogue=swapped)
    _import(store, storage, folder, keeper, days=1)
    assert _stored(store) == folders.read(folder)
    after = {form.key: form.form_id for form in _all(store, CatalogueFormRow)}
    assert (after["lesser"], after["greater"]) == (ids["greater"], ids["lesser"])


def test_two_catalogues_share_forms_and_pairs(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    other = CATALOGUE.replace('key = "mudflat"', 'key = "other"').replace("Lesser Oozer", "Small Oozer")
    _import(store, storage, _folder(tmp_path / "in", catalogue=other), keeper)
    assert (len(_all(store, FormRow)), len(_all(store, PairRow)), len(_all(store, CataloguePairRow))) == (3, 1, 2)
    assert _stored(store).forms[0].vernacular_name == "Lesser Oozer"
    assert _stored(store, "other").forms[0].vernacular_name == "Small Oozer"


def test_new_bytes_under_an_old_name_are_a_new_picture(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    _import(store, storage, _folder(tmp_path / "in", files={**FILES, "a.jpg": jpeg(3)}), keeper, days=1)
    rows = {row.file: row for row in _all(store, CataloguePictureRow)}
    assert len(rows) == 3
    assert rows["a.jpg"].retired_at is None
    assert [row.retired_at for name, row in rows.items() if name.startswith("~")] == [AT + timedelta(days=1)]


def test_a_renamed_file_is_the_same_picture(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    swapped = {"a.jpg": jpeg(2), "b.jpg": jpeg(1)}
    again = _import(store, storage, _folder(tmp_path / "in", files=swapped), keeper)
    assert again.pictures_added == 0
    assert len(_all(store, PictureRow)) == 2
    assert _stored(store) == folders.read(tmp_path / "in")


def test_new_rights_stand_in_row_and_file(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    rows = [{**ROW, "dcterms:rights": "CC-BY-NC-4.0", "photoshop:Credit": "Mudd & Daughter"}, ROWS[1]]
    again = _import(store, storage, _folder(tmp_path / "in", rows=rows), keeper)
    assert again.changes.parts[5].changed == ("a.jpg",)
    assert _stored(store) == folders.read(tmp_path / "in")
    assert sorted(row.may_paid for row in _all(store, RightsRow)) == [False, True]
    keys = {row.storage_key for row in _all(store, FileRow)}
    assert set(storage.keys()) == keys
    assert any(b"Mudd &amp; Daughter" in storage.get(key) for key in keys)


def test_without_a_licence_a_picture_stays_private(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in", rows=[{"file": "a.jpg", "form": "lesser"}, ROWS[1]]), keeper)
    assert sorted(row.may_group for row in _all(store, RightsRow)) == [False, True]


def test_every_fault_is_told_and_nothing_kept(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in", rows=[{**ROW, "form": "gone"}, {**ROW, "file": "b.jpg", "use": "x"}])
    with pytest.raises(BadImport, match="the folder has 2 faults") as raised:
        _import(store, storage, folder, keeper)
    assert len(raised.value.faults) == 2
    assert _all(store, CatalogueRow) == []


def test_every_undecodable_picture_is_told_and_nothing_kept(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    rows = [*ROWS, {**ROW, "file": "c.jpg"}, {**ROW, "file": "d.jpg"}]
    files = {**FILES, "c.jpg": b"no picture", "d.jpg": jpeg(3)[:600]}
    with pytest.raises(BadImport) as raised:
        _import(store, storage, _folder(tmp_path / "in", rows=rows, files=files), keeper)
    assert [fault.partition(": ")[0] for fault in raised.value.faults] == ["pictures.csv, line 4 (c.jpg)", "pictures.csv, line 5 (d.jpg)"]
    assert _all(store, CatalogueRow) == []
    assert list(storage.keys()) == []


def test_a_work_that_is_not_kept_leaves_no_file(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")

    def refused_only_when_kept() -> None:
        with store.work() as db:
            imported = import_catalogue(db, storage, folder, by=keeper.id, at=AT)
            db.add(StewardRow(catalogue_id=imported.catalogue_id, account_id=999_999))

    with pytest.raises(Conflict):
        refused_only_when_kept()
    assert list(storage.keys()) == []
    assert _all(store, CatalogueRow) == []


def test_rights_that_are_not_kept_leave_the_old_file(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    before = sorted(storage.keys())
    folder = _folder(tmp_path / "in", rows=[{**ROW, "photoshop:Credit": "Somebody else"}, ROWS[1]])

    def cut_off() -> None:
        with store.work() as db:
            import_catalogue(db, storage, folder, by=keeper.id, at=AT)
            raise RuntimeError("cut")

    with pytest.raises(RuntimeError, match="cut"):
        cut_off()
    assert sorted(storage.keys()) == before


def test_a_key_of_others_is_refused(store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")
    _import(store, storage, folder, keeper)
    with pytest.raises(NameTaken, match="Another catalogue of this hall has the key mudflat"):
        _import(store, storage, folder, stranger)


def test_only_a_steward_may_export(store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    for key, by in (("mudflat", stranger), ("none", keeper)):
        with store.look() as db, pytest.raises(NotFound), open_sink(tmp_path / "out", key) as sink:
            export_catalogue(db, storage, key, sink, by=by.id, on=AT.date())
    assert not (tmp_path / "out").exists()


def test_another_steward_gets_what_the_rights_let_go(
    store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path
) -> None:
    rows = [ROW, {**ROWS[1], "dcterms:rights": "LicenseRef-all-rights-reserved"}]
    imported = _import(store, storage, _folder(tmp_path / "in", rows=rows), keeper)
    with store.work() as db:
        add_steward(db, imported.catalogue_id, stranger.id)
    with store.look() as db, open_sink(tmp_path / "out", "mudflat") as sink:
        exported = export_catalogue(db, storage, "mudflat", sink, by=stranger.id, on=AT.date())
    assert exported.left_out == ("b.jpg",)
    assert (tmp_path / "out" / "pictures" / "a.jpg").read_bytes() != FILES["a.jpg"]
    assert [picture.file for picture in folders.read(tmp_path / "out").pictures] == ["a.jpg"]


def test_what_another_steward_exported_brings_no_new_picture(
    store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path
) -> None:
    imported = _import(store, storage, _folder(tmp_path / "in"), keeper)
    with store.work() as db:
        add_steward(db, imported.catalogue_id, stranger.id)
    with store.look() as db, open_sink(tmp_path / "out", "mudflat") as sink:
        export_catalogue(db, storage, "mudflat", sink, by=stranger.id, on=AT.date())
    with store.look() as db:
        preview = preview_import(db, storage, tmp_path / "out", by=stranger.id)
    assert preview.changes is not None
    assert (preview.changes.is_nothing, preview.changes.lines[-1]) == (True, "pictures: 2 left as they are")
    assert preview.new_files == frozenset()
    assert _import(store, storage, tmp_path / "out", stranger).pictures_added == 0


@pytest.mark.parametrize("with_originals", [False, True])
def test_a_steward_gets_her_own_as_they_came_only_where_she_asks(
    store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path, *, with_originals: bool
) -> None:
    _import(store, storage, _folder(tmp_path / "in"), keeper)
    with store.look() as db, open_sink(tmp_path / "out", "mudflat") as sink:
        export_catalogue(db, storage, "mudflat", sink, by=keeper.id, on=AT.date(), with_originals=with_originals)
    assert ((tmp_path / "out" / "pictures" / "a.jpg").read_bytes() == FILES["a.jpg"]) is with_originals
    assert _import(store, storage, tmp_path / "out", keeper).changes.is_nothing


def test_pictures_kept_ahead_are_used(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")
    with store.look() as db:
        preview = preview_import(db, storage, folder, by=keeper.id)
    assert preview.new_files == {"a.jpg", "b.jpg"}
    with pictures_kept(storage, folder, preview) as kept:
        files = sorted(storage.keys())
        with store.work() as db:
            imported = import_catalogue(db, storage, folder, by=keeper.id, at=AT, kept=kept)
    assert imported.pictures_added == 2
    assert sorted(storage.keys()) == files == sorted(row.storage_key for row in _all(store, FileRow))
    with store.look() as db:
        assert preview_import(db, storage, folder, by=keeper.id).new_files == frozenset()


def test_pictures_kept_ahead_go_when_the_import_fails(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "in")
    with store.look() as db:
        preview = preview_import(db, storage, folder, by=keeper.id)
    with pytest.raises(RuntimeError, match="cut"), pictures_kept(storage, folder, preview):
        raise RuntimeError("cut")
    assert list(storage.keys()) == []


@pytest.mark.parametrize("title", ["The mudflat", "Mud"])
def test_pictures_kept_ahead_that_are_not_needed_go(
    store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path, title: str
) -> None:
    folder = _folder(tmp_path / "in")
    with store.look() as db:
        preview = preview_import(db, storage, folder, by=keeper.id)
    _import(store, storage, folder, keeper)
    changed = _folder(tmp_path / "in", catalogue=CATALOGUE.replace("The mudflat", title))
    with pictures_kept(storage, changed, preview) as kept, store.work() as db:
        import_catalogue(db, storage, changed, by=keeper.id, at=AT, kept=kept)
    assert sorted(storage.keys()) == sorted(row.storage_key for row in _all(store, FileRow))


def test_progress_is_told_to_the_end(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []
    with store.work() as db:
        import_catalogue(
            db, storage, _folder(tmp_path / "in"), by=keeper.id, at=AT, progress=lambda done, total, what: told.append((done, total, what))
        )
    assert told == [(0, 2, "a.jpg"), (1, 2, "b.jpg"), (2, 2, "")]


NAMES = ("a.jpg", "b.jpg")


@given(first=catalogues(files=NAMES), second=catalogues(files=NAMES[1:]))
@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_imported_comes_out_the_same(
    store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path, first: FolderCatalogue, second: FolderCatalogue
) -> None:
    """One catalogue, then quite another under its key, then the first again: each time the hall says what the folder says."""
    for number, said in enumerate((first, replace(second, key=first.key), first)):
        shutil.rmtree(tmp_path / "in", ignore_errors=True)
        shutil.rmtree(tmp_path / "out", ignore_errors=True)
        with open_sink(tmp_path / "in", said.key) as sink:
            write_folder(said, sink, lambda picture: jpeg(NAMES.index(picture.file)))
        _import(store, storage, tmp_path / "in", keeper, days=number)
        with store.look() as db, open_sink(tmp_path / "out", said.key) as sink:
            export_catalogue(db, storage, said.key, sink, by=keeper.id, on=AT.date(), with_originals=True)
        with closing(read_folder(tmp_path / "out")) as back:
            assert back.catalogue == said
            assert [back.picture_bytes(picture) for picture in said.pictures] == [jpeg(NAMES.index(one.file)) for one in said.pictures]
        assert _import(store, storage, tmp_path / "out", keeper, days=number).changes.is_nothing
