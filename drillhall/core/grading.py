"""Grades a round: from the answers given to the one word that the scheduler hears."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from drillhall.core.values import GivenAnswer, Outcome, Sure


def grade_round(answers: Sequence[GivenAnswer], *, showings: int, pace_seconds: float | None, before: Outcome | None) -> Outcome | None:
    """Grade a round from its answers so far.

    | outcome | when |
    |---|---|
    | missed | any rated answer is wrong, even before the round is finished |
    | held, unsure | all right, but a hint was taken, or more than half were said to be *possible* |
    | held with ease | all right, all *certain*, median time below the pace, and the rated round before was held too |
    | held | all right otherwise |

    Parameters
    ----------
    answers : answers to the question which form it is, in the order given; those to thirds are not rated and change nothing.
    showings : how many rated showings the round has; one with thirds alone (0) has nothing to grade.
    pace_seconds : the pace stored with the round, in seconds a showing; None where none was known, and then nothing is quick.
    before : outcome of the rated round before of the same pair, or None for the first.

    Returns
    -------
    Outcome, or None for a round that is not finished and has no miss yet, or has nothing to grade.

    Raises
    ------
    ValueError: more rated answers than showings.

    Source
    ------
    Our own rule. "More than half" is how *most* is read; the median is taken so that one interrupted answer decides nothing.

    >>> quick = GivenAnswer(right=True, sure=Sure.CERTAIN, seconds=3.0)
    >>> grade_round([quick] * 3, showings=3, pace_seconds=8.0, before=Outcome.HELD).value
    'held with ease'
    >>> grade_round([quick] * 2, showings=3, pace_seconds=8.0, before=Outcome.HELD) is None
    True
    """
    rated = [answer for answer in answers if answer.rated]
    if len(rated) > showings:
        raise ValueError(f"{len(rated)} rated answers do not fit a round of {showings} showings")
    if not all(answer.right for answer in rated):
        return Outcome.MISSED
    if not rated or len(rated) < showings:
        return None
    if _was_unsure(rated):
        return Outcome.UNSURE
    if before is not None and before.was_held and _was_easy(rated, pace_seconds):
        return Outcome.EASE
    return Outcome.HELD


def _was_unsure(rated: Sequence[GivenAnswer]) -> bool:
    """Say whether help was asked for, or more than half of the answers were only possible."""
    possible = sum(answer.sure is Sure.POSSIBLE for answer in rated)
    return any(answer.hint for answer in rated) or 2 * possible > len(rated)


def _was_easy(rated: Sequence[GivenAnswer], pace_seconds: float | None) -> bool:
    """Say whether every answer was certain and the round as a whole was quicker than the pace."""
    certain = all(answer.sure is Sure.CERTAIN for answer in rated)
    return certain and pace_seconds is not None and median(answer.seconds for answer in rated) < pace_seconds
