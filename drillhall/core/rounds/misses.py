"""Says what of a round, and of a drill, is still to come: a miss may end the round, and the time it leaves goes to a spare one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class RoundSoFar:
    """How far a round has been played: whether each showing was answered, and whether a rated answer was wrong.

    `after_miss` is FINISH or END; a spare round is begun only where rounds that ended early have left its time.
    """

    answered: tuple[bool, ...]
    missed: bool = False
    after_miss: AfterMiss = AfterMiss.FINISH
    spare: bool = False


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


def left_of_drill(rounds: Sequence[RoundSoFar]) -> tuple[tuple[bool, ...], ...]:
    """Return, for each showing of a drill, whether it is still to be shown, as things stand.

    A round begun is finished unless a miss has ended it. Spare rounds are begun in their order, each only where it fits into what the
    rounds before have left of the showings planned, so that a drill never grows longer than was wished for.

    Parameters
    ----------
    rounds : the rounds of the drill in order, spare ones at their places.

    >>> ended = RoundSoFar((True, False, False), missed=True, after_miss=AfterMiss.END)
    >>> spare = RoundSoFar((False, False), spare=True)
    >>> left_of_drill([ended, spare])
    ((False, False, False), (True, True))
    >>> left_of_drill([RoundSoFar((True, True, False)), spare])
    ((False, False, True), (False, False))
    """
    planned = sum(len(one.answered) for one in rounds if not one.spare)
    coming = [_left_of_round(one) if not one.spare or any(one.answered) else () for one in rounds]
    taken = sum(sum(one.answered) + sum(left) for one, left in zip(rounds, coming, strict=True))
    found = []
    for one, left in zip(rounds, coming, strict=True):
        begins = one.spare and not any(one.answered) and taken + len(one.answered) <= planned
        taken += len(one.answered) if begins else 0
        found.append(left or (begins,) * len(one.answered))
    return tuple(found)


def _left_of_round(one: RoundSoFar) -> tuple[bool, ...]:
    ended = one.missed and one.after_miss is AfterMiss.END
    return tuple(not ended and not answered for answered in one.answered)
