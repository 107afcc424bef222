"""An import that says another form of a known picture corrects its label; what its owner took back it does not bring in again."""

from __future__ import annotations

import csv
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.acts.accept_offer import accept_offer
from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import Imported, import_catalogue, preview_import
from drillhall.catalogues.writing import open_sink
from drillhall.core.licences import CC0
from drillhall.core.rights import Rights
from drillhall.errors import BadImport
from drillhall.people.person import Person
from drillhall.pictures import ingest, labels, offers
from drillhall.pictures.accepting import Acceptance
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import shelf
from drillhall.practice.folding import rebuild
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow
from drillhall.store.models.pictures import LabelChangeRow, PictureRow
from drillhall.store.models.practice import ShowingRow
from drillhall.store.session import Store
from tests.acts.conftest import AT
from tests.acts.pictures import jpeg
from tests.practice.playing import play
from tests.practice.rows import folded
from tests.small_catalogue import write_small_catalogue

DAY = AT.date()
THEIRS = "0000000a-6a1d-4c53-9d5e-2f7a8b9c0d1e"


def bring(store: Store, storage: FolderStorage, folder: Path, by: Person, *, days: int = 0) -> Imported:
    with store.work() as db:
        return import_catalogue(db, storage, folder, by=by.id, at=AT + timedelta(days=days))


def with_form(folder: Path, file: str, form: str) -> Path:
    """Return a copy of a folder in which one picture is said to show another form."""
    copy = Path(shutil.copytree(folder, folder.with_name("relabelled")))
    with (copy / "pictures.csv").open(encoding="utf-8", newline="") as table:
        read = csv.DictReader(table)
        names, rows = read.fieldnames or [], [row | {"form": form} if row["file"].rpartition("/")[2] == file else row for row in read]
    with (copy / "pictures.csv").open("w", encoding="utf-8", newline="") as table:
        out = csv.DictWriter(table, names)
        out.writeheader()
        out.writerows(rows)
    return copy


def forms_of(db: Session) -> list[CatalogueFormRow]:
    return list(db.scalars(select(CatalogueFormRow)))


def test_answers_are_judged_by_what_the_new_folder_says(
    store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path
) -> None:
    folder = write_small_catalogue(tmp_path / "small")
    assert bring(store, storage, folder, keeper).judged_anew == 0
    with store.work() as db:
        for one in shelf.list_sets(db, stranger.id):
            shelf.take_set(db, stranger.id, one.id, at=AT)
        play(db, stranger.id, at=AT + timedelta(hours=1))
        before = folded(db)
        picture = db.scalars(select(ShowingRow.picture_id).order_by(ShowingRow.id)).first()
        assert picture is not None
        rows = {row.key: row.form_id for row in forms_of(db)}
        held = db.scalars(select(CataloguePictureRow).where(CataloguePictureRow.picture_id == picture)).one()
        form_id = db.get_one(PictureRow, picture).form_id
        was = next(key for key, known in rows.items() if known == form_id)
        now = next(key for key in rows if key != was)
    done = bring(store, storage, with_form(folder, held.file, now), keeper, days=1)
    assert (done.judged_anew >= 1, done.of_learners) == (True, 1)
    with store.work() as db:
        event = db.scalars(select(LabelChangeRow)).one()
        assert (event.picture_id, event.from_form_id, event.to_form_id, event.by_id) == (picture, rows[was], rows[now], keeper.id)
        after = folded(db)
        assert after["tally"] != before["tally"]
        rebuild(db)
        assert folded(db) == after
        assert len(labels.list_changes(db, catalogue_id=held.catalogue_id)) == 1
    bring(store, storage, folder, keeper, days=2)
    with store.look() as db:
        assert folded(db) == before
        assert len(db.scalars(select(LabelChangeRow)).all()) == 2


def bring_with_theirs(store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path) -> tuple[int, int]:
    """Bring the catalogue in with a stranger's picture accepted into it, write it to "out", and return its id and the offer's."""
    known = bring(store, storage, write_small_catalogue(tmp_path / "small"), keeper).catalogue_id
    with store.work() as db:
        form_id = min(row.form_id for row in forms_of(db))
        rights = Rights("Pell Ammerby", CC0, "Pell Ammerby")
        ingest.add_picture(
            db, storage, ingest.take(jpeg(77)), public_id=THEIRS, owner_id=stranger.id, form_id=form_id, rights=rights, at=AT
        )
        offer = offers.offer_picture(db, owner_id=stranger.id, public_id=THEIRS, catalogue_id=known, on=DAY, at=AT)
        accept_offer(db, offer, Acceptance(form_id), catalogue_id=known, by=keeper.id, on=DAY, at=AT)
    with store.look() as db, open_sink(tmp_path / "out", "small-estuary") as sink:
        export_catalogue(db, storage, "small-estuary", sink, by=keeper.id, on=DAY)
    return known, offer


