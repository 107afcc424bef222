"""The scheduler's arithmetic for many items at once: used by a policy that must lose, and checked against core's memory.

The formulas are those of the scheduling library, version 6; a test holds them to `drillhall.core.memory` on random histories.
"""

from __future__ import annotations

import numpy as np
from fsrs.scheduler import DEFAULT_PARAMETERS

from tests.bench.learning.world import Array

W = np.array(DEFAULT_PARAMETERS)
FACTOR = 0.9 ** (-1 / W[20]) - 1


class Schedule:
    """Stability, difficulty, last and due day of (learner, item); days are whole numbers, ratings 1 to 4."""

    def __init__(self, learners: int, items: int) -> None:
        self.items = items
        self.stability = np.zeros((learners, items))
        self.difficulty = np.zeros((learners, items))
        self.last = np.full((learners, items), -1)
        self.due = np.full((learners, items), 10**6)

    def recall(self, day: int) -> Array:
        """Return recall of every item; 0 for one never rated."""
        passed = np.maximum(day - self.last, 0)
        return np.where(self.last >= 0, (1 + FACTOR * passed / np.maximum(self.stability, 1e-3)) ** -W[20], 0.0)

    def rate(self, who: Array, item: Array, rating: Array, day: int) -> None:
        """Rate one item of each learner."""
        stability, difficulty = np.maximum(self.stability[who, item], 1e-3), np.clip(self.difficulty[who, item], 1, 10)
        last = self.last[who, item]
        passed = np.maximum(day - last, 0)
        recalled = (1 + FACTOR * passed / stability) ** -W[20]
        again = np.where(passed < 1, _same_day(stability, rating), _later(stability, difficulty, recalled, rating))
        changed = W[7] * _first_difficulty(4) + (1 - W[7]) * (difficulty - W[6] * (rating - 3) * (10 - difficulty) / 9)
        self.stability[who, item] = np.maximum(np.where(last < 0, W[rating - 1], again), 1e-3)
        self.difficulty[who, item] = np.clip(np.where(last < 0, _first_difficulty(rating), changed), 1, 10)
        self.last[who, item] = day
        self.due[who, item] = day + np.maximum(np.round(self.stability[who, item]), 1).astype(int)


def _first_difficulty(rating: Array | int) -> Array:
    return np.asarray(W[4] - np.exp(W[5] * (np.asarray(rating) - 1)) + 1)


def _same_day(stability: Array, rating: Array) -> Array:
    factor = np.exp(W[17] * (rating - 3 + W[18])) * stability ** -W[19]
    return stability * np.where(rating > 1, np.maximum(factor, 1), factor)


def _later(stability: Array, difficulty: Array, recalled: Array, rating: Array) -> Array:
    growth = np.exp(W[8]) * (11 - difficulty) * stability ** -W[9] * np.expm1((1 - recalled) * W[10])
    grown = stability * (1 + growth * np.where(rating == 2, W[15], 1) * np.where(rating == 4, W[16], 1))
    fallen = W[11] * difficulty ** -W[12] * ((stability + 1) ** W[13] - 1) * np.exp((1 - recalled) * W[14])
    return np.where(rating == 1, np.minimum(fallen, stability / np.exp(W[17] * W[18])), grown)
