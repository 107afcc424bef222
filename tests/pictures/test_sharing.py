"""Sharing one's own pictures: which may be, which may not and why, each wholly or not at all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES, WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights
from drillhall.core.values import Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures import shared, sharing
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import FileRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PRIVATE, add_account, add_catalogue, add_form, saved, scene

DAY = date(2031, 5, 4)
TAKEN = take(saved(scene(400, 300)))
RESERVED = Rights("Ada Mudd", ALL_RIGHTS_RESERVED, "Ada Mudd")
NOT_FOR_PAY = Rights("Ada Mudd", LICENCES["CC-BY-NC-4.0"], "Ada Mudd")


class Room:
    """An owner and a friend in a group, a stranger, and a form."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage, self.made = store, FolderStorage(folder), 0
        with store.work() as db:
            self.owner, self.friend, self.stranger = (add_account(db, name) for name in ("owner", "friend", "stranger"))
            self.form = add_form(db, "Mudpiper")
            add_catalogue(db, form_ids=(self.form,))
            group = GroupRow(public_id="g", title="Sluice", made_at=NOW)
            db.add(group)
            db.flush()
            self.group = group.id
            db.add_all(MembershipRow(group_id=group.id, account_id=who, since=NOW) for who in (self.owner, self.friend))

    def add(self, rights: Rights = OPEN, *, by: int | None = None, form: bool = True, use: Use = Use.PRACTICE) -> str:
        self.made += 1
        public_id = f"{self.made:08x}-6a1d-4c53-9d5e-2f7a8b9c0d1e"
        taken = replace(TAKEN, content_sha256=f"{self.made:064x}")
        form_id = self.form if form else None
        with self.store.work() as db:
            add_picture(
                db, self.storage, taken, public_id=public_id, owner_id=by or self.owner, form_id=form_id, rights=rights, at=NOW, use=use
            )
        return public_id

    def share(self, *public_ids: str, agrees: bool = False, by: int | None = None) -> sharing.Sharing:
        with self.store.work() as db:
            who = by or self.owner
            return sharing.share_pictures(db, self.storage, public_ids, owner_id=who, group_id=self.group, agrees=agrees, on=DAY, at=NOW)

    def shown(self) -> set[str]:
        with self.store.look() as db:
            return {one.public_id for one in shared.list_shared(db, self.group, viewer_id=self.friend, on=DAY).pictures}

    def be_paid(self) -> None:
        with self.store.work() as db:
            db.get_one(GroupRow, self.group).is_paid = True


@pytest.fixture
def room(store: Store, tmp_path: Path) -> Room:
    return Room(store, tmp_path / "pictures")


def test_twenty_are_shared_at_once(room: Room) -> None:
    pictures = [room.add() for _ in range(20)]
    assert room.share(*pictures, *pictures) == sharing.Sharing(20, 0)
    assert room.shown() == set(pictures)
    assert room.share(*pictures) == sharing.Sharing(0, 20)


def test_each_refused_one_is_named_and_the_others_are_shared(room: Room) -> None:
    good, private, unsaid = room.add(), room.add(PRIVATE), room.add(form=False)
    kept, reserved, theirs = room.add(use=Use.HELD_OUT), room.add(RESERVED), room.add(by=room.stranger)
    told = room.share(private, good, unsaid, kept, reserved, theirs, "nothing-like-it")
    assert (told.shared, told.already) == (1, 0)
    whys = {one.public_id: one.why for one in told.refused}
    assert "No licence is given" in whys[private]
    assert "not said" in whys[unsaid]
    assert "field tests" in whys[kept]
    assert "has not agreed" in whys[reserved]
    assert whys[theirs] == whys["nothing-like-it"] == "There is no such picture of yours."
    assert [one.is_yours for one in told.refused] == [True, True, True, True, False, False]
    assert room.shown() == {good}
    with room.store.look() as db:
        assert len(db.scalars(select(PictureShareRow)).all()) == 1


def test_agreeing_is_written_into_the_rights_of_what_was_reserved_alone(room: Room) -> None:
    reserved, private = room.add(RESERVED), room.add(PRIVATE)
    with room.store.look() as db:
        assert sharing.needs_agreement(db, owner_id=room.owner, public_id=reserved)
        assert not sharing.needs_agreement(db, owner_id=room.owner, public_id=private)
    told = room.share(reserved, private, agrees=True)
    assert (told.shared, [one.public_id for one in told.refused]) == (1, [private])
    with room.store.look() as db:
        agreed = {row.picture_id: row.agreed for row in db.scalars(select(RightsRow))}
        assert sorted(agreed.values()) == ["", "group"]
        assert not sharing.needs_agreement(db, owner_id=room.owner, public_id=reserved)
        assert all(room.storage.get(row.storage_key) for row in db.scalars(select(FileRow))), "the files lie where the rows say"
    assert room.shown() == {reserved}


