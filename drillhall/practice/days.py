"""A learner's own day: the date in her zone, across changes of the clock."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from drillhall.store.models.people import AccountRow


def local_day(account: AccountRow, at: datetime) -> date:
    """Return the learner's own date at an instant."""
    return at.astimezone(ZoneInfo(account.zone)).date()
