"""Sharing one's own pictures with a group: which may be, which may not and why, what a group is shown, and ending it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import ALL_RIGHTS_RESERVED
from drillhall.core.rights import Purpose, Rights, may
from drillhall.core.term_words import told_alt
from drillhall.core.values import Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures.rendered import hold
from drillhall.pictures.rights import write_rights
from drillhall.pictures.serving import may_see
from drillhall.pictures.storage import Storage
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow, RightsRow
from drillhall.store.queries import pictures as queries
from drillhall.words import say, speaking

MOST_AT_ONCE: Final = 200
"""More pictures than this are not shared in one go."""


@dataclass(frozen=True, slots=True)
class SmallSize:
    """The smallest file of a picture, for a list."""

    recipe: str
    width_px: int
    height_px: int
    alt: str


@dataclass(frozen=True, slots=True)
class NotShared:
    """A picture that was not shared, and why, in a sentence; `is_yours`: it is one of whoever asks.

    `mends` says which of its pages does: "rights", "label", or none. `small` is what she may look at: nothing of what is held out.
    """

    public_id: str
    what: str
    why: str
    is_yours: bool = True
    mends: str = ""
    taken_on: date | None = None
    small: SmallSize | None = None


@dataclass(frozen=True, slots=True)
class Sharing:
    """What became of pictures to be shared: how many were, how many had been already, and those that may not be."""

    shared: int = 0
    already: int = 0
    refused: tuple[NotShared, ...] = ()

    def and_also(self, other: Sharing) -> Sharing:
        """Return what became of two batches together."""
        return Sharing(self.shared + other.shared, self.already + other.already, self.refused + other.refused)


@dataclass(frozen=True, slots=True)
class SharedWith:
    """A group that a picture is shared with, and whether its people are shown it now; if not, `why` tells."""

    group: str
    public_id: str
    shared_at: datetime
    is_shown: bool
    why: str


def share_pictures(
    db: Session, storage: Storage, public_ids: Sequence[str], *, owner_id: int, group_id: int, agrees: bool, on: date, at: datetime
) -> Sharing:
    """Share some of somebody's own pictures with a group, each wholly or not at all.

    Parameters
    ----------
    group_id : a group that she is in; whoever calls has asked that.
    agrees : she lets the group's people drill those of which she has reserved all rights, which is written into their rights.
    on : her day.

    Raises
    ------
    Invalid : none is named, or too many at once. Conflict : the group is archived.
    """
    wanted = check_many(public_ids)
    group = db.get_one(GroupRow, group_id)
    if group.retired_at is not None:
        raise Conflict(say("{title} is archived. Nothing is shared with it any more.", title=group.title))
    shared = already = 0
    refused = []
    for public_id in wanted:
        why = _share(db, storage, public_id, owner_id=owner_id, group=group, agrees=agrees, on=on, at=at)
        shared, already = shared + (why is None), already + (why == "")
        if why:
            refused.append(refused_one(db, owner_id, public_id, why, on=on))
    db.flush()
    return Sharing(shared, already, tuple(refused))


def check_many(public_ids: Sequence[str]) -> tuple[str, ...]:
    """Return the pictures named, each once; raise Invalid where there is none, or too many."""
    wanted = tuple(dict.fromkeys(public_ids))
    if not wanted:
        raise Invalid(say("Tick the pictures to share first."), field="picture")
    if len(wanted) > MOST_AT_ONCE:
        raise Invalid(say("Share at most {most_at_once} pictures at once.", most_at_once=MOST_AT_ONCE), field="picture")
    return wanted


def end_share(db: Session, *, owner_id: int, public_id: str, group_key: str, at: datetime) -> None:
    """Stop sharing one's own picture with a group, whether or not one is still in it.

    Nobody there is shown it from now on; what was answered on it stays.
    """
    query = (
        select(PictureShareRow)
        .join(PictureRow, PictureRow.id == PictureShareRow.picture_id)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .where(
            PictureRow.owner_id == owner_id,
            PictureRow.public_id == public_id,
            GroupRow.public_id == group_key,
            PictureShareRow.ended_at.is_(None),
        )
    )
    row = db.scalar(query)
    if row is None:
        raise NotFound(say("There is no such picture of yours shared with that group."))
    row.ended_at = at


def list_shared_with(db: Session, *, owner_id: int, public_id: str, on: date) -> tuple[SharedWith, ...]:
    """Return the groups that one's own picture is shared with, and whether the people of each are shown it."""
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    query = (
        select(PictureShareRow, GroupRow)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .where(PictureShareRow.picture_id == picture.id, PictureShareRow.ended_at.is_(None))
        .order_by(GroupRow.title, GroupRow.id)
    )
    found = []
    for row, group in db.execute(query):
        why = say("It is archived.") if group.retired_at else _wrong(picture, rights, owner_id=owner_id, is_paid=group.is_paid, on=on)
        found.append(SharedWith(group.title, group.public_id, row.shared_at, not why, why))
    return tuple(found)


