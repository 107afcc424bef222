"""The trial ends as soon as it can, and never on what came after its end."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.placement import Placing, outcome_of, place, weight_of_answer
from drillhall.core.values import Outcome


@pytest.mark.parametrize(("choices", "running"), [(2, 5), (3, 3)])
def test_so_many_right_running_pass(choices: int, running: int) -> None:
    assert place([True] * running, choices=choices) is Placing.PASSED
    assert place([True] * (running - 1), choices=choices) is Placing.GOING_ON


def test_two_misses_at_the_start_are_out() -> None:
    assert place([False]) is Placing.GOING_ON
    assert place([False, False]) is Placing.OUT


def test_nothing_answered_decides_nothing() -> None:
    assert place([]) is Placing.GOING_ON
    assert outcome_of(place([])) is None


def test_who_is_undecided_at_the_end_is_not_passed() -> None:
    answers = [True, True, True, False, True, True, True, True, True, False]
    assert place(answers[:9]) is Placing.GOING_ON
    assert place(answers) is Placing.OUT
    assert outcome_of(place(answers)) is Outcome.MISSED


def test_a_pass_counts_as_held_with_ease() -> None:
    assert outcome_of(Placing.PASSED) is Outcome.EASE


@given(st.lists(st.booleans(), max_size=15), st.lists(st.booleans(), max_size=5))
def test_answers_after_the_end_change_nothing(answers: list[bool], later: list[bool]) -> None:
    ended = place(answers)
    if ended is not Placing.GOING_ON:
        assert place([*answers, *later]) is ended


@given(st.lists(st.booleans(), min_size=1, max_size=10), st.integers(2, 5))
def test_a_wrong_answer_never_helps(answers: list[bool], choices: int) -> None:
    if place([*answers[:-1], False], choices=choices) is Placing.PASSED:
        assert place([*answers[:-1], True], choices=choices) is Placing.PASSED


@pytest.mark.parametrize("odd", [{"choices": 1}, {"knows_rate": 0.5}, {"knows_rate": 1.0}])
def test_odd_numbers_are_refused(odd: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"choices|rate"):
        weight_of_answer(**{"right": True, "choices": 2, **odd})  # type: ignore[arg-type]


@pytest.mark.parametrize("odd", [{"error_rate": 0.0}, {"error_rate": 0.5}, {"most_pictures": 0}])
def test_a_trial_needs_sense(odd: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="make no trial"):
        place([True], **odd)  # type: ignore[arg-type]
