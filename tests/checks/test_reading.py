"""Reading an organism, against scikit-learn's naive Bayes (1.9) and a printed likelihood ratio.

Source of the numbers .92, .04 and 23: petal width over 1.65 in Fisher's irises (versicolor and virginica, 50 each), counted from
scikit-learn's copy of the set; the posteriors follow by Bayes' rule.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import entropy
from sklearn.datasets import load_iris
from sklearn.naive_bayes import CategoricalNB

from drillhall.core.reading import expected_bits, read
from drillhall.core.values import FormTraits


def test_irises_give_the_printed_likelihood_ratio_and_posteriors() -> None:
    iris = load_iris()
    over = iris.data[50:, 3] > 1.65
    share = {1: float(over[50:].mean()), 2: float(over[:50].mean())}
    assert share == {1: 0.92, 2: 0.04}
    told: dict[int, FormTraits] = {form: {"petal": {"over": chance, "under": 1 - chance}} for form, chance in share.items()}
    for prior, posterior in ((0.5, 0.958333), (0.10, 0.718750), (0.01, 0.188525)):
        assert read({"petal": "over"}, told, priors={1: prior, 2: 1 - prior}).chances[1] == pytest.approx(posterior, abs=6e-7)


@pytest.mark.parametrize("seed", range(8))
def test_scikit_learn_s_naive_bayes(seed: int) -> None:
    dice = np.random.default_rng(seed)
    forms, traits, states = 4, 3, 3
    model = CategoricalNB()
    model.fit(dice.integers(0, states, (400, traits)), dice.permutation(np.arange(400) % forms))
    tables = [np.exp(table) for table in model.feature_log_prob_]
    told: dict[int, FormTraits] = {
        form + 1: {f"t{number}": {str(state): float(table[form, state]) for state in range(states)} for number, table in enumerate(tables)}
        for form in range(forms)
    }
    for probe in dice.integers(0, states, (20, traits)):
        expected = model.predict_proba([probe])[0]
        found = read({f"t{number}": str(state) for number, state in enumerate(probe)}, told).chances
        assert [found[form + 1] for form in range(forms)] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_scipy_s_entropies(seed: int) -> None:
    dice = np.random.default_rng(seed)
    priors, table = dice.dirichlet(np.ones(5)), dice.dirichlet(np.ones(3), size=5)
    bits = entropy(priors @ table, base=2) - sum(p * entropy(row, base=2) for p, row in zip(priors, table, strict=True))
    states = {form: {str(state): float(chance) for state, chance in enumerate(row)} for form, row in enumerate(table)}
    assert expected_bits({form: float(p) for form, p in enumerate(priors)}, states) == pytest.approx(bits, abs=1e-9)
