"""Tries a learner who says she knows a pair: Wald's sequential test, which ends as soon as the answers have said enough."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from math import log
from typing import Final

from drillhall.core.values import Outcome

KNOWS_RATE: Final = 0.95
"""How often somebody who knows a pair names it rightly; our own choice."""

ERROR_RATE: Final = 0.05
"""How often the test may let a guesser through, or turn away somebody who knows; both ways alike."""

MOST_PICTURES: Final = 10
"""Whoever is still undecided after so many pictures is not passed: the pair is then drilled like any other."""


class Placing(StrEnum):
    """What a trial has come to so far."""

    GOING_ON = "going on"
    PASSED = "passed"
    OUT = "out"


def weight_of_answer(*, right: bool, choices: int, knows_rate: float = KNOWS_RATE) -> float:
    """Return what one answer adds to the log odds that the learner knows the pair and does not guess.

    Parameters
    ----------
    right : whether the form was named rightly.
    choices : forms to choose from, 2 or more; a guesser is right in 1 of `choices`.
    knows_rate : right rate of somebody who knows, above 1 / choices and below 1.

    Returns
    -------
    float: natural logarithm of the likelihood ratio; above 0 for a right answer, below 0 for a wrong one.

    Raises
    ------
    ValueError: fewer than two choices, or a rate that a guesser reaches.

    Source
    ------
    Wald (1945), Sequential tests of statistical hypotheses, Ann Math Stat 16:117 (from memory).

    >>> round(weight_of_answer(right=True, choices=2), 6), round(weight_of_answer(right=False, choices=2), 6)
    (0.641854, -2.302585)
    """
    if choices < 2:
        raise ValueError(f"a question has two choices or more, not {choices}")
    guess_rate = 1 / choices
    if not guess_rate < knows_rate < 1:
        raise ValueError(f"a rate of {knows_rate} does not tell somebody who knows from one who guesses among {choices}")
    return log(knows_rate / guess_rate) if right else log((1 - knows_rate) / (1 - guess_rate))


def place(
    answers: Sequence[bool],
    *,
    choices: int = 2,
    knows_rate: float = KNOWS_RATE,
    error_rate: float = ERROR_RATE,
    most_pictures: int = MOST_PICTURES,
) -> Placing:
    """Say what a trial has come to: passed, out, or one more picture.

    The answers after the one that ended the trial change nothing, so a packet that was answered offline is judged the same.

    Parameters
    ----------
    answers : whether each answer was right, in the order given; a hint taken makes an answer wrong, which is the caller's business.
    choices, knows_rate : as for `weight_of_answer`.
    error_rate : chance of either error, above 0 and below one half.
    most_pictures : after so many the trial ends, and who is not passed is out; 1 or more.

    Returns
    -------
    Placing.

    Raises
    ------
    ValueError: a rate or a number out of range.

    Source
    ------
    Wald (1945): accept at log odds of ln((1 − β) / α) or more, refuse at ln(β / (1 − α)) or less.

    >>> place([True] * 4).value, place([True] * 5).value, place([True, False, False]).value
    ('going on', 'passed', 'out')
    """
    if not 0 < error_rate < 0.5 or most_pictures < 1:
        raise ValueError(f"an error rate of {error_rate} and {most_pictures} pictures make no trial")
    bound = log((1 - error_rate) / error_rate)
    odds = 0.0
    for right in answers[:most_pictures]:
        odds += weight_of_answer(right=right, choices=choices, knows_rate=knows_rate)
        if abs(odds) >= bound - 1e-12:
            return Placing.PASSED if odds > 0 else Placing.OUT
    return Placing.OUT if len(answers) >= most_pictures else Placing.GOING_ON


def outcome_of(placing: Placing) -> Outcome | None:
    """Return the one rated round that a trial stands for in the log: held with ease, missed, or none while it goes on.

    >>> outcome_of(Placing.PASSED).value
    'held with ease'
    """
    return {Placing.PASSED: Outcome.EASE, Placing.OUT: Outcome.MISSED, Placing.GOING_ON: None}[placing]
