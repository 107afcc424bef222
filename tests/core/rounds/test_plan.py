"""Today's drill: within its time, the same for the same dice, without a pair left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.rounds.day import (
    LEAST_WEIGHT,
    MEETING_SECONDS,
    MOST_MINUTES,
    MOST_WEIGHT,
    QUICKEST_SECONDS,
    is_new,
)
from drillhall.core.values import DrillWish, PairToday, PlannedRound, Why
from drillhall.errors import Invalid
from tests.core.rounds.wishes import TODAY, met, new, plan, wish_for


@st.composite
def any_pairs(draw: st.DrawFn) -> list[PairToday]:
    count = draw(st.integers(0, 14))
    pairs = []
    for pair_id in range(1, count + 1):
        forms = draw(st.tuples(st.integers(1, 12), st.integers(13, 24)))
        pair = PairToday(
            pair_id,
            *forms,
            stage=(draw(st.integers(0, 2)), pair_id),
            mixup_rate=draw(st.floats(0.0, 1.0)),
            after=frozenset(draw(st.sets(st.integers(1, 20), max_size=3)) - {pair_id}),
        )
        if draw(st.booleans()):
            due = draw(st.none() | st.integers(-9, 9).map(lambda days: TODAY + timedelta(days=days)))
            known = met(pair_id)
            pair = replace(
                pair,
                met=True,
                memory=known.memory if due else None,
                due_day=due,
                rounds_today=draw(st.integers(0, 2)),
                recent_pictures=draw(st.floats(0, 30)),
            )
        pairs.append(pair)
    return pairs


WISHES = st.builds(
    DrillWish,
    minutes=st.floats(0.5, 20),
    seconds_a_showing=st.floats(4, 60),
    new_a_day=st.integers(0, 10),
    round_length=st.none() | st.integers(2, 6),
)


def seconds_of(planned: Sequence[PlannedRound], wish: DrillWish) -> float:
    return sum(one.showings * wish.seconds_a_showing + (MEETING_SECONDS if one.why is Why.NEW else 0) for one in planned)


@given(pairs=any_pairs(), wish=WISHES, seed=st.integers(0, 9))
def test_a_plan_fills_its_time_and_runs_over_by_less_than_a_round(pairs: list[PairToday], wish: DrillWish, seed: int) -> None:
    planned = plan(pairs, wish, seed)
    if planned:
        whole, wished = seconds_of(planned, wish), wish.minutes * 60
        dearest = max(seconds_of([one], wish) for one in planned)
        assert wished - 1e-6 <= whole < wished + dearest


@given(pairs=any_pairs(), wish=WISHES)
def test_nothing_is_planned_only_where_there_is_nothing(pairs: list[PairToday], wish: DrillWish) -> None:
    drillable = [pair for pair in pairs if not is_new(pair)] or (pairs if wish.new_a_day else [])
    assert bool(plan(pairs, wish)) == bool(drillable)


@given(pairs=any_pairs(), wish=WISHES, seed=st.integers(0, 9))
def test_the_same_dice_give_the_same_plan_in_whatever_order_pairs_come(pairs: list[PairToday], wish: DrillWish, seed: int) -> None:
    turned = list(pairs)
    Random(seed + 1).shuffle(turned)
    assert plan(pairs, wish, seed) == plan(turned, wish, seed)


@given(pairs=any_pairs(), wish=WISHES)
def test_new_pairs_stay_within_the_days_limit(pairs: list[PairToday], wish: DrillWish) -> None:
    planned = plan(pairs, wish)
    never_met = {pair.pair_id for pair in pairs if is_new(pair)}
    given_new = [one.pair_id for one in planned if one.why is Why.NEW]
    assert len(given_new) == len(set(given_new)) <= wish.new_a_day
    assert set(given_new) == never_met & {one.pair_id for one in planned}


@given(pairs=any_pairs(), wish=WISHES)
def test_a_pair_comes_again_only_when_every_pair_in_the_drill_had_its_turn(pairs: list[PairToday], wish: DrillWish) -> None:
    planned = plan(pairs, wish)
    given_so_far: Counter[int] = Counter()
    for one in planned:
        least = min(given_so_far[other.pair_id] for other in planned)
        assert given_so_far[one.pair_id] == least
        given_so_far[one.pair_id] += 1
    if any(one.why is Why.AGAIN and given_so_far[one.pair_id] > 1 for one in planned):
        assert {pair.pair_id for pair in pairs if not is_new(pair)} <= set(given_so_far)


@given(pairs=any_pairs(), wish=WISHES)
def test_a_pair_rests_three_rounds_where_there_are_pairs_enough(pairs: list[PairToday], wish: DrillWish) -> None:
    order = [one.pair_id for one in plan(pairs, wish)]
    if len(set(order)) >= 4:
        assert all(len(set(order[at : at + 4])) == len(order[at : at + 4]) for at in range(len(order)))


@given(pairs=any_pairs(), wish=WISHES)
def test_easier_relatives_are_met_first_unless_they_wait_in_a_ring(pairs: list[PairToday], wish: DrillWish) -> None:
    by_id = {pair.pair_id: pair for pair in pairs}
    known = {pair.pair_id for pair in pairs if not is_new(pair)}
    for pair_id in [one.pair_id for one in plan(pairs, wish) if one.why is Why.NEW]:
        lacking = (by_id[pair_id].after & by_id.keys()) - known
        if lacking:
            ready = [pair for pair in pairs if pair.pair_id not in known and (pair.after & by_id.keys()) <= known]
            assert ready == []
        known.add(pair_id)


@given(pairs=any_pairs(), wish=WISHES)
def test_a_drill_does_not_end_on_a_pair_met_in_it_while_another_could_end_it(pairs: list[PairToday], wish: DrillWish) -> None:
    planned = plan(pairs, wish)
    if any(one.why is not Why.NEW for one in planned):
        assert planned[-1].why is not Why.NEW


def test_no_pair_starves_over_a_season() -> None:
    pairs = {pair_id: met(pair_id, mixup_rate=0.9 if pair_id < 4 else 0.1) for pair_id in range(1, 31)}
    pairs |= {pair_id: new(pair_id) for pair_id in range(31, 61)}
    waited: Counter[int] = Counter()
    longest = 0
    for day in range(120):
        planned = plan(list(pairs.values()), wish_for(5), seed=day)
        for pair_id, pair in pairs.items():
            shown = sum(one.showings for one in planned if one.pair_id == pair_id)
            waited[pair_id] = 0 if shown or is_new(pair) else waited[pair_id] + 1
            longest = max(longest, waited[pair_id])
            if shown and is_new(pair):
                pair = met(pair_id, mixup_rate=0.5)
            # Everything stays due for ever: the worst that can befall a plan.
            pairs[pair_id] = replace(pair, recent_pictures=(pair.recent_pictures + shown) * 0.93)
    assert not any(is_new(pair) for pair in pairs.values())
    # 60 pairs at 3 to 5 known rounds a day make 12 to 20 days for equal turns; a weight within 0.67..1.5 stretches that at most
    # by 1.5 / 0.67 = 2.25.
    assert longest <= 45


def test_weak_pairs_get_more_turns_but_not_above_their_bound() -> None:
    pairs = {pair_id: met(pair_id, mixup_rate=0.9 if pair_id < 4 else 0.2) for pair_id in range(1, 21)}
    shown: Counter[int] = Counter()
    for day in range(200):
        for one in plan(list(pairs.values()), wish_for(5), seed=day):
            shown[one.pair_id] += one.showings
            pairs[one.pair_id] = replace(pairs[one.pair_id], recent_pictures=pairs[one.pair_id].recent_pictures + one.showings)
        for pair_id, pair in pairs.items():
            pairs[pair_id] = replace(pair, recent_pictures=pair.recent_pictures * 0.93)
    weak, strong = ([shown[pair_id] for pair_id in ids] for ids in (range(1, 4), range(4, 21)))
    # Weights within 0.67..1.5 of the mean's: whoever is weak gets up to 1.5 / 0.67 times the turns of who is strong, not 0.9 / 0.2.
    assert 1.8 * max(strong) < min(weak) <= max(weak) <= MOST_WEIGHT / LEAST_WEIGHT * min(strong) * 1.05


@pytest.mark.parametrize(
    ("wish", "showings"),
    [
        (DrillWish(minutes=5, seconds_a_showing=10), 3),
        (DrillWish(minutes=5, seconds_a_showing=10.5), 3),  # 28 pictures
        (DrillWish(minutes=5, seconds_a_showing=10, round_length=2), 2),
        (DrillWish(minutes=1, round_length=6), 6),
    ],
)
def test_a_round_is_longer_where_the_drill_is(wish: DrillWish, showings: int) -> None:
    assert {one.showings for one in plan([met(1), met(2)], wish)} == {showings}


def test_meeting_a_pair_takes_time() -> None:
    assert len(plan([met(pair_id) for pair_id in range(1, 9)], wish_for(6))) == 6
    assert len(plan([new(pair_id) for pair_id in range(1, 9)], wish_for(6))) < 6


def test_one_pair_alone_fills_the_time() -> None:
    assert [one.why for one in plan([met(1)], wish_for(3))] == [Why.DUE, Why.AGAIN, Why.AGAIN]


def test_guessers_pace_makes_no_endless_drill() -> None:
    planned = plan([met(pair_id) for pair_id in range(1, 9)], DrillWish(minutes=MOST_MINUTES, seconds_a_showing=0.001))
    assert len(planned) <= MOST_MINUTES * 60 / (QUICKEST_SECONDS * 3)


@pytest.mark.parametrize(
    ("wish", "field"),
    [
        (DrillWish(minutes=0), "minutes"),
        (DrillWish(minutes=-3), "minutes"),
        (DrillWish(minutes=float("nan")), "minutes"),
        (DrillWish(minutes=121), "minutes"),
        (DrillWish(new_a_day=-1), "new_a_day"),
        (DrillWish(new_a_day=11), "new_a_day"),
        (DrillWish(round_length=1), "round_length"),
        (DrillWish(round_length=7), "round_length"),
        (DrillWish(seconds_a_showing=0), "seconds_a_showing"),
        (DrillWish(seconds_a_showing=float("nan")), "seconds_a_showing"),
    ],
)
def test_odd_wishes_are_refused(wish: DrillWish, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        plan([met(1)], wish)
    assert refused.value.field == field
