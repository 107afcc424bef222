"""Finds the pictures of a catalogue whose label sure learners doubt, from what they said at first sight."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.doubt import LEAST_LEARNERS, Said, estimate, is_disputed
from drillhall.core.values import NEITHER
from drillhall.store.queries import curating as reading
from drillhall.store.queries.curating import DrilledPair, SureSaid

MANY_LEARNERS: Final = 20
"""From so many on the numbers are not called small (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A picture whose label is doubted in the rounds of one pair.

    `label` and the keys of `said` are forms' ids, or NEITHER; `said` counts learners, the most first; `chance_right` is the
    estimated chance that the label is right (0 to 1), and `likeliest` what the picture shows by that estimate.
    """

    picture_id: int
    pair_id: int
    label: int
    said: tuple[tuple[int, int], ...]
    learners: int
    chance_right: float
    likeliest: int

    @property
    def forms(self) -> frozenset[int]:
        """The forms that are spoken of, by id."""
        return frozenset({self.label, self.likeliest, *(form_id for form_id, _ in self.said)} - {NEITHER})

    @property
    def is_few(self) -> bool:
        """Whether so few learners have been asked that the numbers are to be called small."""
        return self.learners < MANY_LEARNERS


def list_doubts(db: Session, catalogue_id: int) -> tuple[Doubt, ...]:
    """Return the disputed pictures of a catalogue, each once, the least likely label first.

    Three queries, whatever the number of pictures: the pairs, which of them hold a picture that many contradict, what was said in these.
    """
    pairs = {pair.id: pair for pair in reading.pairs_of(db, catalogue_id)}
    suspected = pairs.keys() & reading.contradicted(db, catalogue_id, least=LEAST_LEARNERS)
    said: dict[int, list[SureSaid]] = defaultdict(list)
    for one in reading.sure_said(db, catalogue_id, sorted(suspected)):
        said[one.pair].append(one)
    worst: dict[int, Doubt] = {}
    for pair_id in sorted(said):
        for doubt in doubts_of_pair(pairs[pair_id], said[pair_id]):
            known = worst.get(doubt.picture_id)
            if known is None or doubt.chance_right < known.chance_right:
                worst[doubt.picture_id] = doubt
    return tuple(sorted(worst.values(), key=lambda doubt: (doubt.chance_right, doubt.picture_id)))


def doubts_of_pair(pair: DrilledPair, said: Sequence[SureSaid]) -> tuple[Doubt, ...]:
    """Return the disputed pictures of one pair, whose classes are its two forms and neither."""
    classes = (pair.first_form_id, pair.second_form_id, NEITHER)
    place = {str(form_id): number for number, form_id in enumerate(classes)}
    heard = [one for one in said if one.said in place]
    found = estimate(
        (Said(one.picture, one.learner, place[one.said], one.weight) for one in heard),
        classes=len(classes),
        labels={one.picture: place[str(one.label)] for one in heard},
    )
    by_picture: dict[int, list[SureSaid]] = defaultdict(list)
    for one in heard:
        by_picture[one.picture].append(one)
    doubts = []
    for picture_id, told in sorted(by_picture.items()):
        chances = found.pictures[picture_id]
        chance_right, learners = chances[place[str(told[0].label)]], len({one.learner for one in told})
        if is_disputed(chance_right, learners):
            likeliest = classes[chances.index(max(chances))]
            doubts.append(Doubt(picture_id, pair.id, told[0].label, _counted(told), learners, chance_right, likeliest))
    return tuple(doubts)


def _counted(told: Iterable[SureSaid]) -> tuple[tuple[int, int], ...]:
    return tuple((int(said), count) for said, count in Counter(one.said for one in told).most_common())
