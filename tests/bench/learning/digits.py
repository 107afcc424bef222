"""The same course on real look-alikes: scanned digits as forms, the exemplar learner on their pixels.

Source: scikit-learn's `load_digits`, 1,797 scans of 8 × 8 pixels (UCI, Optical Recognition of Handwritten Digits, 1998).
"""

from __future__ import annotations

import numpy as np
from sklearn.datasets import load_digits

from tests.bench.learning.numbers import DAYS, LEARNER, PICTURES_A_FORM
from tests.bench.learning.world import Array, World, attendance, people_of

PAIRS = ((3, 8, 5), (4, 9, 7), (1, 7, 4), (5, 9, 3))
SCALE = 6.0
"""Greys from 0 to 1, stretched until two scans lie about as far apart as two pictures of the made-up world."""


def digits_world(seed: int, *, known: float = 0.0, clubs: int = 4, members: int = 12) -> World:
    """Draw clubs that each see other scans; the pairs stand for those that people mix up."""
    dice = np.random.default_rng(seed)
    digits = load_digits()
    pixels, target = digits.data / 16 * SCALE, digits.target
    drawn = np.stack(
        [
            np.stack([pixels[dice.permutation(np.flatnonzero(target == digit))[: 2 * PICTURES_A_FORM]] for digit in range(10)])
            for _ in range(clubs)
        ]
    )
    told = _told(pixels, target)
    count = clubs * members
    salience = np.exp(dice.normal(0, 0.3, (count, len(PAIRS), pixels.shape[1])))
    return World(
        pairs=np.array(PAIRS),
        practice=drawn[:, :, :PICTURES_A_FORM],
        held_out=drawn[:, :, PICTURES_A_FORM:],
        visible=np.ones((clubs, 10, PICTURES_A_FORM, 3), bool),
        told=np.repeat(told[None], clubs, 0),
        club=np.repeat(np.arange(clubs), members),
        known=np.random.default_rng(seed + 99).random((count, len(PAIRS))) < known,
        attends=attendance(dice, count)[:, :DAYS],
        order=np.argsort(dice.random((clubs, len(PAIRS))), 1)[np.repeat(np.arange(clubs), members)],
        people=people_of(dice, count, salience),
        draws=int(dice.integers(1 << 30)),
        numbers=LEARNER,
    )


def _told(pixels: Array, target: Array) -> Array:
    """What an explanation points at: the squared difference of the two digits' mean scans."""
    means = np.stack([pixels[target == digit].mean(0) for digit in range(10)])
    apart = np.stack([(means[first] - means[second]) ** 2 for first, second, _ in PAIRS])
    return np.asarray(apart / apart.sum(-1, keepdims=True))
