"""A second step demanded of keeper, leaders and teachers: from when on, with a time of grace, and of whom it is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid
from drillhall.people import audit, second_step
from drillhall.people.person import Person
from drillhall.store.models.people import SettingRow
from drillhall.words import say

SETTING: Final = "second_step_demanded"
LONGEST_DAYS: Final = 90
USUAL_DAYS: Final = 14


class SecondStepDue(Exception):
    """Somebody who sees to others' things has no second step, and the time of grace is over."""


@dataclass(frozen=True, slots=True)
class Demand:
    """Since when a second step is demanded, and from when on nobody sees to others' things without one."""

    since: datetime
    until: datetime


def find_demand(db: Session) -> Demand | None:
    """Return what the hall demands, or None."""
    known = db.scalar(select(SettingRow.value).where(SettingRow.key == SETTING))
    return Demand(datetime.fromisoformat(known["since"]), datetime.fromisoformat(known["until"])) if isinstance(known, dict) else None


def demand(db: Session, *, days: int, by: Person, at: datetime) -> None:
    """Demand a second step from so many days on; raises Invalid for the days, Conflict where whoever demands it has none herself."""
    if not 0 <= days <= LONGEST_DAYS:
        raise Invalid(say("Days of grace: from 0 to {longest_days}.", longest_days=LONGEST_DAYS), field="days")
    if not second_step.is_on(db, by.id):
        raise Conflict(say("Set up your own second step first: what you demand of others holds for you too."))
    db.merge(SettingRow(key=SETTING, value={"since": at.isoformat(), "until": (at + timedelta(days=days)).isoformat()}))
    audit.note(db, "second step demanded", at=at, by=by.id)


def end_demand(db: Session, *, by: Person, at: datetime) -> None:
    """Leave second steps to whoever wishes one."""
    db.merge(SettingRow(key=SETTING, value=None))
    audit.note(db, "second step no longer demanded", at=at, by=by.id)


def find_due(db: Session, person: Person) -> datetime | None:
    """Return from when on somebody needs a second step before what is others', or None where none is demanded of her or she has one."""
    demanded = find_demand(db)
    if demanded is None or second_step.is_on(db, person.id) or not second_step.is_called_for(db, person.id):
        return None
    return demanded.until
