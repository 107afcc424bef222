"""Item analysis: how hard each question was, whether it parts those who know from those who do not, and which to doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Final

from drillhall.core.confusion import guessing

ENOUGH_SITTERS: Final = 20
"""From so many sitters on upper and lower groups are large enough to be compared (common practice, no source)."""

GROUP_SHARE: Final = 0.27
"""Share of the sitters in the upper and in the lower group. Source: Kelley (1939), J Educ Psychol 30:17, from memory."""

CORRELATED_FROM: Final = 5
"""Of fewer sitters no correlation is told: of two it is 1 or -1 whatever they know. Our own choice."""

DOUBT_FROM: Final = 10
"""Of fewer sitters no correlation gives cause for doubt."""

RARELY: Final = 0.05
"""So seldom would mere guessing have come out as low."""

Matrix = Sequence[Sequence[bool]]
"""Whether each sitter (row) had each question (column) right; all rows are of one length."""


class Doubt(StrEnum):
    """Why the picture of a question is worth another look."""

    BELOW_GUESSING = "below guessing"
    AGAINST_THE_REST = "against the rest"


@dataclass(frozen=True, slots=True)
class Item:
    """What is known of one question: `right` of `shown`, and how it goes with the rest of the test.

    `item_rest` is the correlation with the number right of the others, -1 to 1, None below 5 sitters and where either does not vary;
    `discrimination` is the share right in the upper group less that in the lower one, -1 to 1, None below 20 sitters.
    """

    right: int
    shown: int
    item_rest: float | None
    discrimination: float | None

    @property
    def facility(self) -> float | None:
        """The share of sitters who had it right, or None where nobody sat."""
        return self.right / self.shown if self.shown else None


def analyse(matrix: Matrix) -> tuple[Item, ...]:
    """Return the analysis of each question of a test.

    Parameters
    ----------
    matrix : right or not, sitters × questions; no answer counts as not right.

    Returns
    -------
    tuple of Item: one a question, in order; empty where nobody sat.

    Raises
    ------
    ValueError: rows of unequal length.

    Source
    ------
    Corrected item-rest correlation: Henrysson (1963), Psychometrika 28:211, from memory; checked on a published example.

    >>> [round(item.facility or 0, 2) for item in analyse([[True, False], [True, True]])]
    [1.0, 0.5]
    """
    checked(matrix)
    if not matrix:
        return ()
    totals = [sum(row) for row in matrix]
    parting = upper_lower(matrix) if len(matrix) >= ENOUGH_SITTERS else [None] * len(matrix[0])
    items = []
    for number, column in enumerate(zip(*matrix, strict=True)):
        rest = [total - right for total, right in zip(totals, column, strict=True)]
        goes_with = correlation(column, rest) if len(matrix) >= CORRELATED_FROM else None
        items.append(Item(sum(column), len(matrix), goes_with, parting[number]))
    return tuple(items)


def upper_lower(matrix: Matrix) -> list[float]:
    """Return how much more often the upper group had each question right than the lower one, -1 to 1.

    Each group holds 27 % of the sitters, rounded, at least one. Those who are level at its edge share the places left in it evenly, so
    that no order among equals decides.

    Source: Kelley (1939), J Educ Psychol 30:17, from memory; sharing among equals is ours.

    >>> upper_lower([[True, True], [True, False], [False, False]])
    [1.0, 1.0]
    """
    checked(matrix)
    totals = [sum(row) for row in matrix]
    size = max(1, int(GROUP_SHARE * len(matrix) + 0.5))
    upper, lower = _weights(totals, size), _weights([-total for total in totals], size)
    return [
        sum((up - low) * right for up, low, right in zip(upper, lower, column, strict=True)) / size for column in zip(*matrix, strict=True)
    ]


def doubt_of(item: Item, *, choices: int = 2) -> Doubt | None:
    """Return why a question's picture is worth another look, or None.

    It is where guessing would give as few right in fewer than one case in twenty, or where, of ten sitters or more, those who did
    better elsewhere had it right less often.

    >>> doubt_of(Item(right=1, shown=9, item_rest=None, discrimination=None))
    <Doubt.BELOW_GUESSING: 'below guessing'>
    """
    if item.shown and _at_most(item.right, item.shown, choices) < RARELY:
        return Doubt.BELOW_GUESSING
    if item.shown >= DOUBT_FROM and item.item_rest is not None and item.item_rest < 0:
        return Doubt.AGAINST_THE_REST
    return None


def correlation(one: Sequence[float], other: Sequence[float]) -> float | None:
    """Return Pearson's correlation, -1 to 1, or None where either does not vary."""
    count = len(one)
    middle_one, middle_other = sum(one) / count, sum(other) / count
    together = sum((a - middle_one) * (b - middle_other) for a, b in zip(one, other, strict=True))
    spread = sum((a - middle_one) ** 2 for a in one) * sum((b - middle_other) ** 2 for b in other)
    return max(-1.0, min(1.0, together / sqrt(spread))) if spread > 0 else None


def checked(matrix: Matrix) -> Matrix:
    """Return a matrix as it is; raise ValueError where its rows are not of one length."""
    if len({len(row) for row in matrix}) > 1:
        raise ValueError("every sitter has every question, so the rows are of one length")
    return matrix


def _weights(totals: Sequence[int], size: int) -> list[float]:
    """Return how much of each sitter is among the `size` highest: 1, 0, or the even share of those level at the edge."""
    edge = sorted(totals, reverse=True)[size - 1]
    above = sum(total > edge for total in totals)
    level = sum(total == edge for total in totals)
    return [1.0 if total > edge else (size - above) / level if total == edge else 0.0 for total in totals]


def _at_most(right: int, shown: int, choices: int) -> float:
    """Return the chance that a guesser has so many right or fewer."""
    return 1.0 if right == shown else 1 - guessing(right + 1, shown, choices)