def test_what_an_owner_took_back_stays_out(store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path) -> None:
    known, offer = bring_with_theirs(store, storage, keeper, stranger, tmp_path)
    with store.work() as db:
        offers.take_back(db, offer, owner_id=stranger.id, public_id=THEIRS, at=AT)
    bring(store, storage, tmp_path / "out", keeper, days=1)
    with store.look() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        held = db.get_one(CataloguePictureRow, (known, row.id))
        assert held.retired_at is not None
        assert (row.retired_at, row.owner_id) == (None, stranger.id)


def test_the_words_of_what_other_stewards_hold_stay_as_they_are(
    store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path
) -> None:
    bring_with_theirs(store, storage, keeper, stranger, tmp_path)
    with store.work() as db:
        picture = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        other = CatalogueRow(key="other", title="Other", subject="bird", list_name="L", made_at=AT, changed_at=AT)
        db.add(other)
        db.flush()
        db.add(CataloguePictureRow(catalogue_id=other.id, picture_id=picture.id, file="one.webp"))
        picture.pose, picture.alt, picture.typical = "asleep", "One bird, asleep.", False
    with store.look() as db:
        preview = preview_import(db, storage, tmp_path / "out", by=keeper.id)
    assert preview.changes is not None
    assert preview.changes.is_nothing, "what stays as it is, is not told as a change"
    text = (tmp_path / "out" / "catalogue.toml").read_text(encoding="utf-8").replace('note = "', 'note = "Anew. ', 1)
    (tmp_path / "out" / "catalogue.toml").write_text(text, encoding="utf-8")
    assert not bring(store, storage, tmp_path / "out", keeper, days=1).changes.is_nothing
    with store.work() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        assert (row.pose, row.alt, row.typical) == ("asleep", "One bird, asleep.", False)
        db.scalars(select(CatalogueRow).where(CatalogueRow.key == "other")).one().retired_at = AT
    bring(store, storage, tmp_path / "out", keeper, days=2)
    with store.look() as db:
        assert db.scalars(select(PictureRow.pose).where(PictureRow.public_id == THEIRS)).one() == ""


@pytest.mark.parametrize(
    ("what", "why"), [("use", "holds this picture as “held-out” in the scene “s9”"), ("form", "answer for what it shows")]
)
def test_what_another_catalogue_has_settled_no_import_changes(
    store: Store, storage: FolderStorage, keeper: Person, stranger: Person, tmp_path: Path, what: str, why: str
) -> None:
    known, _ = bring_with_theirs(store, storage, keeper, stranger, tmp_path)
    with store.work() as db:
        picture = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        file = db.get_one(CataloguePictureRow, (known, picture.id)).file
        other = CatalogueRow(key="other", title="Other", subject="bird", list_name="L", made_at=AT, changed_at=AT)
        db.add(other)
        db.flush()
        db.add(CataloguePictureRow(catalogue_id=other.id, picture_id=picture.id, file="one.webp"))
        form_id, key = next((row.form_id, row.key) for row in forms_of(db) if row.form_id != picture.form_id)
        if what == "use":
            picture.use, picture.cluster = "held-out", "s9"
        before = (picture.use, picture.cluster, picture.form_id)
    folder = with_form(tmp_path / "out", file, key) if what == "form" else tmp_path / "out"
    with store.look() as db:
        preview = preview_import(db, storage, folder, by=keeper.id)
    assert (preview.changes, [why in line for line in preview.report.lines]) == (None, [True])
    with pytest.raises(BadImport) as refused:
        bring(store, storage, folder, keeper, days=1)
    assert [why in fault for fault in refused.value.faults] == [True]
    with store.work() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        assert (row.use, row.cluster, row.form_id) == before
        db.scalars(select(CatalogueRow).where(CatalogueRow.key == "other")).one().retired_at = AT
    bring(store, storage, folder, keeper, days=1)
    with store.look() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == THEIRS)).one()
        assert (row.use, row.form_id == form_id) == ("practice", what == "form")
