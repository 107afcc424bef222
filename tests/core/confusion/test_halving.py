"""Counts added up by phase weigh what they weigh week by week."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import decayed, decayed_of_phases, week_of, weeks_between
from drillhall.core.confusion.halving import HALVINGS, PHASES, weeks_ago_from

DAYS = st.dates(date(2020, 1, 1), date(2060, 12, 31))
A_YEAR = st.lists(st.integers(0, 500), min_size=53, max_size=53)


@given(A_YEAR)
def test_sums_of_phases_decay_as_their_weeks_do(counts: list[int]) -> None:
    now = date(2031, 3, 3)
    weeks = [(week_of(now - timedelta(weeks=ago)), count) for ago, count in enumerate(counts)]
    sums = [
        sum(count << (HALVINGS - ago // PHASES) for ago, count in enumerate(counts) if ago % PHASES == phase) for phase in range(PHASES)
    ]
    assert decayed_of_phases(sums) == pytest.approx(decayed(weeks, week_now=week_of(now)), rel=1e-15)


@given(DAYS, st.integers(0, 52))
def test_weeks_ago_are_told_across_years_of_52_and_53(today: date, ago: int) -> None:
    now, week = week_of(today), week_of(today - timedelta(weeks=ago))
    this, before = weeks_ago_from(now)
    assert (this if week // 100 == now // 100 else before) - week == weeks_between(week, now) == ago


def test_no_counts_weigh_nothing() -> None:
    assert decayed_of_phases([0] * PHASES) == 0.0


def test_a_year_without_one_before_it_is_refused() -> None:
    with pytest.raises(ValueError, match="year 0"):
        weeks_ago_from(101)
