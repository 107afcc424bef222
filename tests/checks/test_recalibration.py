"""The hall's recalibration against scikit-learn 1.9: the same two numbers, and the gain that a recalibration ought to bring."""

from __future__ import annotations

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import brier_score_loss, log_loss

from drillhall.core.forecast import Recalibration, RecalledRound, fit_recalibration


def draw(seed: int, *, count: int = 1500, intercept: float = -0.6, slope: float = 0.7) -> list[RecalledRound]:
    dice = np.random.default_rng(seed)
    recalled = dice.uniform(0.4, 0.995, count)
    held = dice.random(count) < 1 / (1 + np.exp(-(intercept + slope * np.log(recalled / (1 - recalled)))))
    return [RecalledRound(number % 11, float(score), bool(was)) for number, (score, was) in enumerate(zip(recalled, held, strict=True))]


@pytest.mark.parametrize("seed", range(6))
def test_scikit_learn_fits_the_same_curve(seed: int) -> None:
    rounds = draw(seed)
    scores = np.array([[np.log(one.recalled / (1 - one.recalled))] for one in rounds])
    model = LogisticRegression(C=np.inf, tol=1e-10, max_iter=1000).fit(scores, [one.held for one in rounds])
    fitted = fit_recalibration(rounds)
    assert fitted is not None
    assert fitted.intercept == pytest.approx(model.intercept_[0], abs=1e-5)
    assert fitted.slope == pytest.approx(model.coef_[0, 0], abs=1e-5)


def test_it_foretells_other_rounds_better_than_bare_recall() -> None:
    fitted = fit_recalibration(draw(1))
    assert fitted is not None
    later = draw(2)
    held, bare = [one.held for one in later], [one.recalled for one in later]
    ours = [fitted.chance(one.recalled) for one in later]
    assert log_loss(held, ours) < log_loss(held, bare) - 0.05
    assert brier_score_loss(held, ours) < brier_score_loss(held, bare)


def test_no_change_is_needed_where_recall_holds() -> None:
    fitted = fit_recalibration(draw(3, count=20_000, intercept=0.0, slope=1.0))
    assert isinstance(fitted, Recalibration)
    assert (fitted.intercept, fitted.slope) == pytest.approx((0, 1), abs=0.06)
