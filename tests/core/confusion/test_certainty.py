"""How sure against how right."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import Forecast, brier, calibration, wilson
from drillhall.core.values import Interval, Sure

FORECASTS = st.integers(0, 60).flatmap(lambda said: st.builds(Forecast, st.floats(0, 1), st.just(said), st.integers(0, said)))


def test_nothing_said_has_no_score() -> None:
    assert brier([]) is None
    assert brier([Forecast(0.95, 0, 0)]) is None


def test_perfect_and_perfectly_wrong() -> None:
    perfect, wrong = brier([Forecast(1.0, 7, 7), Forecast(0.0, 3, 0)]), brier([Forecast(1.0, 4, 0)])
    assert perfect is not None
    assert wrong is not None
    assert (perfect.score, perfect.reliability) == (0.0, 0.0)
    assert wrong.score == 1.0


@pytest.mark.parametrize(
    "forecast", [Forecast(1.01, 1, 1), Forecast(-0.1, 1, 1), Forecast(math.nan, 1, 1), Forecast(0.5, 1, 2), Forecast(0.5, -1, -1)]
)
def test_impossible_forecasts_are_refused(forecast: Forecast) -> None:
    with pytest.raises(ValueError, match="is no forecast"):
        brier([forecast])


def test_equal_chances_are_put_together() -> None:
    assert brier([Forecast(0.8, 3, 1), Forecast(0.8, 5, 4)]) == brier([Forecast(0.8, 8, 5)])


def test_calibration_has_three_lines_in_order() -> None:
    lines = calibration({Sure.POSSIBLE: (5, 3), Sure.CERTAIN: (20, 18)})
    assert [(line.sure, line.forecast) for line in lines] == [
        (Sure.CERTAIN, Forecast(0.95, 20, 18)),
        (Sure.PROBABLE, Forecast(0.80, 0, 0)),
        (Sure.POSSIBLE, Forecast(0.60, 5, 3)),
    ]
    assert lines[0].likely == wilson(18, 20)
    assert lines[1].likely == Interval(0.0, 1.0)


@pytest.mark.parametrize("counts", [(3, 4), (-1, 0), (2, -1)])
def test_calibration_refuses_impossible_counts(counts: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="is no count"):
        calibration({Sure.PROBABLE: counts})


def test_calibration_scores_through_its_forecasts() -> None:
    score = brier(line.forecast for line in calibration({Sure.CERTAIN: (10, 5)}))
    assert score is not None
    assert score.reliability == pytest.approx(0.45**2)


@given(st.lists(FORECASTS, max_size=8))
def test_terms_always_add_up(forecasts: list[Forecast]) -> None:
    parts = brier(forecasts)
    if parts is None:
        assert not any(forecast.said for forecast in forecasts)
        return
    assert parts.score == pytest.approx(parts.reliability - parts.resolution + parts.uncertainty, abs=1e-12)
    assert 0 <= parts.uncertainty <= 0.25
    assert 0 <= parts.score <= 1
    assert min(parts.reliability, parts.resolution) >= 0


@given(st.lists(FORECASTS, min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_order_of_forecasts_does_not_matter(forecasts: list[Forecast], dice: Random) -> None:
    shuffled = list(forecasts)
    dice.shuffle(shuffled)
    one, other = brier(forecasts), brier(shuffled)
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert one.score == pytest.approx(other.score, abs=1e-12)
