"""Wilson's interval against Newcombe's table, statsmodels and SciPy."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from drillhall.core.confusion import wilson

# Newcombe (1998), Stat Med 17:857, table I, method 3 (Wilson without continuity correction); table from memory.
NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
]

# Computed with statsmodels 0.15.0, proportion_confint(method="wilson").
PRINTED = [
    (81, 263, 0.255289, 0.366210),
    (0, 20, 0.000000, 0.161125),
    (23, 60, 0.270883, 0.509824),
    (3, 5, 0.230724, 0.882379),
    (5, 5, 0.565518, 1.000000),
    (7, 10, 0.396778, 0.892209),
    (9, 10, 0.595850, 0.982124),
    (10, 10, 0.722467, 1.000000),
    (18, 20, 0.698966, 0.972134),
    (45, 50, 0.786398, 0.956524),
    (90, 100, 0.825634, 0.944771),
]

# Fewest answers whose lower bound lies above the target, with 0, 1, 2 and 3 misses; computed with statsmodels 0.15.0.
FEWEST = {
    0.50: (4, 8, 11, 14),
    0.70: (9, 15, 21, 25),
    0.75: (12, 19, 25, 31),
    0.80: (16, 25, 33, 40),
    0.90: (35, 53, 69, 84),
}


@pytest.mark.parametrize(("right", "shown", "low", "high"), NEWCOMBE)
def test_newcombe(right: int, shown: int, low: float, high: float) -> None:
    interval = wilson(right, shown)
    assert (interval.low, interval.high) == (pytest.approx(low, abs=5.1e-5), pytest.approx(high, abs=5.1e-5))


@pytest.mark.parametrize(("right", "shown", "low", "high"), PRINTED)
def test_printed_values(right: int, shown: int, low: float, high: float) -> None:
    interval = wilson(right, shown)
    assert (interval.low, interval.high) == (pytest.approx(low, abs=6e-7), pytest.approx(high, abs=6e-7))


@pytest.mark.parametrize("confidence", [0.80, 0.95, 0.99])
def test_statsmodels_for_all_counts_up_to_40(confidence: float) -> None:
    for shown in range(1, 41):
        for right in range(shown + 1):
            low, high = proportion_confint(right, shown, alpha=1 - confidence, method="wilson")
            interval = wilson(right, shown, confidence=confidence)
            assert (interval.low, interval.high) == (pytest.approx(low, abs=1e-13), pytest.approx(high, abs=1e-13))


@pytest.mark.parametrize(("right", "shown"), [(0, 7), (3, 9), (24, 25), (611, 1000)])
def test_scipy(right: int, shown: int) -> None:
    theirs = binomtest(right, shown).proportion_ci(confidence_level=0.95, method="wilson")
    interval = wilson(right, shown)
    assert (interval.low, interval.high) == (pytest.approx(theirs.low, abs=1e-13), pytest.approx(theirs.high, abs=1e-13))


@pytest.mark.parametrize("target", FEWEST)
def test_fewest_answers_for_a_target(target: float) -> None:
    for misses, fewest in enumerate(FEWEST[target]):
        assert wilson(fewest - misses, fewest).low > target
        assert wilson(fewest - 1 - misses, fewest - 1).low <= target
