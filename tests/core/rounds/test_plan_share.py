"""Whose turn it is, in what order, and why: due before early, weak ones early, further rounds in turn."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from drillhall.core.values import Memory, PairToday, PlannedRound, Why
from tests.core.rounds.wishes import TODAY, TOMORROW, YESTERDAY, met, new, plan, wish_for


def test_due_comes_before_not_due() -> None:
    pairs = [*(met(pair_id, due=TOMORROW, mixup_rate=0.24) for pair_id in range(1, 9)), met(9), met(10, due=YESTERDAY)]
    assert {one.pair_id for one in plan(pairs, wish_for(2))} == {9, 10}


def test_pair_whose_first_round_was_never_finished_is_due() -> None:
    begun = replace(new(1), met=True)
    assert plan([begun, *(met(pair_id, due=TOMORROW) for pair_id in range(2, 9))], wish_for(1))[0].pair_id == 1


def test_among_due_pairs_the_one_least_shown_for_its_weight_comes() -> None:
    pairs = [met(1, recent_pictures=6), met(2, recent_pictures=1), met(3, recent_pictures=9)]
    assert [one.pair_id for one in plan(pairs, wish_for(1))] == [2]


def test_among_pairs_not_due_those_with_fewest_rounds_today_come() -> None:
    given = [met(pair_id, due=TOMORROW, rounds_today=1, mixup_rate=0.24) for pair_id in range(1, 5)]
    assert plan([*given, met(5, due=TOMORROW, mixup_rate=0.1)], wish_for(1))[0].pair_id == 5


def test_weak_pairs_stand_in_the_front_third() -> None:
    pairs = [met(pair_id, mixup_rate=0.6 if pair_id in (4, 9) else 0.2) for pair_id in range(1, 13)]
    planned = plan(pairs, wish_for(12))
    assert {one.pair_id for one in planned[:4] if one.why is Why.WEAK} == {4, 9}


def test_the_last_round_is_the_one_most_likely_held() -> None:
    rates = {1: 0.3, 2: 0.2, 3: 0.05, 4: 0.4, 5: 0.3}
    planned = plan([met(pair_id, mixup_rate=rate) for pair_id, rate in rates.items()], wish_for(5))
    assert planned[-1].pair_id == 3


def test_the_last_further_round_is_the_one_most_likely_held() -> None:
    rates = {1: 0.3, 2: 0.2, 3: 0.05, 4: 0.4, 5: 0.3}
    planned = plan([met(pair_id, mixup_rate=rate) for pair_id, rate in rates.items()], wish_for(10))
    assert planned[-1].pair_id == 3


def test_the_last_further_round_is_kept_for_it_through_the_last_cycle() -> None:
    # Pair 3 has had next to no pictures lately and would come first, were it not kept for the end.
    pairs = [met(pair_id, mixup_rate=0.3, recent_pictures=30) for pair_id in range(1, 7)]
    pairs[2] = met(3, mixup_rate=0.05)
    for seed in range(10):
        assert [one.pair_id for one in plan(pairs, wish_for(12), seed)].index(3, 6) == 11


def test_of_two_that_could_end_a_cycle_begun_late_the_likelier_held_ends_it() -> None:
    rates = {1: 0.5, 2: 0.1, 3: 0.4, 4: 0.4, 5: 0.4, 6: 0.4, 7: 0.2}
    pairs = [met(pair_id, mixup_rate=rate) for pair_id, rate in rates.items()]
    for seed in range(10):
        planned = [one.pair_id for one in plan(pairs, wish_for(8), seed)]
        rested = set(planned[:4])
        assert rates[planned[-1]] == min(rates[pair_id] for pair_id in rested)


def test_further_rounds_go_first_to_the_pair_with_most_of_its_share_left() -> None:
    pairs = [met(pair_id, recent_pictures=12 if pair_id != 4 else 0, mixup_rate=0.25 if pair_id == 6 else 0.3) for pair_id in range(1, 7)]
    for seed in range(10):
        planned = [one.pair_id for one in plan(pairs, wish_for(11), seed)]
        # Pair 4 had its first turn first of all, so it is rested when further rounds begin.
        assert planned[0] == 4 == planned[6]


def test_among_due_pairs_rounds_begun_today_do_not_count() -> None:
    begun = replace(new(1), met=True, rounds_today=1)
    assert plan([begun, *(met(pair_id, recent_pictures=5) for pair_id in range(2, 9))], wish_for(1))[0].pair_id == 1


def test_her_mean_is_that_of_the_pairs_she_has_met() -> None:
    pairs = [
        met(1, mixup_rate=0.3),
        *(met(pair_id, mixup_rate=0.2) for pair_id in range(2, 6)),
        *(new(pair_id) for pair_id in range(6, 30)),
    ]
    assert plan(pairs, wish_for(5, new_a_day=0))[0] == PlannedRound(1, 3, Why.WEAK)


def test_weak_pairs_with_a_form_in_common_are_parted_within_the_front() -> None:
    pairs = [met(pair_id, mixup_rate=0.6 if pair_id < 3 else 0.2) for pair_id in range(1, 13)]
    pairs[1] = replace(pairs[1], first_form_id=pairs[0].first_form_id)
    for seed in range(10):
        order = [one.pair_id for one in plan(pairs, wish_for(12), seed)]
        assert max(order.index(1), order.index(2)) < 4
        assert abs(order.index(1) - order.index(2)) > 1


def test_new_pair_keeps_its_place_where_further_rounds_follow() -> None:
    planned = plan([met(1), met(2), new(11), new(12)], wish_for(9))
    assert [place for place, one in enumerate(planned) if one.why is Why.NEW] == [0, 3]


def test_pictures_of_this_drill_count_against_a_pairs_share() -> None:
    # Before the drill 1.5 / (1 + 6) is less than 0.67 / (1 + 1.5); with three pictures more each, 1.5 / 10 is more than 0.67 / 5.5.
    fillers = [met(pair_id, mixup_rate=0.4, recent_pictures=30) for pair_id in range(3, 8)]
    ending = met(8, mixup_rate=0.05, recent_pictures=30)
    pairs = [met(1, mixup_rate=0.9, recent_pictures=6), met(2, mixup_rate=0.1, recent_pictures=1.5), *fillers, ending]
    assert plan(pairs, wish_for(1))[0].pair_id == 2
    for seed in range(10):
        assert plan(pairs, wish_for(10), seed)[8].pair_id == 1


def test_further_rounds_part_pairs_with_a_form_in_common() -> None:
    # Pairs 1 and 2 share a form, pairs 3 to 6 share none.
    pairs = [met(pair_id) for pair_id in range(1, 7)]
    pairs[1] = replace(pairs[1], first_form_id=pairs[0].first_form_id)
    for seed in range(30):
        order = [one.pair_id for one in plan(pairs, wish_for(24), seed)]
        assert not any({one, other} == {1, 2} for one, other in pairwise(order))


@pytest.mark.parametrize(
    ("pair", "why"),
    [
        (new(1), Why.NEW),
        (met(1, mixup_rate=0.5), Why.WEAK),
        (met(1, due=TOMORROW, mixup_rate=0.5), Why.WEAK),
        (met(1, mixup_rate=0.2), Why.DUE),
        (met(1, due=TOMORROW, mixup_rate=0.2), Why.EARLY),
        (met(1, due=TOMORROW, mixup_rate=0.2, rounds_today=1), Why.AGAIN),
    ],
)
def test_each_round_says_why_it_is_here(pair: PairToday, why: Why) -> None:
    planned = plan([pair, *(met(pair_id, mixup_rate=0.2) for pair_id in range(2, 9))], wish_for(9))
    assert next(one.why for one in planned if one.pair_id == 1) is why


def test_nothing_is_called_weak_that_is_mixed_up_once_in_ten() -> None:
    planned = plan([met(1, mixup_rate=0.1), *(met(pair_id, mixup_rate=0.01) for pair_id in range(2, 9))], wish_for(8))
    assert {one.why for one in planned} == {Why.DUE}


def test_learner_who_never_mixes_anything_up_has_a_drill() -> None:
    assert len(plan([met(pair_id, mixup_rate=0.0) for pair_id in range(1, 5)], wish_for(4))) == 4


@pytest.mark.parametrize(("rate", "days_since", "why"), [(0.25, 14, Why.DUE), (0.25, 13, Why.EARLY), (0.24, 14, Why.EARLY)])
def test_a_pair_that_is_still_mixed_up_does_not_wait_for_a_far_due_day(rate: float, days_since: int, why: Why) -> None:
    lucky = Memory(stability_days=80, difficulty=2, last_day=TODAY - timedelta(days=days_since), rounds=3, held_running=3)
    pair = met(1, due=TODAY + timedelta(days=60), memory=lucky, mixup_rate=rate)
    assert [one.why for one in plan([pair], wish_for(1))] == [why]
