"""Sensitivity and bias: what counts, and when nothing is said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import forced_choice_sensitivity, log_linear, sensitivity, told_apart
from drillhall.core.values import NEITHER, Rendition, TallyKey

A, B, THIRD = 5, 6, 9
COUNTS = st.integers(10, 200).flatmap(lambda shown: st.tuples(st.integers(0, shown), st.just(shown)))


def cell(shown: int, said: int, *, choices: int = 2) -> TallyKey:
    """One cell of a tally in which only the forms matter."""
    return TallyKey(shown, said, 203001, False, False, Rendition.AS_TAKEN, "", choices)


@pytest.mark.parametrize(("shown_first", "shown_second"), [(9, 100), (100, 9), (0, 0)])
def test_below_ten_answers_a_form_nothing_is_said(shown_first: int, shown_second: int) -> None:
    assert sensitivity(hits=0, shown_first=shown_first, false_alarms=0, shown_second=shown_second) is None


def test_from_ten_answers_a_form_it_is_said() -> None:
    assert sensitivity(hits=10, shown_first=10, false_alarms=5, shown_second=10) is not None


def test_impossible_counts_are_refused_even_where_nothing_would_be_said() -> None:
    with pytest.raises(ValueError, match="11 of 10"):
        sensitivity(hits=11, shown_first=10, false_alarms=0, shown_second=10)
    with pytest.raises(ValueError, match="3 of 2"):
        sensitivity(hits=1, shown_first=2, false_alarms=3, shown_second=2)


def test_criterion_says_which_name_comes_too_easily() -> None:
    first_too_often = sensitivity(hits=20, shown_first=20, false_alarms=10, shown_second=20)
    second_too_often = sensitivity(hits=10, shown_first=20, false_alarms=0, shown_second=20)
    assert first_too_often is not None
    assert second_too_often is not None
    assert first_too_often.criterion < 0 < second_too_often.criterion


@pytest.mark.parametrize("right_rate", [0.0, 1.0, -0.1, 1.1, math.nan])
def test_forced_choice_refuses_a_rate_without_a_score(right_rate: float) -> None:
    with pytest.raises(ValueError, match="normal score"):
        forced_choice_sensitivity(right_rate)


def test_from_a_tally_only_two_choice_showings_of_the_pair_count() -> None:
    tally = {
        cell(A, A): 9,
        cell(A, B): 3,
        cell(B, A): 2,
        cell(B, B): 10,
        cell(A, NEITHER, choices=3): 50,
        cell(B, A, choices=3): 50,
        cell(THIRD, A): 50,
    }
    assert told_apart((A, B), tally) == sensitivity(hits=9, shown_first=12, false_alarms=2, shown_second=12)


def test_from_a_tally_with_too_few_two_choice_showings_nothing_is_said() -> None:
    assert told_apart((A, B), {cell(A, A): 9, cell(B, B): 30, cell(A, A, choices=3): 30}) is None


@given(COUNTS)
def test_corrected_rate_is_never_an_end(counts: tuple[int, int]) -> None:
    assert 0 < log_linear(*counts) < 1


@given(COUNTS, COUNTS)
def test_swapping_the_forms_keeps_sensitivity_and_turns_bias(first: tuple[int, int], second: tuple[int, int]) -> None:
    told = sensitivity(hits=first[0], shown_first=first[1], false_alarms=second[0], shown_second=second[1])
    swapped = sensitivity(hits=second[1] - second[0], shown_first=second[1], false_alarms=first[1] - first[0], shown_second=first[1])
    assert told is not None
    assert swapped is not None
    assert swapped.d_prime == pytest.approx(told.d_prime, abs=1e-9)
    assert swapped.criterion == pytest.approx(-told.criterion, abs=1e-9)


@given(COUNTS)
def test_naming_by_chance_is_no_sensitivity(counts: tuple[int, int]) -> None:
    told = sensitivity(hits=counts[0], shown_first=counts[1], false_alarms=counts[0], shown_second=counts[1])
    assert told is not None
    assert told.d_prime == 0.0
