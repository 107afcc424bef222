"""Sensitivity and criterion against published examples, SciPy's normal distribution and the ROC area of scikit-learn."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import binom, norm
from sklearn.metrics import roc_auc_score

from drillhall.core.confusion import forced_choice_sensitivity, log_linear, sensitivity

# Hits of nA, false alarms of nB, then H, F, d′ and c under the log-linear correction; computed with SciPy 1.17.1.
# The first row is the worked example in the manual of the R package statpsych, `signal`: .8168317 .460396 1.002793, bias −.4019603.
ONE_INTERVAL = [
    (82, 100, 46, 100, 0.816832, 0.460396, 1.002793, -0.401960),
    (40, 50, 5, 50, 0.794118, 0.107843, 2.058872, 0.208644),
    (20, 20, 0, 20, 0.976190, 0.023810, 3.961505, 0.0),
    (10, 10, 5, 10, 0.954545, 0.500000, 1.690622, -0.845311),
    (5, 5, 0, 5, 0.916667, 0.083333, 2.765988, 0.0),
    (10, 20, 10, 20, 0.5, 0.5, 0.0, 0.0),
    (0, 20, 0, 20, 0.023810, 0.023810, 0.0, 1.980752),
]

# Likelihood ratio at the criterion, ln β = c · d′; same source as above.
BETA = {(82, 100, 46, 100): 0.668257, (40, 50, 5, 50): 1.536599, (10, 10, 5, 10): 0.239524}

# Proportion right → √2 z(PC) for two pictures side by side, and 2 z(PC) for one picture without bias; SciPy 1.17.1.
PERCENT = [
    (0.60, 0.358287, 0.506694),
    (0.70, 0.741614, 1.048801),
    (0.75, 0.953873, 1.348980),
    (0.80, 1.190232, 1.683242),
    (0.85, 1.465738, 2.072867),
    (0.90, 1.812388, 2.563103),
    (0.95, 2.326174, 3.289707),
    (0.99, 3.289953, 4.652696),
]

# d′ → proportion right of a forced choice of two: ∫ φ(x − d′) Φ(x) dx, by SciPy 1.17.1.
FORCED = [(0.5, 0.638163), (1.0, 0.760250), (1.5, 0.855578), (2.0, 0.921350), (3.0, 0.983053)]

# True d′, answers a form → mean and standard deviation of the estimate of an unbiased observer; exact binomial sums, SciPy 1.17.1.
SMALL = [(1, 3, 0.849, 0.850), (1, 10, 0.979, 0.578), (2, 10, 1.917, 0.609), (2, 20, 1.974, 0.479), (3, 20, 2.887, 0.516)]


@pytest.mark.parametrize(("hits", "n_first", "false", "n_second", "hit_rate", "false_rate", "d_prime", "criterion"), ONE_INTERVAL)
def test_one_picture_two_names(
    hits: int, n_first: int, false: int, n_second: int, hit_rate: float, false_rate: float, d_prime: float, criterion: float
) -> None:
    told = sensitivity(hits=hits, shown_first=n_first, false_alarms=false, shown_second=n_second, least=1)
    assert told is not None
    assert log_linear(hits, n_first) == pytest.approx(hit_rate, abs=6e-7)
    assert log_linear(false, n_second) == pytest.approx(false_rate, abs=6e-7)
    assert told.d_prime == pytest.approx(d_prime, abs=6e-7)
    assert told.criterion == pytest.approx(criterion, abs=6e-7)


@pytest.mark.parametrize("counts", BETA)
def test_likelihood_ratio_at_the_criterion(counts: tuple[int, int, int, int]) -> None:
    told = sensitivity(hits=counts[0], shown_first=counts[1], false_alarms=counts[2], shown_second=counts[3])
    assert told is not None
    assert told.d_prime * told.criterion == pytest.approx(log(BETA[counts]), abs=2e-6)


def test_against_scipy_for_all_counts_of_twelve_answers() -> None:
    for hits in range(13):
        for false in range(13):
            told = sensitivity(hits=hits, shown_first=12, false_alarms=false, shown_second=12)
            assert told is not None
            hit_score, false_score = norm.ppf((hits + 0.5) / 13), norm.ppf((false + 0.5) / 13)
            assert told.d_prime == pytest.approx(hit_score - false_score, abs=1e-12)
            assert told.criterion == pytest.approx(-(hit_score + false_score) / 2, abs=1e-12)


@pytest.mark.parametrize(("rate", "side_by_side", "one_picture"), PERCENT)
def test_two_pictures_side_by_side(rate: float, side_by_side: float, one_picture: float) -> None:
    assert forced_choice_sensitivity(rate) == pytest.approx(side_by_side, abs=6e-7)
    # The same proportion means more with one picture: taking one task for the other is wrong by √2.
    assert forced_choice_sensitivity(rate) * sqrt(2) == pytest.approx(one_picture, abs=1.1e-6)


@pytest.mark.parametrize(("d_prime", "rate"), FORCED)
def test_forced_choice_is_the_integral_turned_round(d_prime: float, rate: float) -> None:
    integral, _ = quad(lambda x: norm.pdf(x - d_prime) * norm.cdf(x), -8, 12, epsabs=1e-11)
    assert integral == pytest.approx(rate, abs=6e-7)
    assert forced_choice_sensitivity(integral) == pytest.approx(d_prime, abs=1e-7)


def test_forced_choice_rate_is_the_area_under_the_roc() -> None:
    # Equal-variance signals 1.5 apart: AUC = Φ(d′ / √2), so the forced-choice formula must give d′ back from the area.
    dice = np.random.default_rng(5)
    signals = np.concatenate([dice.normal(1.5, 1, 40_000), dice.normal(0, 1, 40_000)])
    area = roc_auc_score(np.repeat([1, 0], 40_000), signals)
    assert forced_choice_sensitivity(float(area)) == pytest.approx(1.5, abs=0.03)


@pytest.mark.parametrize(("true", "shown", "mean", "deviation"), SMALL)
def test_what_few_answers_make_of_a_true_sensitivity(true: float, shown: int, mean: float, deviation: float) -> None:
    hit_chances = binom.pmf(range(shown + 1), shown, norm.cdf(true / 2))
    false_chances = binom.pmf(range(shown + 1), shown, norm.cdf(-true / 2))
    first = second = 0.0
    for hits, hit_chance in enumerate(hit_chances):
        for false, false_chance in enumerate(false_chances):
            told = sensitivity(hits=hits, shown_first=shown, false_alarms=false, shown_second=shown, least=1)
            assert told is not None
            first += hit_chance * false_chance * told.d_prime
            second += hit_chance * false_chance * told.d_prime**2
    assert first == pytest.approx(mean, abs=6e-4)
    assert sqrt(second - first**2) == pytest.approx(deviation, abs=6e-4)
