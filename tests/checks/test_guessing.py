"""What a guesser gets right, against SciPy's binomial distribution and written-out values."""

from __future__ import annotations

import pytest
from scipy.stats import binom, binomtest

from drillhall.core.confusion import guessing

# Shown, right → chance of a guesser with two, three and four choices to have at least so many; SciPy 1.17.1, binom.sf(right − 1, ...).
PRINTED = [
    (4, 4, 0.062500, 0.012346, 0.003906),
    (5, 4, 0.187500, 0.045267, 0.015625),
    (5, 5, 0.031250, 0.004115, 0.000977),
    (6, 5, 0.109375, 0.017833, 0.004639),
    (8, 7, 0.035156, 0.002591, 0.000381),
    (10, 8, 0.054688, 0.003404, 0.000416),
    (12, 10, 0.019287, 0.000544, 0.000038),
    (20, 15, 0.020695, 0.000167, 0.000004),
    (20, 18, 0.000201, 0.000000, 0.000000),
]


@pytest.mark.parametrize(("shown", "right", "two", "three", "four"), PRINTED)
def test_printed_values(shown: int, right: int, two: float, three: float, four: float) -> None:
    assert [guessing(right, shown, choices) for choices in (2, 3, 4)] == [pytest.approx(value, abs=6e-7) for value in (two, three, four)]


def test_a_round_of_three_is_held_by_one_guesser_in_eight() -> None:
    assert guessing(3, 3, 2) == 1 / 8


@pytest.mark.parametrize("choices", [2, 3, 4, 7])
def test_scipy_for_all_counts_up_to_30(choices: int) -> None:
    for shown in range(31):
        for right in range(shown + 1):
            assert guessing(right, shown, choices) == pytest.approx(binom.sf(right - 1, shown, 1 / choices), rel=1e-9)


def test_scipy_s_exact_test_of_a_long_sitting() -> None:
    assert guessing(560, 1000, 2) == pytest.approx(binomtest(560, 1000, 0.5, alternative="greater").pvalue, rel=1e-9)
