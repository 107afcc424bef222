"""Reads a learner's tally into rates of mix-up: her own counts, decayed and leaning on what is known of her and of the pair."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import Expected, Misses, direction_of, mixup_rate, week_of, worth_of_year
from drillhall.core.values import Counted, Direction, Rendition, TallyKey
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries import hall_rates, tallied
from drillhall.store.queries import learner as reading

REMEMBERED = timedelta(weeks=52)
"""A count a year old weighs 2 ** -13 of a new one; older ones are not read for rates over many learners."""

Sums = tuple[int, int, float]
"""Answers of all times that were read, fresh ones among them, and decayed those with two choices."""

NO_SUMS: Final[Sums] = (0, 0, 0.0)

Cells = dict[tuple[int, int], Sums]
"""Sums by pair and form shown."""


@dataclass(frozen=True, slots=True)
class Skill:
    """A learner's counts by pair and form shown, those of right answers apart, and what to expect of her before looking at a cell.

    `hall`: misses over all learners; `met` are the pairs that she has answered about, be it before the years that were read.
    """

    right: Mapping[tuple[int, int], Sums]
    wrong: Mapping[tuple[int, int], Sums]
    hall: Mapping[tuple[int, int], Misses]
    expected: Expected
    met: frozenset[int]

    def counted(self, pair_id: int, form_id: int) -> Counted:
        """Return the answers given when one form of a pair was shown."""
        cell = pair_id, form_id
        (hits, fresh_hits, kept), (misses, fresh_misses, missed) = self.right.get(cell, NO_SUMS), self.wrong.get(cell, NO_SUMS)
        return Counted(hits, hits + misses, fresh_hits, fresh_hits + fresh_misses, missed, kept)

    def directions(self, pair_id: int, first_form_id: int, second_form_id: int) -> tuple[Direction, Direction]:
        """Return both directions of a pair, the first form shown before the second."""
        return self._direction(pair_id, first_form_id), self._direction(pair_id, second_form_id)

    def _direction(self, pair_id: int, form_id: int) -> Direction:
        return direction_of(form_id, self.counted(pair_id, form_id), prior=self.expected.of(self.hall.get((pair_id, form_id))))

    def rate(self, pair_id: int, form_id: int) -> float:
        """Return the rate of mix-up of one direction of a pair alone."""
        cell = pair_id, form_id
        missed, kept = self.wrong.get(cell, NO_SUMS)[2], self.right.get(cell, NO_SUMS)[2]
        return mixup_rate(missed, missed + kept, prior=self.expected.of(self.hall.get(cell)))

    def has_met(self, pair_id: int) -> bool:
        """Return whether the learner has answered about the pair."""
        return pair_id in self.met


def the_skill(db: Session, account_id: int, *, today: date) -> Skill:
    """Return a learner's counts of all times, and her rates of mix-up and priors as of her local day."""
    taken = {row.id for row in reading.taken_pairs(db, account_id, on=today)}
    right, wrong, own = _counted(tallied.of_years(db, account_id), week_of(today))
    met = _pairs(right, wrong)
    return _skill(db, right, wrong, own, pairs=met | taken, met=met)


def skill_for_planning(db: Session, account_id: int, taken: AbstractSet[int], *, today: date) -> Skill:
    """Return what planning asks of a learner's counts: rates of mix-up, and which pairs of her sets she has met.

    What this ISO year and the one before come to is read, the counts that weigh anything in a rate, and whether she has met a pair is
    asked pair by pair: so it takes no longer the longer she has drilled. Its counts are of these two years.
    """
    week_now = week_of(today)
    right, wrong, own = _counted(tallied.of_years(db, account_id, since_year=_year_before(week_now)), week_now)
    pairs = _pairs(right, wrong)
    return _skill(db, right, wrong, own, pairs=pairs | taken, met=pairs | reading.pairs_met(db, account_id, taken - pairs))


def _year_before(week_now: int) -> int:
    return week_now // 100 - 1


def _pairs(right: Cells, wrong: Cells) -> set[int]:
    return {pair_id for pair_id, _ in right.keys() | wrong.keys()}


def _counted(rows: Iterable[Any], week_now: int) -> tuple[Cells, Cells, Misses]:
    """Return a learner's sums of right answers and of others, and her misses with two choices in this ISO year and the one before.

    The rows are those of `tallied.of_years`. They come in one order and are added in it, so the same log gives the same to the last bit.
    """
    right: Cells = {}
    wrong: Cells = {}
    worths: dict[int, float] = {}
    hit = missed = 0
    since_year = _year_before(week_now)
    for pair_id, shown, said, year, answers, fresh, plain, weighed in rows:
        worth = worths.get(year) or worths.setdefault(year, worth_of_year(year, week_now=week_now))
        cells, cell = right if said == shown else wrong, (pair_id, shown)
        known = cells.get(cell)
        decayed = weighed * worth
        cells[cell] = (known[0] + answers, known[1] + fresh, known[2] + decayed) if known else (answers, fresh, decayed)
        if year < since_year:
            continue
        if said == shown:
            hit += plain
        else:
            missed += plain
    return right, wrong, Misses(missed, hit + missed)


def _skill(db: Session, right: Cells, wrong: Cells, own: Misses, *, pairs: AbstractSet[int], met: AbstractSet[int]) -> Skill:
    hall = hall_rates.kept_misses(db, pairs)
    everyone = Misses(sum([missed for missed, _ in hall.values()]), sum([shown for _, shown in hall.values()]))
    return Skill(right=right, wrong=wrong, hall=hall, expected=Expected(own=own, everyone=everyone), met=frozenset(met))


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
