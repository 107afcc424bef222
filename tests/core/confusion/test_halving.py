"""A year's counts, added up, weigh what they weigh week by week."""

from __future__ import annotations

from datetime import date, timedelta
from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import YearSum, decayed, sum_years, week_of, weight_in_year, worth_of_year
from drillhall.core.confusion.halving import WHOLE_BITS
from drillhall.core.values import NEITHER, Rendition, TallyKey

DAYS = st.dates(date(2020, 1, 1), date(2060, 12, 31))
COUNTS = st.lists(st.integers(0, 500), min_size=1, max_size=110)


def key(week: int, *, said: int = 1, fresh: bool = False, rendition: Rendition = Rendition.AS_TAKEN, choices: int = 2) -> TallyKey:
    return TallyKey(1, said, week, fresh, False, rendition, "left", choices)


@given(COUNTS, DAYS)
def test_sums_of_years_decay_as_their_weeks_do(counts: list[int], today: date) -> None:
    now = week_of(today)
    weeks = {week_of(today - timedelta(weeks=ago)): count for ago, count in enumerate(counts)}
    sums = sum_years({key(week): count for week, count in weeks.items()})
    found = sum(cell.weighed * worth_of_year(year, week_now=now) for (year, _, _), cell in sums.items())
    assert found == pytest.approx(decayed(weeks.items(), week_now=now), rel=1e-8)


@given(st.integers(1, 53))
def test_a_week_weighs_the_whole_part_of_a_power_of_two(week: int) -> None:
    weight = weight_in_year(203000 + week)
    assert weight**4 <= 1 << 4 * WHOLE_BITS + week < (weight + 1) ** 4
    assert weight * 10**6 < 2**63


@given(st.lists(st.tuples(st.integers(1, 52), st.integers(1, 9), st.booleans()), max_size=8), st.integers(0, 8))
def test_sums_of_two_parts_add_up_to_the_sum_of_the_whole(told: list[tuple[int, int, bool]], place: int) -> None:
    def summed(part: list[tuple[int, int, bool]]) -> YearSum:
        tally: dict[TallyKey, int] = {}
        for week, count, fresh in part:
            tally[key(203000 + week, fresh=fresh)] = tally.get(key(203000 + week, fresh=fresh), 0) + count
        return sum_years(tally).get((2030, 1, 1), YearSum())

    both = zip(summed(told[:place]), summed(told[place:]), strict=True)
    assert YearSum(*(one + other for one, other in both)) == summed(told)


def test_what_is_counted_where() -> None:
    week = 203008
    tally = {
        key(week): 1,
        key(week, fresh=True): 2,
        key(week, choices=3): 4,
        key(week, rendition=Rendition.FAR_OFF): 8,
        key(week, said=NEITHER, rendition=Rendition.FAR_OFF): 16,
        key(202952): 32,
    }
    assert sum_years(tally) == {
        (2030, 1, 1): YearSum(answers=7, fresh=2, plain=3, weighed=3 * 2**31),
        (2030, 1, NEITHER): YearSum(),
        (2029, 1, 1): YearSum(32, 0, 32, 32 << 42),
    }


def test_the_year_before_may_have_53_weeks() -> None:
    """ISO 8601: 2026 begins on a Thursday, so it has 53 weeks."""
    ago = [-log2(weight_in_year(week) * worth_of_year(week // 100, week_now=202701)) * 4 for week in (202701, 202653, 202652)]
    assert ago == pytest.approx([0, 1, 2], abs=1e-7)


def test_a_week_to_come_weighs_a_little_more_than_this_one() -> None:
    assert weight_in_year(202701) * worth_of_year(2027, week_now=202653) == pytest.approx(2**0.25)


def test_no_counts_come_to_nothing() -> None:
    assert sum_years({}) == {}


def test_a_week_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="week"):
        worth_of_year(2031, week_now=203160)
