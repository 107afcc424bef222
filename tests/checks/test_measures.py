"""What a measured trait tells, against the standard library, scipy and scikit-learn.

Sources: overlap by `statistics.NormalDist.overlap`; bits by scipy's adaptive quadrature; the crossing and the posterior by scikit-learn's
quadratic discriminant and naive Bayes; d, AUC and the cut of R. A. Fisher's irises (1936) as scikit-learn ships them. The values for
the irises (pooled spreads: d 2.9251 and 2.5208; best cuts of the specimens 0.94 and 0.93; AUC of the specimens 0.9804 and 0.9822) were
computed with scipy and scikit-learn, apart from this code.
"""

from __future__ import annotations

from itertools import pairwise
from math import log2, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.stats import norm
from sklearn.datasets import load_iris
from sklearn.metrics import roc_auc_score
from sklearn.naive_bayes import GaussianNB

from drillhall.core.measure_worth import worth_of
from drillhall.core.measures import auc, best_cut, cohens_d, crossings, measure_bits, overlap, weigh
from drillhall.core.values import Measured, Trait, TraitKind

LENGTH = Trait("length", "Length", "bill", TraitKind.SIZE, (), unit="mm")
CASES = [
    (Measured(38, 2), Measured(44, 3)),
    (Measured(44, 3), Measured(38, 2)),
    (Measured(100, 10), Measured(104, 10)),
    (Measured(-5, 0.2), Measured(-5, 3)),
    (Measured(0, 1), Measured(30, 40)),
    (Measured(1000, 1), Measured(1001.5, 0.4)),
]


@pytest.mark.parametrize(("first", "second"), CASES)
def test_overlap_is_the_standard_librarys(first: Measured, second: Measured) -> None:
    there = NormalDist(first.mean, first.spread).overlap(NormalDist(second.mean, second.spread))
    assert overlap(first, second) == pytest.approx(there, abs=1e-12)


@pytest.mark.parametrize(("first", "second"), CASES)
def test_bits_are_scipys_integral(first: Measured, second: Measured) -> None:
    laws = [norm(one.mean, one.spread) for one in (first, second)]

    def gained(value: float) -> float:
        densities = [float(law.pdf(value)) for law in laws]
        return sum(density / 2 * log2(density / (sum(densities) / 2)) for density in densities if density > 0)

    edges = sorted({one.mean + step * one.spread for one in (first, second) for step in range(-9, 10, 3)})
    there = sum(quad(gained, low, high)[0] for low, high in pairwise(edges))
    assert measure_bits({1: 0.5, 2: 0.5}, {1: first, 2: second}) == pytest.approx(there, abs=1e-6)


@pytest.mark.parametrize(("first", "second"), CASES)
def test_densities_cross_where_they_are_said_to_and_no_other_cut_is_better(first: Measured, second: Measured) -> None:
    laws = [norm(one.mean, one.spread) for one in (first, second)]
    for value in crossings(first, second):
        assert laws[0].logpdf(value) == pytest.approx(laws[1].logpdf(value), abs=1e-6)
    cut, first_right, second_right = best_cut(first, second)
    assert cut is not None
    low, high = cut - first.spread - second.spread, cut + first.spread + second.spread
    best = minimize_scalar(lambda value: -abs(laws[0].cdf(value) - laws[1].cdf(value)), bounds=(low, high), method="bounded")
    assert first_right + second_right - 1 == pytest.approx(-best.fun, abs=1e-6)


@pytest.mark.parametrize(("first", "second"), CASES[:3])
def test_auc_is_what_scikit_learn_counts_among_specimens(first: Measured, second: Measured) -> None:
    dice = np.random.default_rng(7)
    thrown = np.concatenate([dice.normal(one.mean, one.spread, 20_000) for one in (first, second)])
    counted = roc_auc_score(np.repeat([0, 1], 20_000), thrown)
    assert auc(first, second) == pytest.approx(max(counted, 1 - counted), abs=0.006)


def iris(column: int) -> tuple[Measured, Measured]:
    """Versicolor and virginica."""
    data, target = load_iris(return_X_y=True)
    return tuple(Measured(data[target == k, column].mean(), data[target == k, column].std(ddof=1), 50) for k in (1, 2))  # type: ignore[return-value]


@pytest.mark.parametrize(("column", "d", "area", "right"), [(3, 2.9251, 0.9804, 0.94), (2, 2.5208, 0.9822, 0.93)])
def test_irises_come_out_as_their_specimens_do(column: int, d: float, area: float, right: float) -> None:
    first, second = iris(column)
    worth = worth_of(LENGTH, first, second)
    assert worth.d == pytest.approx(d, abs=5e-5)
    assert worth.auc == pytest.approx(area, abs=0.02)  # the specimens are not quite normal
    assert worth.right_rate == pytest.approx(right, abs=0.04)  # theirs is the best cut for these very specimens
    pooled = Measured(0, 1), Measured(d, 1)
    assert overlap(*pooled) == pytest.approx(2 * NormalDist().cdf(-d / 2))  # Inman and Bradley 1989: spreads alike


def test_d_of_equal_spreads_gives_the_auc_of_signal_detection() -> None:
    # Green and Swets 1966, from memory: A = Φ(d′ / √2); d′ = 1 gives 0.7602
    assert auc(Measured(0, 1), Measured(1, 1)) == pytest.approx(NormalDist().cdf(1 / sqrt(2)))
    assert auc(Measured(0, 1), Measured(1, 1)) == pytest.approx(0.7602, abs=5e-5)
    assert cohens_d(Measured(0, 1), Measured(1, 1)) == 1


@pytest.mark.parametrize("value", [1.3, 1.6, 1.65, 1.9])
def test_a_value_counts_as_in_scikit_learns_naive_bayes(value: float) -> None:
    data, target = load_iris(return_X_y=True)
    kept = target > 0
    model = GaussianNB(var_smoothing=0).fit(data[kept][:, [3]], target[kept])
    told = {k: Measured(data[target == k, 3].mean(), data[target == k, 3].std(ddof=0)) for k in (1, 2)}
    factors = weigh(value, told).factors
    assert factors[1] / (factors[1] + factors[2]) == pytest.approx(model.predict_proba([[value]])[0][0], abs=1e-9)
