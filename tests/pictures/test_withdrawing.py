"""Withdrawing one's own pictures, bringing them back, and letting their files go with all that reached others."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.errors import BadPicture, NotFound
from drillhall.pictures.ingest import take
from drillhall.pictures.sent import keep_sent
from drillhall.pictures.storage import FolderStorage
from drillhall.pictures.withdrawing import bring_back, count_originals, delete_files, delete_originals, retire_picture
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import FileRow, PictureOfferRow, PictureRow, PictureShareRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, accept, add_account, add_catalogue, saved, scene

TAKEN = take(saved(scene(900, 600)))


class Room:
    """A learner with two pictures, and a storage."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        self.ids = [f"{number:08x}-6a1d-4c53-9d5e-2f7a8b9c0d1e" for number in (1, 2)]
        with store.work() as db:
            self.learner = add_account(db, "learner")
            for number, public_id in enumerate(self.ids):
                one = replace(TAKEN, content_sha256=f"{number:064x}")
                keep_sent(db, self.storage, one, public_id=public_id, owner_id=self.learner, at=NOW)

    def kept(self) -> list[str]:
        return sorted(self.storage.keys())


@pytest.fixture
def room(store: Store, tmp_path: Path) -> Room:
    return Room(store, tmp_path / "pictures")


def test_what_is_withdrawn_comes_back_as_it_was(room: Room) -> None:
    with room.store.work() as db:
        retire_picture(db, account_id=room.learner, public_id=room.ids[0], at=NOW)
        bring_back(db, account_id=room.learner, public_id=room.ids[0])
        bring_back(db, account_id=room.learner, public_id=room.ids[1])
    with room.store.look() as db:
        assert db.scalars(select(PictureRow.retired_at)).all() == [None, None]
    assert len(room.kept()) == 6


def test_deleted_files_take_with_them_all_that_reached_others(room: Room) -> None:
    with room.store.work() as db:
        catalogue = add_catalogue(db)
        first, second = db.scalars(select(PictureRow.id).order_by(PictureRow.id)).all()
        group = GroupRow(public_id="g" * 36, title="The Flats Club", made_at=NOW)
        db.add(group)
        db.flush()
        for picture_id in (first, second):
            accept(db, catalogue, picture_id)
            db.add(PictureShareRow(picture_id=picture_id, group_id=group.id, shared_at=NOW))
            db.add(PictureOfferRow(picture_id=picture_id, catalogue_id=catalogue, offered_at=NOW))
    with room.store.work() as db:
        delete_files(db, room.storage, account_id=room.learner, public_id=room.ids[0], at=NOW)
    assert {key.split("/")[1] for key in room.kept()} == {room.ids[1]}
    with room.store.look() as db:
        assert set(db.scalars(select(FileRow.picture_id))) == {second}
        assert db.scalars(select(CataloguePictureRow.picture_id).where(CataloguePictureRow.retired_at.is_(None))).all() == [second]
        assert db.scalars(select(PictureShareRow.picture_id).where(PictureShareRow.ended_at.is_(None))).all() == [second]
        assert db.scalars(select(PictureOfferRow.picture_id).where(PictureOfferRow.decision == "")).all() == [second]
    with room.store.work() as db, pytest.raises(BadPicture, match="deleted"):
        bring_back(db, account_id=room.learner, public_id=room.ids[0])


def test_files_stay_where_the_work_is_not_kept(room: Room) -> None:
    with pytest.raises(NotFound):
        _delete_and_trip(room)
    assert len(room.kept()) == 6
    with room.store.look() as db:
        assert db.scalars(select(PictureRow.retired_at)).all() == [None, None]
        assert count_originals(db, room.learner) == 2


def _delete_and_trip(room: Room) -> None:
    with room.store.work() as db:
        delete_files(db, room.storage, account_id=room.learner, public_id=room.ids[0], at=NOW)
        delete_originals(db, room.storage, room.learner)
        retire_picture(db, account_id=room.learner, public_id="nobody's", at=NOW)


def test_originals_go_and_the_sizes_stay(room: Room) -> None:
    with room.store.work() as db:
        assert delete_originals(db, room.storage, room.learner + 1) == 0
        assert delete_originals(db, room.storage, room.learner) == 2
    assert len(room.kept()) == 4
    assert not [key for key in room.kept() if "original" in key]
    with room.store.look() as db:
        assert (count_originals(db, room.learner), len(db.scalars(select(FileRow)).all())) == (0, 4)


@pytest.mark.parametrize("act", [retire_picture, delete_files, bring_back])
def test_anothers_picture_is_not_there(room: Room, act: object) -> None:
    words = {"account_id": room.learner + 1, "public_id": room.ids[0]} | ({} if act is bring_back else {"at": NOW})
    with room.store.work() as db, pytest.raises(NotFound):
        act(*((db, room.storage) if act is delete_files else (db,)), **words)  # type: ignore[operator]
