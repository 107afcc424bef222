"""Reads a learner's tally into rates of mix-up: her own counts, decayed and leaning on what is known of her and of the pair."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from drillhall.core.confusion import Misses, directions, prior_rate, week_of
from drillhall.core.values import Direction, Rendition, TallyKey
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries import hall_rates
from drillhall.store.queries import learner as reading

REMEMBERED = timedelta(weeks=52)
"""A count a year old weighs 2 ** -13 of a new one; older ones are not read for rates."""


@dataclass(frozen=True, slots=True)
class Skill:
    """A learner's counts by pair, and what to expect of her before looking at a cell; `everyone` is the hall, over her pairs.

    `met` are the pairs that she has answered about, be it before the weeks that were read.
    """

    tallies: Mapping[int, Mapping[TallyKey, int]]
    own: Misses
    hall: Mapping[tuple[int, int], Misses]
    everyone: Misses
    week_now: int
    met: frozenset[int]

    def directions(self, pair_id: int, first_form_id: int, second_form_id: int) -> tuple[Direction, Direction]:
        """Return both directions of a pair, the first form shown before the second."""
        prior = {
            form_id: prior_rate(own=self.own, pair=self.hall.get((pair_id, form_id), Misses()), everyone=self.everyone)
            for form_id in (first_form_id, second_form_id)
        }
        tally = self.tallies.get(pair_id, {})
        return directions((first_form_id, second_form_id), tally, week_now=self.week_now, prior=prior)

    def has_met(self, pair_id: int) -> bool:
        """Return whether the learner has answered about the pair."""
        return pair_id in self.met


def the_skill(db: Session, account_id: int, *, today: date) -> Skill:
    """Return a learner's counts of all times, and priors as of her local day."""
    tallies: dict[int, dict[TallyKey, int]] = defaultdict(dict)
    for row in reading.tallies(db, account_id):
        tallies[row.pair_id][tally_key(row)] = row.times
    taken = {row.id for row in reading.taken_pairs(db, account_id, on=today)}
    return _skill(db, tallies, pairs=tallies.keys() | taken, met=tallies.keys(), today=today)


def skill_for_planning(db: Session, account_id: int, taken: AbstractSet[int], *, today: date) -> Skill:
    """Return what planning asks of a learner's counts: rates of mix-up, and which pairs of her sets she has met.

    Only the weeks that weigh anything in a rate are read, summed over all that a rate does not ask for, and whether she has met a pair
    is asked pair by pair: so it takes no longer the longer she has drilled. Its counts are of a year, and none of them is fresh.
    """
    tallies: dict[int, dict[TallyKey, int]] = defaultdict(dict)
    for pair_id, shown, said, week, choices, times in reading.weekly_tallies(db, account_id, since_week=week_of(today - REMEMBERED)):
        tallies[pair_id][TallyKey(shown, said, week, False, False, Rendition.AS_TAKEN, "", choices)] = int(times)
    met = tallies.keys() | reading.pairs_met(db, account_id, taken - tallies.keys())
    return _skill(db, tallies, pairs=tallies.keys() | taken, met=met, today=today)


def _skill(
    db: Session, tallies: Mapping[int, Mapping[TallyKey, int]], *, pairs: AbstractSet[int], met: AbstractSet[int], today: date
) -> Skill:
    since = week_of(today - REMEMBERED)
    hall = {cell: Misses(missed, shown) for cell, (missed, shown) in hall_rates.kept_misses(db, pairs).items()}
    missed = shown = 0
    for tally in tallies.values():
        for key, count in tally.items():
            if _is_plain(key) and key.week >= since:
                shown += count
                missed += count if key.said_form_id != key.shown_form_id else 0
    return Skill(
        tallies=tallies,
        own=Misses(missed, shown),
        hall=hall,
        everyone=Misses(sum(cell.missed for cell in hall.values()), sum(cell.shown for cell in hall.values())),
        week_now=week_of(today),
        met=frozenset(met),
    )


def _is_plain(key: TallyKey) -> bool:
    return key.choices == 2 and key.rendition is Rendition.AS_TAKEN


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
