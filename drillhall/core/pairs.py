"""Says where a learner stands with a pair, and what she still lacks of the next standing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from drillhall.core.confusion import wilson
from drillhall.core.memory import DEFAULT_TARGET, USUAL_PARAMETERS, Parameters, interval_days
from drillhall.core.values import FreshAnswer, Memory, Standing

LATEST_ANSWERS: Final = 25
OLDEST_DAYS: Final = 180
FIRST_ROUNDS: Final = 3
FIELD_READY_FROM: Final = 0.70
STEADY_ROUNDS: Final = 2
STEADY_INTERVALS: Final = 2


def standing(
    memory: Memory | None,
    *,
    met: bool,
    today: date,
    target_recall: float = DEFAULT_TARGET,
    fresh: Sequence[FreshAnswer],
    parameters: Parameters = USUAL_PARAMETERS,
) -> Standing:
    """Say where a learner stands with a pair today.

    *Unmet*: no round of it was begun. *Steady*: the last two rated rounds (one a local day) were held, and no more than twice the
    interval has passed since the last. *Field-ready*: steady, and for each of the two forms the Wilson 95 % lower bound over her
    latest 25 fresh answers, none older than 180 days and none from the pair's first three rounds, is 0.70 or more.
    *Shaky*: everything else.

    Parameters
    ----------
    memory : her memory of the pair, or None if no round was rated yet.
    met : whether a round of the pair was begun.
    today : her local day.
    target_recall : 0.70 to 0.97.
    fresh : her fresh answers to the pair's two forms, oldest first, thirds left out.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    Standing.

    Raises
    ------
    Invalid: the target recall is out of range.
    ValueError: the fresh answers show more than two forms.

    Source
    ------
    Our own rule on Wilson's interval; it takes 9 of 9, 14 of 15, 19 of 21 or 22 of 25.

    >>> standing(None, met=True, today=date(2030, 5, 1), fresh=[]).value
    'shaky'
    """
    if memory is None:
        return Standing.SHAKY if met else Standing.UNMET
    elapsed_days = (today - memory.last_day).days
    longest_days = STEADY_INTERVALS * interval_days(memory, target_recall=target_recall, parameters=parameters)
    if memory.held_running < STEADY_ROUNDS or elapsed_days > longest_days:
        return Standing.SHAKY
    return Standing.FIELD_READY if _is_proven(fresh, today) else Standing.STEADY


def settled_standing(memory: Memory | None, *, met: bool, fresh: Sequence[FreshAnswer]) -> Standing:
    """Say where the learner stood on the day of her last rated round, so that falling due changes nothing in a plan.

    Parameters
    ----------
    memory, met, fresh : as for `standing`; answers given after that day are left out.

    Returns
    -------
    Standing.

    Raises
    ------
    ValueError: the fresh answers show more than two forms.

    >>> settled_standing(Memory(5.0, 5.0, date(2030, 5, 1), rounds=2, held_running=2), met=True, fresh=[]).value
    'steady'
    """
    if memory is None:
        return standing(None, met=met, today=date.min, fresh=fresh)
    until = [answer for answer in fresh if answer.day <= memory.last_day]
    return standing(memory, met=met, today=memory.last_day, fresh=until)


def fresh_lacking(fresh: Sequence[FreshAnswer], form_id: int, *, today: date) -> int:
    """Count how many more right answers on fresh pictures of a form the field-ready standing asks for.

    Parameters
    ----------
    fresh : her fresh answers to the pair's two forms, oldest first.
    form_id : the form shown.
    today : her local day.

    Returns
    -------
    int: the fewest right answers, without a further miss, after which this direction suffices; 0 if it does already.

    >>> fresh_lacking([], 4, today=date(2030, 5, 1))
    9
    """
    counted = _counted(fresh, form_id, today)
    lacking = 0
    while not _suffices(counted + [True] * lacking):
        lacking += 1
    return lacking


def _is_proven(fresh: Sequence[FreshAnswer], today: date) -> bool:
    """Say whether both directions suffice."""
    forms = {answer.shown_form_id for answer in fresh}
    if len(forms) > 2:
        raise ValueError(f"a pair has two forms; fresh answers show {len(forms)}")
    return len(forms) == 2 and all(_suffices(_counted(fresh, form_id, today)) for form_id in forms)


def _counted(fresh: Sequence[FreshAnswer], form_id: int, today: date) -> list[bool]:
    """Return right or wrong for every answer on that form which counts, oldest first."""
    return [
        answer.right
        for answer in fresh
        if answer.shown_form_id == form_id and answer.rounds_before >= FIRST_ROUNDS and (today - answer.day).days <= OLDEST_DAYS
    ]


def _suffices(counted: Sequence[bool]) -> bool:
    """Say whether the latest of these answers put the Wilson lower bound where field-ready begins."""
    latest = counted[-LATEST_ANSWERS:]
    return wilson(sum(latest), len(latest)).low >= FIELD_READY_FROM
