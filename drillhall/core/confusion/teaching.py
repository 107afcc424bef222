"""Chooses what to teach next: the few pairs whose repair would help most learners most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

REPAIRED_RATE: Final = 0.10
"""How often a pair is still mixed up once it has been taught; our own assumption."""

HELPED_FROM: Final = 0.10
"""A learner is helped where she would mix a pair up less often by so much; our own choice."""

AGAIN: Final = 0.5
"""What a pair is worth to somebody whom a pair chosen before it helps already: a lesson has room for little."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A pair to teach; `helped` are the learners whom it helps, `spared` how many mix-ups of theirs 100 showings each would lose."""

    pair_id: int
    helped: tuple[int, ...]
    spared: float


def teach_next(rates: Mapping[int, Mapping[int, float]], *, most: int = 3) -> tuple[Lesson, ...]:
    """Return the pairs to teach, the one that helps most first.

    What a pair is worth to a learner is how much less often she would mix it up if it were repaired. Pairs are taken one by one, each
    the one that is worth most over all learners; whoever is helped by one that was taken counts half for the next, so that the few
    taken reach many. A pair that helps nobody is not taken.

    Parameters
    ----------
    rates : pair → learner → how often she mixes it up, 0 to 1; who has not met a pair is left out.
    most : how many pairs at most, 0 or more.

    Returns
    -------
    tuple of Lesson; of equals the pair with the lower number first.

    Raises
    ------
    ValueError: a rate outside 0 to 1.

    Source
    ------
    Our own rule: greedy choice of a cover, which is within 1 − 1/e of the best for worths that only shrink (Nemhauser, Wolsey and
    Fisher 1978, Mathematical Programming 14:265, from memory).

    >>> teach_next({7: {1: 0.5, 2: 0.4}, 8: {1: 0.45, 2: 0.05}, 9: {3: 0.35}}, most=2)[1].pair_id
    9
    """
    if any(not 0 <= rate <= 1 for hers in rates.values() for rate in hers.values()):
        raise ValueError("a rate of mix-ups lies between 0 and 1")
    gains = {pair_id: _gains(hers) for pair_id, hers in rates.items()}
    weights = {learner: 1.0 for hers in gains.values() for learner in hers}
    taken: list[Lesson] = []
    while len(taken) < most:
        worth = {pair_id: sum(gain * weights[learner] for learner, gain in hers.items()) for pair_id, hers in gains.items()}
        best = max(sorted(worth), key=lambda pair_id: worth[pair_id], default=None)
        if best is None or worth[best] <= 0:
            break
        hers = gains.pop(best)
        for learner in hers:
            weights[learner] *= AGAIN
        taken.append(Lesson(best, tuple(sorted(hers)), 100 * sum(hers.values())))
    return tuple(taken)


def _gains(rates: Mapping[int, float]) -> dict[int, float]:
    """Return what the repair of a pair is worth to those whom it helps."""
    return {learner: rate - REPAIRED_RATE for learner, rate in rates.items() if rate - REPAIRED_RATE >= HELPED_FROM}
