"""A hall whose pictures lie in a bucket: from the sending of a picture to its erasing, and moved to a folder by a backup."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.acts.erase_person import erase_person, finish_erasing
from drillhall.acts.run_jobs import JOBS, Workshop
from drillhall.errors import Unavailable
from drillhall.pictures.bucket import BucketStorage
from drillhall.pictures.storage import FolderStorage, orphans
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from tests.acts.backed_up import Kept, bare, every_file, every_row, opened_once, put_back, take
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.pictures.drawn import saved, scene
from tests.pictures.s3 import Place
from tests.practice.playing import play
from tests.practice.small_hall import NOON, make_small_hall
from tests.visits import Hall, open_hall
from tests.web.pictures.sent import send_one

__all__ = ["bare", "opened_once"]

NOT_OF_THE_HALL = {"setting", "job"}
"""A backup is noted in the hall that it was taken of, after it was taken."""


@pytest.fixture
def kept(bare: Kept, place: Place) -> Kept:
    """A hall with a catalogue and an answered drill, its pictures in a bucket."""
    made = Kept(bare.store, place.storage())
    with made.store.work() as db:
        small = make_small_hall(db, pictures=3, portraits=1)
        for key in db.scalars(select(FileRow.storage_key)):
            made.storage.put(key, key.encode() * 50)
    with made.store.work() as db:
        play(db, small.learner, at=NOON, knows=lambda view, question: question.place != 1)
    return made


@pytest.fixture
def hall(kept: Kept, tmp_path: Path) -> Hall:
    """The same hall, open, and somebody of it has sent a picture."""
    hall = open_hall(kept.store, tmp_path / "open")
    hall.app.extensions["drillhall.storage"] = kept.storage
    hall.add(KEEPER, is_keeper=True)
    assert send_one(hall.enter(LEARNER), saved(scene(900, 600))).status_code == 200
    return hall


def sent(store: Store) -> tuple[PictureRow, list[FileRow]]:
    """Return the picture that was sent last, and its files."""
    with store.look() as db:
        picture = db.scalars(select(PictureRow).order_by(PictureRow.id.desc())).first()
        assert picture is not None
        return picture, list(db.scalars(select(FileRow).where(FileRow.picture_id == picture.id)))


def id_of(store: Store, name: str) -> int:
    with store.look() as db:
        return db.scalars(select(AccountRow.id).where(AccountRow.name == name)).one()


def test_pictures_leave_the_bucket_through_the_hall_which_asks_who_may(hall: Hall, kept: Kept) -> None:
    picture, files = sent(kept.store)
    (small,) = (file for file in files if file.size_name == "small")
    address = f"/pictures/{picture.public_id}/{small.recipe}"
    served = hall.enter(LEARNER, known=True).get(address)
    assert (served.status_code, served.data) == (200, kept.storage.get(small.storage_key))
    assert hall.enter(STRANGER).get(address).status_code == 404
    assert not (hall.folder / "pictures").exists(), "nothing of it lies on this machine"


def test_a_hall_moves_to_a_folder_by_a_backup(hall: Hall, kept: Kept, tmp_path: Path) -> None:
    moved = Kept(Store(f"sqlite:///{tmp_path / 'moved.sqlite'}"), FolderStorage(tmp_path / "moved"))
    before = every_row(kept.store)
    put_back(moved, take(kept, tmp_path / "one.zip"))
    after = every_row(moved.store)
    assert before["answer"]
    assert {name for name in before if after[name] != before[name]} <= NOT_OF_THE_HALL
    assert every_file(moved.storage) == every_file(kept.storage)
    moved.store.close()


def test_what_an_upload_left_is_swept_by_the_hall_itself(kept: Kept) -> None:
    (job,) = (one for one in JOBS if one.name == "sweep what uploads left behind")
    kept.storage.put("ab/stray/x.webp", b"half of an upload")
    known = set(kept.storage.keys()) - {"ab/stray/x.webp"}
    for after, is_there in ((timedelta(), True), (timedelta(hours=23), True), (timedelta(hours=25), False)):
        job.run(Workshop(kept.store, kept.storage, None, lambda after=after: NOON + after))
        assert ("ab/stray/x.webp" in set(kept.storage.keys())) is is_there
    assert set(kept.storage.keys()) == known


def test_the_files_of_whoever_is_erased_go_though_the_storage_was_away(hall: Hall, kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    picture, files = sent(kept.store)
    others = {key for key in kept.storage.keys() if picture.public_id not in key}  # noqa: SIM118 - it is no mapping
    keys = {file.storage_key for file in files}

    def away(*_: object) -> None:
        raise Unavailable("away")

    with monkeypatch.context() as broken:
        broken.setattr(BucketStorage, "delete", away)
        erase_person(kept.store, kept.storage, id_of(kept.store, LEARNER.name), leave_licensed=False, by=None, at=NOON)
    assert keys <= set(kept.storage.keys())
    finish_erasing(kept.store, kept.storage)
    assert set(kept.storage.keys()) == others
    with kept.store.look() as db:
        assert orphans(db, kept.storage).files == ()
