"""Who may be reminded of what a group has set: people with a confirmed address who want it, and the sets that reach them."""

from __future__ import annotations

from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow, PairSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.queries.sets import LEARNS


class ToRemind(NamedTuple):
    """One pair set that reaches one person."""

    account_id: int
    public_id: str
    address: str
    name: str
    language: str
    zone: str
    set_title: str
    group_title: str
    from_day: date
    for_day: date | None


def to_remind(db: Session, *, reminded_before: datetime) -> list[ToRemind]:
    """Return every pair set that reaches somebody who may be reminded, by person, the nearest day first."""
    query = (
        select(AccountRow.id, AddressRow.public_id, AddressRow.address, AccountRow.name, AccountRow.language, AccountRow.zone)
        .add_columns(PairSetRow.title, GroupRow.title, AssignmentRow.from_day, AssignmentRow.for_day)
        .join(AddressRow, AddressRow.account_id == AccountRow.id)
        .join(MembershipRow, MembershipRow.account_id == AccountRow.id)
        .join(GroupRow, GroupRow.id == MembershipRow.group_id)
        .join(AssignmentRow, AssignmentRow.group_id == GroupRow.id)
        .join(PairSetRow, PairSetRow.id == AssignmentRow.pair_set_id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(AddressRow.confirmed_at.is_not(None), AddressRow.reminders.is_(True), AccountRow.retired_at.is_(None))
        .where(or_(AddressRow.reminded_at.is_(None), AddressRow.reminded_at <= reminded_before))
        .where(MembershipRow.until.is_(None), MembershipRow.role == LEARNS, GroupRow.retired_at.is_(None))
        .where(AssignmentRow.retired_at.is_(None), PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(AccountRow.id, AssignmentRow.for_day.is_(None), AssignmentRow.for_day, AssignmentRow.id)
    )
    return [ToRemind(*row) for row in db.execute(query)]
