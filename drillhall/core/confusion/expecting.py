"""Says what rate of mix-up to expect of a learner before looking at her own answers: by what she and everybody else have missed."""

from __future__ import annotations

from typing import Final

from drillhall.core.confusion.mixups import STARTING_RATE, mixup_rate
from drillhall.core.values import Misses

POOL_WEIGHT: Final = 20.0
GUESSING_RATE: Final = 0.5


def prior_rate(*, own: Misses, pair: Misses, everyone: Misses) -> float:
    """Return the rate of mix-up to expect of a learner about one direction of a pair, before looking at that cell.

    The overall rate is shrunk to the starting rate; her own and the pair's rate are each shrunk to the overall one, with a weight
    of 20 showings. They are then joined on the logit scale: logit(own) + logit(pair) − logit(overall). That is the additive model
    of persons and items: a learner who misses twice as often as others is expected to do so about a hard pair and an easy one,
    and one about whom nothing is known gets the pair's rate. A plain average would halve both differences. Since somebody who only
    guesses misses half, the sum stops at one half, or at the larger of the two rates where that is higher still.

    Parameters
    ----------
    own : the learner's misses over all her pairs.
    pair : misses of this direction over all learners; best without her own, so that they are not counted twice.
    everyone : misses of all learners over all pairs.

    Returns
    -------
    float: strictly between 0 and 1.

    Raises
    ------
    ValueError: counts out of range.

    Source
    ------
    Rasch (1960), Probabilistic Models for Some Intelligence and Attainment Tests: additivity of person and item on the logit
    (from memory); the weights are our own.

    >>> prior_rate(own=Misses(), pair=Misses(), everyone=Misses())
    0.25
    """
    return Expected(own=own, everyone=everyone).of(pair)


class Expected:
    """What to expect of one learner about any pair, as `prior_rate` says; what is the same for many pairs is worked out once.

    Parameters
    ----------
    own, everyone : as for `prior_rate`.
    """

    def __init__(self, *, own: Misses, everyone: Misses) -> None:
        self.own = own
        self._overall = mixup_rate(everyone.missed, everyone.shown, prior=STARTING_RATE, weight=POOL_WEIGHT)
        self._own = mixup_rate(own.missed, own.shown, prior=self._overall, weight=POOL_WEIGHT)
        self._odds_beside_others = _odds(self._own) / _odds(self._overall)
        self._most = max(GUESSING_RATE, self._own)
        self._untold = self.of(Misses())

    def of(self, pair: Misses | None) -> float:
        """Return the rate to expect about one direction of a pair from its misses over all learners; None: nobody has met it."""
        if pair is None:
            return self._untold
        pair_rate = mixup_rate(pair.missed, pair.shown, prior=self._overall, weight=POOL_WEIGHT)
        odds = self._odds_beside_others * _odds(pair_rate)  # a sum of logits is a product of odds
        return min(odds / (1 + odds), max(self._most, pair_rate))


def _odds(rate: float) -> float:
    """Return the odds of a rate strictly between 0 and 1."""
    return rate / (1 - rate)
