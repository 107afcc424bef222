"""Chooses the rounds of a day's drill: room for new pairs, a bounded share for weak ones, and no pair left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from drillhall.core.rounds.order import in_good_order, shares_a_form
from drillhall.core.rounds.outings import OUTING_WEIGHT, new_needed, pairs_ahead
from drillhall.core.values import DrillWish, Outing, PairToday, PlannedRound, Why
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

REST_ROUNDS: Final = 3
"""So many rounds of other pairs stand between two rounds of one pair, where there are enough pairs."""

USUAL_ROUND: Final = 3
"""Pictures a round where she has set nothing; rounds of four taught less even in long drills, by our own bench."""

MOST_MINUTES: Final = 120.0
QUICKEST_SECONDS: Final = 3.0
SLOWEST_SECONDS: Final = 120.0
"""Paces beyond these are a learner who guesses or who was called away; they are no measure of a drill's length."""


def plan_drill(
    pairs: Sequence[PairToday], wish: DrillWish, *, today: date, dice: Random, outings: Sequence[Outing] = ()
) -> tuple[PlannedRound, ...]:
    """Choose today's rounds in order, each with the reason why it is there.

    Rounds are begun as long as time is left, and a round begun is finished: the plan ends less than one round after the time
    wished for. Places 1, 4, 7, ... are kept for new pairs, up to the day's limit, and never wait for what is due; in a drill of
    less than three rounds the dice decide whether the place is used, so that new pairs take a third there as well. The other
    places go to due pairs, those with the largest share left first; then to pairs that are not yet due; then to more new pairs;
    then, once every pair has had its turn, to a further round of each. Pairs of an outing ahead count as due until its day and
    claim four times their share; those of them that are new come before other new ones, and so many a day that all are met in the
    first third of the time, for which every second place is kept where every third is too few. After those, pairs of which she has
    pictures of her own come before other new ones.

    Parameters
    ----------
    pairs : what must be known of each pair the learner may drill, in any order
    wish : minutes > 0, seconds a showing, new pairs a day 0 to 10, round length 2 to 6 or None
    today : the learner's local day
    dice : throws for what is equally good; the same dice give the same plan
    outings : her assignments with a date; those past change nothing

    Returns
    -------
    tuple of PlannedRound, empty if there are no pairs

    Raises
    ------
    Invalid : a wish out of its bounds

    Examples
    --------
    >>> from random import Random
    >>> pairs = [PairToday(1, 10, 11, met=True, due_day=date(2024, 5, 1)), PairToday(2, 12, 13)]
    >>> for planned in plan_drill(pairs, DrillWish(minutes=2), today=date(2024, 5, 2), dice=Random(1)):
    ...     print(planned.pair_id, planned.showings, planned.why)
    2 3 new
    1 3 due
    2 3 again
    """
    _refuse_odd_wishes(wish)
    day = _Day.of(pairs, wish, outings, today=today, dice=dice)
    firsts = _first_turns(day)
    if not firsts:
        return ()
    again_rounds = max(0, math.ceil((day.seconds - day.cost(firsts)) / day.round_seconds))
    ordered = in_good_order(
        firsts,
        is_new=[is_new(pair) for pair in firsts],
        is_weak=[day.is_weak(pair) for pair in firsts],
        front=math.ceil((len(firsts) + again_rounds) / 3),
        ends_the_drill=again_rounds == 0,
    )
    planned = [PlannedRound(pair.pair_id, day.showings, day.why(pair)) for pair in ordered]
    return (*planned, *(PlannedRound(pair.pair_id, day.showings, Why.AGAIN) for pair in _further_turns(day, ordered, again_rounds)))


def is_new(pair: PairToday) -> bool:
    """Say whether the learner has never begun a round of the pair, nor been tried on it."""
    return not pair.met and pair.memory is None


def wanted_by(pair: PairToday) -> date | None:
    """Return the day from which a pair is asked for: when it falls due, and sooner while she keeps mixing it up; None for at once."""
    if pair.due_day is None or pair.memory is None or pair.mixup_rate < MIXED_UP_RATE:
        return pair.due_day
    return min(pair.due_day, pair.memory.last_day + timedelta(days=LONGEST_DAYS_MIXED_UP))


def _refuse_odd_wishes(wish: DrillWish) -> None:
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


