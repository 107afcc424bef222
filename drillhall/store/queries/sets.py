"""Which pair sets a learner drills: those she has taken from the shelf, and those assigned to a group that she is a member of."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, Subquery, exists, func, or_, select, union_all
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CatalogueRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    TakenSetRow,
    ThirdRow,
)
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.seasons import AssignmentRow, OutingRow
from drillhall.store.queries.given import ACCOUNT, ON

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
    return [Assigned(*row) for row in db.execute(_assigned_to(), {"account_id": account_id})]


@cache
def _assigned_to() -> Select[int, int, str, str, str, date, date | None, float | None, *tuple[Any, ...]]:
    return (
        _assigned(ACCOUNT)
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


def outings_ahead(db: Session, account_id: int, *, on: date) -> list[tuple[int, date, datetime, datetime]]:
    """Return (pair set, day, made at, member since) of the outings of a learner's groups from a day on, the nearest first."""
    return [
        (set_id, day, made_at, since) for set_id, day, made_at, since in db.execute(_outings_ahead(), {"account_id": account_id, "on": on})
    ]


@cache
def _outings_ahead() -> Select[int, date, datetime, datetime]:
    pair_set = func.coalesce(OutingRow.pair_set_id, AssignmentRow.pair_set_id)
    return (
        select(pair_set, OutingRow.day, OutingRow.made_at, MembershipRow.since)
        .join(GroupRow, GroupRow.id == OutingRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .outerjoin(AssignmentRow, AssignmentRow.id == OutingRow.assignment_id)
        .where(
            MembershipRow.account_id == ACCOUNT,
            MembershipRow.until.is_(None),
            MembershipRow.role == LEARNS,
            GroupRow.retired_at.is_(None),
            OutingRow.retired_at.is_(None),
            AssignmentRow.retired_at.is_(None),
            OutingRow.day >= ON,
        )
        .order_by(OutingRow.day, OutingRow.id)
    )


def _assigned(account_id: int) -> Select[int]:
    return (
        select(AssignmentRow.id)
        .join(GroupRow, GroupRow.id == AssignmentRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(
            MembershipRow.account_id == account_id,
            MembershipRow.until.is_(None),
            MembershipRow.role == LEARNS,
            GroupRow.retired_at.is_(None),
            AssignmentRow.retired_at.is_(None),
        )
    )


def her_sets(db: Session, account_id: int, *, on: date) -> list[tuple[PairSetRow, str, str]]:
    """Return (set, its title, its catalogue's title) of what a learner drills on a day of hers, in the order in which they came to her."""
    hers = sets_of(account_id, on=on)
    query = (
        select(PairSetRow, PairSetRow.title, CatalogueRow.title)
        .join(hers, hers.c.pair_set_id == PairSetRow.id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(hers.c.since, PairSetRow.id)
    )
    return [(row, title, catalogue) for row, title, catalogue in db.execute(query)]


def forms_of_set(db: Session, pair_set_id: int) -> set[int]:
    """Return the forms of a set's pairs in use, and their thirds."""
    held = (
        select(CataloguePairRow.id, PairRow.first_form_id, PairRow.second_form_id)
        .join(PairRow, PairRow.id == CataloguePairRow.pair_id)
        .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
        .join(StageRow, StageRow.id == StagePairRow.stage_id)
        .where(StageRow.pair_set_id == pair_set_id, CataloguePairRow.retired_at.is_(None))
        .subquery()
    )
    thirds = (
        select(CatalogueFormRow.form_id)
        .join(ThirdRow, ThirdRow.catalogue_form_id == CatalogueFormRow.id)
        .join(held, held.c.id == ThirdRow.catalogue_pair_id)
    )
    return set(db.scalars(union_all(select(held.c.first_form_id), select(held.c.second_form_id), thirds)))
