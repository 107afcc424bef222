"""Compares two sittings of the same people: question by question, what they said, and the class as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import comb
from typing import TYPE_CHECKING, Final

from drillhall.core.field_tests.items import checked

if TYPE_CHECKING:
    from random import Random

LEAST_LEARNERS: Final = 6
"""Of fewer learners no interval is given: drawn again and again from so few, it would be too narrow."""

DRAWS: Final = 2000


@dataclass(frozen=True, slots=True)
class Changed:
    """One question met twice: `gained` had it wrong and then right, `lost` the other way round; `chance` is the exact p, two-sided."""

    gained: int
    lost: int
    stayed: int
    chance: float


@dataclass(frozen=True, slots=True)
class Agreement:
    """How often two series say the same: `same` of `both`, and kappa, the part beyond chance (None where chance explains all)."""

    same: int
    both: int
    kappa: float | None


@dataclass(frozen=True, slots=True)
class PairedDifference:
    """By how much the learners' shares right changed: mean, and where it likely lies (None below six learners), -1 to 1."""

    learners: int
    mean: float
    low: float | None
    high: float | None


def mcnemar(before: Sequence[bool], after: Sequence[bool]) -> Changed:
    """Return how one question changed between two sittings of the same learners.

    Parameters
    ----------
    before, after : right or not, a learner each, in the same order.

    Raises
    ------
    ValueError: series of unequal length.

    Source
    ------
    McNemar (1947), Psychometrika 12:153, from memory; the exact form: of those who changed, as many each way by a fair coin.

    >>> mcnemar([False, False, False, False, True], [True, True, True, True, True])
    Changed(gained=4, lost=0, stayed=1, chance=0.125)
    """
    checked([before, after])
    gained = sum(late and not early for early, late in zip(before, after, strict=True))
    lost = sum(early and not late for early, late in zip(before, after, strict=True))
    moved = gained + lost
    tail = sum(comb(moved, number) for number in range(min(gained, lost) + 1))
    return Changed(gained, lost, len(before) - moved, min(1.0, 2 * tail / 2**moved))


def agreement(one: Sequence[Hashable], other: Sequence[Hashable]) -> Agreement:
    """Return how often two series of labels say the same, and how much of that is beyond chance.

    Where one label is rare kappa may be low though nearly all agree; it is therefore never told without the plain count.

    Parameters
    ----------
    one, other : labels, in the same order.

    Raises
    ------
    ValueError: series of unequal length.

    Source
    ------
    Cohen (1960), Educ Psychol Meas 20:37, from memory: (p_o − p_e) / (1 − p_e).

    >>> agreement(["a", "a", "b", "b"], ["a", "b", "b", "b"])
    Agreement(same=3, both=4, kappa=0.5)
    """
    if len(one) != len(other):
        raise ValueError("two series of labels are of one length")
    both = len(one)
    same = sum(a == b for a, b in zip(one, other, strict=True))
    left, right = Counter(one), Counter(other)
    by_chance = sum(left[label] * right[label] for label in left)
    kappa = (same * both - by_chance) / (both * both - by_chance) if by_chance < both * both else None
    return Agreement(same, both, kappa)


def paired_difference(before: Sequence[float], after: Sequence[float], *, dice: Random) -> PairedDifference | None:
    """Return by how much learners' shares changed on the mean, with its 95 % interval; None without learners.

    Parameters
    ----------
    before, after : the share right of each learner, 0 to 1, in the same order.
    dice : the same dice give the same interval.

    Raises
    ------
    ValueError: series of unequal length.

    Source
    ------
    Percentile bootstrap over learners: Efron and Tibshirani (1993), An Introduction to the Bootstrap, section 13.3, from memory.

    >>> from random import Random
    >>> paired_difference([0.5, 0.5], [0.75, 1.0], dice=Random(1))
    PairedDifference(learners=2, mean=0.375, low=None, high=None)
    """
    if len(before) != len(after):
        raise ValueError("every learner has a share before and one after")
    moved = [late - early for early, late in zip(before, after, strict=True)]
    count = len(moved)
    if not count:
        return None
    mean = sum(moved) / count
    if count < LEAST_LEARNERS:
        return PairedDifference(count, mean, None, None)
    means = sorted(sum(dice.choices(moved, k=count)) / count for _ in range(DRAWS))
    edge = DRAWS // 40
    return PairedDifference(count, mean, means[edge - 1], means[DRAWS - edge])
