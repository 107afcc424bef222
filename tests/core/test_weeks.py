"""ISO weeks against the system's own calendar, against dates of the standard, and what is refused."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.weeks import Week, read_week, same_week, weeks_in, weeks_of
from drillhall.errors import Invalid


@given(st.dates(date(2000, 1, 3), date(2199, 12, 31)))
def test_the_week_of_a_day_is_that_of_the_systems_calendar(day: date) -> None:
    """The system writes %G-W%V after ISO 8601 by code of its own (C library, strftime)."""
    week = Week.of(day)
    assert str(week) == day.strftime("%G-W%V")
    assert week.first_day <= day <= week.last_day
    assert (week.first_day.weekday(), week.last_day - week.first_day) == (0, timedelta(days=6))


@pytest.mark.parametrize(
    ("day", "week"),
    [("2005-01-01", "2004-W53"), ("2007-12-31", "2008-W01"), ("2008-12-29", "2009-W01"), ("2010-01-03", "2009-W53")],
)
def test_days_about_the_turn_of_a_year(day: str, week: str) -> None:
    """Worked examples of ISO 8601's week dates, as they are often given; from memory."""
    assert str(Week.of(date.fromisoformat(day))) == week


def test_the_weeks_of_a_year_follow_each_other_without_a_gap() -> None:
    for year in range(2000, 2200):
        weeks = list(weeks_of(year))
        assert len(weeks) == weeks_in(year) in {52, 53}
        assert all(after.first_day - before.first_day == timedelta(days=7) for before, after in pairwise(weeks))
    assert sum(weeks_in(year) == 53 for year in range(2000, 2400)) == 71, "the calendar repeats after 400 years, with 71 long ones"


def test_a_53rd_week_goes_to_the_last_of_a_shorter_year() -> None:
    assert same_week(Week(2026, 53), 2031) == Week(2031, 52)
    assert same_week(Week(2026, 9), 2027) == Week(2027, 9)


@pytest.mark.parametrize("typed", ["2031-W09", "2031W09", " 2031-w09 ", "2031-03-01"])
def test_a_week_is_read_as_it_is_often_written(typed: str) -> None:
    assert read_week(typed, field="first_week", label="The first week") == Week(2031, 9)


@pytest.mark.parametrize(
    "typed",
    ["", "9", "2031-9", "2031-W9", "W09", "2031-W53", "2031-W00", "1999-W09", "2031-02-30", "1999-03-01", "1.3.2031", "２０３１-W09"],
)
def test_what_is_no_week_is_refused_by_its_field(typed: str) -> None:
    with pytest.raises(Invalid, match="The first week") as wrong:
        read_week(typed, field="first_week", label="The first week")
    assert wrong.value.field == "first_week"