def test_a_permission_says_what_it_covers_and_no_tick_widens_it(room: Room) -> None:
    lent = Rights(
        "Ada Mudd", WITH_PERMISSION, "Ada Mudd", granted_by="Ada Mudd", granted_on=DAY - timedelta(days=30), evidence="her letter"
    )
    narrow = room.add(lent)
    wide = room.add(replace(lent, agreed=frozenset({Purpose.GROUP}), until=DAY))
    over = room.add(replace(lent, agreed=frozenset({Purpose.GROUP}), until=DAY - timedelta(days=1)))
    told = room.share(narrow, wide, over, agrees=True)
    assert told.shared == 1
    assert [one.public_id for one in told.refused] == [narrow, over]
    assert "ended" in told.refused[1].why
    assert [one.small is None for one in told.refused] == [False, True], "after its end not even its owner is shown it"


def test_in_a_paid_group_only_what_may_be_used_for_pay(room: Room) -> None:
    free, not_for_pay, reserved = room.add(), room.add(NOT_FOR_PAY), room.add(RESERVED)
    assert room.share(not_for_pay).shared == 1
    room.be_paid()
    assert room.shown() == set(), "what was shared before is no longer shown"
    told = room.share(free, not_for_pay, reserved, agrees=True)
    assert [one.public_id for one in told.refused] == [not_for_pay]
    assert "paid" in told.refused[0].why
    assert room.shown() == {free, reserved}
    with room.store.look() as db:
        shared = sharing.list_shared_with(db, owner_id=room.owner, public_id=not_for_pay, on=DAY)
    assert [(one.group, one.is_shown) for one in shared] == [("Sluice", False)]


def test_an_ended_share_is_shown_no_more_and_can_begin_again(room: Room) -> None:
    picture = room.add()
    room.share(picture)
    with room.store.work() as db:
        sharing.end_share(db, owner_id=room.owner, public_id=picture, group_key="g", at=NOW)
    assert room.shown() == set()
    with room.store.work() as db, pytest.raises(NotFound):
        sharing.end_share(db, owner_id=room.owner, public_id=picture, group_key="g", at=NOW)
    assert room.share(picture).shared == 1
    assert room.shown() == {picture}


@pytest.mark.parametrize("who", ["friend", "stranger"])
def test_nobody_ends_or_reads_the_sharing_of_anothers(room: Room, who: str) -> None:
    picture, other = room.add(), getattr(room, who)
    room.share(picture)
    with room.store.work() as db:
        for ask in (
            lambda: sharing.end_share(db, owner_id=other, public_id=picture, group_key="g", at=NOW),
            lambda: sharing.list_shared_with(db, owner_id=other, public_id=picture, on=DAY),
            lambda: sharing.needs_agreement(db, owner_id=other, public_id=picture),
        ):
            with pytest.raises(NotFound):
                ask()
    assert room.share(picture, by=other).refused[0].why == "There is no such picture of yours."


def test_one_who_has_left_can_still_end_what_she_shared(room: Room) -> None:
    picture = room.add()
    room.share(picture)
    with room.store.work() as db:
        db.scalars(select(MembershipRow).where(MembershipRow.account_id == room.owner)).one().until = NOW
    with room.store.work() as db:
        sharing.end_share(db, owner_id=room.owner, public_id=picture, group_key="g", at=NOW)
    assert room.shown() == set()


def test_nothing_too_many_and_an_archived_group_are_refused(room: Room) -> None:
    picture = room.add()
    for many in ((), tuple(str(number) for number in range(sharing.MOST_AT_ONCE + 1))):
        with pytest.raises(Invalid):
            room.share(*many)
    with room.store.work() as db:
        db.get_one(GroupRow, room.group).retired_at = NOW
    with pytest.raises(Conflict, match="archived"):
        room.share(picture)


def test_a_withdrawn_picture_is_not_on_the_groups_page(room: Room) -> None:
    picture = room.add()
    room.share(picture)
    with room.store.work() as db:
        db.scalars(select(PictureRow)).one().retired_at = NOW
    assert room.shown() == set()


def test_what_stays_with_a_group_that_she_left_is_listed_and_taken_back_whole(room: Room) -> None:
    mine, theirs = [room.add() for _ in range(3)], room.add(by=room.friend)
    room.share(*mine)
    room.share(theirs, by=room.friend)
    with room.store.look() as db:
        assert shared.list_left_behind(db, room.owner) == (), "she is in it still"
        page = shared.list_shared(db, room.group, viewer_id=room.owner, on=DAY, page=1, size=2)
        assert (len(page.pictures), page.total, page.by_her, page.has_more) == (2, 4, 3, False)
    with room.store.work() as db:
        for row in db.scalars(select(MembershipRow).where(MembershipRow.account_id == room.owner)):
            row.until = NOW
    with room.store.work() as db:
        assert [(one.group, one.pictures) for one in shared.list_left_behind(db, room.owner)] == [("Sluice", 3)]
        assert shared.find_left_behind(db, room.stranger, "g") is None
        assert shared.find_left_behind(db, room.owner, "another") is None
        group_id = shared.find_left_behind(db, room.owner, "g")
        assert group_id == room.group
        assert shared.end_shares(db, owner_id=room.owner, group_id=group_id, at=NOW) == 3
    assert room.shown() == {theirs}
    with room.store.look() as db:
        assert shared.list_left_behind(db, room.owner) == ()
