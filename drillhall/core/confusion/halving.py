"""The counts of an ISO year, added up so that their sum tells what they weigh in any week to come: exactly, in whole numbers."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from math import isqrt
from typing import Final, NamedTuple

from drillhall.core.confusion.mixups import HALF_LIFE_WEEKS, weeks_between
from drillhall.core.values import Rendition, TallyKey

WHOLE_BITS: Final = 29
"""A count of the week before an ISO year's first is kept 2 ** 29 times as large: so a million of its last week stay below 2 ** 63."""

YearKey = tuple[int, int, int]
"""An ISO year, the form shown, and the form said or *neither*."""


class YearSum(NamedTuple):
    """What some counts of an ISO year come to, of pictures as taken; every part of it may be added to that of other counts.

    answers : all of them; fresh : those to pictures never seen before.
    plain : those of a choice of two; weighed : these, each times `weight_in_year` of its week.
    """

    answers: int = 0
    fresh: int = 0
    plain: int = 0
    weighed: int = 0


@lru_cache(maxsize=1024)
def weight_in_year(week: int) -> int:
    """Return how much a count of a week is worth beside others of its ISO year: twice as much as one of four weeks before.

    Parameters
    ----------
    week : year · 100 + week; the year changes nothing.

    Returns
    -------
    int: 2^(29 + week / 4), rounded down; a fourth root in whole numbers, so that it is the same on every machine.

    >>> weight_in_year(203108) == 2 * weight_in_year(203104) == 2**31
    True
    """
    return isqrt(isqrt(1 << 4 * WHOLE_BITS + week % 100))


def sum_years(tally: Mapping[TallyKey, int]) -> dict[YearKey, YearSum]:
    """Add up a learner's counts of a pair by year, form shown and form said; a cell without a picture as taken is there, and counts 0."""
    sums: dict[YearKey, YearSum] = {}
    for key, count in tally.items():
        cell = key.week // 100, key.shown_form_id, key.said_form_id
        answers, fresh, plain, weighed = sums.get(cell, YearSum())
        if key.rendition is Rendition.AS_TAKEN:
            two = count if key.choices == 2 else 0
            answers, fresh = answers + count, fresh + count * key.fresh
            plain, weighed = plain + two, weighed + two * weight_in_year(key.week)
        sums[cell] = YearSum(answers, fresh, plain, weighed)
    return sums


def worth_of_year(year: int, *, week_now: int) -> float:
    """Return what one unit of a year's `weighed` sum is worth in a week.

    Parameters
    ----------
    year : an ISO year, 1 or more.
    week_now : year · 100 + week. A count of a week still to come (a learner who flew west) weighs a little more than one of this week.

    Returns
    -------
    float: so that `weighed` times it is what `decayed` returns of the same counts, to eight digits and more.

    Raises
    ------
    ValueError: a year or a week that does not exist.

    >>> round(weight_in_year(203101) * worth_of_year(2031, week_now=203109), 8)
    0.25
    """
    passed = weeks_between(year * 100 + 1, week_now) + 1
    return float(2.0 ** -(WHOLE_BITS + passed / HALF_LIFE_WEEKS))
