"""What a trait tells, against published tables, scipy and scikit-learn.

Sources: the fourteen-day weather table of J. R. Quinlan, Induction of Decision Trees, Machine Learning 1 (1986), table 1,
and its three-digit values (0.940, 0.246, 0.048), both from memory, their further digits by scikit-learn; R. A. Fisher's irises (1936) as
scikit-learn ships them; entropies and divergences as scipy computes them.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from scipy.spatial.distance import jensenshannon
from scipy.stats import entropy
from sklearn.datasets import load_iris
from sklearn.metrics import accuracy_score, mutual_info_score
from sklearn.naive_bayes import CategoricalNB

from drillhall.core.reading import read
from drillhall.core.traits import chance_of_count, information_bits, right_rate

# Quinlan 1986, table 1, from memory: outlook, windy, class (P or N), days 1 to 14.
WEATHER = [
    ("sunny", False, "N"),
    ("sunny", True, "N"),
    ("overcast", False, "P"),
    ("rain", False, "P"),
    ("rain", False, "P"),
    ("rain", True, "N"),
    ("overcast", True, "P"),
    ("sunny", False, "N"),
    ("sunny", False, "P"),
    ("rain", False, "P"),
    ("sunny", True, "P"),
    ("overcast", True, "P"),
    ("overcast", False, "P"),
    ("rain", True, "N"),
]


def shares(values: list[str]) -> dict[str, float]:
    return {value: count / len(values) for value, count in Counter(values).items()}


@pytest.mark.parametrize(("column", "gain"), [(0, 0.246750), (1, 0.048127)])
def test_gains_of_the_weather_table(column: int, gain: float) -> None:
    by_class = {said: shares([str(day[column]) for day in WEATHER if day[2] == said]) for said in "PN"}
    bits = information_bits(by_class["P"], by_class["N"], first_prior=9 / 14)
    assert bits == pytest.approx(gain, abs=5e-7)
    in_nats = mutual_info_score([day[column] for day in WEATHER], [day[2] for day in WEATHER])
    assert bits == pytest.approx(in_nats / math.log(2), abs=1e-12)


def test_trait_that_settles_it_is_worth_the_entropy_of_the_classes() -> None:
    assert information_bits({"P": 1.0}, {"N": 1.0}, first_prior=9 / 14) == pytest.approx(0.940286, abs=5e-7)
    assert entropy([9, 5], base=2) == pytest.approx(0.940286, abs=5e-7)


def test_equal_odds_give_the_divergence_that_scipy_gives() -> None:
    rng = np.random.default_rng(1948)
    for _ in range(200):
        first, second = rng.dirichlet(np.full(5, 0.4), 2)
        ours = information_bits(dict(zip("abcde", first, strict=True)), dict(zip("abcde", second, strict=True)))
        assert ours == pytest.approx(jensenshannon(first, second, base=2) ** 2, abs=1e-12)


def irises() -> tuple[dict[str, float], dict[str, float]]:
    """Chances of a petal wider than 1.65 cm for Iris virginica and Iris versicolor, the best single cut between them."""
    iris = load_iris()
    wide = iris.data[:, 3] > 1.65
    virginica, versicolor = (float(wide[iris.target == species].mean()) for species in (2, 1))
    return {"wide": virginica, "narrow": 1 - virginica}, {"wide": versicolor, "narrow": 1 - versicolor}


def test_petal_width_of_two_irises() -> None:
    virginica, versicolor = irises()
    assert (virginica["wide"], versicolor["wide"]) == pytest.approx((0.92, 0.04))
    assert information_bits(virginica, versicolor) == pytest.approx(0.676610, abs=5e-7)
    assert information_bits(virginica, versicolor, first_prior=0.1) == pytest.approx(0.293647, abs=5e-7)
    assert right_rate(virginica, versicolor) == pytest.approx(0.94)


@pytest.mark.parametrize(("prior", "posterior"), [(0.5, 0.958333), (0.10, 0.718750), (0.01, 0.188525)])
def test_good_mark_on_a_rarity_leaves_doubt(prior: float, posterior: float) -> None:
    # Bayes' rule in odds, by hand: prior odds times the likelihood ratio, which is 23.
    virginica, versicolor = irises()
    told = {1: {"petal": virginica}, 2: {"petal": versicolor}}
    found = read({"petal": "wide"}, told, priors={1: prior, 2: 1 - prior}).chances[1]
    assert found == pytest.approx(23 * prior / (23 * prior + 1 - prior)) == pytest.approx(posterior, abs=5e-7)


def test_right_rate_is_that_of_a_classifier_with_the_same_chances() -> None:
    # As many of either class, so that scikit-learn's classifier assumes equal odds; alpha is next to nothing: no smoothing.
    first, second = {"0": 46, "1": 30, "2": 24}, {"0": 4, "1": 36, "2": 60}
    states = np.array([[int(state)] for counts in (first, second) for state, count in counts.items() for _ in range(count)])
    classes = np.repeat([0, 1], 100)
    guessed = CategoricalNB(alpha=1e-9).fit(states, classes).predict(states)
    ours = right_rate({state: count / 100 for state, count in first.items()}, {state: count / 100 for state, count in second.items()})
    assert ours == pytest.approx(accuracy_score(classes, guessed))


def test_counts_are_smoothed_as_by_a_jeffreys_prior() -> None:
    # Mean of Beta(k + 1/2, n - k + 1/2), the posterior under Jeffreys' prior for a proportion.
    for shown, of in [(0, 20), (18, 20), (20, 20), (1, 1)]:
        alpha, beta = shown + 0.5, of - shown + 0.5
        assert chance_of_count(shown, of) == pytest.approx(alpha / (alpha + beta))
