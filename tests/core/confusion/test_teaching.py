"""What to teach next, whether looking or knowing fails, and change over the weeks."""

from __future__ import annotations

from datetime import date

import pytest

from drillhall.core.confusion import Change, Failing, Prompted, change_of, difference, teach_next, weeks_until, what_fails


def test_the_pair_that_helps_most_learners_most_comes_first() -> None:
    lessons = teach_next({1: dict.fromkeys(range(6), 0.30), 2: {0: 0.60}, 3: dict.fromkeys(range(6), 0.15)})
    assert [(one.pair_id, one.helped) for one in lessons] == [(1, (0, 1, 2, 3, 4, 5)), (2, (0,))]
    assert lessons[0].spared == pytest.approx(120)


def test_the_next_pair_reaches_those_whom_the_first_did_not_help() -> None:
    """Pair 2 is worth a little more than pair 3, but to the same people as pair 1."""
    same, others = dict.fromkeys(range(4), 0.35), dict.fromkeys(range(4, 8), 0.33)
    assert [one.pair_id for one in teach_next({1: dict.fromkeys(range(4), 0.5), 2: same, 3: others}, most=2)] == [1, 3]


def test_what_hardly_anybody_misses_is_not_taught() -> None:
    assert teach_next({1: {1: 0.19, 2: 0.1}, 2: {}}) == ()
    assert teach_next({1: {1: 0.5}}, most=0) == ()
    assert teach_next({}) == ()


@pytest.mark.parametrize("rate", [-0.1, 1.2])
def test_a_rate_out_of_range_is_refused(rate: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        teach_next({1: {1: rate}})


@pytest.mark.parametrize(
    ("counts", "told"),
    [
        (Prompted(20, 12, 1, 1), Failing.KNOWING),
        (Prompted(20, 1, 1, 12), Failing.LOOKING),
        (Prompted(20, 6, 9, 7), Failing.BOTH),
        (Prompted(90, 7, 9, 0), Failing.TOO_FEW),
        (Prompted(), Failing.TOO_FEW),
    ],
)
def test_looking_fails_or_knowing_or_it_is_not_said(counts: Prompted, told: Failing) -> None:
    assert what_fails(counts) is told


def test_prompted_counts_add_up() -> None:
    both = Prompted(1, 2, 3, 4) + Prompted(10, 20, 30, 40)
    assert (both, both.misnamed, both.asked) == (Prompted(11, 22, 33, 44), 66, 110)


def test_weeks_run_across_the_turn_of_the_year_and_keep_empty_ones() -> None:
    weeks = weeks_until({202652: (1, 3), 202653: (2, 5), 202702: (0, 7), 202620: (9, 9)}, today=date(2027, 1, 13), weeks=4)
    assert [(week.monday, week.missed, week.shown) for week in weeks] == [
        (date(2026, 12, 21), 1, 3),
        (date(2026, 12, 28), 2, 5),
        (date(2027, 1, 4), 0, 0),
        (date(2027, 1, 11), 0, 7),
    ]
    assert (weeks[2].likely.low, weeks[2].likely.high) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ((30, 60), (12, 60), Change.FEWER),
        ((12, 60), (30, 60), Change.MORE),
        ((3, 6), (1, 6), Change.UNSURE),
        ((0, 0), (9, 9), Change.UNSURE),
    ],
)
def test_change_is_told_where_it_is_sure_alone(before: tuple[int, int], after: tuple[int, int], told: Change) -> None:
    assert change_of(before, after) is told


def test_counts_that_cannot_be_have_no_difference() -> None:
    with pytest.raises(ValueError, match="no count"):
        difference((4, 3), (1, 2))
