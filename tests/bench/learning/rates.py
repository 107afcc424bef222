"""Rates of mix-up for all learners at once, by the formulas of `drillhall.core.confusion`; a test holds the two together."""

from __future__ import annotations

import numpy as np

from drillhall.core.confusion.expecting import GUESSING_RATE, POOL_WEIGHT
from drillhall.core.confusion.mixups import HALF_LIFE_WEEKS, PRIOR_WEIGHT, STARTING_RATE
from tests.bench.learning.policies import Shown
from tests.bench.learning.world import Array, World


class WeeklyMisses:
    """Misses and showings by (learner, pair, form, week); a club is a hall of its own."""

    def __init__(self, world: World, *, weeks: int) -> None:
        self.world = world
        shape = (world.learners, world.pair_count, 2, weeks)
        self.missed, self.shown = np.zeros(shape), np.zeros(shape)

    def count(self, day: int, shown: Shown, right: Array, counted: Array) -> None:
        at = (shown.who[counted], shown.pair[counted], shown.form[counted], day // 7)
        self.missed[at] += ~right[counted]
        self.shown[at] += 1

    def rates(self, day: int) -> Array:
        """Return each learner's rate of mixing up, by pair and form shown."""
        weeks = np.arange(self.missed.shape[-1])
        weight = 0.5 ** (np.maximum(day // 7 - weeks, 0) / HALF_LIFE_WEEKS)
        prior = self._priors()
        return np.asarray((self.missed @ weight + PRIOR_WEIGHT * prior) / (self.shown @ weight + PRIOR_WEIGHT))

    def _priors(self) -> Array:
        world = self.world
        missed, shown = self.missed.sum(-1), self.shown.sum(-1)
        by_club = (world.clubs, -1, world.pair_count, 2)
        hall_missed, hall_shown = missed.reshape(by_club).sum(1), shown.reshape(by_club).sum(1)
        overall = _shrunk(hall_missed.sum((1, 2)), hall_shown.sum((1, 2)), STARTING_RATE)
        of_pair = _shrunk(hall_missed, hall_shown, overall[:, None, None])[world.club]
        overall = overall[world.club]
        own = _shrunk(missed.sum((1, 2)), shown.sum((1, 2)), overall)
        odds = np.exp(_logit(own)[:, None, None] + _logit(of_pair) - _logit(overall)[:, None, None])
        most = np.maximum(np.maximum(own[:, None, None], of_pair), GUESSING_RATE)
        return np.minimum(odds / (1 + odds), most)


def _shrunk(missed: Array, shown: Array, prior: Array | float) -> Array:
    return np.asarray((missed + POOL_WEIGHT * prior) / (shown + POOL_WEIGHT))


def _logit(rate: Array) -> Array:
    return np.asarray(np.log(rate / (1 - rate)))
