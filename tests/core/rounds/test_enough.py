"""As many rounds of a pair as its pictures allow: none asked twice in a drill, every pair with its turn, the rich ones as before."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.rounds.enough import not_yet_asked
from drillhall.core.rounds.plan import is_cut_short
from drillhall.core.rounds.spare import plan_spare
from drillhall.core.values import Candidate, DrillWish, Form, Pair, PairToday
from tests.core.rounds.wishes import TODAY, met, new, plan, wish_for

PAIR = Pair(1, Form(2, "First", ""), Form(3, "Second", ""))
COUNTS = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=8)
WISHES = st.builds(DrillWish, minutes=st.floats(0.5, 20), seconds_a_showing=st.floats(4, 30), round_length=st.none() | st.integers(2, 6))


def with_pictures(counts: list[tuple[int, int]]) -> list[PairToday]:
    return [replace(met(number) if number % 2 else new(number), pictures=both) for number, both in enumerate(counts, 1)]


def test_eight_pictures_are_eight_showings_however_long_the_drill() -> None:
    planned = plan([met(1, pictures=(4, 4))], DrillWish(minutes=30))
    assert [one.showings for one in planned] == [3, 3, 2]


def test_the_scarcer_form_decides() -> None:
    assert [one.showings for one in plan([met(1, pictures=(3, 50))], DrillWish(minutes=30))] == [3, 3]


def test_one_picture_of_either_form_is_one_round() -> None:
    assert [one.showings for one in plan([new(1, pictures=(1, 1))], wish_for(9))] == [2]


def test_a_pair_rests_whose_one_form_is_all_shown_while_the_others_are_drilled() -> None:
    assert {one.pair_id for one in plan([met(1, pictures=(0, 20)), met(2, pictures=(20, 20))], wish_for(5))} == {2}
    assert plan([met(1, pictures=(0, 0))], wish_for(5)) == ()


def test_pairs_that_share_a_form_share_its_pictures_and_each_has_its_turn() -> None:
    ring = [met(number, first_form_id=one, second_form_id=two, pictures=(2, 2)) for number, one, two in ((1, 1, 2), (2, 2, 3), (3, 1, 3))]
    assert Counter(one.pair_id for one in plan(ring, wish_for(12))) == {1: 1, 2: 1, 3: 1}
    plenty = [replace(pair, pictures=(5, 5)) for pair in ring]
    assert sum(one.showings for one in plan(plenty, wish_for(12))) <= 15


def test_time_that_a_poor_pair_leaves_goes_to_a_rich_one() -> None:
    planned = plan([met(1, pictures=(2, 2)), met(2, pictures=(40, 40))], wish_for(8))
    assert Counter(one.pair_id for one in planned) == {1: 1, 2: 7}
    assert not is_cut_short(planned, wish_for(8))


def test_a_drill_is_cut_short_by_a_whole_round_or_not_at_all() -> None:
    planned = plan([met(1, pictures=(3, 3))], wish_for(9))
    assert [is_cut_short(planned, wish_for(rounds)) for rounds in (1, 2, 3)] == [False, False, True]
    assert not is_cut_short((), wish_for(9))


def test_spare_rounds_ask_again_where_nothing_else_is_left() -> None:
    pairs = [met(1, pictures=(3, 3))]
    assert plan_spare(plan(pairs, wish_for(9)), pairs, wish_for(9), today=TODAY, dice=Random(1)) != ()


@given(COUNTS, WISHES, st.integers(0, 99))
def test_never_more_than_there_are_and_no_pair_starves(counts: list[tuple[int, int]], wish: DrillWish, seed: int) -> None:
    pairs = with_pictures(counts)
    planned = plan(pairs, replace(wish, new_a_day=10), seed)
    shown: Counter[int] = Counter()
    for one in planned:
        shown[one.pair_id] += one.showings
    assert all(shown[pair.pair_id] <= sum(pair.pictures or ()) for pair in pairs)
    if is_cut_short(planned, wish):
        assert set(shown) == {pair.pair_id for pair in pairs if min(pair.pictures or ()) > 0}
    assert bool(planned) == any(min(both) > 0 for both in counts)


@given(st.integers(1, 9), WISHES, st.integers(0, 99))
def test_where_there_are_many_nothing_changes(count: int, wish: DrillWish, seed: int) -> None:
    poor = [met(number) if number % 3 else new(number) for number in range(1, count + 1)]
    rich = [replace(pair, pictures=(400, 400)) for pair in poor]
    assert plan(rich, wish, seed) == plan(poor, wish, seed)


def test_a_picture_is_not_asked_again_where_others_are_enough() -> None:
    shelf = [Candidate(number, 2 + number % 2) for number in range(1, 9)]
    ids = [one.picture_id for one in not_yet_asked(shelf, ({1, 2, 3}, {1}), PAIR, showings=3)]
    assert ids == [4, 5, 6, 7, 8]
    assert [one.picture_id for one in not_yet_asked(shelf, ({1, 2, 3, 4, 5, 6}, {1, 2}), PAIR, showings=3)] == [3, 4, 5, 6, 7, 8]


def test_one_form_alone_is_never_left_over() -> None:
    shelf = [Candidate(number, 2 + number % 2) for number in range(1, 9)]
    assert not_yet_asked(shelf, ({1, 3, 5, 7},), PAIR, showings=3) == shelf
