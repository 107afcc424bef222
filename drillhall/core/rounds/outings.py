"""Says what an outing ahead asks of the drill: which pairs claim more, how many new ones must be met a day, and at what recall."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import Final

from drillhall.core.values import Outing

OUTING_WEIGHT: Final = 4.0
"""A pair of an outing ahead claims so many times its share. It costs the other pairs: whoever sets an outing must be told so."""

MOST_NEW_A_DAY: Final = 10
"""However near an outing is, nobody meets more new pairs in a day."""


def pairs_ahead(outings: Iterable[Outing], today: date) -> frozenset[int]:
    """Return the pairs of all outings that are still to come, that of today included."""
    return frozenset(pair_id for outing in outings if outing.day >= today for pair_id in outing.pair_ids)


def raised_targets(outings: Iterable[Outing], *, own: float, today: date) -> dict[int, float]:
    """Return the target recall of each pair of which an outing ahead asks more than the learner's own: the highest that is asked for.

    An assignment raises a target and never lowers it; when its day has passed, her own stands again.

    >>> outing = Outing(day=date(2030, 5, 9), since=date(2030, 5, 1), pair_ids=frozenset({7}), target_recall=0.95)
    >>> [raised_targets([outing], own=0.9, today=date(2030, 5, day)) for day in (9, 10)]
    [{7: 0.95}, {}]
    """
    raised: dict[int, float] = {}
    for outing in outings:
        asked = outing.target_recall
        if asked is not None and asked > own and outing.day >= today:
            raised |= {pair_id: max(asked, raised.get(pair_id, asked)) for pair_id in outing.pair_ids}
    return raised


def new_needed(outings: Sequence[Outing], new_ids: Collection[int], *, today: date) -> int:
    """Return how many new pairs must be met today, so that each outing's are all met in the first third of its time.

    Parameters
    ----------
    outings : the learner's assignments with a date; those past ask for nothing.
    new_ids : pairs she has not met yet.
    today : her local day.

    Returns
    -------
    int: 0 to 10; when the third has passed, all that are left of that outing are wanted at once.

    >>> outing = Outing(day=date(2030, 5, 28), since=date(2030, 5, 1), pair_ids=frozenset(range(20)))
    >>> new_needed([outing], range(20), today=date(2030, 5, 1))
    3
    """
    needed = 0
    for outing in outings:
        left = len(outing.pair_ids & frozenset(new_ids))
        if outing.day < today or not left:
            continue
        days_in_third = max(1, math.floor((outing.day - outing.since).days / 3))
        days_left = max(1, days_in_third - (today - outing.since).days)
        needed = max(needed, math.ceil(left / days_left))
    return min(needed, MOST_NEW_A_DAY)
