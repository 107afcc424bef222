"""What somebody has done of what a beginner, a leader or a teacher does first: each a plain yes or no."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import exists, or_, select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow, PairSetRow, StewardRow, TakenSetRow
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import MemoryRow, TallyRow
from drillhall.store.models.seasons import AssignmentRow, OutingRow
from drillhall.store.queries.sets import LEARNS

HEADS = ("leader", "teacher")
RATED_TWICE = 2
"""A pair is rated once a day, so a second rating was on another day."""

SETS_IN_USE = (
    select(PairSetRow.id)
    .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
    .where(PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
)


class LedGroup(NamedTuple):
    """A group that she leads or teaches."""

    id: int
    public_id: str
    title: str
    kind: str


class LearnerDid(NamedTuple):
    """What a learner did: has pairs, has answered, has drilled a pair on two days, holds one; `may_take`: the shelf has a set."""

    has_set: bool
    has_answered: bool
    came_back: bool
    holds_one: bool
    is_steward: bool
    may_take: bool


class GroupDid(NamedTuple):
    """What was done with a group: a set and a picture are there, somebody is in it, what it was given, what came of it."""

    has_set: bool
    has_picture: bool
    has_people: bool
    has_assignment: bool
    has_outing: bool
    has_answers: bool
    has_test: bool


def newest_led(db: Session, account_id: int) -> dict[str, LedGroup]:
    """Return the newest club and the newest class that somebody heads, by kind; archived ones are left out."""
    query = (
        select(GroupRow.id, GroupRow.public_id, GroupRow.title, GroupRow.kind)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(MembershipRow.account_id == account_id, MembershipRow.until.is_(None), MembershipRow.role.in_(HEADS))
        .where(GroupRow.retired_at.is_(None))
        .order_by(GroupRow.id)
    )
    return {row.kind: LedGroup(*row) for row in db.execute(query)}


def learner_did(db: Session, account_id: int) -> LearnerDid:
    """Return what a learner has done so far."""
    given = (
        select(AssignmentRow.id)
        .join(MembershipRow, MembershipRow.group_id == AssignmentRow.group_id)
        .where(MembershipRow.account_id == account_id, MembershipRow.role == LEARNS, MembershipRow.until.is_(None))
        .where(AssignmentRow.retired_at.is_(None))
    )
    hers = MemoryRow.account_id == account_id
    return LearnerDid(
        *db.execute(
            select(
                or_(exists().where(TakenSetRow.account_id == account_id), given.exists()),
                exists().where(TallyRow.account_id == account_id),
                exists().where(hers, MemoryRow.rounds >= RATED_TWICE),
                exists().where(hers, MemoryRow.held_running >= RATED_TWICE),
                exists().where(StewardRow.account_id == account_id),
                SETS_IN_USE.exists(),
            )
        ).one()
    )


def group_did(db: Session, account_id: int, group_id: int | None) -> GroupDid:
    """Return what has been done with a group by whoever heads it; without a group, what is there for one."""
    members = select(MembershipRow.account_id).where(
        MembershipRow.group_id == group_id, MembershipRow.until.is_(None), MembershipRow.account_id != account_id
    )
    return GroupDid(
        *db.execute(
            select(
                SETS_IN_USE.exists(),
                exists().where(PictureRow.use == "practice", PictureRow.retired_at.is_(None)),
                members.exists(),
                exists().where(AssignmentRow.group_id == group_id, AssignmentRow.retired_at.is_(None)),
                exists().where(OutingRow.group_id == group_id, OutingRow.retired_at.is_(None)),
                exists().where(TallyRow.account_id.in_(members)),
                exists().where(FieldTestRow.group_id == group_id, FieldTestRow.retired_at.is_(None)),
            )
        ).one()
    )
