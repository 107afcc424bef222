"""Adding, exporting, sweeping and verifying one's own pictures, on both engines; what is said at a terminal is tested in tests/cli."""

from __future__ import annotations

from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import select

from drillhall.acts.add_pictures import Adding, add_planned, look_at_pictures, plan_adding
from drillhall.acts.export_pictures import export_pictures
from drillhall.acts.import_catalogue import import_catalogue
from drillhall.catalogues.reading.pictures import read_pictures
from drillhall.catalogues.writing import open_sink
from drillhall.core.regions import Region
from drillhall.errors import BadPicture, Invalid
from drillhall.people.person import Person
from drillhall.pictures.framing import make_cut, set_frame
from drillhall.pictures.ingest import take
from drillhall.pictures.storage import FolderStorage, orphans
from drillhall.pictures.sweeping import sweep
from drillhall.pictures.verifying import mend, still_wrong, verify
from drillhall.store.models.catalogue import CatalogueFormRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow
from drillhall.store.session import Store
from tests.acts.conftest import AT
from tests.acts.pictures import jpeg
from tests.catalogues import folders
from tests.cli.halls import write_pictures

ON = date(2031, 3, 3)


def nobody(done: int, total: int, what: str) -> None:
    """Take progress to nobody."""


@pytest.fixture
def her(store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path) -> Person:
    """Somebody with an account in a hall that has a catalogue of others."""
    with store.work() as db:
        import_catalogue(db, storage, folders.write(tmp_path / "mudflat", files={"a.jpg": jpeg(1)}), by=keeper.id, at=AT)
    return stranger


def add(store: Store, storage: FolderStorage, her: Person, path: Path) -> Adding:
    with closing(read_pictures(path)) as folder:
        seen = look_at_pictures(folder, progress=nobody)
        with store.look() as db:
            plan = plan_adding(db, folder, seen, owner_id=her.id, on=ON)
        for one in plan.to_add:
            taken = take(folder.source.read(one.file))
            with store.work() as db:
                add_planned(db, storage, taken, one, public_id=str(uuid4()), owner_id=her.id, at=AT, on=ON)
    return plan


OPEN = {"dc:creator": "Ada Mudd", "photoshop:Credit": "Ada Mudd", "dcterms:rights": "CC0-1.0"}
ROWS = [
    {"file": "b.jpg", "form": "lesser", "marks": "bill 0.1 0.2 0.3 0.4", "cluster": "tide", "use": "held-out"},
    {"file": "c.jpg", "cluster": "tide"},
    {"file": "d.jpg", "vernacularName": "Greater Oozer", "lifeStage": "adult", **OPEN},
]


@pytest.fixture
def added(store: Store, storage: FolderStorage, her: Person, tmp_path: Path) -> Path:
    mine = write_pictures(tmp_path / "mine", {f"{name}.jpg": jpeg(seed) for seed, name in enumerate("bcd", 2)}, ROWS)
    assert len(add(store, storage, her, mine).to_add) == 3
    return mine


def test_pictures_are_added_with_what_is_told_and_once(store: Store, storage: FolderStorage, her: Person, added: Path) -> None:
    with store.look() as db:
        one, two, three = db.scalars(select(PictureRow).where(PictureRow.owner_id == her.id).order_by(PictureRow.id))
        keys = {row.form_id: row.key for row in db.scalars(select(CatalogueFormRow))}
        assert [keys.get(picture.form_id or 0) for picture in (one, two, three)] == ["lesser", None, "greater"]
        assert [picture.use for picture in (one, two, three)] == ["held-out", "held-out", "practice"]  # one series, one use
        assert [mark.x for mark in db.scalars(select(MarkRow).where(MarkRow.picture_id == one.id))] == [0.1]
    assert len(add(store, storage, her, added).there_already) == 3


