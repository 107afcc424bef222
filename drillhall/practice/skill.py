"""Reads a learner's tally into rates of mix-up: her own counts, decayed and leaning on what is known of her and of the pair."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, timedelta
from operator import add
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import Expected, Misses, decayed_of_phases, direction_of, mixup_rate, week_of
from drillhall.core.values import Counted, Direction, Rendition, TallyKey
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries import hall_rates, tallied
from drillhall.store.queries import learner as reading

REMEMBERED = timedelta(weeks=52)
"""A count a year old weighs 2 ** -13 of a new one; older ones are not read for rates."""

UNCOUNTED: Final = Counted()
NO_SUMS: Final = [0] * 7
"""Of no answers: what `tallied.ever` sums."""

Cells = dict[tuple[int, int], Counted]
"""Counts by pair and form shown."""


@dataclass(frozen=True, slots=True)
class Skill:
    """A learner's counts by pair and form shown, and what to expect of her before looking at a cell.

    `hall`: misses over all learners; `met` are the pairs that she has answered about, be it before the weeks that were read.
    """

    counts: Mapping[tuple[int, int], Counted]
    hall: Mapping[tuple[int, int], Misses]
    expected: Expected
    met: frozenset[int]

    def directions(self, pair_id: int, first_form_id: int, second_form_id: int) -> tuple[Direction, Direction]:
        """Return both directions of a pair, the first form shown before the second."""
        return self._direction(pair_id, first_form_id), self._direction(pair_id, second_form_id)

    def _direction(self, pair_id: int, form_id: int) -> Direction:
        cell = pair_id, form_id
        return direction_of(form_id, self.counts.get(cell, UNCOUNTED), prior=self.expected.of(self.hall.get(cell)))

    def rate(self, pair_id: int, form_id: int) -> float:
        """Return the rate of mix-up of one direction of a pair alone."""
        cell = pair_id, form_id
        counted = self.counts.get(cell, UNCOUNTED)
        return mixup_rate(counted.missed, counted.missed + counted.kept, prior=self.expected.of(self.hall.get(cell)))

    def has_met(self, pair_id: int) -> bool:
        """Return whether the learner has answered about the pair."""
        return pair_id in self.met


def the_skill(db: Session, account_id: int, *, today: date) -> Skill:
    """Return a learner's counts of all times, and her rates of mix-up and priors as of her local day."""
    taken = {row.id for row in reading.taken_pairs(db, account_id, on=today)}
    right: dict[tuple[int, int], list[int]] = {}
    wrong: dict[tuple[int, int], list[int]] = {}
    for pair_id, shown, said, *sums in tallied.ever(db, account_id, **_weeks(today)):
        told, cell = right if said == shown else wrong, (pair_id, shown)
        told[cell] = list(map(add, told[cell], sums)) if cell in told else sums
    counts: Cells = {}
    for cell in right.keys() | wrong.keys():
        (hits, fresh_hits, _, *kept), (misses, fresh_misses, _, *lost) = right.get(cell, NO_SUMS), wrong.get(cell, NO_SUMS)
        ever = hits, hits + misses, fresh_hits, fresh_hits + fresh_misses
        counts[cell] = Counted(*ever, missed=decayed_of_phases(lost), kept=decayed_of_phases(kept))
    missed, hit = (sum([plain for _, _, plain, *_ in told.values()]) for told in (wrong, right))
    met = {pair_id for pair_id, _ in counts}
    return _skill(db, counts, Misses(missed, hit + missed), pairs=met | taken, met=met)


def _weeks(today: date) -> dict[str, int]:
    return {"since_week": week_of(today - REMEMBERED), "week_now": week_of(today)}


def skill_for_planning(db: Session, account_id: int, taken: AbstractSet[int], *, today: date) -> Skill:
    """Return what planning asks of a learner's counts: rates of mix-up, and which pairs of her sets she has met.

    The database adds up the weeks that weigh anything in a rate, and whether she has met a pair is asked pair by pair: so it takes no
    longer the longer she has drilled. Its counts are of a year, and none of them is fresh.
    """
    counts, own = _of_late(db, account_id, today)
    pairs = {pair_id for pair_id, _ in counts}
    return _skill(db, counts, own, pairs=pairs | taken, met=pairs | reading.pairs_met(db, account_id, taken - pairs))


def _of_late(db: Session, account_id: int, today: date) -> tuple[Cells, Misses]:
    """Return a learner's counts of the weeks that weigh in a rate, and her misses of showings with two choices over all of them."""
    right: dict[tuple[int, int], tuple[int, float]] = {}
    wrong: dict[tuple[int, int], tuple[int, float]] = {}
    hit = missed = 0
    for pair_id, form_id, is_right, times, plain, *phases in tallied.lately(db, account_id, **_weeks(today)):
        if is_right:
            right[pair_id, form_id] = times, decayed_of_phases(phases)
            hit += plain
        else:
            wrong[pair_id, form_id] = times, decayed_of_phases(phases)
            missed += plain
    counts = {cell: Counted(hits, hits, kept=kept) for cell, (hits, kept) in right.items()}
    for cell, (misses, lost) in wrong.items():
        hits, kept = right.get(cell, (0, 0.0))
        counts[cell] = Counted(hits, hits + misses, missed=lost, kept=kept)
    return counts, Misses(missed, hit + missed)


def _skill(db: Session, counts: Cells, own: Misses, *, pairs: AbstractSet[int], met: AbstractSet[int]) -> Skill:
    hall = hall_rates.kept_misses(db, pairs)
    everyone = Misses(sum([missed for missed, _ in hall.values()]), sum([shown for _, shown in hall.values()]))
    return Skill(counts=counts, hall=hall, expected=Expected(own=own, everyone=everyone), met=frozenset(met))


def tally_key(row: TallyRow) -> TallyKey:
    """Return a stored cell's key as a plain value."""
    return TallyKey(
        shown_form_id=row.shown_form_id,
        said_form_id=row.said_form_id,
        week=row.week,
        fresh=row.fresh,
        prompted=row.prompted,
        rendition=Rendition(row.rendition),
        orientation=row.orientation,
        choices=row.choices,
    )
