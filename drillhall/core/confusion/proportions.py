"""Bounds, shrinks and corrects a proportion of right answers."""

from __future__ import annotations

from functools import cache
from math import sqrt
from statistics import NormalDist

from drillhall.core.values import Interval


def wilson(right: int, shown: int, *, confidence: float = 0.95) -> Interval:
    """Return Wilson's score interval of a proportion.

    Parameters
    ----------
    right : successes, 0 to `shown`.
    shown : trials, 0 or more; without any, nothing is known and the interval is 0 to 1.
    confidence : two-sided, above 0 and below 1.

    Returns
    -------
    Interval: clamped to 0 and 1, and always containing right / shown.

    Raises
    ------
    ValueError: counts or confidence out of range.

    Source
    ------
    Wilson (1927), Probable inference, the law of succession, and statistical inference, J Am Stat Assoc 22:209;
    Newcombe (1998), Two-sided confidence intervals for the single proportion, Stat Med 17:857, method 3; no continuity correction.

    >>> interval = wilson(9, 9)
    >>> round(interval.low, 4), interval.high
    (0.7009, 1.0)
    """
    _check_counts(right, shown)
    if not 0 < confidence < 1:
        raise ValueError(f"confidence lies between 0 and 1, not at {confidence}")
    if shown == 0:
        return Interval(0.0, 1.0)
    z = _two_sided_z(confidence)
    centre = (right + z * z / 2) / (shown + z * z)
    half = z / (shown + z * z) * sqrt(right * (shown - right) / shown + z * z / 4)
    low = 0.0 if right == 0 else max(0.0, centre - half)
    high = 1.0 if right == shown else min(1.0, centre + half)
    return Interval(low, high)


def guessing(right: int, shown: int, choices: int) -> float:
    """Return the chance that somebody who only guesses has at least so many right.

    Parameters
    ----------
    right : right answers, 0 to `shown`.
    shown : answers, 0 or more.
    choices : equally likely choices of each question, 2 or more.

    Returns
    -------
    float: upper tail of the binomial with 1 / choices, 0 to 1; exact up to the last rounding.

    Raises
    ------
    ValueError: counts out of range, or fewer than two choices.

    Source
    ------
    Binomial distribution: sum over i >= right of C(shown, i) (k − 1)^(shown − i) / k^shown, in whole numbers.

    >>> guessing(3, 3, 2)
    0.125
    """
    _check_counts(right, shown)
    _check_choices(choices)
    ways = 1
    tail = 0
    for hits in range(shown, right - 1, -1):
        tail += ways
        ways = ways * hits * (choices - 1) // (shown - hits + 1)
    return float(tail / choices**shown)


@cache
def _two_sided_z(confidence: float) -> float:
    """Return how many standard deviations a two-sided interval reaches."""
    return NormalDist().inv_cdf((1 + confidence) / 2)


def _check_counts(count: float, total: float) -> None:
    """Refuse counts that no log can hold."""
    if not 0 <= count <= total:
        raise ValueError(f"{count} of {total} is no count")


def _check_choices(choices: int) -> None:
    """Refuse a question without a choice."""
    if choices < 2:
        raise ValueError(f"a question has two choices or more, not {choices}")
