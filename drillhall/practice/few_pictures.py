"""How far a learner's pictures go in a day: counted for each of her pairs, and told where they make a drill short."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence

from drillhall.core.stages import StagePictures, held_by_any
from drillhall.core.values import PairToday, PlannedRound
from drillhall.store.queries import lately
from drillhall.store.queries import learner as reading
from drillhall.words import say

Stages = tuple[StagePictures, ...]
Looks = Mapping[int, Mapping[reading.Look, int]]
"""For each catalogue, on how many pictures its forms look how."""


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
    there: dict[tuple[int, int], list[tuple[reading.Look, int]]] = defaultdict(list)
    for catalogue_id, of_forms in looks.items():
        for look, count in of_forms.items():
            there[catalogue_id, look.form_id].append((look, count))
    gone = Counter((pair_id, form_id) for pair_id, form_id, _ in {(one.pair_id, one.form_id, one.picture_id) for one in shown})

    def left(row: reading.TakenPair, form_id: int) -> int:
        held = sum(count for look, count in there[row.catalogue_id, form_id] if held_by_any(stages[row.id], look.pose, look.distance))
        return max(0, held - gone[row.id, form_id])

    return {row.id: (left(row, row.first_form_id), left(row, row.second_form_id)) for _, row in taken}


def why_short(pairs: Mapping[int, PairToday], rounds: Iterable[PlannedRound], *, anew: bool, cut_short: bool) -> str:
    """Return why a drill is shorter than was wished for, or asks what it asked today, where that is for want of pictures; else nothing."""
    if anew:
        return say(
            "Every picture of your pairs was shown today. If you go on they come again, and a bird just seen tells less of what you know."
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
