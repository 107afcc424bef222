"""What the list of a class and the group itself keep about each who learns there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.people.group import MEMBER, Group
from drillhall.people.person import Person
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.rosters import GivenPassphraseRow, RosterPlaceRow


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept about one: since when she learned here, until when (None: still), the school's code, whether a slip waits for her."""

    name: str
    since: datetime
    until: datetime | None
    on_list: bool
    made_here: bool
    code: str
    waits: bool


def list_kept(db: Session, group: Group, *, asks: Person) -> tuple[Kept, ...]:
    """Return what is kept: to whoever leads a class of each who learns in it or rests, to anybody else of herself alone."""
    times = (
        select(
            MembershipRow.account_id,
            func.min(MembershipRow.since).label("since"),
            func.max(MembershipRow.until).label("until"),
            func.count(MembershipRow.until).label("ended"),
            func.count(MembershipRow.id).label("all"),
        )
        .where(MembershipRow.group_id == group.id, MembershipRow.role == MEMBER)
        .group_by(MembershipRow.account_id)
        .subquery()
    )
    place = (RosterPlaceRow.account_id == AccountRow.id) & (RosterPlaceRow.group_id == group.id)
    waits = (GivenPassphraseRow.account_id == AccountRow.id) & (GivenPassphraseRow.group_id == group.id)
    query = (
        select(AccountRow, times.c.since, times.c.until, times.c.ended, times.c.all, RosterPlaceRow, GivenPassphraseRow.account_id)
        .join(times, times.c.account_id == AccountRow.id)
        .outerjoin(RosterPlaceRow, place)
        .outerjoin(GivenPassphraseRow, waits)
        .where(AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded)
    )
    if not (group.is_led and group.kind == "class"):
        query = query.where(AccountRow.id == asks.id)
    told = []
    for account, since, until, ended, of_all, on, given in db.execute(query):
        is_over = ended == of_all
        if is_over and on is None and account.id != asks.id:  # who left, and is on no list, is told of to nobody
            continue
        code, made = (on.code, on.made_here) if on is not None else ("", False)
        told.append(Kept(account.name, since, until if is_over else None, on is not None, made, code, given is not None))
    return tuple(told)
