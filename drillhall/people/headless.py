"""Groups that nobody leads any more because an account was closed: which they are, and who is to lead them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, exists, select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import audit, groups
from drillhall.people.group import HEADS, MEMBER, ROLE_WORDS, Group, head_of
from drillhall.people.person import Person
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.words import Said, say


@dataclass(frozen=True, slots=True)
class InHeadless:
    """Somebody in a group that nobody leads; `id` names her membership."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Headless:
    """A group that nobody leads, and who is in it."""

    id: int
    title: str
    head: Said
    is_archived: bool
    members: tuple[InHeadless, ...]


def list_headless(db: Session) -> tuple[Headless, ...]:
    """Return the groups that have people and nobody who leads them, by title."""
    rows = db.scalars(select(GroupRow).where(~_has(is_head=True), _has()).order_by(GroupRow.title, GroupRow.id)).all()
    query = (
        select(MembershipRow.group_id, MembershipRow.id, AccountRow.name)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id.in_([row.id for row in rows]), MembershipRow.until.is_(None), AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded)
    )
    people: dict[int, list[InHeadless]] = defaultdict(list)
    for group_id, membership_id, name in db.execute(query):
        people[group_id].append(InHeadless(membership_id, name))
    return tuple(
        Headless(row.id, row.title, ROLE_WORDS[head_of(row.kind)], row.retired_at is not None, tuple(people[row.id])) for row in rows
    )


def let_lead(db: Session, group_id: int, membership_id: int, *, by: Person, at: datetime) -> None:
    """Let somebody lead the group she is in, which nobody leads; raise NotFound where somebody does, or she is not in it."""
    row = db.scalars(select(GroupRow).where(GroupRow.id == group_id).with_for_update()).one_or_none()
    group = next((one for one in list_headless(db) if one.id == group_id), None)
    if row is None or group is None:
        raise NotFound(say("There is no such group that nobody leads."))
    if membership_id not in {one.id for one in group.members}:
        raise NotFound(say("Nobody by that number is in this group any more."))
    known = Group(row.id, row.public_id, row.title, row.kind, row.is_paid, row.retired_at, MEMBER)
    groups.make_head(db, known, membership_id, by=by, at=at)


def archive_deserted(db: Session, account_id: int, *, by: int | None, at: datetime) -> None:
    """Archive the groups of a closed account in which nobody with an account in use is left."""
    hers = exists().where(MembershipRow.group_id == GroupRow.id, MembershipRow.account_id == account_id, MembershipRow.until.is_(None))
    for row in db.scalars(select(GroupRow).where(hers, GroupRow.retired_at.is_(None), ~_has())):
        row.retired_at = at
        audit.note(db, "group archived", at=at, by=by, subject=f"group {row.id}")


def _has(*, is_head: bool = False) -> ColumnElement[bool]:
    """Whether somebody with an account in use is in a group, or leads it; the query must have GroupRow."""
    people = exists().where(
        MembershipRow.group_id == GroupRow.id,
        MembershipRow.until.is_(None),
        AccountRow.id == MembershipRow.account_id,
        AccountRow.retired_at.is_(None),
    )
    return people.where(MembershipRow.role.in_(HEADS)) if is_head else people
