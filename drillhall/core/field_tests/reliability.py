"""How far a test's score can be trusted: KR-20, the standard error of measurement, and how long a test would have to be."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

from drillhall.core.field_tests.items import Matrix, checked


@dataclass(frozen=True, slots=True)
class Reliability:
    """A test's scores in sum: `mean` and `variance` of the number right (over those who sat, not an estimate for others).

    `kr20` is None where it says nothing: fewer than two questions, or all sitters level. `sem_questions` is the standard error of
    measurement, in questions.
    """

    sitters: int
    questions: int
    mean: float
    variance: float
    kr20: float | None

    @property
    def sem_questions(self) -> float | None:
        """The standard error of measurement: by about so many questions a score would differ on another such test."""
        return None if self.kr20 is None else sqrt(self.variance * max(0.0, 1 - self.kr20))


def reliability(matrix: Matrix) -> Reliability | None:
    """Return how far a test's scores can be trusted, or None where nobody sat.

    Parameters
    ----------
    matrix : right or not, sitters × questions; no answer counts as not right.

    Raises
    ------
    ValueError: rows of unequal length.

    Source
    ------
    Kuder and Richardson (1937), Psychometrika 2:151, formula 20, from memory: k / (k − 1) × (1 − Σ pq / σ²). σ² is the population
    variance of the totals, as pq is that of each question; mixed with the n − 1 variance it comes out too high.

    >>> found = reliability([[True, True, True], [True, True, False], [True, False, False], [False, False, False]])
    >>> found.kr20, found.mean
    (0.75, 1.5)
    """
    checked(matrix)
    if not matrix:
        return None
    sitters, questions = len(matrix), len(matrix[0])
    totals = [sum(row) for row in matrix]
    mean = sum(totals) / sitters
    variance = sum((total - mean) ** 2 for total in totals) / sitters
    shares = [sum(column) / sitters for column in zip(*matrix, strict=True)]
    kr20 = None
    if questions > 1 and variance > 0:
        kr20 = questions / (questions - 1) * (1 - sum(share * (1 - share) for share in shares) / variance)
    return Reliability(sitters, questions, mean, variance, kr20)


def questions_needed(known: float, questions: int, wanted: float) -> int | None:
    """Return how many questions of the same kind a wanted reliability needs, or None where no number would do.

    Parameters
    ----------
    known : reliability of a test of `questions` questions; at 0 or below, more of the same does not help.
    wanted : above 0 and below 1.

    Raises
    ------
    ValueError: no questions, or a wanted reliability out of range.

    Source
    ------
    Spearman and Brown's formula, solved for the length: n × w (1 − r) / (r (1 − w)), rounded up.

    >>> questions_needed(0.5, 10, 0.8)
    40
    """
    if questions < 1 or not 0 < wanted < 1:
        raise ValueError(f"no number of questions gives a reliability of {wanted} from {questions}")
    if known <= 0:
        return None
    needed = questions * wanted * (1 - known) / (known * (1 - wanted))
    return max(1, ceil(round(needed, 9)))
