"""Remembers when a learner must meet a pair again: the only door to the scheduling library.

Whole local days go in and out; the library is handed noon UTC of each, because it counts elapsed time in blocks of 24 hours.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from hashlib import blake2b
from types import MappingProxyType
from typing import Final

from fsrs import Card, Rating, Scheduler, State
from fsrs.scheduler import DEFAULT_PARAMETERS, LOWER_BOUNDS_PARAMETERS, UPPER_BOUNDS_PARAMETERS

from drillhall.core.values import Memory, Outcome, RatedRound
from drillhall.errors import Invalid
from drillhall.words import say

LOWEST_TARGET: Final = 0.70
HIGHEST_TARGET: Final = 0.97
DEFAULT_TARGET: Final = 0.90

LONGEST_INTERVAL_DAYS: Final = 36_500
SPREAD_FROM_DAYS: Final = 4
SPREAD_SHARE: Final = 0.05

Parameters = tuple[float, ...]
"""The 21 numbers of the scheduling formula; those of the library unless a learner has taken others."""

USUAL_PARAMETERS: Final[Parameters] = tuple(DEFAULT_PARAMETERS)

_TOLD: Final[Mapping[Outcome, Rating]] = MappingProxyType(
    {
        Outcome.MISSED: Rating.Again,
        Outcome.UNSURE: Rating.Hard,
        Outcome.HELD: Rating.Good,
        Outcome.EASE: Rating.Easy,
    }
)


def check_target_recall(target_recall: float) -> None:
    """Refuse a target recall that the hall does not schedule by.

    Parameters
    ----------
    target_recall : the chance of holding a round at which it should fall due; 0.70 to 0.97.

    Raises
    ------
    Invalid: outside that range, or not a number. (The library itself takes 1.5 without a word, and divides by zero at 0.)
    """
    if not LOWEST_TARGET <= target_recall <= HIGHEST_TARGET:
        raise Invalid(
            say(
                "Target recall is {target_recall:g}; choose a number from {lowest_target:.2f} to {highest_target:.2f}.",
                target_recall=target_recall,
                lowest_target=LOWEST_TARGET,
                highest_target=HIGHEST_TARGET,
            ),
            field="target_recall",
        )


def next_memory(memory: Memory | None, outcome: Outcome, *, day: date, parameters: Parameters = USUAL_PARAMETERS) -> Memory:
    """Return the memory after one more rated round.

    Parameters
    ----------
    memory : the memory before, or None for the first rated round of the pair.
    outcome : how the round went.
    day : local day of the round; later than that of the last rated one.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    Memory: stability in days, difficulty 1 to 10, and the counts that go with them.

    Raises
    ------
    ValueError: the day is not later than the last rated one, or the memory holds numbers that no fold gives.

    Source
    ------
    FSRS, version 6, with its default parameters, as in `fsrs` 6.3; without learning or relearning steps and without its dice.

    >>> first = next_memory(None, Outcome.HELD, day=date(2030, 5, 1))
    >>> round(first.stability_days, 4), round(first.difficulty, 4), first.rounds, first.held_running
    (2.3065, 2.1181, 1, 1)
    >>> next_memory(first, Outcome.MISSED, day=date(2030, 5, 3)).held_running
    0
    """
    if memory is not None and day <= memory.last_day:
        raise ValueError(f"rated rounds are folded in day order, one a day: {day} does not follow {memory.last_day}")
    card, _ = _scheduler(parameters).review_card(_card(memory, day), _TOLD[outcome], _noon(day))
    # The library declares both as optional for items never rated; this one has just been.
    assert card.stability is not None
    assert card.difficulty is not None
    held_before = 0 if memory is None else memory.held_running
    return Memory(
        stability_days=card.stability,
        difficulty=card.difficulty,
        last_day=day,
        rounds=1 if memory is None else memory.rounds + 1,
        held_running=held_before + 1 if outcome.was_held else 0,
        last=outcome,
    )


def fold_rounds(rounds: Iterable[RatedRound], *, parameters: Parameters = USUAL_PARAMETERS) -> Memory | None:
    """Fold rated rounds into a memory; nothing but the rounds decides the result.

    Parameters
    ----------
    rounds : all rated rounds of one learner and pair, in day order, one a local day.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    Memory, or None without any round.

    Raises
    ------
    ValueError: two rounds of one day, or a day before its predecessor.

    >>> fold_rounds([]) is None
    True
    >>> days = [RatedRound(date(2030, 5, 1), Outcome.HELD), RatedRound(date(2030, 5, 3), Outcome.HELD)]
    >>> round(fold_rounds(days).stability_days, 3)
    10.964
    """
    memory: Memory | None = None
    for rated in rounds:
        memory = next_memory(memory, rated.outcome, day=rated.day, parameters=parameters)
    return memory


def interval_days(memory: Memory, *, target_recall: float = DEFAULT_TARGET, parameters: Parameters = USUAL_PARAMETERS) -> int:
    """Return after how many days recall falls to the target.

    Parameters
    ----------
    memory : the memory after the last rated round.
    target_recall : 0.70 to 0.97.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    int: whole days, 1 to 36,500; halves go to the even number, as in the library.

    Raises
    ------
    Invalid: the target recall is out of range.
    ValueError: the memory holds numbers that no fold gives.

    Source
    ------
    FSRS, version 6: S / factor · (r^(1/decay) − 1), with factor = 0.9^(1/decay) − 1.

    >>> interval_days(next_memory(None, Outcome.EASE, day=date(2030, 5, 1)))
    8
    """
    check_target_recall(target_recall)
    _check(memory)
    decay = -parameters[20]
    factor: float = 0.9 ** (1 / decay) - 1
    stretch: float = target_recall ** (1 / decay) - 1
    days = round(memory.stability_days / factor * stretch)
    return min(max(days, 1), LONGEST_INTERVAL_DAYS)


def due_day(
    memory: Memory,
    *,
    target_recall: float = DEFAULT_TARGET,
    account_id: int,
    pair_id: int,
    parameters: Parameters = USUAL_PARAMETERS,
) -> date:
    """Return the local day on which the pair falls due, spread so that pairs begun together do not clump.

    Parameters
    ----------
    memory : the memory after the last rated round.
    target_recall : 0.70 to 0.97.
    account_id, pair_id : whose memory it is, and of what; with the number of rounds they alone decide the spread.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    date: last day + interval, moved by at most max(1 day, 5 % of it) where the interval is 4 days or more.

    Raises
    ------
    Invalid, ValueError: as `interval_days`.

    >>> due_day(next_memory(None, Outcome.HELD, day=date(2030, 5, 1)), account_id=7, pair_id=3)
    datetime.date(2030, 5, 3)
    """
    days = interval_days(memory, target_recall=target_recall, parameters=parameters)
    return memory.last_day + timedelta(days=days + _spread_days(days, account_id, pair_id, memory.rounds))


def recall(memory: Memory, *, day: date, parameters: Parameters = USUAL_PARAMETERS) -> float:
    """Return the scheduler's estimate that a round would be held on a day: a matter of timing, never shown as skill.

    Parameters
    ----------
    memory : the memory after the last rated round.
    day : any local day; one before the last rated round (a learner who flew west) counts as that day itself.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    float: above 0, up to 1.

    Raises
    ------
    ValueError: the memory holds numbers that no fold gives.

    Source
    ------
    FSRS, version 6: R(t, S) = (1 + factor · t / S)^decay.

    >>> memory = Memory(stability_days=10.0, difficulty=5.0, last_day=date(2030, 5, 1))
    >>> round(recall(memory, day=date(2030, 5, 11)), 6)
    0.9
    """
    return _scheduler(parameters).get_card_retrievability(_card(memory, day), _noon(day))


def within_bounds(parameters: Sequence[float]) -> Parameters:
    """Clip parameters to the bounds that the library allows; raise ValueError where there are not 21."""
    bounds = zip(parameters, LOWER_BOUNDS_PARAMETERS, UPPER_BOUNDS_PARAMETERS, strict=True)
    return tuple(min(max(float(value), low), high) for value, low, high in bounds)


def told_for(outcome: Outcome) -> int:
    """Return the number, 1 to 4, that an outcome has in the logs a scheduler is fitted to."""
    return _TOLD[outcome].value


@lru_cache(maxsize=64)
def _make_scheduler(parameters: Parameters) -> Scheduler:
    """Return the library's scheduler; kept, because one round costs one call and making one checks 21 parameters each time."""
    return Scheduler(
        parameters=parameters, learning_steps=(), relearning_steps=(), maximum_interval=LONGEST_INTERVAL_DAYS, enable_fuzzing=False
    )