def test_a_change_between_judging_and_adding_is_refused_and_leaves_no_file(
    store: Store, storage: FolderStorage, her: Person, tmp_path: Path
) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2)}, [{"file": "b.jpg", "form": "lesser"}])
    before = list(storage.keys())
    with closing(read_pictures(mine)) as folder:
        seen = look_at_pictures(folder, progress=nobody)
        with store.look() as db:
            (one,) = plan_adding(db, folder, seen, owner_id=her.id, on=ON).to_add
        with store.work() as db:
            for row in db.scalars(select(CatalogueFormRow).where(CatalogueFormRow.key == "lesser")):
                row.retired_at = AT
        with pytest.raises(Invalid, match="Choose what the picture shows from the list"), store.work() as db:
            add_planned(db, storage, take(jpeg(2)), one, public_id=str(uuid4()), owner_id=her.id, at=AT, on=ON)
    assert list(storage.keys()) == before


def test_a_file_that_breaks_while_it_is_added_is_refused(store: Store, storage: FolderStorage, her: Person, tmp_path: Path) -> None:
    mine = write_pictures(tmp_path / "mine", {"b.jpg": jpeg(2)})
    with closing(read_pictures(mine)) as folder:
        seen = look_at_pictures(folder, progress=nobody)
        (mine / "b.jpg").write_bytes(jpeg(2)[:300])
        with store.look() as db:
            (one,) = plan_adding(db, folder, seen, owner_id=her.id, on=ON).to_add
        with pytest.raises(BadPicture):
            take(folder.source.read(one.file))


def test_an_export_can_be_added_again(
    store: Store, storage: FolderStorage, her: Person, keeper: Person, added: Path, tmp_path: Path
) -> None:
    with store.look() as db, open_sink(tmp_path / "out", "x") as sink:
        assert export_pictures(db, storage, sink, owner_id=her.id, on=ON, progress=nobody).pictures == 3
    plan = add(store, storage, keeper, tmp_path / "out")
    assert (plan.faults, len(plan.to_add)) == ((), 3)


def test_leftovers_are_remembered_and_let_go_an_hour_later(store: Store, storage: FolderStorage, added: Path) -> None:
    storage.put("ab/stray/x.webp", b"-")
    for at, gone in ((AT, 0), (AT + timedelta(minutes=59), 0), (AT + timedelta(minutes=60), 1), (AT + timedelta(hours=2), 0)):
        with store.look() as db:
            left = orphans(db, storage)
        with store.work() as db:
            assert sweep(db, storage, left, at=at, delete=True).files_gone == gone
    assert "ab/stray/x.webp" not in set(storage.keys())


def test_a_spoilt_size_is_found_and_made_anew(store: Store, storage: FolderStorage, added: Path) -> None:
    with store.look() as db:
        key = db.scalars(select(FileRow.storage_key).where(FileRow.size_name == "large").order_by(FileRow.id)).all()[-1]
    sound = storage.get(key)
    storage.put(key, sound[:-1] + b"?")
    with store.look() as db:
        flaws = still_wrong(db, storage, verify(db, storage, progress=nobody))
    assert [flaw.line for flaw in flaws] == [f"{key}: Its bytes are others than were kept."]
    with store.work() as db:
        assert len(mend(db, storage, flaws, on=ON).mended) == 1
    assert storage.get(key) == sound
    with store.look() as db:
        assert list(verify(db, storage, progress=nobody)) == []


def test_a_spoilt_cut_is_cut_anew(store: Store, storage: FolderStorage, her: Person, added: Path) -> None:
    def cut() -> FileRow:
        with store.look() as db:
            return db.scalars(select(FileRow).where(FileRow.rendition == "cut")).one()

    with store.work() as db:
        name = db.scalars(select(PictureRow.public_id).where(PictureRow.owner_id == her.id).order_by(PictureRow.id)).all()[-1]
        set_frame(db, storage, her.id, name, make_cut(db, storage, her.id, name, Region(0.0, 0.0, 0.9, 0.9), on=ON))
    before = cut()
    sound = storage.get(before.storage_key)
    storage.put(before.storage_key, b"spoilt")
    with store.work() as db:
        flaws = still_wrong(db, storage, verify(db, storage, progress=nobody))
        assert [flaw.key for flaw in flaws] == [before.storage_key]
        assert mend(db, storage, flaws, on=ON).left == ()
    assert storage.get(cut().storage_key) == sound
