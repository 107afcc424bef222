"""Says how far the pictures of a pair go in a day's drills, so that none is asked twice while what it showed is still in mind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from typing import Final

from drillhall.core.values import Candidate, Pair, PairToday

LEAST_SHOWINGS: Final = 2
"""A further round of fewer pictures is none: one picture is no contrast, and half of all guesses hold it."""


def rests(pair: PairToday) -> bool:
    """Say whether a form of the pair has no picture left today: a round of the other alone would give itself away."""
    return pair.pictures is not None and min(pair.pictures) < 1


def first_showings(pair: PairToday, wished: int) -> int:
    """Return how many pictures a pair's first round shows: as many as are wished for, or all there are; every pair has one."""
    return wished if pair.pictures is None else min(wished, sum(pair.pictures))


class PicturesLeft:
    """What a drill has left to show of each form while its rounds are given out.

    A round takes half its pictures from either form, as its throws do in the mean. Pairs that share a form share its pictures.

    >>> left, pair = PicturesLeft(), PairToday(1, 10, 11, pictures=(4, 4))
    >>> left.take(pair, first_showings(pair, 3))
    >>> left.take(pair, left.further(pair, 3))
    >>> left.further(pair, 3)
    2
    """

    def __init__(self) -> None:
        self._halves: Counter[int] = Counter()

    def further(self, pair: PairToday, showings: int) -> int:
        """Return how many pictures a further round may show, at most as many as wished for; 0 where there are too few for one."""
        if pair.pictures is None:
            return showings
        forms = zip((pair.first_form_id, pair.second_form_id), pair.pictures, strict=True)
        left = min(2 * there - self._halves[form_id] for form_id, there in forms)
        return min(showings, left) if left >= LEAST_SHOWINGS else 0

    def take(self, pair: PairToday, showings: int) -> None:
        """Give a round of so many pictures to a pair."""
        self._halves.update(dict.fromkeys((pair.first_form_id, pair.second_form_id), showings))


def not_yet_asked(candidates: Sequence[Candidate], asked: Sequence[Collection[int]], pair: Pair, *, showings: int) -> list[Candidate]:
    """Return the pictures from which a round is drawn: those not asked already, where these are enough for it.

    Parameters
    ----------
    candidates : pictures of the pair's forms and of its thirds
    asked : ids of pictures to do without, the dearest wish first: where the round cannot do without those, then the next
    pair : one picture of either form must be left, so that which form comes is thrown
    showings : as many must be left of both

    Returns
    -------
    list of Candidate: all of them where no wish leaves enough
    """
    for ids in asked:
        left = [one for one in candidates if one.picture_id not in ids]
        forms = Counter(one.form_id for one in left)
        first, second = forms[pair.first.id], forms[pair.second.id]
        if first and second and first + second >= showings:
            return left
    return list(candidates)
