"""Ranks what is mixed up: each pair and direction with its counts, its estimate and where the truth is likely to lie."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from drillhall.core.confusion import FEW_SHOWN, Sensitivity, decayed, mixup_rate, sensitivity, week_of, wilson
from drillhall.core.confusion.expecting import POOL_WEIGHT
from drillhall.core.confusion.mixups import STARTING_RATE
from drillhall.core.values import Form, Interval
from drillhall.practice.weak_spots.counting import Counted
from drillhall.store.queries.teacher import GivenPair, WeekSum

CLOSELY: Final = 16
"""So many pairs are looked at closely: their estimates are of late, and what lies behind them is told."""


@dataclass(frozen=True, slots=True)
class WeakDirection:
    """A form of a pair shown, and how often it was missed: `other` is what it is mixed up with.

    missed, shown: all answers, plain; called: how often it was called the other; fresh: of those shown, on fresh pictures; by: how many
    learners called it the other; rate: the estimate by which it is ranked, 0 to 1.
    """

    pair_id: int
    form_id: int
    other_id: int
    missed: int
    called: int
    shown: int
    fresh: int
    by: int
    rate: float

    @property
    def likely(self) -> Interval:
        """Where the true share of misses is likely to lie."""
        return wilson(self.missed, self.shown)

    @property
    def is_few(self) -> bool:
        """Whether it was shown too seldom to be ranked."""
        return self.shown < FEW_SHOWN


@dataclass(frozen=True, slots=True)
class Spot:
    """A weak spot, as a page tells it."""

    direction: WeakDirection
    shown: Form
    said: Form


def directions_of(counted: Counted, pairs: Mapping[int, GivenPair]) -> list[WeakDirection]:
    """Return every direction that was shown, with the plain estimate, the likeliest mix-up first."""
    shown: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0, 0])
    called: dict[tuple[int, int], tuple[int, int]] = {}
    for (pair_id, form_id, said), (times, fresh, _, learners) in counted.cells.items():
        pair = pairs[pair_id]
        if times and form_id in (pair.first_form_id, pair.second_form_id):
            cell = shown[pair_id, form_id]
            cell[0] += times
            cell[1] += fresh
            cell[2] += times if said != form_id else 0
            if said not in (form_id, 0):
                called[pair_id, form_id] = (times, learners)
    overall = overall_rate((cell[2], cell[0]) for cell in shown.values())
    found = []
    for (pair_id, form_id), (times, fresh, missed) in shown.items():
        pair = pairs[pair_id]
        other = pair.second_form_id if form_id == pair.first_form_id else pair.first_form_id
        often, by = called.get((pair_id, form_id), (0, 0))
        rate = mixup_rate(missed, times, prior=overall)
        found.append(WeakDirection(pair_id, form_id, other, missed, often, times, fresh, by, rate))
    return ranked(found)


def overall_rate(counts: Iterable[tuple[float, float]]) -> float:
    """Return how often this group misses anything, to which every estimate leans: of (missed, shown), leaning on one in four."""
    every = list(counts)
    return mixup_rate(sum(missed for missed, _ in every), sum(shown for _, shown in every), prior=STARTING_RATE, weight=POOL_WEIGHT)


def ranked(directions: Iterable[WeakDirection]) -> list[WeakDirection]:
    """Return directions by estimate, those shown too seldom behind all others."""
    return sorted(directions, key=lambda one: (one.is_few, -one.rate, one.pair_id, one.form_id))


def told_apart_of(counted: Counted, pair: GivenPair) -> Sensitivity | None:
    """Return how well the two forms of a pair are told apart, and which name comes too easily, from showings with two choices alone."""
    named: dict[int, int] = defaultdict(int)
    shown: dict[int, int] = defaultdict(int)
    first, second = pair.first_form_id, pair.second_form_id
    for (pair_id, form_id, said), (times, _, three, _) in counted.cells.items():
        if pair_id == pair.pair_id:
            shown[form_id] += times - three
            named[form_id] += times - three if said == first else 0
    return sensitivity(hits=named[first], shown_first=shown[first], false_alarms=named[second], shown_second=shown[second])


def close_pairs(directions: Iterable[WeakDirection]) -> list[int]:
    """Return the pairs to look at closely: those missed most by the plain estimate."""
    return list(dict.fromkeys(one.pair_id for one in directions if one.missed))[:CLOSELY]


def of_late(directions: Iterable[WeakDirection], weeks: Iterable[WeekSum], *, today: date) -> list[WeakDirection]:
    """Return directions ranked anew, those of the weeks given with their estimate of late: decayed, and of two choices alone."""
    week_now = week_of(today)
    told: dict[tuple[int, int], tuple[list[tuple[int, float]], list[tuple[int, float]]]] = defaultdict(lambda: ([], []))
    for row in weeks:
        missed, shown = told[row.pair_id, row.shown_form_id]
        shown.append((row.week, row.two))
        if row.said_form_id != row.shown_form_id:
            missed.append((row.week, row.two))
    every = list(directions)
    overall = overall_rate((one.missed, one.shown) for one in every)
    found = []
    for one in every:
        if (one.pair_id, one.form_id) in told:
            lately = [decayed(counts, week_now=week_now) for counts in told[one.pair_id, one.form_id]]
            found.append(_rated(one, mixup_rate(*lately, prior=overall)))
        else:
            found.append(one)
    return ranked(found)


def _rated(one: WeakDirection, rate: float) -> WeakDirection:
    return WeakDirection(one.pair_id, one.form_id, one.other_id, one.missed, one.called, one.shown, one.fresh, one.by, rate)
