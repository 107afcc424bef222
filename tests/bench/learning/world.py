"""Draws clubs: forms, pictures and learners, the same for every policy, so that only what is shown differs."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
from scipy.optimize import nnls

from tests.bench.learning.numbers import (
    DAYS,
    FORGETTING_MINUTES,
    LEARNER,
    MINUTES_A_DAY,
    PICTURES_A_FORM,
    WORLD,
    LearnerNumbers,
)

Array = np.ndarray[Any, Any]

GROUPS, TRAITS = 8, 8
PAIRS = tuple(
    (3 * group + one, 3 * group + other, 24 + group)
    for group in range(GROUPS)
    for one, other in ([(0, 1), (0, 2)] if group % 2 == 0 else [(0, 1), (0, 2), (1, 2)])
)
"""First form, second form, and the third look-alike that stands off the syllabus."""

FADING_RATES = np.geomspace(1.0, 1e-6, 10)
FADING_GRID = np.linspace(0.05, 0.95, 91)


@cache
def fading_weights() -> Array:
    """Return (1 + t / 5 min) ** -d as a mixture of ten exponentials for each d of the grid, so that a trace costs ten numbers."""
    minutes = np.r_[0, np.geomspace(0.05, 130 * MINUTES_A_DAY, 400)]
    basis = np.exp(-np.outer(minutes, FADING_RATES))
    curves = [(1 + minutes / FORGETTING_MINUTES) ** -power for power in FADING_GRID]
    return np.array([nnls(basis / curve[:, None], np.ones_like(curve))[0] for curve in curves], np.float32)


@dataclass
class World:
    """Clubs with their pictures and learners; arrays are indexed (club, ...) for pictures and (learner, ...) for people.

    practice, held_out: pictures (club, form, picture, trait); visible: whether its form's mark can be seen on a practice picture;
    told: what an explanation points at, (club, pair, trait); known: pairs a learner knew before.
    """

    pairs: Array
    practice: Array
    held_out: Array
    visible: Array
    told: Array
    club: Array
    known: Array
    attends: Array
    order: Array
    people: dict[str, Array]
    draws: int
    numbers: LearnerNumbers = LEARNER
    to_practice: Array = field(init=False)
    to_held_out: Array = field(init=False)

    def __post_init__(self) -> None:
        practice = self.practice[:, self.pairs].reshape(self.clubs, len(self.pairs), -1, self.practice.shape[-1]).astype(np.float32)
        held_out = self.held_out[:, self.pairs].reshape(practice.shape).astype(np.float32)
        self.to_practice = np.abs(practice[:, :, :, None] - practice[:, :, None])
        self.to_held_out = np.abs(held_out[:, :, :, None] - practice[:, :, None])

    @property
    def clubs(self) -> int:
        return len(self.practice)

    @property
    def learners(self) -> int:
        return len(self.club)

    @property
    def pair_count(self) -> int:
        return len(self.pairs)

    @property
    def form_count(self) -> int:
        return int(self.practice.shape[1])

    def luck(self, day: int) -> Array:
        """Return the day's throws, (7, place in the drill, learner): the same whoever chooses what is shown."""
        return np.random.default_rng([self.draws, day]).random((7, 64, self.learners))


def make_world(seed: int, *, known: float = 0.0, clubs: int = 4, members: int = 12) -> World:
    """Draw clubs of learners; `known` is the chance that a learner knew a pair before the course."""
    dice = np.random.default_rng(seed)
    means, practice, held_out, visible = _pictures(dice, clubs)
    told = _told(means, visible)
    count = clubs * members
    pairs = len(PAIRS)
    salience = np.array(LEARNER.salience) * np.exp(dice.normal(0, 0.3, (count, pairs, TRAITS)))
    return World(
        pairs=np.array(PAIRS),
        practice=practice,
        held_out=held_out,
        visible=visible[:, :, :PICTURES_A_FORM],
        told=told,
        club=np.repeat(np.arange(clubs), members),
        known=np.random.default_rng(seed + 99).random((count, pairs)) < known,
        attends=attendance(dice, count),
        order=np.argsort(dice.random((clubs, pairs)), 1)[np.repeat(np.arange(clubs), members)],
        people=people_of(dice, count, salience),
        draws=int(dice.integers(1 << 30)),
    )


