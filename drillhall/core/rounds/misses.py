"""Says what of a round is still to come once an answer was given: a miss may end the round, or keep the learner with the pair."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import TypeVar

Showing = TypeVar("Showing")


class AfterMiss(StrEnum):
    """What a miss does to the rest of its round.

    A round is missed with its first wrong answer, so what comes after it no longer decides anything.
    """

    FINISH = "finish the round"
    END = "end the round"
    STAY = "stay for one picture more"


def still_to_come(left: Sequence[Showing], rights: Sequence[bool], *, after_miss: AfterMiss) -> tuple[Showing, ...]:
    """Return which of the showings left in a round are still to be shown.

    Parameters
    ----------
    left : the showings that were planned and not yet shown; for STAY the last one planned is a spare.
    rights : whether each rated answer of the round so far was right, in order.
    after_miss : what a miss does.

    Returns
    -------
    tuple: all of `left`; none after a miss, for END; all but the spare while nothing was missed, for STAY.

    >>> still_to_come(("b", "c"), [False], after_miss=AfterMiss.END)
    ()
    >>> still_to_come(("c", "spare"), [True, True], after_miss=AfterMiss.STAY)
    ('c',)
    """
    missed = not all(rights)
    if after_miss is AfterMiss.END and missed:
        return ()
    if after_miss is AfterMiss.STAY and not missed:
        return tuple(left[:-1])
    return tuple(left)
