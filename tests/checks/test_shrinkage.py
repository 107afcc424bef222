"""Shrinkage against published examples and SciPy's beta distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import betaln, comb
from scipy.stats import beta as beta_distribution

from drillhall.core.confusion import mixup_rate

# Robinson (2015), Understanding empirical Bayes estimation (using baseball statistics): two batters and a prior.
# The text was seen; the prior's two numbers are from memory.
ALPHA, BETA = 78.661, 224.875

# Efron and Morris, Stein's paradox in statistics (1977): hits of 18 players in 45 at-bats; counts and .212, .294, .242 from memory.
HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]

# A class of eight: right of shown, the maximum-likelihood beta prior (SciPy 1.17.1) and what it makes of each.
RIGHT = [9, 7, 12, 3, 10, 5, 14, 8]
SHOWN = [15, 10, 16, 10, 12, 12, 16, 15]
CLASS_ALPHA, CLASS_BETA, CLASS_LOG_LIKELIHOOD = 8.343488, 4.818815, -18.093783
CLASS_SHRUNK = [0.615841, 0.662434, 0.697595, 0.489739, 0.729007, 0.530297, 0.766177, 0.580332]


def shrunk(count: float, total: float, *, alpha: float, beta: float) -> float:
    """Return a rate shrunk towards a beta prior, told by its mean and by the trials that it is worth."""
    return mixup_rate(count, total, prior=alpha / (alpha + beta), weight=alpha + beta)


@pytest.mark.parametrize(("hits", "at_bats", "expected"), [(4, 10, 0.263641), (300, 1000, 0.290488)])
def test_two_batters(hits: int, at_bats: int, expected: float) -> None:
    assert shrunk(hits, at_bats, alpha=ALPHA, beta=BETA) == pytest.approx(expected, abs=6e-7)


def test_a_few_lucky_hits_fall_behind_many_good_ones() -> None:
    assert shrunk(4, 10, alpha=ALPHA, beta=BETA) < shrunk(300, 1000, alpha=ALPHA, beta=BETA)


def test_eighteen_batters() -> None:
    rates = np.array(HITS) / 45
    mean = float(rates.mean())
    kept = 1 - (len(HITS) - 3) * mean * (1 - mean) / 45 / float(((rates - mean) ** 2).sum())
    assert (mean, kept) == (pytest.approx(0.265432, abs=6e-7), pytest.approx(0.212, abs=6e-4))
    weight = 45 * (1 / kept - 1)
    best, worst = (shrunk(hits, 45, alpha=weight * mean, beta=weight * (1 - mean)) for hits in (18, 7))
    assert (best, worst) == (pytest.approx(0.294, abs=6e-4), pytest.approx(0.242, abs=6e-4))


def test_class_of_eight() -> None:
    right, shown = np.array(RIGHT), np.array(SHOWN)

    def minus_log_likelihood(logs: np.ndarray) -> float:
        a, b = np.exp(logs)
        return -float(np.sum(np.log(comb(shown, right)) + betaln(right + a, shown - right + b) - betaln(a, b)))

    found = minimize(minus_log_likelihood, np.log([5.0, 5.0]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    a, b = np.exp(found.x)
    assert (a, b) == (pytest.approx(CLASS_ALPHA, rel=1e-4), pytest.approx(CLASS_BETA, rel=1e-4))
    assert -found.fun == pytest.approx(CLASS_LOG_LIKELIHOOD, abs=1e-6)
    for count, total, expected in zip(RIGHT, SHOWN, CLASS_SHRUNK, strict=True):
        assert shrunk(count, total, alpha=CLASS_ALPHA, beta=CLASS_BETA) == pytest.approx(expected, abs=6e-7)


@pytest.mark.parametrize(("missed", "shown", "prior"), [(0, 0, 0.25), (3, 4, 0.25), (2.5, 7.25, 0.4), (40, 200, 0.1)])
def test_mixup_rate_is_the_mean_of_scipy_s_posterior(missed: float, shown: float, prior: float) -> None:
    posterior = beta_distribution(missed + 8 * prior, shown - missed + 8 * (1 - prior))
    assert mixup_rate(missed, shown, prior=prior) == pytest.approx(posterior.mean(), abs=1e-12)
