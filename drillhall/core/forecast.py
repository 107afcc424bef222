"""Looks ahead: how likely rounds are to be held by a date, what will have faded by then, and how much falls due in coming weeks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from drillhall.core.memory import DEFAULT_TARGET, USUAL_PARAMETERS, Parameters, due_day, next_memory, recall
from drillhall.core.values import Memory, Outcome

if TYPE_CHECKING:
    from random import Random

LEAST_ROUNDS: Final = 300
LEAST_LEARNERS: Final = 5
"""Before the hall has so many rated rounds of so many learners, what is to come is told in words alone."""

LIKELY_FROM: Final = 0.80
OPEN_FROM: Final = 0.50
"""The scheduler's own recall from which a round is called likely, or open, to be held; our own choice."""

MOST_DAYS: Final = 60
_EDGE: Final = 1e-6
_STEPS: Final = 100


@dataclass(frozen=True, slots=True)
class Recalibration:
    """Two numbers that turn the scheduler's recall into a chance that holds for this hall: logit = intercept + slope · logit(recall)."""

    intercept: float
    slope: float

    def chance(self, recalled: float) -> float:
        """Return the chance that a round is held, 0 to 1, from the scheduler's recall, 0 to 1.

        >>> round(Recalibration(0.0, 1.0).chance(0.9), 6)
        0.9
        """
        return 1 / (1 + math.exp(-(self.intercept + self.slope * _logit(recalled))))


@dataclass(frozen=True, slots=True)
class RecalledRound:
    """One rated round of the hall: whose, what recall the scheduler gave that day before it, and whether it was held."""

    account_id: int
    recalled: float
    held: bool


@dataclass(frozen=True, slots=True)
class Faded:
    """A pair as it will stand on a date if it is not met until then; `chance` is None where the hall cannot yet say it in numbers."""

    pair_id: int
    word: str
    chance: float | None


@dataclass(frozen=True, slots=True)
class WeekAhead:
    """What is expected of seven days: rounds due in it, those left over from before among them, each once; those there is time for,
    new pairs met, and minutes."""

    first_day: date
    due_rounds: float
    given_rounds: float
    new_pairs: float
    minutes: float


def fit_recalibration(rounds: Sequence[RecalledRound]) -> Recalibration | None:
    """Fit the two numbers over the hall by maximum likelihood.

    Parameters
    ----------
    rounds : rated rounds that followed an earlier one of the same learner and pair, in any order.

    Returns
    -------
    Recalibration, or None with less than 300 rounds or 5 learners, or where all were held or none.

    Source
    ------
    Platt (1999), Probabilistic outputs for support vector machines: a logistic curve over the score; Newton's method. A falling
    curve is never given out: where the fit has a slope below 0, recall tells nothing here, and the slope is 0.

    >>> fit_recalibration([]) is None
    True
    """
    if len(rounds) < LEAST_ROUNDS or len({one.account_id for one in rounds}) < LEAST_LEARNERS:
        return None
    ordered = sorted(rounds, key=lambda one: (one.recalled, one.held, one.account_id))
    scores = [_logit(one.recalled) for one in ordered]
    held = [float(one.held) for one in ordered]
    if not 0 < sum(held) < len(held):
        return None
    fitted = _newton(scores, held)
    if fitted is not None and fitted[1] >= 0:
        return Recalibration(*fitted)
    return Recalibration(_logit(sum(held) / len(held)), 0.0)


def word_for(recalled: float) -> str:
    """Say in a word whether a round would be held: *likely*, *open* or *unlikely*; a matter of timing, not of skill.

    >>> [word_for(recalled) for recalled in (0.9, 0.6, 0.3)]
    ['likely', 'open', 'unlikely']
    """
    return "likely" if recalled >= LIKELY_FROM else "open" if recalled >= OPEN_FROM else "unlikely"


def fade_by(
    memories: Mapping[int, Memory], day: date, *, recalibration: Recalibration | None = None, parameters: Parameters = USUAL_PARAMETERS
) -> tuple[Faded, ...]:
    """Say how each pair will stand on a date if it is not met until then, what has faded most first.

    Parameters
    ----------
    memories : pair id to the learner's memory; pairs never rated have nothing that could fade.
    day : the date, in her local days.
    recalibration : the hall's, or None where it has too few rounds: then words alone.
    parameters : hers, where she has taken fitted ones.

    >>> [one.word for one in fade_by({1: Memory(2.0, 5.0, date(2030, 5, 1))}, date(2030, 9, 1))]
    ['open']
    """
    found = []
    for pair_id, memory in memories.items():
        recalled = recall(memory, day=day, parameters=parameters)
        chance = recalibration.chance(recalled) if recalibration else None
        found.append((recalled, Faded(pair_id, word_for(recalled if chance is None else chance), chance)))
    return tuple(faded for _, faded in sorted(found, key=lambda one: (one[0], one[1].pair_id)))


@dataclass(frozen=True, slots=True)
class Habit:
    """How a learner drills: rounds a day there is time for, minutes a round, days a week that she comes, new pairs a day at most."""

    rounds_a_day: int
    minutes_a_round: float
    days_a_week: float = 7.0
    new_a_day: int = 5
    target_recall: float = DEFAULT_TARGET