def attendance(dice: np.random.Generator, count: int) -> Array:
    missed = np.clip(LEARNER.days_missed + dice.normal(0, 0.08, count), 0.02, 0.6)
    return dice.random((count, DAYS)) > missed[:, None]


def people_of(dice: np.random.Generator, count: int, salience: Array) -> dict[str, Array]:
    """Draw what learners differ in."""

    def around(spread: float) -> Array:
        return np.exp(dice.normal(0, spread, count))

    return {
        "similarity": LEARNER.similarity * around(0.3),
        "fading": np.clip(LEARNER.fading + dice.normal(0, 0.06, count), 0.08, 0.6),
        "background": LEARNER.background * around(0.4),
        "choice": LEARNER.choice * around(0.2),
        "slip": np.clip(LEARNER.slip * around(0.5), 0, 0.25),
        "attention": around(0.4),
        "confidence": dice.normal(0, 0.5, count),
        "refusing": around(0.4),
        "salience": salience / salience.sum(-1, keepdims=True),
    }


def _pictures(dice: np.random.Generator, clubs: int) -> tuple[Array, Array, Array, Array]:
    """Draw the forms' means and their pictures; in groups of even number forms are strongly marked, in the others plain."""
    forms = 4 * GROUPS
    means = np.zeros((clubs, forms, TRAITS))
    pictures = np.zeros((clubs, forms, 2 * PICTURES_A_FORM, TRAITS))
    visible = np.ones((clubs, forms, 2 * PICTURES_A_FORM, 3), bool)
    for group in range(GROUPS):
        apart = dice.uniform(*(WORLD.marked_apart if group % 2 == 0 else WORLD.plain_apart), (clubs, 1))
        marks = apart * dice.uniform(*WORLD.mark_factor, (clubs, 3))
        seen = dice.uniform(*WORLD.visible, (clubs, 3))
        four = [3 * group, 3 * group + 1, 3 * group + 2, 24 + group]
        means[:, four, 0:2] = dice.normal(0, WORLD.useless_sd, (clubs, 4, 2))
        for mark in range(3):
            means[:, 3 * group + mark, 2 + mark] = marks[:, mark]
            means[:, 24 + group, 2 + mark] = marks[:, mark] * (0.1 if mark == 0 else 0.5)
        means[:, [3 * group, 24 + group], 5] = WORLD.deceptive
        means[:, 3 * group + 1, 5] = -WORLD.deceptive
        for form in four:
            scatter = dice.uniform(*WORLD.scatter, (clubs, 1, 1))
            drawn = dice.normal(0, 1, pictures[:, form].shape) * scatter
            drawn[..., 6:] *= WORLD.pose_sd
            drawn += means[:, form][:, None]
            for mark in range(3):
                hidden = dice.random(drawn.shape[:2]) > seen[:, mark][:, None]
                instead = marks[:, mark][:, None] / 3 + dice.normal(0, 1, drawn.shape[:2])
                drawn[..., 2 + mark] = np.where(hidden, instead, drawn[..., 2 + mark])
                visible[:, form, :, mark] = ~hidden
            pictures[:, form] = drawn
    return means, pictures[:, :, :PICTURES_A_FORM], pictures[:, :, PICTURES_A_FORM:], visible


def _told(means: Array, visible: Array) -> Array:
    """What an explanation points at: the squared separation of what can be seen; the deceptive trait is part of it."""
    told = np.zeros((len(means), len(PAIRS), TRAITS))
    for pair, (first, second, _) in enumerate(PAIRS):
        share = np.zeros((len(means), TRAITS))
        share[:, 2:5] = visible[:, [first, second]].mean((1, 2))
        share[:, 5] = 1
        told[:, pair] = ((means[:, first] - means[:, second]) * share) ** 2
    return told / told.sum(-1, keepdims=True)
