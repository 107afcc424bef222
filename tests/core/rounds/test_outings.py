"""An outing ahead: its pairs claim more, its new ones are met in the first third, and all of it ends with its day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from drillhall.core.rounds import plan_drill
from drillhall.core.rounds.outings import new_needed, pairs_ahead, raised_targets
from drillhall.core.values import DrillWish, Outing, PairToday, PlannedRound, Why
from tests.core.rounds.wishes import TODAY, TOMORROW, met, new, wish_for


def outing(*pair_ids: int, days: int = 10, since: int = 0, recall: float | None = None) -> Outing:
    """An outing so many days ahead, set so many days ago."""
    return Outing(TODAY + timedelta(days=days), TODAY - timedelta(days=since), frozenset(pair_ids), recall)


def plan_for(pairs: Sequence[PairToday], wish: DrillWish, *outings: Outing, seed: int = 1) -> tuple[PlannedRound, ...]:
    return plan_drill(pairs, wish, today=TODAY, dice=Random(seed), outings=outings)


def test_its_pairs_come_before_due_ones_and_say_why() -> None:
    pairs = [met(number, recent_pictures=6.0) for number in range(1, 7)] + [
        met(number, due=TOMORROW, recent_pictures=6.0) for number in (7, 8)
    ]
    planned = plan_for(pairs, wish_for(2), outing(7, 8))
    assert {one.pair_id for one in planned} == {7, 8}
    assert {one.why for one in planned} == {Why.OUTING}


def test_a_pair_that_had_four_times_as_many_pictures_has_had_its_share() -> None:
    pairs = [met(1, recent_pictures=3.0), met(2, recent_pictures=20.0)]
    assert plan_for(pairs, wish_for(1), outing(2))[0].pair_id == 1


def test_an_outing_that_has_been_changes_nothing() -> None:
    pairs = [met(number, due=TOMORROW) for number in range(1, 5)] + [new(number) for number in range(5, 20)]
    past = outing(*range(1, 20), days=-1, since=20)
    for seed in range(5):
        assert plan_for(pairs, wish_for(6), past, seed=seed) == plan_for(pairs, wish_for(6), seed=seed)


def test_the_day_itself_still_counts() -> None:
    assert pairs_ahead([outing(1, days=0)], TODAY) == {1}
    assert pairs_ahead([outing(1, days=-1)], TODAY) == frozenset()


def test_a_weak_pair_of_an_outing_is_still_called_weak() -> None:
    pairs = [met(1, mixup_rate=0.6), *(met(number, mixup_rate=0.1) for number in range(2, 9))]
    assert {one.why for one in plan_for(pairs, wish_for(8), outing(1)) if one.pair_id == 1} == {Why.WEAK}


def test_new_pairs_of_an_outing_come_first_whatever_their_stage() -> None:
    pairs = [*(new(number) for number in range(1, 6)), new(9, stage=(4, 0)), *(met(number) for number in range(20, 30))]
    planned = plan_for(pairs, wish_for(4), outing(9))
    assert next(one.pair_id for one in planned if one.why is Why.NEW) == 9


def test_so_many_are_met_a_day_that_all_are_met_in_the_first_third() -> None:
    assert new_needed([outing(*range(12), days=27)], range(12), today=TODAY) == 2
    assert new_needed([outing(*range(12), days=20, since=7)], range(8), today=TODAY) == 4  # 8 left, 2 of 9 days
    assert new_needed([outing(*range(12), days=5, since=22)], range(3), today=TODAY) == 3  # the third has passed
    assert new_needed([outing(*range(40), days=2)], range(40), today=TODAY) == 10
    assert new_needed([outing(*range(12), days=27)], [], today=TODAY) == 0


def test_an_outing_meets_more_than_the_day_s_limit_where_it_must() -> None:
    pairs = [*(new(number) for number in range(1, 21)), *(met(number) for number in range(30, 50))]
    wish = wish_for(16, new_a_day=1)
    count = Counter(one.why for one in plan_for(pairs, wish, outing(*range(1, 21), days=12)))
    assert count[Why.NEW] == 5
    assert Counter(one.why for one in plan_for(pairs, wish))[Why.NEW] == 1


def test_pairs_met_for_it_earlier_today_are_not_due_again_today() -> None:
    given = met(1, due=TOMORROW, rounds_today=1, mixup_rate=0.1)
    planned = plan_for([given, met(2)], wish_for(1), outing(1))
    assert planned[0].pair_id == 2


@pytest.mark.parametrize(("asked", "expected"), [(None, 0.9), (0.8, 0.9), (0.95, 0.95)])
def test_a_target_is_raised_and_never_lowered(asked: float | None, expected: float) -> None:
    assert raised_targets([outing(1, recall=asked)], own=0.9, today=TODAY).get(1, 0.9) == expected
    assert 2 not in raised_targets([outing(1, recall=asked)], own=0.9, today=TODAY)


def test_no_pair_starves_beside_an_outing() -> None:
    # Twenty days at six rounds: every pair of the rest still gets its turn, more rarely.
    pairs = {number: met(number) for number in range(1, 17)}
    turns: Counter[int] = Counter()
    for day in range(20):
        planned = plan_for(list(pairs.values()), wish_for(6), outing(*range(1, 9), days=99), seed=day)
        turns.update(one.pair_id for one in planned)
        drilled = {one.pair_id for one in planned}
        for number, pair in pairs.items():
            recent = pair.recent_pictures * 0.93 + (3 if number in drilled else 0)
            pairs[number] = replace(pair, recent_pictures=recent)
    assert min(turns[number] for number in range(1, 17)) >= 2
    assert sum(turns[number] for number in range(1, 9)) > 2 * sum(turns[number] for number in range(9, 17))