@dataclass(frozen=True, slots=True)
class _Day:
    """What stays the same while one drill is planned; `pairs` stand in thrown order, so that ties fall by the dice."""

    today: date
    pairs: tuple[PairToday, ...]
    seconds: float
    showings: int
    round_seconds: float
    new_left: int
    new_every: int
    new_has_place: bool
    mean_rate: float
    ahead: frozenset[int]
    available: frozenset[int] = field(repr=False)

    @classmethod
    def of(cls, pairs: Sequence[PairToday], wish: DrillWish, outings: Sequence[Outing], *, today: date, dice: Random) -> _Day:
        thrown = sorted(pairs, key=lambda pair: pair.pair_id)
        dice.shuffle(thrown)
        pace = min(max(wish.seconds_a_showing, QUICKEST_SECONDS), SLOWEST_SECONDS)
        seconds = wish.minutes * 60
        showings = wish.round_length or USUAL_ROUND
        rounds = math.ceil(seconds / (showings * pace))
        met_today = sum(_met_today(pair, today) for pair in pairs)
        needed = new_needed(outings, [pair.pair_id for pair in pairs if is_new(pair)], today=today)
        beside_meeting = math.ceil((seconds - needed * MEETING_SECONDS) / (showings * pace))
        known_rates = [pair.mixup_rate for pair in pairs if not is_new(pair)]
        return cls(
            today=today,
            pairs=tuple(thrown),
            seconds=seconds,
            showings=showings,
            round_seconds=showings * pace,
            new_left=max(wish.new_a_day - met_today, needed, 0),
            new_every=NEW_EVERY if needed <= 1 + (beside_meeting - 1) // NEW_EVERY else NEW_EVERY - 1,
            new_has_place=rounds >= NEW_EVERY or dice.random() < rounds / NEW_EVERY,
            mean_rate=sum(known_rates) / len(known_rates) if known_rates else 0.0,
            ahead=pairs_ahead(outings, today),
            available=frozenset(pair.pair_id for pair in pairs),
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
        return not is_new(pair) and self.weight(pair) >= WEAK_WEIGHT and pair.mixup_rate > WEAK_RATE

    def share_left(self, pair: PairToday, turns: int = 0) -> float:
        """How much of its share a pair still has to come: its weight over the pictures it lately had, this drill's included."""
        claim = OUTING_WEIGHT if pair.pair_id in self.ahead else 1.0
        return claim * self.weight(pair) / (1 + pair.recent_pictures + turns * self.showings)

    def cost(self, pairs: Sequence[PairToday]) -> float:
        """Seconds that a first round of each of these pairs takes."""
        return sum(self.round_seconds + (MEETING_SECONDS if is_new(pair) else 0.0) for pair in pairs)

    def why(self, pair: PairToday) -> Why:
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


def _first_turns(day: _Day) -> list[PairToday]:
    """Give pairs their first round of the drill, until the time is used or every pair has had one."""
    known = [pair for pair in day.pairs if not is_new(pair)]
    known.sort(key=lambda pair: (not day.is_due(pair), 0 if day.is_due(pair) else pair.rounds_today, -day.share_left(pair)))
    known.reverse()
    new = [pair for pair in day.pairs if is_new(pair)]
    new.sort(key=lambda pair: (pair.pair_id not in day.ahead, not pair.own, pair.stage, pair.pair_id), reverse=True)
    met = {pair.pair_id for pair in known}
    turns: list[PairToday] = []
    room = day.new_left
    while day.cost(turns) < day.seconds:
        kept_for_new = day.new_has_place and len(turns) % day.new_every == 0
        if new and room and (kept_for_new or not known):
            chosen = _take_next_new(new, met, day.available)
            room -= 1
        elif known:
            chosen = known.pop()
        else:
            break
        turns.append(chosen)
        met.add(chosen.pair_id)
    return turns


def _take_next_new(new: list[PairToday], met: set[int], available: frozenset[int]) -> PairToday:
    """Take the first pair in stage order whose easier relatives are met; if they wait for each other in a ring, the first of all.

    `new` stands with the first at its end. A relative that the learner cannot drill holds nothing up, nor does any where she has
    pictures of her own of both forms: what she photographs is before her already.
    """
    for place in range(len(new) - 1, -1, -1):
        if new[place].own or (new[place].after & available) <= met:
            return new.pop(place)
    return new.pop()


def _further_turns(day: _Day, firsts: Sequence[PairToday], rounds: int) -> list[PairToday]:
    """Fill the time left with further rounds: all pairs in turn, and the pair most likely to be held at the end."""
    turns = list(firsts)
    given = {pair.pair_id: 1 for pair in firsts}
    ending = min(firsts, key=_how_unlike_an_ending)
    for left in range(rounds, 0, -1):
        fewest = min(given.values())
        pool = [pair for pair in firsts if given[pair.pair_id] == fewest]
        further = _FurtherRound(day, turns[-REST_ROUNDS:], pool, given=fewest, left=left, kept=ending if left <= len(pool) else None)
        chosen = min(pool, key=further.how_untimely)
        turns.append(chosen)
        given[chosen.pair_id] += 1
    return turns[len(firsts) :]


def _how_unlike_an_ending(pair: PairToday) -> tuple[bool, float]:
    """Rank a pair for the last round, the best lowest: she met it before today's drill, and is likely to hold it."""
    return (is_new(pair), pair.mixup_rate)


@dataclass(frozen=True, slots=True)
class _FurtherRound:
    """A further round to fill: the rounds just before it, the pairs in turn with the rounds each was given, and how many are left.

    `kept` is the pair that is kept for the last round, once that is near.
    """

    day: _Day
    before: Sequence[PairToday]
    pool: Sequence[PairToday]
    given: int
    left: int
    kept: PairToday | None

    def how_untimely(self, pair: PairToday) -> tuple[float, ...]:
        """Rank a pair for this round, the best lowest.

        First it must be rested, then unlike its neighbour. Where every pair in turn still gets a round, those that share forms
        with others go early, while there is something to put between them; else the pair with most of its share left comes first.
        """
        unrested = any(pair is earlier for earlier in self.before)
        tangled = shares_a_form(pair, self.before[-1])
        if self.left == 1:
            return (unrested, tangled, *_how_unlike_an_ending(pair))
        knots = sum(shares_a_form(pair, other) for other in self.pool) if self.left >= len(self.pool) else 0
        return (unrested, pair is self.kept, tangled, -knots, pair.rounds_today, -self.day.share_left(pair, self.given))
