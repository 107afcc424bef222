"""Says whether a picture was fresh to a learner when she answered, by when she had seen it before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from drillhall.core.rounds.choose import FRESH_AFTER


@dataclass(frozen=True, slots=True)
class SeenBefore:
    """When a learner saw a picture: first, and last; `begun_at` is another time at which she came to see it, or None.

    She came to see a picture when she first answered a showing of it; `last_at` may be a later answer to the same showing.
    """

    first_at: datetime
    last_at: datetime
    begun_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class NewSight:
    """A learner came to see a picture; `showing_id` is the showing to be judged, or None where it only stood beside another."""

    at: datetime
    showing_id: int | None


def wants_begun(before: SeenBefore | None, at: datetime) -> bool:
    """Whether `begun_at` would settle if a picture was fresh: she saw it first too long ago to say no, and last too lately to say yes."""
    return before is not None and at - before.last_at < FRESH_AFTER <= at - before.first_at


def judge_sights(before: SeenBefore | None, new: Sequence[NewSight], *, own: bool) -> dict[int, tuple[bool, bool]] | None:
    """Say of each new showing of a picture whether it was first sight, and whether it was fresh.

    Parameters
    ----------
    before : when she had seen it, new sights left out; None: never.
    new : in any order.
    own : whether the picture is hers; then it is neither, ever.

    Returns
    -------
    dict : showing → (first sight, fresh); or None where the log must be read: what comes was not given last, or at one time with another,
    or `before` does not say enough.

    >>> day = datetime(2031, 3, 3)
    >>> judge_sights(None, [NewSight(day, 7), NewSight(day.replace(month=4), 8)], own=False)
    {7: (True, True), 8: (False, False)}
    >>> judge_sights(SeenBefore(day, day), [NewSight(day.replace(month=6), 9)], own=False)
    {9: (False, True)}
    """
    ordered = sorted(new, key=lambda one: one.at)
    times = [one.at for one in ordered]
    if len(set(times)) < len(times) or (before is not None and times[0] <= before.last_at):
        return None
    if own:
        return {one.showing_id: (False, False) for one in ordered if one.showing_id is not None}
    judged: dict[int, tuple[bool, bool]] = {}
    for one in ordered:
        fresh = _is_fresh(before, one.at)
        if fresh is None and one.showing_id is not None:
            return None
        if one.showing_id is not None:
            judged[one.showing_id] = (before is None, bool(fresh))
        before = SeenBefore(one.at, one.at)
    return judged


def _is_fresh(before: SeenBefore | None, at: datetime) -> bool | None:
    """Return whether a picture is fresh, or None where what is known does not settle it."""
    if before is None or at - before.last_at >= FRESH_AFTER:
        return True
    latest = before.first_at if before.begun_at is None else max(before.first_at, before.begun_at)
    return False if at - latest < FRESH_AFTER else None
