"""What stays the same while one drill is planned: its time, its pairs, and how each of them stands today."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from drillhall.core.rounds.enough import first_showings, rests
from drillhall.core.rounds.outings import OUTING_WEIGHT, new_needed, pairs_ahead
from drillhall.core.values import DrillWish, Outing, PairToday, Why
from drillhall.errors import Invalid
from drillhall.words import say

if TYPE_CHECKING:
    from random import Random

MEETING_SECONDS: Final = 40.0
"""Time to look two new forms over side by side before their first round; common practice, no source."""

NEW_EVERY: Final = 3
"""Every third place, the first one included (1, 4, 7, ...), is kept for a new pair while there is one."""

LEAST_WEIGHT: Final = 0.67
MOST_WEIGHT: Final = 1.5
"""A pair's share of the drill lies between these times an equal share, however well or badly it goes."""

WEAK_WEIGHT: Final = 1.25
WEAK_RATE: Final = 0.10
"""A pair is called weak if it is mixed up a quarter more often than the learner's mean, and more than once in ten."""

MIXED_UP_RATE: Final = 0.25
LONGEST_DAYS_MIXED_UP: Final = 14
"""A pair that she mixes up so often waits no longer than this, whatever lucky rounds have told the memory: guessers hold some.

One who guesses misses half, and so does one who deduces, but for a lucky stretch: at 3 misses in 10 some still slipped through.
"""

USUAL_ROUND: Final = 3
"""Pictures a round where she has set nothing; rounds of four taught less even in long drills, by our own bench."""

MOST_MINUTES: Final = 120.0
QUICKEST_SECONDS: Final = 3.0
SLOWEST_SECONDS: Final = 120.0
"""Paces beyond these are a learner who guesses or who was called away; they are no measure of a drill's length."""


def is_new(pair: PairToday) -> bool:
    """Say whether the learner has never begun a round of the pair, nor been tried on it."""
    return not pair.met and pair.memory is None


def wanted_by(pair: PairToday) -> date | None:
    """Return the day from which a pair is asked for: when it falls due, and sooner while she keeps mixing it up; None for at once."""
    if pair.due_day is None or pair.memory is None or pair.mixup_rate < MIXED_UP_RATE:
        return pair.due_day
    return min(pair.due_day, pair.memory.last_day + timedelta(days=LONGEST_DAYS_MIXED_UP))


def refuse_odd_wishes(wish: DrillWish) -> None:
    """Raise Invalid for a wish out of its bounds."""
    if not 0 < wish.minutes <= MOST_MINUTES:
        wrong = say("A drill lasts up to {most:g} minutes, not {n:g}: choose a number above 0.", most=MOST_MINUTES, n=wish.minutes)
        raise Invalid(wrong, field="minutes")
    if not 0 <= wish.new_a_day <= 10:
        raise Invalid(say("Pairs to meet a day are 0 to 10, not {new_a_day}.", new_a_day=wish.new_a_day), field="new_a_day")
    if wish.round_length is not None and not 2 <= wish.round_length <= 6:
        raise Invalid(say("A round has 2 to 6 pictures, not {round_length}.", round_length=wish.round_length), field="round_length")
    if not wish.seconds_a_showing > 0:
        wrong = say("Seconds a showing are above 0, not {seconds:g}.", seconds=wish.seconds_a_showing)
        raise Invalid(wrong, field="seconds_a_showing")


def pace_of(wish: DrillWish) -> float:
    """Return the seconds that a showing is taken to last: hers, within bounds."""
    return min(max(wish.seconds_a_showing, QUICKEST_SECONDS), SLOWEST_SECONDS)


