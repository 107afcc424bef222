"""Two sittings compared, against statsmodels, scikit-learn and SciPy."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.stats import bootstrap
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.contingency_tables import mcnemar as reference_mcnemar
from statsmodels.stats.inter_rater import cohens_kappa

from drillhall.core.field_tests import agreement, mcnemar, paired_difference


def _labels(table: list[list[int]]) -> tuple[list[int], list[int]]:
    cells = [(row, column) for row, counts in enumerate(table) for column, count in enumerate(counts) for _ in range(count)]
    return [row for row, _ in cells], [column for _, column in cells]


@pytest.mark.parametrize(("stayed", "gained", "lost"), [(5, 0, 0), (3, 4, 0), (0, 6, 6), (2, 9, 3), (7, 1, 12), (0, 40, 22)])
def test_mcnemar_by_statsmodels(stayed: int, gained: int, lost: int) -> None:
    before = [True] * stayed + [False] * gained + [True] * lost
    after = [True] * stayed + [True] * gained + [False] * lost
    found = mcnemar(before, after)
    assert (found.stayed, found.gained, found.lost) == (stayed, gained, lost)
    assert found.chance == pytest.approx(float(reference_mcnemar([[stayed, lost], [gained, 0]], exact=True).pvalue))


# Two by two and three by three tables of counts with their kappa; statsmodels 0.15.0, cohens_kappa.
TABLES = [([[20, 5], [10, 15]], 0.4), ([[44, 5, 1], [7, 20, 3], [9, 5, 6]], 0.491525), ([[90, 5], [4, 1]], 0.134615)]


@pytest.mark.parametrize(("table", "kappa"), TABLES)
def test_kappa_by_statsmodels_and_scikit_learn(table: list[list[int]], kappa: float) -> None:
    one, other = _labels(table)
    found = agreement(one, other)
    assert found.kappa == pytest.approx(kappa, abs=5e-7)
    assert found.kappa == pytest.approx(float(cohens_kappa(np.array(table)).kappa))
    assert found.kappa == pytest.approx(float(cohen_kappa_score(one, other)))
    assert found.same == sum(table[place][place] for place in range(len(table)))


def test_the_example_in_scikit_learns_own_words() -> None:
    found = agreement(
        ["negative", "positive", "negative", "neutral", "positive"], ["negative", "positive", "negative", "neutral", "negative"]
    )
    assert found.kappa == pytest.approx(0.6875)  # the example in the docstring of cohen_kappa_score, scikit-learn 1.9


def test_the_interval_of_a_difference_by_scipy() -> None:
    """Both draw, so they agree to what drawing leaves open."""
    dice = Random(7)
    before = [dice.random() for _ in range(24)]
    after = [min(1.0, share + dice.gauss(0.1, 0.2)) for share in before]
    found = paired_difference(before, after, dice=Random(1))
    moved = np.array(after) - np.array(before)
    reference = bootstrap((moved,), np.mean, n_resamples=20_000, method="percentile", rng=np.random.default_rng(1)).confidence_interval
    assert found is not None
    assert found.low is not None
    assert found.high is not None
    assert found.mean == pytest.approx(moved.mean())
    assert found.low == pytest.approx(reference.low, abs=0.006)
    assert found.high == pytest.approx(reference.high, abs=0.006)
