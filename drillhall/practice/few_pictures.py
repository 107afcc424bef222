"""How far a learner's pictures go in a day: counted for each of her pairs, and told where they make a drill short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from drillhall.core.stages import PicturesHeld, StagePictures
from drillhall.core.values import PairToday, PlannedRound
from drillhall.store.queries import lately
from drillhall.store.queries import learner as reading
from drillhall.words import say

Stages = tuple[StagePictures, ...]
Looks = Mapping[int, PicturesHeld]
"""For each catalogue, on how many pictures its forms are seen."""


def pictures_for(
    taken: Sequence[tuple[int, reading.TakenPair]], looks: Looks, stages: Mapping[int, Stages], shown: Sequence[lately.ShownOn]
) -> tuple[dict[int, tuple[int, int]], bool]:
    """Return how many pictures each pair has left today; where no pair has any, how many it has at all, and that it is so.

    Whoever wishes for one more drill is not sent away.
    """
    left = _pictures_left(taken, looks, stages, shown)
    if shown and not any(map(min, left.values())):
        return _pictures_left(taken, looks, stages, ()), True
    return left, False


def _pictures_left(
    taken: Sequence[tuple[int, reading.TakenPair]], looks: Looks, stages: Mapping[int, Stages], shown: Sequence[lately.ShownOn]
) -> dict[int, tuple[int, int]]:
    """Return of each pair how many pictures of its first form, and of its second, its rounds of the day have left to show."""
    gone = Counter((pair_id, form_id) for pair_id, form_id, _ in {(one.pair_id, one.form_id, one.picture_id) for one in shown})

    def left(pair_id: int, form_id: int, held: Mapping[int, int]) -> int:
        return max(0, held.get(form_id, 0) - gone[pair_id, form_id]) if gone else held.get(form_id, 0)

    found = {}
    for _, row in taken:
        held = looks[row.catalogue_id].by(stages[row.id])
        found[row.id] = left(row.id, row.first_form_id, held), left(row.id, row.second_form_id, held)
    return found


def why_short(pairs: Mapping[int, PairToday], rounds: Iterable[PlannedRound], *, anew: bool, cut_short: bool) -> str:
    """Return why a drill is shorter than was wished for, or asks what it asked today, where that is for want of pictures; else nothing."""
    if anew:
        return say(
            "Every picture of your pairs was shown today. If you go on they come again, and one just seen tells less of what you know."
        )
    if not cut_short:
        return ""
    there: dict[int, int] = {}
    for pair in (pairs[planned.pair_id] for planned in rounds):
        for form_id, count in zip((pair.first_form_id, pair.second_form_id), pair.pictures or (), strict=False):
            there[form_id] = max(count, there.get(form_id, 0))
    return say(
        "Shorter than you set: {n} pictures are all there are of these pairs for today, and more rounds would ask some of them twice.",
        n=sum(there.values()),
    )
