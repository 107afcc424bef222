"""Looking ahead: in words until the hall has seen enough, in numbers that fit, and never more drills than there is time for."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.forecast import (
    Habit,
    Recalibration,
    RecalledRound,
    fade_by,
    fit_recalibration,
    weeks_ahead,
    word_for,
)
from drillhall.core.values import Memory

TODAY = date(2031, 5, 4)
MEMORIES = {1: Memory(2.0, 5.0, TODAY - timedelta(days=3)), 2: Memory(90.0, 4.0, TODAY), 3: Memory(9.0, 5.0, TODAY)}
HABIT = Habit(rounds_a_day=5, minutes_a_round=0.6)


def rounds_of(count: int, learners: int, *, bias: float = -0.2, seed: int = 1) -> list[RecalledRound]:
    dice = Random(seed)
    found = []
    for number in range(count):
        recalled = dice.uniform(0.5, 0.99)
        found.append(RecalledRound(number % learners, recalled, dice.random() < recalled + bias))
    return found


@pytest.mark.parametrize(("count", "learners", "fits"), [(300, 5, True), (299, 5, False), (900, 4, False)])
def test_numbers_need_rounds_and_learners(count: int, learners: int, fits: bool) -> None:
    assert (fit_recalibration(rounds_of(count, learners)) is not None) is fits


def test_a_hall_that_always_held_fits_nothing() -> None:
    assert fit_recalibration([RecalledRound(n % 7, 0.9, True) for n in range(400)]) is None


def test_recall_that_tells_nothing_gives_the_plain_share() -> None:
    alike = [RecalledRound(n % 7, 0.9, n % 4 > 0) for n in range(400)]
    fitted = fit_recalibration(alike)
    assert fitted is not None
    assert fitted.chance(0.5) == pytest.approx(0.75)


def test_a_falling_curve_is_never_given_out() -> None:
    turned = [RecalledRound(n % 7, 0.95 if n % 2 else 0.6, n % 2 == 0 if n % 5 else True) for n in range(400)]
    fitted = fit_recalibration(turned)
    assert fitted is not None
    assert fitted.slope == 0


def test_too_high_recall_is_brought_down() -> None:
    fitted = fit_recalibration(rounds_of(4000, 9))
    assert fitted is not None
    assert fitted.chance(0.8) == pytest.approx(0.6, abs=0.03)


def test_the_order_of_rounds_changes_nothing() -> None:
    rounds = rounds_of(500, 6)
    assert fit_recalibration(rounds) == fit_recalibration(rounds[::-1])


def test_without_numbers_there_are_words() -> None:
    faded = fade_by(MEMORIES, TODAY + timedelta(days=200))
    assert [one.pair_id for one in faded] == [1, 3, 2]
    assert {one.chance for one in faded} == {None}
    assert faded[-1].word == "likely"


def test_with_numbers_the_word_follows_the_number() -> None:
    faded = fade_by(MEMORIES, TODAY + timedelta(days=1), recalibration=Recalibration(-9.0, 1.0))
    assert {one.word for one in faded} == {"unlikely"}


def test_pairs_never_rated_cannot_fade() -> None:
    assert fade_by({}, TODAY) == ()


def test_there_are_never_more_rounds_than_time() -> None:
    many = {number: Memory(1.0, 9.0, TODAY - timedelta(days=30)) for number in range(200)}
    for week in weeks_ahead(many, 40, HABIT, today=TODAY, dice=Random(1)):
        assert week.given_rounds <= 7 * HABIT.rounds_a_day
        assert week.due_rounds > week.given_rounds - week.new_pairs
        assert week.minutes == pytest.approx(week.given_rounds * 0.6)


def test_new_pairs_come_and_then_are_over() -> None:
    weeks = weeks_ahead({}, 6, HABIT, today=TODAY, dice=Random(1))
    assert sum(week.new_pairs for week in weeks) == pytest.approx(6)
    assert weeks[0].new_pairs == pytest.approx(6)


def test_who_never_comes_is_given_nothing_and_what_is_due_piles_up() -> None:
    weeks = weeks_ahead(MEMORIES, 3, Habit(5, 0.6, days_a_week=0.0), today=TODAY, dice=Random(1))
    assert sum(week.given_rounds for week in weeks) == 0
    assert [week.due_rounds for week in weeks] == sorted(week.due_rounds for week in weeks)


def test_the_same_dice_give_the_same_forecast() -> None:
    assert weeks_ahead(MEMORIES, 9, HABIT, today=TODAY, dice=Random(4)) == weeks_ahead(MEMORIES, 9, HABIT, today=TODAY, dice=Random(4))


@pytest.mark.parametrize("odd", [{"weeks": 0}, {"weeks": 9}, {"times": 0}])
def test_an_odd_forecast_is_refused(odd: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="are no forecast"):
        weeks_ahead(MEMORIES, 0, HABIT, today=TODAY, dice=Random(1), **odd)  # type: ignore[arg-type]


@given(st.floats(-5, 5), st.floats(0, 5), st.floats(0, 1), st.floats(0, 1))
def test_more_recall_is_never_less_chance(intercept: float, slope: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    told = Recalibration(intercept, slope)
    assert 0 <= told.chance(low) <= told.chance(high) <= 1


@given(st.floats(0, 1))
def test_there_is_a_word_for_everything(recalled: float) -> None:
    assert word_for(recalled) in {"likely", "open", "unlikely"}