# Almost everybody has the usual parameters, and to look 21 numbers up costs a tenth of a round.
_USUAL: Final = _make_scheduler(USUAL_PARAMETERS)


def _scheduler(parameters: Parameters) -> Scheduler:
    return _USUAL if parameters is USUAL_PARAMETERS else _make_scheduler(parameters)


def _noon(day: date) -> datetime:
    """Return noon UTC of a local day: two local days are then whole blocks of 24 hours apart, in every zone."""
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def _check(memory: Memory) -> None:
    """Refuse numbers that no fold gives, since the library would go on to complex numbers without a word."""
    if not memory.stability_days > 0 or not 1 <= memory.difficulty <= 10:
        raise ValueError(f"no fold gives stability {memory.stability_days} days and difficulty {memory.difficulty}")


def _card(memory: Memory | None, day: date) -> Card:
    """Return the library's own value for a memory; id and due are given, for without them it waits and reads the clock."""
    if memory is None:
        return Card(card_id=1, due=_noon(day))
    _check(memory)
    last = _noon(memory.last_day)
    return Card(
        card_id=1,
        state=State.Review,
        stability=memory.stability_days,
        difficulty=memory.difficulty,
        due=last,
        last_review=last,
    )


def _spread_days(days: int, account_id: int, pair_id: int, rounds: int) -> int:
    """Return a whole number of days between −reach and +reach that stays the same for the same three numbers."""
    if days < SPREAD_FROM_DAYS:
        return 0
    reach = max(1, int(days * SPREAD_SHARE))
    digest = blake2b(f"{account_id}:{pair_id}:{rounds}".encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big") % (2 * reach + 1) - reach
