"""A shared picture is drilled by the people of the group at once, and gone from plan, packet and serving when it should be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.people import accounts, groups
from drillhall.people.permissions import the_group
from drillhall.pictures import sharing
from drillhall.pictures.serving import may_see
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import playing
from drillhall.practice.drilling import start_drill
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.models.practice import RoundRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

DAY = NOON.date()


@dataclass
class Shared:
    """A hall in which every picture of the first form is the stranger's own, shared with a group that the learner is in."""

    hall: SmallHall
    group: int
    pictures: tuple[int, ...]
    drill: str = "00000000-0000-4000-8000-00000000000a"

    def shown(self, db: Session) -> set[int]:
        """Return the pictures of the first form in the packet of the learner's drill."""
        packet = playing.the_packet(db, self.hall.learner, self.drill, now=NOON)
        names = {showing.picture.public_id for view in packet.rounds for showing in view.showings}
        return set(db.scalars(select(PictureRow.id).where(PictureRow.public_id.in_(names), PictureRow.id.in_(self.pictures))))

    def may_see(self, db: Session, picture: int) -> bool:
        row, rights = db.get_one(PictureRow, picture), db.get_one(RightsRow, picture)
        return may_see(db, row, rights, viewer_id=self.hall.learner, on=DAY)


@pytest.fixture
def shared(store: Store, storage: FolderStorage) -> Shared:
    with store.work() as db:
        hall = make_small_hall(db)
        rows = db.scalars(select(PictureRow).where(PictureRow.form_id == hall.forms[0], PictureRow.use == "practice")).all()
        for row in rows:
            row.owner_id = hall.stranger
            row.described_at = NOON
        db.execute(update(CataloguePictureRow).where(CataloguePictureRow.picture_id.in_([row.id for row in rows])).values(retired_at=NOON))
        leader = accounts.the_person_of(db, hall.stranger)
        made = groups.make_group(db, by=leader, title="Sluice", kind="club", is_paid=False, public_id="g", at=NOON)
        groups.add_member(db, made.id, hall.learner, at=NOON)
        share(db, storage, hall, made.id, [row.public_id for row in rows])
        shared = Shared(hall, made.id, tuple(row.id for row in rows))
        start_drill(db, hall.learner, drill_id=shared.drill, at=NOON)
    return shared


def share(db: Session, storage: FolderStorage, hall: SmallHall, group: int, public_ids: list[str]) -> sharing.Sharing:
    return sharing.share_pictures(db, storage, public_ids, owner_id=hall.stranger, group_id=group, agrees=False, on=DAY, at=NOON)


def test_a_member_drills_what_is_shared_at_once(store: Store, shared: Shared) -> None:
    with store.look() as db:
        assert shared.shown(db)
        assert all(shared.may_see(db, picture) for picture in shared.pictures)
        fresh = select(ShowingRow.first_sight).join(RoundRow).where(ShowingRow.picture_id.in_(shared.pictures))
        assert True in set(db.scalars(fresh)), "of her own pictures none is ever a first sight"


def leaves(db: Session, shared: Shared) -> None:
    person = accounts.the_person_of(db, shared.hall.learner)
    groups.leave(db, the_group(db, person, "g"), by=person, at=NOON)


def archived(db: Session, shared: Shared) -> None:
    person = accounts.the_person_of(db, shared.hall.stranger)
    groups.archive(db, the_group(db, person, "g"), by=person, at=NOON)


def unshared(db: Session, shared: Shared) -> None:
    for picture in shared.pictures:
        public_id = db.get_one(PictureRow, picture).public_id
        sharing.end_share(db, owner_id=shared.hall.stranger, public_id=public_id, group_key="g", at=NOON)


def licence_taken_back(db: Session, shared: Shared) -> None:
    db.execute(update(RightsRow).where(RightsRow.picture_id.in_(shared.pictures)).values(may_group=False, licence="", licence_url=""))


def permission_over(db: Session, shared: Shared) -> None:
    gone = DAY - timedelta(days=1)
    db.execute(update(RightsRow).where(RightsRow.picture_id.in_(shared.pictures)).values(may_until=gone, licence="with-permission"))


def paid_now(db: Session, shared: Shared) -> None:
    db.get_one(GroupRow, shared.group).is_paid = True


@pytest.mark.parametrize("end", [leaves, archived, unshared, licence_taken_back, permission_over, paid_now])
def test_it_is_gone_from_plan_packet_and_serving_when(store: Store, shared: Shared, end: Callable[[Session, Shared], None]) -> None:
    with store.work() as db:
        before = shared.shown(db)
        end(db, shared)
    with store.work() as db:
        assert shared.shown(db) == set()
        packet = playing.the_packet(db, shared.hall.learner, shared.drill, now=NOON)
        named = set(db.scalars(select(PictureRow.public_id).where(PictureRow.id.in_(before))))
        assert named <= set(packet.withdrawn), "her devices must hear which pictures to delete"
        assert not any(shared.may_see(db, picture) for picture in shared.pictures)
        new = "00000000-0000-4000-8000-00000000000b"
        start_drill(db, shared.hall.learner, drill_id=new, at=NOON + timedelta(days=1))
        planned = select(ShowingRow.picture_id).join(RoundRow).where(RoundRow.drill_id == new)
        assert not set(db.scalars(planned)) & set(shared.pictures)


def test_whoever_is_in_no_group_of_its_is_not_shown_it(store: Store, shared: Shared) -> None:
    with store.work() as db:
        other = accounts.make_account(db, name="Wen Tidewell", passphrase="six boats on a rising tide", at=NOON)
        picture = shared.pictures[0]
        assert not may_see(db, db.get_one(PictureRow, picture), db.get_one(RightsRow, picture), viewer_id=other.id, on=DAY)
