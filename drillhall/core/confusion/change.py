"""Follows mix-ups over the weeks, and says whether they have become fewer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import sqrt

from drillhall.core.confusion.mixups import week_of
from drillhall.core.confusion.proportions import wilson
from drillhall.core.values import Interval


class Change(StrEnum):
    """How what was missed has changed."""

    FEWER = "fewer"
    MORE = "more"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class WeekOfAnswers:
    """What was missed in one ISO week, by its Monday; without a showing nothing is known of it."""

    monday: date
    missed: int
    shown: int

    @property
    def likely(self) -> Interval:
        """Where the true share of misses is likely to lie."""
        return wilson(self.missed, self.shown)


def weeks_until(counts: Mapping[int, tuple[int, int]], *, today: date, weeks: int) -> tuple[WeekOfAnswers, ...]:
    """Lay counts out week by week up to today's, weeks without an answer among them.

    Parameters
    ----------
    counts : ISO week as year · 100 + week → (missed, shown); other weeks are left out.
    today : a local day.
    weeks : how many, 1 or more.

    Returns
    -------
    tuple of WeekOfAnswers, the earliest first.

    >>> [week.shown for week in weeks_until({202701: (1, 4)}, today=date(2027, 1, 12), weeks=3)]
    [0, 4, 0]
    """
    monday = today - timedelta(days=today.weekday())
    mondays = [monday - timedelta(weeks=ago) for ago in range(weeks - 1, -1, -1)]
    return tuple(WeekOfAnswers(one, *counts.get(week_of(one), (0, 0))) for one in mondays)


@dataclass(frozen=True, slots=True)
class Difference:
    """A closed interval of the difference of two shares, -1 <= low <= high <= 1."""

    low: float
    high: float


def difference(before: tuple[int, int], after: tuple[int, int]) -> Difference | None:
    """Return where the difference of two shares, after less before, is likely to lie.

    Parameters
    ----------
    before, after : (missed, shown) of answers that have nothing to do with each other; 0 <= missed <= shown.

    Returns
    -------
    Difference at 95 %, or None where one of the two has no showing.

    Raises
    ------
    ValueError: counts out of range.

    Source
    ------
    Newcombe (1998), Interval estimation for the difference between independent proportions, Stat Med 17:873, method 10: Wilson's
    limits squared and added.

    >>> likely = difference((30, 60), (12, 60))
    >>> round(likely.low, 3), round(likely.high, 3)
    (-0.447, -0.13)
    """
    was, is_now = wilson(*before), wilson(*after)
    if not before[1] or not after[1]:
        return None
    old, new = before[0] / before[1], after[0] / after[1]
    low = new - old - sqrt((new - is_now.low) ** 2 + (was.high - old) ** 2)
    high = new - old + sqrt((is_now.high - new) ** 2 + (old - was.low) ** 2)
    return Difference(max(-1.0, low), min(1.0, high))


def change_of(before: tuple[int, int], after: tuple[int, int]) -> Change:
    """Say whether less is missed than before: only where the interval of the difference leaves no change out.

    >>> change_of((30, 60), (12, 60)).value, change_of((3, 6), (1, 6)).value
    ('fewer', 'unsure')
    """
    likely = difference(before, after)
    if likely is None or likely.low <= 0 <= likely.high:
        return Change.UNSURE
    return Change.FEWER if likely.high < 0 else Change.MORE
