"""The Brier score and Murphy's terms against scikit-learn and a worked example."""

from __future__ import annotations

import numpy as np
import pytest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

from drillhall.core.confusion import Forecast, brier

# Five said at .2 and one came true, six at .5 and three, nine at .9 and eight; computed by hand in fractions:
# base rate 12/20; REL = 1/18000; RES = 29/360; UNC = 6/25; score = REL − RES + UNC = .1595; skill 1 − .1595/.24.
EXAMPLE = [Forecast(0.2, 5, 1), Forecast(0.5, 6, 3), Forecast(0.9, 9, 8)]


def expanded(forecasts: list[Forecast]) -> tuple[list[int], list[float]]:
    """Write every answer out: came true or not, and the chance stated."""
    came_true: list[int] = []
    stated: list[float] = []
    for forecast in forecasts:
        came_true += [1] * forecast.right + [0] * (forecast.said - forecast.right)
        stated += [forecast.chance] * forecast.said
    return came_true, stated


def test_worked_example() -> None:
    parts = brier(EXAMPLE)
    assert parts is not None
    assert parts.reliability == pytest.approx(1 / 18000, abs=1e-15)
    assert parts.resolution == pytest.approx(29 / 360, abs=1e-15)
    assert parts.uncertainty == pytest.approx(6 / 25, abs=1e-15)
    assert parts.score == pytest.approx(0.1595, abs=1e-15)
    assert 1 - parts.score / parts.uncertainty == pytest.approx(0.3354166667, abs=1e-10)


def test_example_of_scikit_learn() -> None:
    # Docstring of sklearn.metrics.brier_score_loss, 1.9: y = 0 1 1 0, p = .1 .9 .8 .3 → 0.0375.
    parts = brier([Forecast(0.1, 1, 0), Forecast(0.9, 1, 1), Forecast(0.8, 1, 1), Forecast(0.3, 1, 0)])
    assert parts is not None
    assert parts.score == pytest.approx(0.0375, abs=1e-15)


def test_scikit_learn_over_random_counts() -> None:
    dice = np.random.default_rng(11)
    for _ in range(200):
        said = dice.integers(1, 40, size=3)
        forecasts = [
            Forecast(chance, int(times), int(dice.integers(0, times + 1))) for chance, times in zip((0.95, 0.80, 0.60), said, strict=True)
        ]
        parts = brier(forecasts)
        assert parts is not None
        came_true, stated = expanded(forecasts)
        assert parts.score == pytest.approx(brier_score_loss(came_true, stated, pos_label=1), abs=1e-12)


def test_reliability_follows_scikit_learn_s_curve() -> None:
    came_true, stated = expanded(EXAMPLE)
    observed, predicted = calibration_curve(came_true, stated, n_bins=10)
    parts = brier(EXAMPLE)
    assert parts is not None
    assert parts.reliability == pytest.approx(np.average((observed - predicted) ** 2, weights=[5, 6, 9]), abs=1e-12)


def test_a_sharp_and_honest_learner_scores_better_than_a_boaster() -> None:
    honest = brier([Forecast(0.95, 20, 19), Forecast(0.60, 20, 12)])
    boaster = brier([Forecast(0.95, 40, 31)])
    assert honest is not None
    assert boaster is not None
    assert honest.score < boaster.score
    assert honest.reliability < boaster.reliability
