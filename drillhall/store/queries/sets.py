"""Which pair sets a learner drills: those she has taken from the shelf, and those assigned to a group that she is a member of."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, Select, Subquery, exists, func, literal, or_, select, union_all
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow, PairSetRow, TakenSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.seasons import AssignmentRow

LEARNS = "member"
"""The role to which a group's assignments go; whoever leads takes a set from the shelf."""


class Assigned(NamedTuple):
    """An assignment as it reaches one learner: she has been in the group since `member_since`."""

    id: int
    pair_set_id: int
    set_title: str
    group_title: str
    group_kind: str
    from_day: date
    for_day: date | None
    target_recall: float | None
    member_since: datetime


def sets_of(account_id: int, *, on: date) -> Subquery:
    """Return (pair_set_id, since) of the sets that somebody drills on a day of hers, each once."""
    taken = select(TakenSetRow.pair_set_id, TakenSetRow.taken_at.label("since")).where(TakenSetRow.account_id == account_id)
    given = _assigned(account_id).where(AssignmentRow.from_day <= on).with_only_columns(AssignmentRow.pair_set_id, AssignmentRow.made_at)
    every = union_all(taken, given).subquery()
    return select(every.c.pair_set_id, func.min(every.c.since).label("since")).group_by(every.c.pair_set_id).subquery()


def is_hers(account_id: int) -> ColumnElement[bool]:
    """Whether somebody has taken a set, or it is assigned to a group of hers, from whatever day on; the query must have PairSetRow."""
    taken = exists().where(TakenSetRow.pair_set_id == PairSetRow.id, TakenSetRow.account_id == account_id)
    given = _assigned(account_id).where(AssignmentRow.pair_set_id == PairSetRow.id).correlate(PairSetRow).exists()
    return or_(taken, given)


def assigned_to(db: Session, account_id: int) -> Sequence[Assigned]:
    """Return the assignments that reach somebody now or will, those with the nearest date first."""
    query = (
        _assigned(account_id)
        .join(PairSetRow, PairSetRow.id == AssignmentRow.pair_set_id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .with_only_columns(
            AssignmentRow.id,
            AssignmentRow.pair_set_id,
            PairSetRow.title,
            GroupRow.title,
            GroupRow.kind,
            AssignmentRow.from_day,
            AssignmentRow.for_day,
            AssignmentRow.target_recall,
            MembershipRow.since,
        )
        .order_by(AssignmentRow.for_day.is_(None), AssignmentRow.for_day, AssignmentRow.id)
    )
    return [Assigned(*row) for row in db.execute(query)]


def _assigned(account_id: int) -> Select[int]:
    return (
        select(AssignmentRow.id)
        .join(GroupRow, GroupRow.id == AssignmentRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(
            MembershipRow.account_id == literal(account_id),
            MembershipRow.until.is_(None),
            MembershipRow.role == LEARNS,
            GroupRow.retired_at.is_(None),
            AssignmentRow.retired_at.is_(None),
        )
    )
