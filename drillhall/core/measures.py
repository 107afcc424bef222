"""What measures of two forms tell: Cohen's d, AUC, the best cut, overlap, information in bits; and how a value in the hand counts.

A measure is taken to be spread normally within a form, which is an approximation and must be said where a result is shown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from drillhall.core.values import Measured
from drillhall.errors import Invalid
from drillhall.words import say

LARGEST: Final = 1e9
"""No mean and no spread is larger than this, whatever the unit."""

LEAST_SPREAD: Final = 1e-6
"""A smaller spread is a slip of the pen: no measure of an organism is as sure as that."""

LEAST_FACTOR: Final = 0.001
"""No form is taken to be less than this likely beside the one that a value fits best: tails are longer than the normal law's, and
hands slip; our own choice, as low as the least chance before looking."""

_REACH: Final = 8
"""Spreads from the mean to which sums are taken; beyond lies less than 2 in 10^15."""

_POINTS: Final = (
    (-0.906179845938664, 0.23692688505618908),
    (-0.5384693101056831, 0.47862867049936647),
    (0.0, 0.5688888888888889),
    (0.5384693101056831, 0.47862867049936647),
    (0.906179845938664, 0.23692688505618908),
)
"""Places and weights of Gauss's rule of five points, from -1 to 1."""

_ROOT_TWO_PI: Final = math.sqrt(2 * math.pi)


@dataclass(frozen=True, slots=True)
class Weighed:
    """How a value in the hand counts, by form id: `factors` for likelihood beside the best form (0.001 to 1), `tails` for how much of
    the form measures as far off as that or farther (0 to 1)."""

    factors: Mapping[int, float]
    tails: Mapping[int, float]


def check_measured(mean: float, spread: float, n: int | None = None) -> Measured:
    """Return a measure, or raise Invalid naming `mean`, `spread` or `n`.

    Examples
    --------
    >>> check_measured(38, 2, 40)
    Measured(mean=38, spread=2, n=40)
    """
    if not abs(mean) <= LARGEST:
        raise Invalid(say("The mean is {mean:g}. Write a number such as 38.5.", mean=mean), field="mean")
    if not LEAST_SPREAD <= spread <= LARGEST:
        raise Invalid(
            say("The spread is {spread:g}. Write the standard deviation, which is more than nothing: 2.1.", spread=spread), field="spread"
        )
    if n is not None and not 1 <= n <= LARGEST:
        raise Invalid(say("The count is {n}. Write how many were measured, 1 or more, or leave it out.", n=n), field="n")
    return Measured(mean, spread, n)


def cohens_d(first: Measured, second: Measured) -> float:
    """Return how far apart two means lie in pooled spreads, the second less the first.

    The spreads are pooled by n − 1 where both counts are told, else evenly.

    Source
    ------
    J. Cohen, Statistical Power Analysis for the Behavioral Sciences, 2nd edition, 1988, section 2.2 and 2.5.2 (from memory).

    Examples
    --------
    >>> round(cohens_d(Measured(38, 2), Measured(44, 3)), 4)
    2.3534
    """
    if first.n is not None and second.n is not None and first.n + second.n > 2:
        weights = ((first.n - 1) / (first.n + second.n - 2), (second.n - 1) / (first.n + second.n - 2))
    else:
        weights = (0.5, 0.5)
    return (second.mean - first.mean) / math.hypot(math.sqrt(weights[0]) * first.spread, math.sqrt(weights[1]) * second.spread)


def auc(first: Measured, second: Measured) -> float:
    """Return the chance that of two specimens the one of the form with the larger mean measures more: 0.5 to 1.

    Source
    ------
    Φ(|δ| / √(s₁² + s₂²)), the area under the ROC curve of two normal laws: D. M. Green and J. A. Swets, Signal Detection Theory and
    Psychophysics, 1966; J. A. Hanley and B. J. McNeil, 1982 (from memory).

    Examples
    --------
    >>> round(auc(Measured(38, 2), Measured(44, 3)), 4)
    0.952
    """
    return _below(abs(second.mean - first.mean) / math.hypot(first.spread, second.spread))


def crossings(first: Measured, second: Measured) -> tuple[float, ...]:
    """Return the values at which either form is as likely as the other at equal odds: two where the spreads differ, else one.

    None where both are measured alike.

    Source
    ------
    Where the two normal densities are equal: the roots of the quadratic discriminant, R. O. Duda and P. E. Hart, 1973, chapter 2.

    Examples
    --------
    >>> crossings(Measured(38, 2), Measured(44, 2))
    (41.0,)
    """
    ratio = math.log(second.spread / first.spread)
    if first.mean == second.mean and ratio == 0:
        return ()
    if abs(ratio) < _ALIKE:
        return ((first.mean + second.mean) / 2,)
    # in spreads of the first form from its mean: (1 − r²) z² + 2 r² δ z − r² δ² − 2 ln(s₂/s₁) = 0, with r = s₁/s₂
    r2, delta = (first.spread / second.spread) ** 2, (second.mean - first.mean) / first.spread
    a, b, c = 1 - r2, 2 * r2 * delta, -r2 * delta * delta - 2 * ratio
    root = math.sqrt(max(b * b - 4 * a * c, 0.0))
    q = -(b + math.copysign(root, b)) / 2
    found = (q / a, c / q if q else -q / a)
    return tuple(sorted(first.mean + first.spread * z for z in found))


