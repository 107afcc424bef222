"""Outings of a group: a day in the field, where to meet in the leader's own words, and the pairs that it prepares for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.errors import Invalid, NotFound
from drillhall.practice.assigning import MOST_AHEAD
from drillhall.practice.shelf import the_set
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.seasons import AssignmentRow, OutingRow
from drillhall.words import say

LONGEST_TITLE: Final = 120
LONGEST_PLACE: Final = 200


@dataclass(frozen=True, slots=True)
class OutingSaid:
    """What a leader says of an outing: it prepares for an assignment, or for a pair set, never both."""

    title: str
    day: date
    place: str = ""
    assignment_id: int | None = None
    pair_set_id: int | None = None


@dataclass(frozen=True, slots=True)
class GroupOuting:
    """An outing as its group sees it; `changes` counts how often it was changed, `off_at` is when it was called off."""

    id: int
    title: str
    day: date
    place: str
    assignment_id: int | None
    pair_set_id: int
    set_title: str
    changes: int
    changed_at: datetime
    off_at: datetime | None


def list_outings(db: Session, group_id: int) -> tuple[GroupOuting, ...]:
    """Return a group's outings by day, those called off included."""
    pair_set = func.coalesce(OutingRow.pair_set_id, AssignmentRow.pair_set_id)
    query = (
        select(OutingRow, PairSetRow.id, PairSetRow.title)
        .outerjoin(AssignmentRow, AssignmentRow.id == OutingRow.assignment_id)
        .join(PairSetRow, PairSetRow.id == pair_set)
        .where(OutingRow.group_id == group_id)
        .order_by(OutingRow.day, OutingRow.id)
    )
    return tuple(
        GroupOuting(
            id=row.id,
            title=row.title,
            day=row.day,
            place=row.place,
            assignment_id=row.assignment_id,
            pair_set_id=set_id,
            set_title=set_title,
            changes=row.changes,
            changed_at=row.changed_at,
            off_at=row.retired_at,
        )
        for row, set_id, set_title in db.execute(query)
    )


def the_outing(db: Session, group_id: int, outing_id: int) -> GroupOuting:
    """Return an outing of a group, or raise NotFound."""
    for one in list_outings(db, group_id):
        if one.id == outing_id:
            return one
    raise NotFound(say("There is no such outing of this group."))


def plan_outing(db: Session, group_id: int, said: OutingSaid, *, by: int, today: date, at: datetime) -> int:
    """Plan an outing and return its id; an assignment without a day of its own is for that day from now on."""
    title, place = _checked(said, today)
    if (said.assignment_id is None) == (said.pair_set_id is None):
        raise Invalid(say("Choose what the outing prepares for."), field="purpose")
    if said.assignment_id is not None:
        _give_day(db, group_id, said.assignment_id, said.day)
    elif said.pair_set_id is not None:
        the_set(db, said.pair_set_id)
    row = OutingRow(
        group_id=group_id,
        assignment_id=said.assignment_id,
        pair_set_id=said.pair_set_id,
        title=title,
        day=said.day,
        place=place,
        made_by=by,
        made_at=at,
        changed_at=at,
    )
    db.add(row)
    db.flush()
    return row.id


def change_outing(db: Session, group_id: int, outing_id: int, said: OutingSaid, *, today: date, at: datetime) -> None:
    """Change title, day and place of an outing; what it prepares for stays. One called off takes place again."""
    row = _the_row(db, group_id, outing_id)
    row.title, row.place = _checked(said, today)
    row.day, row.retired_at = said.day, None
    row.changes, row.changed_at = row.changes + 1, at


def call_off(db: Session, group_id: int, outing_id: int, *, at: datetime) -> None:
    """Call an outing off; a calendar that subscribes is told so."""
    row = _the_row(db, group_id, outing_id)
    if row.retired_at is None:
        row.retired_at, row.changes, row.changed_at = at, row.changes + 1, at


def _checked(said: OutingSaid, today: date) -> tuple[str, str]:
    title, place = " ".join(said.title.split()), " ".join(said.place.split())
    if not title:
        raise Invalid(say("Give the outing a name."), field="title")
    if len(title) > LONGEST_TITLE:
        raise Invalid(say("The name may have {longest_title} letters at most.", longest_title=LONGEST_TITLE), field="title")
    if len(place) > LONGEST_PLACE:
        raise Invalid(say("The place may have {longest_place} letters at most.", longest_place=LONGEST_PLACE), field="place")
    if said.day < today:
        raise Invalid(say("That day has passed. Choose one to come."), field="day")
    if said.day > today + MOST_AHEAD:
        raise Invalid(say("That day lies more than two years ahead. Choose an earlier one."), field="day")
    return title, place


def _give_day(db: Session, group_id: int, assignment_id: int, day: date) -> None:
    row = db.get(AssignmentRow, assignment_id)
    if row is None or row.group_id != group_id or row.retired_at is not None:
        raise NotFound(say("There is no such assignment of this group."))
    if row.for_day is None and day >= row.from_day:
        row.for_day = day


def _the_row(db: Session, group_id: int, outing_id: int) -> OutingRow:
    row = db.get(OutingRow, outing_id)
    if row is None or row.group_id != group_id:
        raise NotFound(say("There is no such outing of this group."))
    return row
