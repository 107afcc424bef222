"""How far a group is with an assignment: who has begun, and how many of its pairs will probably be held on the day."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from statistics import median, median_low
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.forecast import Faded, Recalibration, fade_by
from drillhall.core.values import Pair, PairLore
from drillhall.practice.assigning import Assignment, drillable_by_set
from drillhall.practice.group_log import FEWEST, GroupLog, Learner, the_group_log
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.practice.recalibrating import the_recalibration
from drillhall.words import Said, say

READY_SHARE: Final = 0.9
"""Whoever will likely hold so many of the pairs on the day is called ready; our own choice."""

UNMET: Final = "unmet"
WORDS: Final = ("likely", "open", "unlikely", UNMET)
"""How a pair may stand by a day, in words."""
WORDS_TOLD: Final = {
    "likely": say("likely", ctx="to be held"),
    "open": say("open", ctx="whether it is held"),
    "unlikely": say("unlikely", ctx="to be held"),
    UNMET: say("unmet"),
}
"""The same, as a table heads its columns."""


class Progress(StrEnum):
    """How far a learner is with an assignment."""

    NOT_BEGUN = "not begun"
    BEGUN = "begun"
    ON_THE_WAY = "on the way"
    READY = "ready"

    @property
    def words(self) -> Said:
        """What a page calls it."""
        return _PROGRESS_WORDS[self]


_PROGRESS_WORDS: Final = {
    Progress.NOT_BEGUN: say("not begun"),
    Progress.BEGUN: say("begun"),
    Progress.ON_THE_WAY: say("on the way"),
    Progress.READY: say("ready", ctx="of a learner"),
}


@dataclass(frozen=True, slots=True)
class LearnerProgress:
    """How far one learner is: `words` counts the pairs by *likely*, *open*, *unlikely* and *unmet*."""

    name: str
    progress: Progress
    words: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class PairReadiness:
    """A pair, and how many of those who are counted will hold it on the day, by word."""

    pair: Pair
    words: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Readiness:
    """How far a group is with an assignment by a day.

    `named` are those who may be named; `others` is how many more there are, `rest` their counts by progress, or None where they are
    too few to be told of; `pairs` counts those named and, where they are told of, the rest. `middle` is how many pairs the middle one
    of those will likely hold, None where nobody is told of; `expected` is the same as the sum of chances, None until the hall has
    rounds enough to give chances in numbers; `resting` counts pairs without pictures for the group.
    """

    day: date
    pair_count: int
    resting: int
    named: tuple[LearnerProgress, ...]
    others: int
    rest: Mapping[Progress, int] | None
    pairs: tuple[PairReadiness, ...]
    middle: int | None
    expected: float | None


def the_readiness(db: Session, group_id: int, kind: str, assignment: Assignment, *, today: date, reader: Reader = ANYBODY) -> Readiness:
    """Return how far a group is with an assignment, by its day or, where it has none or that has passed, by today."""
    return readiness_of_all(db, group_id, kind, [assignment], today=today, reader=reader)[0]


def readiness_of_all(
    db: Session, group_id: int, kind: str, assignments: Sequence[Assignment], *, today: date, reader: Reader = ANYBODY
) -> tuple[Readiness, ...]:
    """Return the same of many assignments, in their order; it asks the database no oftener for more of them out of one catalogue."""
    by_set = drillable_by_set(db, group_id, {one.pair_set_id for one in assignments}, on=today)
    by_catalogue: dict[int, set[int]] = defaultdict(set)
    for pair in (pair for pairs in by_set.values() for pair in pairs):
        by_catalogue[pair.catalogue_id].add(pair.id)
    log, recalibration = the_group_log(db, group_id, kind, sorted(set().union(*by_catalogue.values()))), the_recalibration(db)
    lores: dict[tuple[int, int], PairLore] = {}
    for catalogue_id, ids in by_catalogue.items():
        lores |= {(catalogue_id, pair_id): lore for pair_id, lore in lore_of_pairs(db, catalogue_id, ids, reader=reader).items()}
    told = {set_id: [(pair.id, lores[pair.catalogue_id, pair.id].pair) for pair in pairs] for set_id, pairs in by_set.items()}
    return tuple(_of_one(log, recalibration, one, told.get(one.pair_set_id, []), today) for one in assignments)


def _of_one(
    log: GroupLog, recalibration: Recalibration | None, assignment: Assignment, pairs: Sequence[tuple[int, Pair]], today: date
) -> Readiness:
    day = max(assignment.for_day or today, today)
    ids = [pair_id for pair_id, _ in pairs]
    faded = {learner: _faded(log, learner, ids, day, recalibration) for learner in log.learners}
    every = {
        learner: {pair_id: faded[learner][pair_id].word if pair_id in faded[learner] else UNMET for pair_id in ids} for learner in faded
    }
    progress = {learner: _progress(log, learner, words) for learner, words in every.items()}
    named = [learner for learner in log.learners if learner.is_named]
    others = [learner for learner in log.learners if not learner.is_named]
    told = named + others if len(others) >= FEWEST else named
    return Readiness(
        day=day,
        pair_count=len(pairs),
        resting=assignment.pairs - len(pairs),
        named=tuple(LearnerProgress(one.name, progress[one], Counter(every[one].values())) for one in named),
        others=len(others),
        rest=Counter(progress[one] for one in others) if len(others) >= FEWEST else None,
        pairs=tuple(PairReadiness(pair, Counter(every[one][pair_id] for one in told)) for pair_id, pair in pairs),
        middle=median_low(Counter(every[one].values())["likely"] for one in told) if told else None,
        expected=median(_held(faded[one]) for one in told) if told and recalibration is not None else None,
    )


def _faded(log: GroupLog, learner: Learner, pair_ids: Sequence[int], day: date, recalibration: Recalibration | None) -> dict[int, Faded]:
    """Say of each pair that a learner was rated on whether she will hold it on a day if she meets it no more until then."""
    memories = {pair_id: memory for pair_id in pair_ids if (memory := log.of(learner, pair_id).memory) is not None}
    faded = fade_by(memories, day, recalibration=recalibration, parameters=learner.parameters)
    return {one.pair_id: one for one in faded}


def _held(faded: Mapping[int, Faded]) -> float:
    """Return how many pairs are held on average, by their chances; one that she has not met counts as none."""
    return sum(one.chance or 0.0 for one in faded.values())


def _progress(log: GroupLog, learner: Learner, words: Mapping[int, str]) -> Progress:
    """Say how far she is: on the way once she was rated on half of the pairs, ready once she will likely hold nine in ten."""
    if not log.has_begun(learner, list(words)):
        return Progress.NOT_BEGUN
    counts = Counter(words.values())
    if counts["likely"] >= math.ceil(READY_SHARE * len(words)):
        return Progress.READY
    return Progress.ON_THE_WAY if (len(words) - counts[UNMET]) * 2 >= len(words) else Progress.BEGUN
