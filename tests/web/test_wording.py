"""Days and times as they read where the reader lives."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from flask import g

from drillhall.people.person import Person, Preferences
from drillhall.web import wording
from tests.visits import Hall


@pytest.mark.parametrize(
    ("zone", "at", "day", "moment"),
    [
        ("UTC", datetime(2031, 3, 3, 9, 5, tzinfo=UTC), "3 March", "3 March, 09:05"),
        ("Pacific/Auckland", datetime(2031, 3, 3, 12, 0, tzinfo=UTC), "4 March", "4 March, 01:00"),
        # Across the change to summer time in Lisbon, 30 March 2031, 01:00 UTC (European Union directive 2000/84/EC: last Sunday of March).
        ("Europe/Lisbon", datetime(2031, 3, 30, 0, 59, tzinfo=UTC), "30 March", "30 March, 00:59"),
        ("Europe/Lisbon", datetime(2031, 3, 30, 1, 0, tzinfo=UTC), "30 March", "30 March, 02:00"),
        ("America/St_Johns", datetime(2030, 12, 31, 23, 0, tzinfo=UTC), "31 December 2030", "31 December 2030, 19:30"),
        ("Pacific/Auckland", datetime(2030, 12, 31, 23, 0, tzinfo=UTC), "1 January", "1 January, 12:00"),
    ],
)
def test_a_day_reads_as_it_is_where_one_lives(hall: Hall, zone: str, at: datetime, day: str, moment: str) -> None:
    with hall.app.test_request_context():
        g.person = Person(1, "Oda", is_keeper=False, preferences=Preferences(zone=zone))
        assert (wording.day(at), wording.moment(at)) == (day, moment)


def test_a_visitor_reads_utc(hall: Hall) -> None:
    with hall.app.test_request_context():
        assert wording.moment(datetime(2031, 3, 3, 9, 5, tzinfo=UTC)) == "3 March, 09:05"
