"""Chooses the rounds of a day's drill: room for new pairs, a bounded share for weak ones, and no pair left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Final

from drillhall.core.rounds.day import MEETING_SECONDS, USUAL_ROUND, Day, is_new, pace_of, refuse_odd_wishes
from drillhall.core.rounds.enough import PicturesLeft
from drillhall.core.rounds.order import in_good_order, shares_a_form
from drillhall.core.values import DrillWish, Outing, PairToday, PlannedRound, Why

if TYPE_CHECKING:
    from random import Random

REST_ROUNDS: Final = 3
"""So many rounds of other pairs stand between two rounds of one pair, where there are enough pairs."""


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

    No more rounds of a pair are planned than its pictures allow without asking one twice, but for the first, so that pairs that
    share a form each have their turn; the drill is shorter then. A pair of which a form has no picture left today rests.

    Parameters
    ----------
    pairs : what must be known of each pair the learner may drill, in any order
    wish : minutes > 0, seconds a showing, new pairs a day 0 to 10, round length 2 to 6 or None
    today : the learner's local day
    dice : throws for what is equally good; the same dice give the same plan
    outings : her assignments with a date; those past change nothing

    Returns
    -------
    tuple of PlannedRound, empty if there are no pairs, or all of them rest

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
    refuse_odd_wishes(wish)
    day = Day.of(pairs, wish, outings, today=today, dice=dice)
    firsts = _first_turns(day)
    if not firsts:
        return ()
    again_rounds = _count_further(day, firsts)
    ordered = in_good_order(
        firsts,
        is_new=[is_new(pair) for pair in firsts],
        is_weak=[day.is_weak(pair) for pair in firsts],
        front=math.ceil((len(firsts) + again_rounds) / 3),
        ends_the_drill=again_rounds == 0,
    )
    planned = [PlannedRound(pair.pair_id, day.first_showings(pair), day.why(pair)) for pair in ordered]
    return (*planned, *(PlannedRound(pair.pair_id, showings, Why.AGAIN) for pair, showings in _further_turns(day, ordered, again_rounds)))


def is_cut_short(planned: Sequence[PlannedRound], wish: DrillWish) -> bool:
    """Say whether a drill has at least a round less than was wished for, since its pairs have no more pictures.

    >>> [is_cut_short([PlannedRound(1, 3, Why.DUE)], DrillWish(minutes=minutes)) for minutes in (1.2, 1.1)]
    [True, False]
    """
    spent = sum(one.showings * pace_of(wish) + (MEETING_SECONDS if one.why is Why.NEW else 0.0) for one in planned)
    return bool(planned) and wish.minutes * 60 - spent >= (wish.round_length or USUAL_ROUND) * pace_of(wish)


def _first_turns(day: Day) -> list[PairToday]:
    """Give pairs their first round of the drill, until the time is used or every pair has had one."""
    known = sorted((pair for pair in day.pairs if not is_new(pair)), key=partial(_how_unasked, day))
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


def _how_unasked(day: Day, pair: PairToday) -> tuple[bool, int, float]:
    """Rank a known pair for its first round, the best lowest: due ones, then those with fewest rounds today; most of its share left."""
    is_due = day.is_due(pair)
    return not is_due, 0 if is_due else pair.rounds_today, -day.share_left(pair)


def _take_next_new(new: list[PairToday], met: set[int], available: frozenset[int]) -> PairToday:
    """Take the first pair in stage order whose easier relatives are met; if they wait for each other in a ring, the first of all.

    `new` stands with the first at its end. A relative that the learner cannot drill holds nothing up, nor does any where she has
    pictures of her own of both forms: what she photographs is before her already.
    """
    for place in range(len(new) - 1, -1, -1):
        if new[place].own or (new[place].after & available) <= met:
            return new.pop(place)
    return new.pop()


def _after_firsts(day: Day, firsts: Sequence[PairToday]) -> PicturesLeft:
    left = PicturesLeft()
    for pair in firsts:
        left.take(pair, day.first_showings(pair))
    return left


def _count_further(day: Day, firsts: Sequence[PairToday]) -> int:
    """Return how many rounds fill the time left, or as many as the pictures allow where all pairs take turns."""
    wanted = max(0, math.ceil((day.seconds - day.cost(firsts)) / day.round_seconds))
    left, rounds, able = _after_firsts(day, firsts), 0, list(firsts)
    while able and rounds < wanted:
        able = [pair for pair in able if left.further(pair, day.showings)]
        for pair in able[: wanted - rounds]:
            if showings := left.further(pair, day.showings):
                left.take(pair, showings)
                rounds += 1
    return rounds


def _further_turns(day: Day, firsts: Sequence[PairToday], rounds: int) -> list[tuple[PairToday, int]]:
    """Fill the time left with further rounds of so many pictures: all pairs in turn, and the one most likely to be held at the end."""
    turns, further_turns, pictures = list(firsts), list[tuple[PairToday, int]](), _after_firsts(day, firsts)
    given = {pair.pair_id: 1 for pair in firsts}
    ending = min(firsts, key=_how_unlike_an_ending)
    for left in range(rounds, 0, -1):
        able = [pair for pair in firsts if pictures.further(pair, day.showings)]
        if not able:
            break
        fewest = min(given[pair.pair_id] for pair in able)
        pool = [pair for pair in able if given[pair.pair_id] == fewest]
        further = _FurtherRound(day, turns[-REST_ROUNDS:], pool, given=fewest, left=left, kept=ending if left <= len(pool) else None)
        chosen = min(pool, key=further.how_untimely)
        turns.append(chosen)
        further_turns.append((chosen, pictures.further(chosen, day.showings)))
        pictures.take(*further_turns[-1])
        given[chosen.pair_id] += 1
    return further_turns


def _how_unlike_an_ending(pair: PairToday) -> tuple[bool, float]:
    """Rank a pair for the last round, the best lowest: she met it before today's drill, and is likely to hold it."""
    return (is_new(pair), pair.mixup_rate)


@dataclass(frozen=True, slots=True)
class _FurtherRound:
    """A further round to fill: the rounds just before it, the pairs in turn with the rounds each was given, and how many are left.

    `kept` is the pair that is kept for the last round, once that is near.
    """

    day: Day
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
