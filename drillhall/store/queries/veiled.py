"""What is read of learners who are told of in sums alone: their tallies week by week, and what those answered who left."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries.sets import LEARNS


class SpanSum(NamedTuple):
    """How many `times` one learner called a form of a pair what in one week: `fresh` of them on fresh pictures, `three` with *neither*."""

    account_id: int
    pair_id: int
    shown_form_id: int
    said_form_id: int
    week: int
    times: int
    fresh: int
    three: int


class GoneCell(NamedTuple):
    """That somebody who learnt in a group from `since` to `until` was shown a form of a pair in a week, in the group or not."""

    pair_id: int
    shown_form_id: int
    week: int
    since: datetime
    until: datetime


def span_sums(db: Session, account_ids: Collection[int], pair_ids: Collection[int]) -> list[SpanSum]:
    """Return sums of some learners' tallies of some pairs, by learner, pair, form shown, form said and week."""
    key = (TallyRow.account_id, TallyRow.pair_id, TallyRow.shown_form_id, TallyRow.said_form_id, TallyRow.week)
    fresh = func.coalesce(func.sum(TallyRow.count).filter(TallyRow.fresh), 0)
    three = func.coalesce(func.sum(TallyRow.count).filter(TallyRow.choices > 2), 0)
    query = (
        select(*key, func.sum(TallyRow.count), fresh, three)
        .where(TallyRow.account_id.in_(account_ids), TallyRow.pair_id.in_(pair_ids))
        .group_by(*key)
    )
    return [SpanSum(*row[:5], *(int(number) for number in row[5:])) for row in db.execute(query)]


def cells_of_gone(db: Session, group_id: int, pair_ids: Collection[int]) -> list[GoneCell]:
    """Return what was shown of some pairs to those who learnt in a group and left it, or whose accounts are closed."""
    until = func.coalesce(MembershipRow.until, AccountRow.retired_at)
    query = (
        select(TallyRow.pair_id, TallyRow.shown_form_id, TallyRow.week, MembershipRow.since, until)
        .join(MembershipRow, MembershipRow.account_id == TallyRow.account_id)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.role == LEARNS, TallyRow.pair_id.in_(pair_ids))
        .where(or_(MembershipRow.until.is_not(None), AccountRow.retired_at.is_not(None)))
        .distinct()
    )
    return [GoneCell(*row) for row in db.execute(query)]
