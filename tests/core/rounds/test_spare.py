"""Spare rounds: half as many as planned, never of a pair she has not met, those that had no turn first."""

from __future__ import annotations

from datetime import date
from random import Random

from drillhall.core.rounds.spare import plan_spare
from drillhall.core.values import DrillWish, PairToday, PlannedRound, Why

TODAY = date(2031, 3, 3)
WISH = DrillWish(minutes=2)


def pairs(met: int, new: int = 0) -> list[PairToday]:
    known = [PairToday(number, 10 * number, 10 * number + 1, met=True, due_day=TODAY) for number in range(1, met + 1)]
    return known + [PairToday(number, 10 * number, 10 * number + 1) for number in range(met + 1, met + new + 1)]


def spare(planned: list[int], of: list[PairToday]) -> list[int]:
    rounds = [PlannedRound(pair_id, 3, Why.DUE) for pair_id in planned]
    return [turn.pair_id for turn in plan_spare(rounds, of, WISH, today=TODAY, dice=Random(1))]


def test_half_as_many_as_planned_and_those_without_a_turn_first() -> None:
    found = spare([1, 2, 3, 4, 5], pairs(8))
    assert len(found) == 3
    assert set(found) == {6, 7, 8}


def test_where_all_have_had_their_turn_they_come_again() -> None:
    assert set(spare([1, 2, 3, 1], pairs(3))) <= {1, 2, 3}


def test_no_pair_that_is_new_and_not_in_the_drill() -> None:
    assert set(spare([1, 2], pairs(2, new=4))) <= {1, 2}


def test_a_pair_met_in_this_very_drill_may_come_again() -> None:
    assert spare([1], pairs(0, new=3)) == [1]


def test_nothing_planned_needs_nothing_spare() -> None:
    assert spare([], pairs(3)) == []
