"""A day is the learner's own, with 23 or 25 hours where clocks change.

Clocks in Berlin go forward on 30 March 2031 at 01:00 UTC and back on 26 October 2031 at 01:00 UTC (European Union directive 2000/84/EC).
"""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta

import pytest

from drillhall.practice.days import day_begins, local_day
from drillhall.practice.drilling import start_drill
from drillhall.practice.today import the_today
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import DrillRow
from drillhall.store.session import Store
from tests.practice.small_hall import make_small_hall

SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("zone", "day", "began", "hours"),
    [
        ("Europe/Berlin", date(2031, 3, 29), datetime(2031, 3, 28, 23, tzinfo=UTC), 24),
        ("Europe/Berlin", date(2031, 3, 30), datetime(2031, 3, 29, 23, tzinfo=UTC), 23),
        ("Europe/Berlin", date(2031, 3, 31), datetime(2031, 3, 30, 22, tzinfo=UTC), 24),
        ("Europe/Berlin", date(2031, 10, 26), datetime(2031, 10, 25, 22, tzinfo=UTC), 25),
        ("Asia/Kathmandu", date(2031, 3, 30), datetime(2031, 3, 29, 18, 15, tzinfo=UTC), 24),
    ],
)
def test_a_day_begins_at_midnight_of_her_own_and_ends_at_the_next(zone: str, day: date, began: datetime, hours: int) -> None:
    account = AccountRow(zone=zone)
    assert day_begins(account, day) == began
    ends = began + timedelta(hours=hours)
    assert day_begins(account, day + timedelta(days=1)) == ends
    moments = (began - SECOND, began, ends - SECOND, ends)
    assert [(local_day(account, at) - day).days for at in moments] == [-1, 0, 0, 1]


@pytest.mark.parametrize(
    ("zone", "midnight"),
    [
        ("Pacific/Auckland", datetime(2031, 3, 3, 11, tzinfo=UTC)),
        ("Europe/Berlin", datetime(2031, 3, 30, 22, tzinfo=UTC)),
        ("America/St_Johns", datetime(2031, 3, 4, 3, 30, tzinfo=UTC)),
    ],
)
def test_todays_drill_is_todays_until_midnight_of_her_own(sqlite_store: Store, zone: str, midnight: datetime) -> None:
    with sqlite_store.work() as db:
        learner = make_small_hall(db, zone=zone).learner
        minutes = timedelta(minutes=20), timedelta(minutes=1)
        evening, late = (start_drill(db, learner, drill_id=str(uuid.uuid4()), at=midnight - before) for before in minutes)
        assert the_today(db, learner, now=midnight - SECOND).open_drill == evening == late
        page = the_today(db, learner, now=midnight)
        assert (page.open_drill, page.today) == ("", db.get_one(DrillRow, evening).planned_day + timedelta(days=1))
        assert start_drill(db, learner, drill_id=str(uuid.uuid4()), at=midnight) != evening