@dataclass(frozen=True, slots=True)
class Day:
    """What stays the same while one drill is planned; `pairs` stand in thrown order, so that ties fall by the dice; none rests."""

    today: date
    pairs: tuple[PairToday, ...]
    seconds: float
    showings: int
    pace: float
    new_left: int
    new_every: int
    new_has_place: bool
    mean_rate: float
    ahead: frozenset[int]
    available: frozenset[int] = field(repr=False)

    @classmethod
    def of(cls, pairs: Sequence[PairToday], wish: DrillWish, outings: Sequence[Outing], *, today: date, dice: Random) -> Day:
        """Return the day as it is for these pairs, with what the dice decide in it."""
        thrown = sorted(pairs, key=lambda pair: pair.pair_id)
        dice.shuffle(thrown)
        able = tuple(pair for pair in thrown if not rests(pair))
        pace = pace_of(wish)
        seconds = wish.minutes * 60
        showings = wish.round_length or USUAL_ROUND
        rounds = math.ceil(seconds / (showings * pace))
        met_today = sum(_met_today(pair, today) for pair in pairs)
        needed = new_needed(outings, [pair.pair_id for pair in pairs if is_new(pair)], today=today)
        beside_meeting = math.ceil((seconds - needed * MEETING_SECONDS) / (showings * pace))
        known_rates = [pair.mixup_rate for pair in pairs if not is_new(pair)]
        return cls(
            today=today,
            pairs=able,
            seconds=seconds,
            showings=showings,
            pace=pace,
            new_left=max(wish.new_a_day - met_today, needed, 0),
            new_every=NEW_EVERY if needed <= 1 + (beside_meeting - 1) // NEW_EVERY else NEW_EVERY - 1,
            new_has_place=rounds >= NEW_EVERY or dice.random() < rounds / NEW_EVERY,
            mean_rate=sum(known_rates) / len(known_rates) if known_rates else 0.0,
            ahead=pairs_ahead(outings, today),
            available=frozenset(pair.pair_id for pair in able),
        )

    def is_due(self, pair: PairToday) -> bool:
        """A pair whose first round was never finished has no due day, and is due; so is one of an outing ahead, until its day."""
        wanted = wanted_by(pair)
        return wanted is None or wanted <= self.today or (pair.pair_id in self.ahead and not pair.rounds_today)

    def weight(self, pair: PairToday) -> float:
        """Her rate of mixing this pair up over her mean, bounded."""
        if self.mean_rate <= 0:
            return 1.0
        return min(max(pair.mixup_rate / self.mean_rate, LEAST_WEIGHT), MOST_WEIGHT)

    def is_weak(self, pair: PairToday) -> bool:
        """Whether she mixes the pair up clearly more often than others."""
        return not is_new(pair) and self.weight(pair) >= WEAK_WEIGHT and pair.mixup_rate > WEAK_RATE

    def share_left(self, pair: PairToday, turns: int = 0) -> float:
        """How much of its share a pair still has to come: its weight over the pictures it lately had, this drill's included."""
        claim = OUTING_WEIGHT if pair.pair_id in self.ahead else 1.0
        return claim * self.weight(pair) / (1 + pair.recent_pictures + turns * self.showings)

    def cost(self, pairs: Sequence[PairToday]) -> float:
        """Seconds that a first round of each of these pairs takes."""
        return sum(self.first_showings(pair) * self.pace + (MEETING_SECONDS if is_new(pair) else 0.0) for pair in pairs)

    @property
    def round_seconds(self) -> float:
        """Seconds that a round takes which is as long as wished for."""
        return self.showings * self.pace

    def first_showings(self, pair: PairToday) -> int:
        """Return how many pictures the pair's first round shows."""
        return first_showings(pair, self.showings)

    def why(self, pair: PairToday) -> Why:
        """Return why the pair's first round is in the drill."""
        if is_new(pair):
            return Why.NEW
        if self.is_weak(pair):
            return Why.WEAK
        if self.is_due(pair):
            return Why.OUTING if pair.pair_id in self.ahead else Why.DUE
        return Why.AGAIN if pair.rounds_today else Why.EARLY


def _met_today(pair: PairToday, today: date) -> bool:
    """Whether the pair was new this morning, so that it counts against the day's limit."""
    if not pair.rounds_today:
        return False
    return pair.memory is None or (pair.memory.rounds == 1 and pair.memory.last_day == today)
