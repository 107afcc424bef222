"""A learner's own day: the date in her zone, across changes of the clock."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from drillhall.store.models.people import AccountRow
from drillhall.store.queries.batch import Learner


def local_day(account: AccountRow | Learner, at: datetime) -> date:
    """Return the learner's own date at an instant."""
    return at.astimezone(ZoneInfo(account.zone)).date()


def day_begins(account: AccountRow, day: date) -> datetime:
    """Return the instant at which a day of the learner's begins."""
    return datetime.combine(day, time.min, ZoneInfo(account.zone))
