"""Room for the new: every third place, up to the day's limit, in stage order, never only after what is due."""

from __future__ import annotations

from dataclasses import replace

from drillhall.core.rounds.day import (
    NEW_EVERY,
)
from drillhall.core.values import Memory, Why
from tests.core.rounds.wishes import TODAY, TOMORROW, met, new, plan, wish_for


def test_every_third_place_from_the_first_is_kept_for_the_new() -> None:
    planned = plan([*(met(pair_id) for pair_id in range(1, 9)), new(11), new(12), new(13)], wish_for(12))
    assert [place for place, one in enumerate(planned) if one.why is Why.NEW] == [0, 3, 6]


def test_new_pairs_never_wait_for_what_is_due() -> None:
    planned = plan([*(met(pair_id) for pair_id in range(1, 101)), new(101), new(102)], wish_for(6))
    assert [one.pair_id for one in planned if one.why is Why.NEW] == [101, 102]


def test_new_pairs_come_in_stage_order() -> None:
    pairs = [new(1, stage=(1, 0)), new(2, stage=(0, 5)), new(3, stage=(0, 2)), *(met(pair_id) for pair_id in range(4, 20))]
    assert [one.pair_id for one in plan(pairs, wish_for(9)) if one.why is Why.NEW] == [3, 2, 1]


def test_first_day_meets_new_pairs_up_to_the_limit_and_then_repeats_them() -> None:
    planned = plan([new(pair_id) for pair_id in range(1, 17)])
    assert [one.pair_id for one in planned if one.why is Why.NEW] == [1, 2, 3, 4, 5]
    assert [one.why for one in planned[5:]] == [Why.AGAIN] * (len(planned) - 5)
    assert len(planned) > 5


def test_pairs_met_earlier_today_count_against_the_limit() -> None:
    met_this_morning = [
        replace(new(1), met=True, rounds_today=1, memory=Memory(2.0, 5.0, TODAY), due_day=TOMORROW),
        replace(new(2), met=True, rounds_today=1),
    ]
    planned = plan([*met_this_morning, met(3, rounds_today=1), *(new(pair_id) for pair_id in range(4, 9))], wish_for(20, new_a_day=3))
    assert [one.pair_id for one in planned if one.why is Why.NEW] == [4]


def test_none_wished_none_given() -> None:
    planned = plan([met(1), new(2), new(3)], wish_for(6, new_a_day=0))
    assert {one.pair_id for one in planned} == {1}


def test_only_new_pairs_and_none_wished_leaves_nothing() -> None:
    assert plan([new(1), new(2)], wish_for(6, new_a_day=0)) == ()


def test_relatives_planned_earlier_in_the_drill_are_met() -> None:
    pairs = [new(1, after=frozenset({2})), new(2, stage=(5, 0)), *(met(pair_id) for pair_id in range(4, 12))]
    assert [one.pair_id for one in plan(pairs, wish_for(9)) if one.why is Why.NEW] == [2, 1]


def test_relative_she_cannot_drill_holds_nothing_up() -> None:
    assert [one.pair_id for one in plan([new(1, after=frozenset({99}))], wish_for(1))] == [1]


def test_a_pair_she_sent_pictures_of_comes_before_other_new_ones() -> None:
    pairs = [*(new(pair_id) for pair_id in range(1, 9)), new(9, stage=(5, 0), after=frozenset({1}), own=True)]
    assert [one.pair_id for one in plan(pairs, wish_for(3, new_a_day=2)) if one.why is Why.NEW] == [9, 1]
    assert 9 not in [one.pair_id for one in plan([*pairs[:-1], replace(pairs[-1], own=False)], wish_for(3, new_a_day=2))]


def test_pairs_that_wait_for_each_other_come_in_stage_order() -> None:
    planned = plan([new(1, after=frozenset({2})), new(2, after=frozenset({1}))], wish_for(6))
    assert [one.pair_id for one in planned if one.why is Why.NEW] == [1, 2]


def test_one_round_a_day_still_leaves_most_days_to_what_is_due() -> None:
    pairs = [met(1), met(2), *(new(pair_id) for pair_id in range(3, 30))]
    firsts = [plan(pairs, wish_for(1), seed=seed)[0].why for seed in range(600)]
    # One in NEW_EVERY, give or take four standard deviations of a binomial.
    assert abs(firsts.count(Why.NEW) / 600 - 1 / NEW_EVERY) < 0.08


def test_pair_tried_by_placement_is_not_new() -> None:
    placed = replace(met(1, due=TOMORROW), met=False)
    assert [one.why for one in plan([placed], wish_for(1))] == [Why.EARLY]
