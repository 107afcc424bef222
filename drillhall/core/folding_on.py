"""Folds a pair's latest answers on to what the log before them came to, where that gives what folding the whole log would give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, TypeVar

from drillhall.core.folding import (
    BesideKey,
    LoggedRound,
    PromptCount,
    PromptKey,
    began,
    count_besides,
    count_prompts,
    count_tally,
    outcome_of,
)
from drillhall.core.memory import USUAL_PARAMETERS, Parameters, next_memory, recall
from drillhall.core.values import Memory, Outcome, TallyKey

Key = TypeVar("Key")

_BEFORE: Final = (None, *Outcome)


@dataclass(frozen=True, slots=True)
class TouchedRound:
    """A round that has new answers: with those alone that it had before, None without any, and with all; both judged as of now."""

    before: LoggedRound | None
    after: LoggedRound

    @property
    def first_at(self) -> datetime:
        """When the round was first answered."""
        return min(answer.at for showing in self.after.showings for answer in showing.answers)


@dataclass(frozen=True, slots=True)
class FoldedOn:
    """What new answers of a pair come to: its memory now, what `recalled` is longer by, and what each count is higher by, 1 or more."""

    memory: Memory | None
    recalled: tuple[tuple[float, bool], ...]
    tally: Mapping[TallyKey, int]
    prompts: Mapping[PromptKey, PromptCount]
    besides: Mapping[BesideKey, PromptCount]


def fold_on(memory: Memory | None, touched: Sequence[TouchedRound], *, parameters: Parameters = USUAL_PARAMETERS) -> FoldedOn | None:
    """Fold new answers of a learner and a pair on to the memory that the log before them came to.

    Parameters
    ----------
    memory : what the whole log without the new answers came to, judged as of now; None before a round was rated.
    touched : every round of the pair that has new answers; each other round of it began before the first answer of any of these.
    parameters : those by which `memory` was folded.

    Returns
    -------
    FoldedOn, or None where the log must be folded whole: an answer has come to count for another, or a rated round's outcome has changed.
    """
    old = [one.before for one in touched if one.before is not None]
    new = [one.after for one in touched]
    tally = _higher(count_tally(old), count_tally(new))
    prompts = _both_higher(count_prompts(old), count_prompts(new))
    besides = _both_higher(count_besides(old), count_besides(new))
    rest = _not_yet_rated(old, new)
    if tally is None or prompts is None or besides is None or rest is None:
        return None
    recalled = []
    for logged in rest:
        if memory is not None and memory.last_day >= logged.day:
            continue
        outcome = outcome_of(logged, memory.last if memory is not None else None)
        if outcome is None:
            continue
        if memory is not None:
            recalled.append((recall(memory, day=logged.day, parameters=parameters), outcome.was_held))
        memory = next_memory(memory, outcome, day=logged.day, parameters=parameters)
    return FoldedOn(memory, tuple(recalled), tally, prompts, besides)


def _not_yet_rated(old: Sequence[LoggedRound], new: Sequence[LoggedRound]) -> list[LoggedRound] | None:
    """Return, in order, the rounds that follow those the memory knows, or None where what it knows of is no longer so."""
    known = [rating for one in _in_order(old) if (rating := _rating(one)) is not None]
    ordered = _in_order(new)
    for place, one in enumerate(ordered):
        if not known:
            return ordered[place:]
        if (rating := _rating(one)) is not None and rating != known.pop(0):
            return None
    return None if known else []


def _in_order(rounds: Sequence[LoggedRound]) -> list[LoggedRound]:
    return sorted(rounds, key=lambda logged: (began(logged), logged.id))


def _rating(logged: LoggedRound) -> tuple[date, tuple[Outcome | None, ...]] | None:
    """Return all by which a round moves a memory, its day and its outcome after each that may precede it, or None where it does not."""
    outcomes = tuple(outcome_of(logged, before) for before in _BEFORE)
    return (logged.day, outcomes) if any(outcomes) else None


def _higher(old: Mapping[Key, int], new: Mapping[Key, int]) -> dict[Key, int] | None:
    """Return by how much each count is higher, or None where any is lower."""
    if not old:
        return dict(new)
    more = Counter(new)
    more.subtract(old)
    return None if any(by < 0 for by in more.values()) else {key: by for key, by in more.items() if by}


def _both_higher(old: Mapping[Key, PromptCount], new: Mapping[Key, PromptCount]) -> dict[Key, PromptCount] | None:
    """Return by how much each (missed, shown) is higher, or None where either of any is lower."""
    if not old:
        return dict(new)
    missed = _higher(*({key: two[0] for key, two in counts.items()} for counts in (old, new)))
    shown = _higher(*({key: two[1] for key, two in counts.items()} for counts in (old, new)))
    if missed is None or shown is None:
        return None
    return {key: (missed.get(key, 0), shown.get(key, 0)) for key in missed.keys() | shown.keys()}