def weeks_ahead(
    memories: Mapping[int, Memory],
    new_pairs: int,
    habit: Habit,
    *,
    today: date,
    dice: Random,
    weeks: int = 8,
    recalibration: Recalibration | None = None,
    times: int = 20,
    account_id: int = 0,
    parameters: Parameters = USUAL_PARAMETERS,
) -> tuple[WeekAhead, ...]:
    """Forecast the drills of coming weeks by playing them through a few times and taking the mean.

    Each day she comes, a third of the rounds goes to new pairs while there are any, the others to what is overdue longest; a round
    is held by the throw of a dice, with the recalibrated chance where there is one.

    Parameters
    ----------
    memories : pair id (not negative) to memory; new_pairs : pairs not met yet.
    habit : how she drills.
    today : the first day; dice : the same dice give the same forecast; times : how often it is played through.
    weeks : 1 to 8.
    account_id : for the spread of due days; parameters : hers, where she has taken fitted ones.

    Raises
    ------
    ValueError: weeks, times or rounds out of range.
    """
    if not 1 <= weeks * 7 <= MOST_DAYS or times < 1 or habit.rounds_a_day < 1:
        raise ValueError(f"{weeks} weeks of {habit.rounds_a_day} rounds a day, {times} times over, are no forecast")
    sums = [[0, 0, 0] for _ in range(weeks)]
    dues = {
        pair_id: due_day(memory, target_recall=habit.target_recall, account_id=account_id, pair_id=pair_id, parameters=parameters)
        for pair_id, memory in memories.items()
    }
    for _ in range(times):
        course = _Course(dict(memories), dict(dues), new_pairs, habit, recalibration, dice, account_id, parameters)
        for number in range(weeks * 7):
            for place, count in enumerate(course.live(today + timedelta(days=number), begins_week=number % 7 == 0)):
                sums[number // 7][place] += count
    return tuple(
        WeekAhead(today + timedelta(days=7 * number), due / times, given / times, new / times, given / times * habit.minutes_a_round)
        for number, (due, given, new) in enumerate(sums)
    )


@dataclass(slots=True)
class _Course:
    """One way the coming weeks may go."""

    memories: dict[int, Memory]
    dues: dict[int, date]
    new_left: int
    habit: Habit
    recalibration: Recalibration | None
    dice: Random
    account_id: int
    parameters: Parameters

    def live(self, day: date, *, begins_week: bool) -> tuple[int, int, int]:
        """Drill for a day; return the rounds that came to be due, the rounds given, and the new pairs met."""
        due = sorted((when, pair_id) for pair_id, when in self.dues.items() if when <= day)
        came = len(due) if begins_week else sum(when == day for when, _ in due)
        if self.dice.random() >= self.habit.days_a_week / 7:
            return came, 0, 0
        new = min(self.new_left, self.habit.new_a_day, math.ceil(self.habit.rounds_a_day / 3))
        drilled = due[: self.habit.rounds_a_day - new]
        for _, pair_id in drilled:
            self._rate(pair_id, self.memories[pair_id], self._outcome(self.memories[pair_id], day), day)
        for _ in range(new):
            self.new_left -= 1
            self._rate(-self.new_left - 1, None, Outcome.HELD if self.dice.random() < 0.5 else Outcome.MISSED, day)
        return came, len(drilled) + new, new

    def _rate(self, pair_id: int, memory: Memory | None, outcome: Outcome, day: date) -> None:
        after = next_memory(memory, outcome, day=day, parameters=self.parameters)
        target, whose = self.habit.target_recall, self.account_id
        self.memories[pair_id] = after
        self.dues[pair_id] = due_day(after, target_recall=target, account_id=whose, pair_id=pair_id, parameters=self.parameters)

    def _outcome(self, memory: Memory, day: date) -> Outcome:
        recalled = recall(memory, day=day, parameters=self.parameters)
        chance = self.recalibration.chance(recalled) if self.recalibration else recalled
        return Outcome.HELD if self.dice.random() < chance else Outcome.MISSED


def _logit(chance: float) -> float:
    inside = min(max(chance, _EDGE), 1 - _EDGE)
    return math.log(inside / (1 - inside))


def _newton(scores: Sequence[float], held: Sequence[float]) -> tuple[float, float] | None:
    """Return intercept and slope of the likeliest logistic curve, or None where it does not settle (all alike, or parted cleanly)."""
    intercept = slope = 0.0
    for _ in range(_STEPS):
        chances = [1 / (1 + math.exp(-(intercept + slope * score))) for score in scores]
        weights = [chance * (1 - chance) for chance in chances]
        wrong = [was - chance for was, chance in zip(held, chances, strict=True)]
        w0, w1 = math.fsum(weights), math.fsum(w * s for w, s in zip(weights, scores, strict=True))
        w2 = math.fsum(w * s * s for w, s in zip(weights, scores, strict=True))
        g0, g1 = math.fsum(wrong), math.fsum(e * s for e, s in zip(wrong, scores, strict=True))
        size = w0 * w2 - w1 * w1
        if size <= 1e-9 * max(w0 * w2, 1e-9):
            return None
        step = ((w2 * g0 - w1 * g1) / size, (w0 * g1 - w1 * g0) / size)
        intercept, slope = intercept + step[0], slope + step[1]
        if abs(intercept) > 50 or abs(slope) > 50:
            return None
        if max(map(abs, step)) < 1e-10:
            return intercept, slope
    return None
