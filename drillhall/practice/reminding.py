"""Reminders of what a group has set: to all alike who want them, at most one a week, in the same words whatever somebody has done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Final
from zoneinfo import ZoneInfo

from sqlalchemy import or_, update
from sqlalchemy.orm import Session

from drillhall.store.models.post import AddressRow
from drillhall.store.queries import reminders as reading

EVERY: Final = timedelta(days=7)
"""No two reminders to one person come closer, whatever how many groups set her."""
SETTLES: Final = timedelta(days=2)
"""So long after it was given nobody is reminded of a pair set: most have begun by then."""
LASTS: Final = timedelta(days=28)
"""So long one is reminded of a pair set that is for no day."""
FIRST_HOUR, LAST_HOUR = 8, 20
"""Between these hours of her own day."""


@dataclass(frozen=True, slots=True)
class SetAhead:
    """A pair set that a group has set: for which day, and how many days are left until then."""

    title: str
    group: str
    for_day: date | None
    days_left: int | None


@dataclass(frozen=True, slots=True)
class Reminder:
    """Whom to remind, and of what; `language` is what she has chosen, or empty."""

    account_id: int
    public_id: str
    address: str
    name: str
    language: str
    sets: tuple[SetAhead, ...]


def list_due(db: Session, *, at: datetime) -> tuple[Reminder, ...]:
    """Return who is to be reminded now."""
    rows = reading.to_remind(db, reminded_before=at - EVERY)
    found = []
    for _, of_one in groupby(rows, key=lambda row: row.account_id):
        every = list(of_one)
        here = at.astimezone(ZoneInfo(every[0].zone))
        ahead = tuple(_ahead(row, here.date()) for row in every if _runs(row, here.date()))
        if ahead and FIRST_HOUR <= here.hour < LAST_HOUR:
            one = every[0]
            found.append(Reminder(one.account_id, one.public_id, one.address, one.name, one.language, ahead))
    return tuple(found)


def take_turn(db: Session, reminder: Reminder, *, at: datetime) -> bool:
    """Write down that somebody is reminded now; False where another worker was quicker, or she has ended it meanwhile."""
    row = AddressRow
    free = or_(row.reminded_at.is_(None), row.reminded_at <= at - EVERY)
    mine = update(row).where(row.public_id == reminder.public_id, row.confirmed_at.is_not(None), row.reminders.is_(True), free)
    return db.execute(mine.values(reminded_at=at).returning(row.account_id)).one_or_none() is not None


def _runs(row: reading.ToRemind, today: date) -> bool:
    return row.from_day + SETTLES <= today <= (row.for_day or row.from_day + LASTS)


def _ahead(row: reading.ToRemind, today: date) -> SetAhead:
    return SetAhead(row.set_title, row.group_title, row.for_day, (row.for_day - today).days if row.for_day else None)