def needs_agreement(db: Session, *, owner_id: int, public_id: str) -> bool:
    """Whether one's own picture may be shared with a group only after its owner agrees to that, because all rights are reserved."""
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        raise NotFound(say("There is no such picture of yours."))
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    return rights.licence == ALL_RIGHTS_RESERVED and Purpose.GROUP not in rights.agreed


def _share(
    db: Session, storage: Storage, public_id: str, *, owner_id: int, group: GroupRow, agrees: bool, on: date, at: datetime
) -> str | None:
    """Share one picture; return None when done, "" where it was shared already, else why not."""
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        return say("There is no such picture of yours.")
    hold(db, picture)
    if picture.retired_at is not None:
        return say("There is no such picture of yours.")
    rights = queries.rights_of(db.get_one(RightsRow, picture.id))
    agreed = agreed_to(rights, is_paid=group.is_paid) if agrees else rights
    if why := _wrong(picture, agreed, owner_id=owner_id, is_paid=group.is_paid, on=on):
        return why
    if agreed != rights:
        write_rights(db, storage, picture.id, agreed)
    row = db.get(PictureShareRow, (picture.id, group.id))
    if row is not None and row.ended_at is None:
        return ""
    if row is None:
        db.add(PictureShareRow(picture_id=picture.id, group_id=group.id, shared_at=at))
    else:
        row.shared_at, row.ended_at = at, None
    return None


def agreed_to(rights: Rights, *, is_paid: bool) -> Rights:
    """Return the rights once their owner lets a group drill the picture; a licence that stands by itself stays as it is."""
    if rights.licence != ALL_RIGHTS_RESERVED:
        return rights
    return replace(rights, agreed=rights.agreed | {Purpose.GROUP} | ({Purpose.PAID} if is_paid else set()))


def _wrong(picture: PictureRow, rights: Rights, *, owner_id: int, is_paid: bool, on: date) -> str:
    """Say why the people of a group may not be shown a picture of somebody in it, or nothing."""
    if picture.use == Use.HELD_OUT:
        return say("It is held out for field tests, so nobody practises on it.")
    if picture.form_id is None:
        return say("Which form it shows is not said, so nobody could drill it.")
    for purpose in (Purpose.GROUP, Purpose.PAID) if is_paid else (Purpose.GROUP,):
        # Asked as for another person than its owner: to her own eyes it is always open.
        verdict = may(rights, owner_id=None, viewer_id=owner_id, purpose=purpose, on=on)
        if not verdict.allowed:
            return verdict.reason
    return ""


def refused_one(db: Session, owner_id: int, public_id: str, why: str, *, on: date) -> NotShared:
    """Return what is told of a picture that somebody may not share or put into a catalogue, for a reason."""
    picture = queries.find_own(db, owner_id, public_id)
    if picture is None:
        return NotShared(public_id, say("A picture"), why, is_yours=False)
    named = queries.forms_by_id(db, [picture.form_id], speaking()).get(picture.form_id) if picture.form_id is not None else None
    may_look = may_see(db, picture, db.get_one(RightsRow, picture.id), viewer_id=owner_id, on=on)
    files = queries.served_files(db, [picture.id]).get(picture.id, []) if may_look else []
    return NotShared(
        public_id,
        named[1] if named and named[1] else told_alt(picture.alt) or say("A picture"),
        why,
        mends="" if picture.use == Use.HELD_OUT else "label" if picture.form_id is None else "rights",
        taken_on=picture.taken_on,
        small=SmallSize(files[0].recipe, files[0].width_px, files[0].height_px, told_alt(picture.alt)) if files else None,
    )
