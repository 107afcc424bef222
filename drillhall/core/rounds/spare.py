"""Plans the rounds that are played only where others end early, so that the time a miss leaves goes to another pair."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from drillhall.core.rounds.day import MOST_MINUTES, USUAL_ROUND, is_new, pace_of
from drillhall.core.rounds.plan import plan_drill
from drillhall.core.values import DrillWish, Outing, PairToday, PlannedRound

if TYPE_CHECKING:
    from random import Random

SPARE_SHARE: Final = 0.5
"""Of a round of three, one who misses a quarter of the pictures is shown 77 %, so a third more rounds fit; one who guesses needs more."""


def plan_spare(
    planned: Sequence[PlannedRound],
    pairs: Sequence[PairToday],
    wish: DrillWish,
    *,
    today: date,
    dice: Random,
    outings: Sequence[Outing] = (),
) -> tuple[PlannedRound, ...]:
    """Plan a second drill behind the first, without new pairs, and return the beginning of it.

    Pictures may be asked again in it: a miss made room for it, and what was missed is worth another look.

    Parameters
    ----------
    planned : the drill's rounds; their pairs have had a turn, and come again only after the others.
    pairs, wish, today, dice, outings : what the drill itself was planned from.

    Returns
    -------
    tuple of PlannedRound: half as many as were planned, rounded up, or fewer; empty where nothing was planned.

    Raises
    ------
    Invalid : a wish out of its bounds, as `plan_drill`.
    """
    given = Counter(turn.pair_id for turn in planned)
    pictures = Counter[int]()
    for turn in planned:
        pictures[turn.pair_id] += turn.showings
    wanted = math.ceil(len(planned) * SPARE_SHARE)
    if not wanted:
        return ()
    later = [
        replace(
            pair,
            met=True,
            rounds_today=pair.rounds_today + given[pair.pair_id],
            recent_pictures=pair.recent_pictures + pictures[pair.pair_id],
            due_day=today + timedelta(days=1),
        )
        if pair.pair_id in given
        else pair
        for pair in pairs
        if pair.pair_id in given or not is_new(pair)
    ]
    minutes = wanted * (wish.round_length or USUAL_ROUND) * pace_of(wish) / 60
    more = replace(wish, new_a_day=0, minutes=min(minutes, MOST_MINUTES))
    return plan_drill(later, more, today=today, dice=dice, outings=outings)[:wanted]
