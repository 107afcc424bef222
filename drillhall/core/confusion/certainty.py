"""Holds how sure a learner was against how often she was right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
class Brier:
    """A Brier score with Murphy's three terms: score = reliability − resolution + uncertainty; the lower the better.

    reliability: how far what was said lies from what came true, 0 for perfect; resolution: how far the groups differ from the
    whole; uncertainty: that of the whole, at most 0.25.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """One line of the chart: said *sure* so many times, right in so many, and where the true share is likely to lie."""

    sure: Sure
    forecast: Forecast
    likely: Interval


def brier(forecasts: Iterable[Forecast]) -> Brier | None:
    """Return the Brier score of stated chances, taken apart.

    Parameters
    ----------
    forecasts : counts by stated chance, in any order; equal chances are put together, so that the terms add up exactly.

    Returns
    -------
    Brier, or None where nothing was said.

    Raises
    ------
    ValueError: a chance outside 0 to 1, or counts out of range.

    Source
    ------
    Brier (1950), Mon Weather Rev 78:1; Murphy (1973), A new vector partition of the probability score, J Appl Meteorol 12:595
    (from memory): REL = Σ n (f − o)² / N, RES = Σ n (o − ō)² / N, UNC = ō (1 − ō), the half score of two outcomes.

    >>> parts = brier([Forecast(0.2, 5, 1), Forecast(0.5, 6, 3), Forecast(0.9, 9, 8)])
    >>> round(parts.score, 4), round(parts.resolution, 6)
    (0.1595, 0.080556)
    """
    groups = _groups(forecasts)
    said = sum(times for times, _ in groups.values())
    if said == 0:
        return None
    base_rate = sum(right for _, right in groups.values()) / said
    reliability = sum(times * (chance - right / times) ** 2 for chance, (times, right) in groups.items()) / said
    resolution = sum(times * (right / times - base_rate) ** 2 for times, right in groups.values()) / said
    squares = sum(right * (1 - chance) ** 2 + (times - right) * chance**2 for chance, (times, right) in groups.items())
    return Brier(score=squares / said, reliability=reliability, resolution=resolution, uncertainty=base_rate * (1 - base_rate))


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


def _groups(forecasts: Iterable[Forecast]) -> dict[float, tuple[int, int]]:
    """Put forecasts of one chance together and leave out those never said."""
    groups: dict[float, tuple[int, int]] = {}
    for forecast in forecasts:
        if not 0 <= forecast.chance <= 1 or not 0 <= forecast.right <= forecast.said:
            raise ValueError(f"{forecast} is no forecast")
        if forecast.said:
            said, right = groups.get(forecast.chance, (0, 0))
            groups[forecast.chance] = (said + forecast.said, right + forecast.right)
    return groups
