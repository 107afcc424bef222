"""How sure against how right."""

from __future__ import annotations

import pytest

from drillhall.core.confusion import Forecast, calibration, wilson
from drillhall.core.values import Interval, Sure


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
