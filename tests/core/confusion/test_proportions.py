"""Intervals, shrinkage and guessing: what they do at the edges. Their values are checked in tests/checks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import guessing, mixup_rate, wilson
from drillhall.core.values import Interval

COUNTS = st.integers(0, 400).flatmap(lambda shown: st.tuples(st.integers(0, shown), st.just(shown)))


def test_nothing_shown_is_nothing_known() -> None:
    assert wilson(0, 0) == Interval(0.0, 1.0)


def test_all_or_none_right_reach_the_end_exactly() -> None:
    for shown in range(1, 400):
        assert wilson(0, shown).low == 0.0
        assert wilson(shown, shown).high == 1.0


@pytest.mark.parametrize(("right", "shown"), [(-1, 3), (4, 3), (0, -1)])
def test_impossible_counts_are_refused(right: int, shown: int) -> None:
    for ask in (
        lambda: wilson(right, shown),
        lambda: mixup_rate(right, shown, prior=0.5),
        lambda: guessing(right, shown, 2),
    ):
        with pytest.raises(ValueError, match="is no count"):
            ask()


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, 95.0, math.nan])
def test_impossible_confidence_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="confidence"):
        wilson(1, 2, confidence=confidence)


@pytest.mark.parametrize(("prior", "weight"), [(-0.1, 8.0), (1.1, 8.0), (0.5, 0.0), (0.5, -1.0), (math.nan, 8.0), (0.5, math.nan)])
def test_impossible_prior_is_refused(prior: float, weight: float) -> None:
    with pytest.raises(ValueError, match="is none"):
        mixup_rate(0, 0, prior=prior, weight=weight)


@pytest.mark.parametrize("choices", [1, 0, -2])
def test_a_question_without_a_choice_is_refused(choices: int) -> None:
    with pytest.raises(ValueError, match="two choices or more"):
        guessing(1, 2, choices)


def test_a_thousand_answers_do_not_overflow() -> None:
    assert 0 < guessing(700, 1000, 2) < 1e-30
    assert guessing(0, 5000, 4) == 1.0


@given(COUNTS)
def test_interval_holds_the_proportion_and_stays_within_bounds(counts: tuple[int, int]) -> None:
    right, shown = counts
    interval = wilson(right, shown)
    assert 0 <= interval.low <= interval.high <= 1
    if shown:
        assert interval.low <= right / shown <= interval.high


@given(COUNTS)
def test_wrong_and_right_are_mirror_images(counts: tuple[int, int]) -> None:
    right, shown = counts
    one, other = wilson(right, shown), wilson(shown - right, shown)
    assert one.low == pytest.approx(1 - other.high, abs=1e-12)


@given(COUNTS.filter(lambda counts: counts[1] > 0), st.floats(0.5, 0.9), st.floats(0.91, 0.999))
def test_more_confidence_is_wider(counts: tuple[int, int], less: float, more: float) -> None:
    narrow, wide = (wilson(*counts, confidence=confidence) for confidence in (less, more))
    assert wide.low <= narrow.low
    assert narrow.high <= wide.high


@given(COUNTS, st.floats(0, 1), st.floats(0.01, 50))
def test_shrunk_lies_between_prior_and_data(counts: tuple[int, int], prior: float, weight: float) -> None:
    right, shown = counts
    ends = sorted((prior, right / shown if shown else prior))
    assert ends[0] - 1e-12 <= mixup_rate(right, shown, prior=prior, weight=weight) <= ends[1] + 1e-12


@given(st.integers(0, 120), st.integers(2, 6))
def test_guessing_falls_with_each_right_answer(shown: int, choices: int) -> None:
    chances = [guessing(right, shown, choices) for right in range(shown + 1)]
    assert chances[0] == 1.0
    assert chances == sorted(chances, reverse=True)
