"""Two at once on one picture: sharing, other rights, withdrawing and deleting wait for one another, and leave nothing askew."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from threading import Event

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import LICENCES
from drillhall.core.rights import Rights
from drillhall.pictures import sharing, verifying, withdrawing
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.rights import change_own_rights
from drillhall.pictures.storage import FolderStorage, orphans
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow, RightsRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PRIVATE, PUBLIC_ID, add_account, add_catalogue, add_form, saved, scene

DAY = date(2031, 5, 4)
ALIKE = Rights("Ada Mudd", LICENCES["CC-BY-SA-4.0"], "Ada Mudd")
SOON = 0.3
"""Seconds in which the second would have gone ahead, if it did not wait for the first."""

Act = Callable[["Pair", Session], object]


class Pair:
    """A picture whose owner does two things with it in two browsers, the second before the first is kept."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        with store.work() as db:
            self.owner, form = add_account(db, "owner"), add_form(db, "Mudpiper")
            add_catalogue(db, form_ids=(form,))
            group = GroupRow(public_id="g", title="Sluice", made_at=NOW)
            db.add(group)
            db.flush()
            self.group = group.id
            db.add(MembershipRow(group_id=group.id, account_id=self.owner, since=NOW))
            taken = take(saved(scene(400, 300)))
            add_picture(db, self.storage, taken, public_id=PUBLIC_ID, owner_id=self.owner, form_id=form, rights=OPEN, at=NOW)

    def do(self, first: Act, second: Act) -> object:
        """Begin the second while the first is not kept yet, and return what the second gave once both are."""
        begun = Event()

        def begin() -> object:
            with self.store.work() as db:
                begun.set()
                return second(self, db)

        with ThreadPoolExecutor(1) as pool:
            with self.store.work() as db:
                first(self, db)
                later = pool.submit(begin)
                begun.wait(5)
                with pytest.raises(TimeoutError):
                    later.result(SOON)
            return later.result(10)


def share(pair: Pair, db: Session) -> sharing.Sharing:
    return sharing.share_pictures(db, pair.storage, [PUBLIC_ID], owner_id=pair.owner, group_id=pair.group, agrees=False, on=DAY, at=NOW)


def close(pair: Pair, db: Session) -> None:
    change_own_rights(db, pair.storage, account_id=pair.owner, public_id=PUBLIC_ID, rights=PRIVATE, at=NOW)


def let_alike(pair: Pair, db: Session) -> None:
    change_own_rights(db, pair.storage, account_id=pair.owner, public_id=PUBLIC_ID, rights=ALIKE, at=NOW)


def delete(pair: Pair, db: Session) -> None:
    withdrawing.delete_files(db, pair.storage, account_id=pair.owner, public_id=PUBLIC_ID, at=NOW)


@pytest.fixture
def pair(postgresql_store: Store, tmp_path: Path) -> Pair:
    """On PostgreSQL alone: SQLite lets one write at a time anyway."""
    return Pair(postgresql_store, tmp_path / "pictures")


@pytest.mark.parametrize("first", [share, close, let_alike, delete])
@pytest.mark.parametrize("second", [share, close, let_alike, delete])
def test_whichever_is_second_waits_and_nothing_is_left_askew(pair: Pair, first: Act, second: Act) -> None:
    told = pair.do(first, second)
    with pair.store.look() as db:
        assert not list(verifying.verify(db, pair.storage, progress=lambda *_: None)), "files tell the rights that the picture has"
        assert orphans(db, pair.storage).files == orphans(db, pair.storage).rows == ()
        picture, rights = db.scalars(select(PictureRow)).one(), db.scalars(select(RightsRow)).one()
        runs = [row.ended_at is None for row in db.scalars(select(PictureShareRow))]
    if delete in (first, second) or not rights.may_group:
        assert not any(runs), "nothing deleted or closed stays shared"
    assert (picture.retired_at is not None) is (delete in (first, second))
    if second is share:
        assert isinstance(told, sharing.Sharing)
        assert (told.shared, told.already, len(told.refused)) == {share: (0, 1, 0), let_alike: (1, 0, 0)}.get(first, (0, 0, 1))