def best_cut(first: Measured, second: Measured) -> tuple[float | None, float, float]:
    """Return the cut that puts most specimens right at equal odds, and how many of either form it does.

    Of the crossings it is the one that parts them better; None, 0.5 and 0.5 where both are measured alike. The form with the
    smaller mean lies below; where the means are equal, the less spread one.

    Source
    ------
    The largest |F₁ − F₂|, which a crossing of the densities is: W. J. Youden, Index for rating diagnostic tests, 1950.

    Examples
    --------
    >>> cut, first_right, second_right = best_cut(Measured(38, 2), Measured(44, 3))
    >>> round(cut, 1), round(first_right, 2), round(second_right, 2)
    (40.8, 0.92, 0.86)
    """
    best: tuple[float | None, float, float] = (None, 0.5, 0.5)
    for cut in crossings(first, second):
        in_first, in_second = _below((cut - first.mean) / first.spread), _below((cut - second.mean) / second.spread)
        rights = (in_first, 1 - in_second) if in_first >= in_second else (1 - in_first, in_second)
        if best[0] is None or sum(rights) > best[1] + best[2]:
            best = (cut, *rights)
    return best


def overlap(first: Measured, second: Measured) -> float:
    """Return what two forms have in common: the area beneath both densities, 0 (nothing) to 1 (measured alike).

    Source
    ------
    H. F. Inman and E. L. Bradley, The overlapping coefficient as a measure of agreement between probability distributions, 1989.

    Examples
    --------
    >>> round(overlap(Measured(38, 2), Measured(44, 3)), 4)
    0.2238
    """
    edges = [-math.inf, *crossings(first, second), math.inf]
    return sum(min(_between(one, low, high) for one in (first, second)) for low, high in pairwise(edges))


def measure_bits(forms: Mapping[int, float], measures: Mapping[int, Measured]) -> float:
    """Return the information about the form that one measure is expected to give, in bits.

    Parameters
    ----------
    forms : form id → chance, summing to 1.
    measures : form id → measure; a form that is absent has no say, and neither gains nor loses.

    Returns
    -------
    float, 0 or more, at most what is uncertain among the forms that have a say.

    Source
    ------
    Mutual information of form and value: C. E. Shannon, A Mathematical Theory of Communication, 1948, sections 12 and 20; summed by
    Gauss's rule of five points between whole spreads of all forms, to 8 of them, so that a narrow form within a broad one is not missed.

    Examples
    --------
    >>> round(measure_bits({1: 0.5, 2: 0.5}, {1: Measured(38, 2), 2: Measured(44, 3)}), 3)
    0.611
    """
    heard = {form_id: forms[form_id] for form_id in measures if forms.get(form_id, 0.0) > 0}
    mass = sum(heard.values())
    if mass <= 0:
        return 0.0
    told = [(weight / mass, measures[form_id]) for form_id, weight in heard.items()]
    edges = sorted({one.mean + step * one.spread for _, one in told for step in range(-_REACH, _REACH + 1)})
    bits = sum(_gauss(told, low, high) for low, high in pairwise(edges))
    return max(0.0, mass * bits)


def weigh(value: float, measures: Mapping[int, Measured]) -> Weighed:
    """Say how a value that was measured counts for each form that has a say.

    Source
    ------
    The normal density, scaled to 1 for the form that it fits best and never below 0.001; tails are two-sided.

    Raises
    ------
    Invalid : a value that is no number of this world, or no form has a say

    Examples
    --------
    >>> round(weigh(41, {1: Measured(38, 2), 2: Measured(44, 2), 3: Measured(41, 2)}).factors[1], 4)
    0.3247
    """
    if not measures:
        raise Invalid(say("No form of this set has been measured there."), field="value")
    if not abs(value) <= LARGEST:
        raise Invalid(say("{value:g} is no measure. Write a number such as 38.5.", value=value), field="value")
    logs = {form_id: -((value - one.mean) ** 2) / (2 * one.spread**2) - math.log(one.spread) for form_id, one in measures.items()}
    best = max(logs.values())
    return Weighed(
        factors={form_id: max(math.exp(max(log - best, -700.0)), LEAST_FACTOR) for form_id, log in logs.items()},
        tails={form_id: math.erfc(abs(value - one.mean) / one.spread / math.sqrt(2)) for form_id, one in measures.items()},
    )


_ALIKE: Final = 1e-9
"""Spreads that differ by less than this share are taken as equal: their second crossing lies beyond all numbers."""


def _below(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2


def _between(one: Measured, low: float, high: float) -> float:
    """Return the share of a form between two values, without losing a tail to rounding."""
    z, end = (low - one.mean) / one.spread, (high - one.mean) / one.spread
    return _below(-z) - _below(-end) if z > 0 else _below(end) - _below(z)


def _gauss(told: Sequence[tuple[float, Measured]], low: float, high: float) -> float:
    middle, half = (low + high) / 2, (high - low) / 2
    return half * sum(weight * _gain_at(told, middle + place * half) for place, weight in _POINTS)


def _gain_at(told: Sequence[tuple[float, Measured]], value: float) -> float:
    """Return the density of what is learnt at one value: the sum over forms of weight times density times log2(density / mixed)."""
    densities = [(weight, math.exp(-(((value - one.mean) / one.spread) ** 2) / 2) / (one.spread * _ROOT_TWO_PI)) for weight, one in told]
    mixed = sum(weight * density for weight, density in densities)
    return sum(weight * density * math.log2(density / mixed) for weight, density in densities if weight * density > 0)
