"""Estimates how likely a mix-up is, in each direction of a pair, from the tally: decayed, and shrunk towards what was expected."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from functools import lru_cache
from math import fsum
from typing import Final

from drillhall.core.confusion.proportions import wilson
from drillhall.core.values import Counted, Direction, Rendition, TallyKey

HALF_LIFE_WEEKS: Final = 4.0
SPAN_WEEKS: Final = 4
PRIOR_WEIGHT: Final = 8.0
STARTING_RATE: Final = 0.25
"""Rate of mix-up expected of anybody about any pair before the hall has seen an answer; common practice, no source."""


def week_of(day: date) -> int:
    """Return the ISO week of a day as year · 100 + week.

    Parameters
    ----------
    day : a local day.

    Returns
    -------
    int: the ISO year, which near the turn of the year differs from the calendar's.

    Source
    ------
    ISO 8601 week dates, as in `datetime.date.isocalendar`.

    >>> week_of(date(2027, 1, 1))
    202653
    """
    year, week, _ = day.isocalendar()
    return year * 100 + week


def span_of(week: int) -> int:
    """Return the number of the four weeks in which an ISO week lies; they are the same for everybody, whatever the year.

    Parameters
    ----------
    week : year · 100 + week.

    Raises
    ------
    ValueError: a week that does not exist.

    Source
    ------
    Our own reckoning: from the Monday on which the proleptic Gregorian calendar begins, as in `datetime.date.toordinal`.

    >>> span_of(202708) - span_of(202704), span_of(202708) - span_of(202705)
    (1, 0)
    """
    return (date.fromisocalendar(week // 100, week % 100, 1).toordinal() - 1) // (7 * SPAN_WEEKS)


def weeks_between(earlier: int, later: int) -> int:
    """Count the weeks from one ISO week to another, across the turn of the year.

    Parameters
    ----------
    earlier, later : year · 100 + week.

    Returns
    -------
    int: below 0 if `later` comes first.

    Raises
    ------
    ValueError: a week that does not exist.

    >>> weeks_between(202653, 202701)
    1
    """
    return (_monday(later) - _monday(earlier)).days // 7


def decayed(counts: Iterable[tuple[int, float]], *, week_now: int) -> float:
    """Sum counts by week, each halved for every four weeks that have passed.

    Parameters
    ----------
    counts : pairs of week (year · 100 + week) and count.
    week_now : the current week; a count from a later one (a learner who flew west) is taken whole.

    Returns
    -------
    float: Σ count · 0.5^(weeks / 4), the same to the last bit in whatever order the counts come.

    Raises
    ------
    ValueError: a week that does not exist.

    >>> decayed([(203001, 8), (203005, 1)], week_now=203005)
    5.0
    """
    return fsum(count * _weight(week, week_now) for week, count in counts)


def mixup_rate(missed: float, shown: float, *, prior: float, weight: float = PRIOR_WEIGHT) -> float:
    """Estimate the chance of a mix-up: misses over showings, shrunk towards the prior.

    Parameters
    ----------
    missed : decayed misses, 0 to `shown`.
    shown : decayed showings, 0 or more.
    prior : rate expected beforehand, 0 to 1; see `prior_rate`.
    weight : showings that the prior is worth, above 0.

    Returns
    -------
    float: (missed + weight · prior) / (shown + weight).

    Raises
    ------
    ValueError: counts, prior or weight out of range.

    Source
    ------
    Beta-binomial posterior mean with alpha = weight · prior.

    >>> round(mixup_rate(3, 4, prior=0.25), 4)
    0.4167
    """
    if not 0 <= prior <= 1 or not weight > 0:
        raise ValueError(f"a prior of {prior} with weight {weight} is none")
    if not 0 <= missed <= shown:
        raise ValueError(f"{missed} of {shown} is no count")
    imagined = weight * prior
    return (missed + imagined) / (shown + imagined + weight * (1 - prior))


def directions(
    form_ids: tuple[int, int],
    tally: Mapping[TallyKey, int],
    *,
    week_now: int,
    prior: float | Mapping[int, float] = STARTING_RATE,
) -> tuple[Direction, Direction]:
    """Sum up both directions of a pair for one learner.

    The counts and their intervals are plain and hold every answer to the pair's two forms, prompted or not; *neither* said of
    one of them is a miss; renditions are left out. The rate of mix-up is decayed and holds showings with two choices only.

    Parameters
    ----------
    form_ids : the pair's forms, first and second.
    tally : the learner's counts for that pair; thirds in it are left out.
    week_now : the current week, year · 100 + week.
    prior : rate expected beforehand: one for both, or by form shown.

    Returns
    -------
    two Direction: the first form shown, the second form shown.

    Raises
    ------
    ValueError: a prior out of range, or a week that does not exist.

    >>> first, second = directions((1, 2), {}, week_now=203001)
    >>> first.shown, first.mixup_rate, second.likely
    (0, 0.25, Interval(low=0.0, high=1.0))
    """
    first, second = (_direction(form_id, tally, week_now, prior[form_id] if isinstance(prior, Mapping) else prior) for form_id in form_ids)
    return first, second


def direction_of(form_id: int, counted: Counted, *, prior: float) -> Direction:
    """Sum up one direction of a pair from its counts, as `directions` sums up both from a tally.

    Parameters
    ----------
    form_id : the form shown.
    counted : the answers given to it.
    prior : rate expected beforehand, 0 to 1.

    Raises
    ------
    ValueError: counts or the prior out of range.
    """
    return Direction(
        shown_form_id=form_id,
        right=counted.right,
        shown=counted.shown,
        fresh_right=counted.fresh_right,
        fresh_shown=counted.fresh_shown,
        likely=wilson(counted.right, counted.shown),
        fresh_likely=wilson(counted.fresh_right, counted.fresh_shown),
        mixup_rate=mixup_rate(counted.missed, counted.missed + counted.kept, prior=prior),
    )


def first_share(both: tuple[Direction, Direction]) -> float:
    """Return the first form's share of the learner's smoothed misses of the pair.

    Rates are compared, not counts of misses: a form that is shown more often would be missed more often, and so be shown more.

    Parameters
    ----------
    both : the directions of a pair, first form first.

    Returns
    -------
    float: 0 to 1; 0.5 where neither direction is ever missed.

    >>> first_share(directions((1, 2), {}, week_now=203001))
    0.5
    """
    first, second = (direction.mixup_rate for direction in both)
    return first / (first + second) if first + second > 0 else 0.5


def _direction(form_id: int, tally: Mapping[TallyKey, int], week_now: int, prior: float) -> Direction:
    """Sum up the answers given when one form was shown."""
    cells = [(key, count) for key, count in tally.items() if key.shown_form_id == form_id and key.rendition is Rendition.AS_TAKEN]
    hits = [(key, count) for key, count in cells if key.said_form_id == form_id]
    misses = [(key, count) for key, count in cells if key.said_form_id != form_id]
    right, wrong = sum([count for _, count in hits]), sum([count for _, count in misses])
    fresh_right, fresh_wrong = (sum([count for key, count in part if key.fresh]) for part in (hits, misses))
    missed, kept = (decayed([(key.week, count) for key, count in part if key.choices == 2], week_now=week_now) for part in (misses, hits))
    return direction_of(form_id, Counted(right, right + wrong, fresh_right, fresh_right + fresh_wrong, missed, kept), prior=prior)


def _monday(week: int) -> date:
    """Return the first day of an ISO week."""
    return date.fromisocalendar(week // 100, week % 100, 1)


@lru_cache(maxsize=1024)
def _weight(week: int, week_now: int) -> float:
    """Return what a count of that week is worth now."""
    return float(0.5 ** (max(0, weeks_between(week, week_now)) / HALF_LIFE_WEEKS))
