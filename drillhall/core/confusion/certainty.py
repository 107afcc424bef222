"""Holds how sure a learner was against how often she was right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from drillhall.core.confusion.proportions import wilson
from drillhall.core.values import Interval, Sure

CHANCE_MEANT: Final[Mapping[Sure, float]] = MappingProxyType({Sure.CERTAIN: 0.95, Sure.PROBABLE: 0.80, Sure.POSSIBLE: 0.60})
"""What each word stands for where there are two choices."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """One chance that was stated: `chance` 0 to 1, said so many times, of them right."""

    chance: float
    said: int
    right: int


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """One line of the chart: said *sure* so many times, right in so many, and where the true share is likely to lie."""

    sure: Sure
    forecast: Forecast
    likely: Interval


def calibration(counts: Mapping[Sure, tuple[int, int]]) -> tuple[CalibrationLine, ...]:
    """Lay out what *certain*, *probable* and *possible* came to.

    Parameters
    ----------
    counts : word → (times said, times right), answers with two choices only; a word that is absent was never said.

    Returns
    -------
    tuple of CalibrationLine: always three, *certain* first.

    Raises
    ------
    ValueError: counts out of range.

    Source
    ------
    Wilson's interval; the chances meant are our own agreement.

    >>> [(line.sure.value, line.forecast.said, line.forecast.right) for line in calibration({Sure.CERTAIN: (10, 9)})]
    [('certain', 10, 9), ('probable', 0, 0), ('possible', 0, 0)]
    """
    lines = []
    for sure, chance in CHANCE_MEANT.items():
        said, right = counts.get(sure, (0, 0))
        lines.append(CalibrationLine(sure=sure, forecast=Forecast(chance, said, right), likely=wilson(right, said)))
    return tuple(lines)
