"""Pupils without an address: those for whom a teacher may ask what is kept, have it exported, and have it erased."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, and_, exists, func, or_, select, true
from sqlalchemy.orm import Session, aliased

from drillhall.errors import NotFound
from drillhall.people.group import HEADS, MEMBER, TEACHER, Group
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow
from drillhall.store.models.rosters import RosterPlaceRow
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Pupil:
    """Somebody for whom the teacher of a class may act; `id` names her membership. `until`: she rests, and is in it no more."""

    id: int
    account_id: int
    name: str
    since: datetime
    until: datetime | None


def list_pupils(db: Session, group: Group, *, by: int) -> tuple[Pupil, ...]:
    """Return for whom whoever asks (`by`) may act in a group, by name: those in it, and those who rest on its list.

    Nobody, where she is no teacher in it.
    """
    if group.role != TEACHER:
        return ()
    latest = select(func.max(MembershipRow.id)).where(MembershipRow.group_id == group.id).group_by(MembershipRow.account_id)
    on_list = exists().where(RosterPlaceRow.group_id == group.id, RosterPlaceRow.account_id == AccountRow.id, RosterPlaceRow.made_here)
    query = (
        select(MembershipRow.id, MembershipRow.since, MembershipRow.until, AccountRow.id.label("account_id"), AccountRow.name)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.id.in_(latest), MembershipRow.role == MEMBER, or_(MembershipRow.until.is_(None), on_list), _is_pupil(by))
        .order_by(MembershipRow.until.is_not(None), AccountRow.name_folded)
    )
    return tuple(Pupil(row.id, row.account_id, row.name, row.since, row.until) for row in db.execute(query))


def the_pupil(db: Session, group: Group, membership_id: int, *, by: int) -> Pupil:
    """Return somebody for whom the teacher of a group may act, or raise NotFound, as if she were not there."""
    found = next((one for one in list_pupils(db, group, by=by) if one.id == membership_id), None)
    if found is None:
        raise NotFound(say("There is no such pupil in this class, or she sees to it herself."))
    return found


def made_under(by: int, *, kind: str | None = None) -> ColumnElement[bool]:
    """Whether an account was made by joining a group (of a kind) that somebody leads now.

    Anybody may make a group and ask others into it. Whoever had her account before is not put into the hands of its leader by joining.
    """
    first, heads = aliased(MembershipRow), aliased(MembershipRow)
    return exists().where(
        first.account_id == AccountRow.id,
        first.since == AccountRow.created_at,
        GroupRow.id == first.group_id,
        GroupRow.kind == kind if kind else true(),
        *(heads.group_id == first.group_id, heads.account_id == by, heads.until.is_(None), heads.role.in_(HEADS)),
    )


def _is_pupil(by: int) -> ColumnElement[bool]:
    """Whether an account was made in a class that somebody teaches, and its owner has neither given an address nor an office of any kind.

    Somebody who was in the hall before, or who can be asked by mail, sees to her own things: a class she joins has no right to them.
    """
    own = aliased(MembershipRow)
    return and_(
        AccountRow.is_keeper.is_(False),
        made_under(by, kind="class"),
        ~exists().where(AddressRow.account_id == AccountRow.id),
        ~exists().where(StewardRow.account_id == AccountRow.id),
        ~exists().where(own.account_id == AccountRow.id, own.role.in_(HEADS), own.until.is_(None)),
    )
