"""A catalogue with pictures, changed piece by piece: what is retired takes its pictures and marks out of the folder, and back."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import import_catalogue
from drillhall.acts.share_catalogue import add_steward_by_name
from drillhall.catalogues.checking import check
from drillhall.catalogues.editing import things
from drillhall.catalogues.editing.changing import Act, Edit, change, the_opened
from drillhall.catalogues.editing.history import list_changes, undo
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.writing import open_sink
from drillhall.errors import Invalid
from drillhall.people.accounts import retire_account
from drillhall.people.person import Person
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from tests.acts.conftest import AT
from tests.acts.pictures import jpeg
from tests.cast import STRANGER
from tests.catalogues import folders
from tests.catalogues.folders import ROW

ROWS = (ROW | {"marks": "bill 0.1 0.1 0.2 0.2; legs 0.3 0.6 0.1 0.2"}, ROW | {"file": "b.jpg", "form": "greater"})


@pytest.fixture
def steward(store: Store, storage: FolderStorage, keeper: Person, tmp_path: Path) -> Person:
    """Who has brought in the mudflat with two pictures."""
    folder = folders.write(tmp_path / "in", rows=ROWS, files={"a.jpg": jpeg(1), "b.jpg": jpeg(2)})
    with store.work() as db:
        import_catalogue(db, storage, folder, by=keeper.id, at=AT)
    return keeper


def edit(store: Store, by: Person, how: Edit) -> None:
    with store.work() as db:
        change(db, the_opened(db, "mudflat", by.id, to_write=True), how, Act("retired"), by=by.id, at=AT)


def exported(store: Store, storage: FolderStorage, by: Person, out: Path) -> FolderCatalogue:
    """Return what the exported folder says; it must be without a fault."""
    with store.look() as db, open_sink(out, "mudflat") as sink:
        export_catalogue(db, storage, "mudflat", sink, by=by.id, on=AT.date())
    with closing(read_folder(out)) as folder:
        assert check(folder).lines == ()
        return folder.catalogue


def test_marks_of_a_retired_trait_stay_in_the_hall(store: Store, storage: FolderStorage, steward: Person, tmp_path: Path) -> None:
    whole = exported(store, storage, steward, tmp_path / "whole")
    edit(store, steward, lambda said: things.retire_trait(said, "legs"))
    without = exported(store, storage, steward, tmp_path / "without")
    assert [mark.trait for mark in without.pictures[0].marks] == ["bill"]
    _take_back(store, steward)
    assert exported(store, storage, steward, tmp_path / "again") == whole


def test_pictures_of_a_retired_form_stay_in_the_hall(store: Store, storage: FolderStorage, steward: Person, tmp_path: Path) -> None:
    whole = exported(store, storage, steward, tmp_path / "whole")
    edit(store, steward, lambda said: things.retire_form(said, "greater"))
    assert [one.file for one in exported(store, storage, steward, tmp_path / "without").pictures] == ["a.jpg"]
    _take_back(store, steward)
    assert exported(store, storage, steward, tmp_path / "again") == whole


def test_an_import_is_a_change_that_is_taken_back(store: Store, storage: FolderStorage, steward: Person, tmp_path: Path) -> None:
    text = folders.CATALOGUE.replace('title = "The mudflat"', 'title = "The saltflat"')
    again = folders.write(tmp_path / "second", catalogue=text, rows=ROWS, files={"a.jpg": jpeg(1), "b.jpg": jpeg(2)})
    with store.work() as db:
        import_catalogue(db, storage, again, by=steward.id, at=AT)
    with store.look() as db:
        told = list_changes(db, the_opened(db, "mudflat", steward.id), page=1).changes
    assert [(one.kind, one.may_undo) for one in told] == [("brought in", True), ("brought in", False)]
    assert [(one.about, one.old, one.new) for one in told[0].differing] == [("title", "The mudflat", "The saltflat")]
    _take_back(store, steward)
    assert exported(store, storage, steward, tmp_path / "back").title == "The mudflat"


def test_an_account_that_is_closed_writes_nothing(store: Store, steward: Person, stranger: Person) -> None:
    with store.work() as db:
        retire_account(db, stranger.id, by=steward, at=AT)
    with store.work() as db, pytest.raises(Invalid, match="Nobody in this hall has that name"):
        add_steward_by_name(db, the_opened(db, "mudflat", steward.id), STRANGER.name, by=steward.id, at=AT)


def _take_back(store: Store, by: Person) -> None:
    with store.work() as db:
        opened = the_opened(db, "mudflat", by.id, to_write=True)
        undo(db, opened, list_changes(db, opened, page=1).changes[0].id, by=by.id, at=AT)
