"""Secret links to the calendar of a group: one for each who is in it, renewed at will, dead when she leaves."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people.group import Group
from drillhall.people.person import Person
from drillhall.people.tokens import hash_token, make_token
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.seasons import CalendarLinkRow
from drillhall.words import say


class Subscribed(NamedTuple):
    """Whose calendar a link leads to; `language` is that of the account which the link is of."""

    group_id: int
    public_id: str
    title: str
    language: str


def renew_link(db: Session, group: Group, person: Person, *, at: datetime) -> str:
    """Make somebody a new link to a group's calendar and return its token, which is kept nowhere; the one before ends."""
    end_link(db, group, person, at=at)
    token = make_token()
    db.add(CalendarLinkRow(token_hash=hash_token(token), group_id=group.id, account_id=person.id, made_at=at))
    db.flush()
    return token


def end_link(db: Session, group: Group, person: Person, *, at: datetime) -> None:
    """End somebody's link to a group's calendar, if she has one."""
    row = CalendarLinkRow
    mine = update(row).where(row.group_id == group.id, row.account_id == person.id, row.ended_at.is_(None))
    db.execute(mine.values(ended_at=at))


def find_made_at(db: Session, group: Group, person: Person) -> datetime | None:
    """Return when somebody's running link to a group's calendar was made, or None where she has none."""
    row = CalendarLinkRow
    mine = select(row.made_at).where(row.group_id == group.id, row.account_id == person.id, row.ended_at.is_(None))
    return db.scalar(mine.order_by(row.id.desc()).limit(1))


def the_subscribed(db: Session, token: str) -> Subscribed:
    """Return whose calendar a token leads to, or raise NotFound where it was renewed, its owner left, or the group is archived."""
    query = (
        select(GroupRow.id, GroupRow.public_id, GroupRow.title, AccountRow.language)
        .join(CalendarLinkRow, CalendarLinkRow.group_id == GroupRow.id)
        .join(AccountRow, AccountRow.id == CalendarLinkRow.account_id)
        .join(MembershipRow, (MembershipRow.group_id == GroupRow.id) & (MembershipRow.account_id == AccountRow.id))
        .where(CalendarLinkRow.token_hash == hash_token(token), CalendarLinkRow.ended_at.is_(None))
        .where(MembershipRow.until.is_(None), AccountRow.retired_at.is_(None), GroupRow.retired_at.is_(None))
    )
    found = db.execute(query).first()
    if found is None:
        raise NotFound(say("This calendar link does not work, or no longer. Ask for a new one on the group's page."))
    return Subscribed(*found)
