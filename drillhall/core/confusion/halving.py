"""A year of weekly counts, added up by whoever holds them: exactly, in whole numbers, and weighed as `decayed` weighs them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import fsum
from operator import mul
from typing import Final

from drillhall.core.confusion.mixups import HALF_LIFE_WEEKS, week_of

PHASES: Final = int(HALF_LIFE_WEEKS)
"""Weeks in which a count halves: two counts so many weeks apart differ in weight by a power of two."""

HALVINGS: Final = 13
"""So often is a count of 52 weeks ago halved; a sum is kept 2 ** 13 times as large, so that it stays whole."""

_WEIGHTS: Final = tuple(0.5 ** (phase / HALF_LIFE_WEEKS) for phase in range(PHASES))


def weeks_ago_from(week_now: int) -> tuple[int, int]:
    """Return what weeks are taken from to tell how long ago they were: one of this ISO year, and one of the year before.

    Parameters
    ----------
    week_now : year · 100 + week.

    Returns
    -------
    two int: `first - week` and `second - week` are the weeks that have passed since.

    Source
    ------
    ISO 8601: 28 December lies in the last week of its year.

    >>> this, before = weeks_ago_from(202702)
    >>> this - 202701, before - 202653
    (1, 2)
    """
    year, week = divmod(week_now, 100)
    return week_now, week_of(date(year - 1, 12, 28)) + week


def decayed_of_phases(sums: Sequence[int]) -> float:
    """Return a decayed sum from the sums of its four phases.

    Parameters
    ----------
    sums : for each phase p, Σ count · 2^(13 − h) over the counts that are 4 · h + p weeks old, h from 0 to 13.

    Returns
    -------
    float: as `decayed` returns of the same counts, but for the last bit.

    >>> decayed_of_phases([(8 << 12) + (1 << 13), 0, 0, 0])
    5.0
    """
    return fsum(map(mul, sums, _WEIGHTS)) / 2**HALVINGS
