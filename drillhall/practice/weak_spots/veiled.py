"""Tells of those who are not seen by name: in sums over four weeks that are over, of five or more, and no more once one of them left.

A form of a pair within four weeks is a cell. It is told once, whole, and stays as it is, or falls as a whole; the weeks are the same
for everybody and never move. So two views differ by whole cells, each of five learners or more, and by what somebody agreed to show.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import span_of, week_of
from drillhall.practice.group_log import FEWEST
from drillhall.practice.weak_spots.seeing import Pupil, Seen
from drillhall.practice.weak_spots.since import folded_since
from drillhall.store.queries import veiled as reading
from drillhall.store.queries.teacher import Sum, begun_before
from drillhall.store.queries.veiled import SpanSum

LATE: Final = timedelta(days=2)
"""So long after its end four weeks are waited for: it is then over everywhere, and most telephones have brought what they kept."""

Cell = tuple[int, int, int]
"""A pair, its form shown, and the four weeks."""


@dataclass(frozen=True, slots=True)
class Veil:
    """What hides those not seen by name: the four weeks that are not over, from `running` on, and the cells of those who left."""

    running: int
    fallen: frozenset[Cell]

    def hides(self, pair_id: int, span: int) -> bool:
        """Whether nothing of a pair in four weeks is told at all, whichever form was shown."""
        return span >= self.running or any((one, when) == (pair_id, span) for one, _, when in self.fallen)


def the_veil(db: Session, group_id: int, pair_ids: Collection[int], *, today: date) -> Veil:
    """Return what hides those not seen by name: a cell to which somebody answered who has left since is told no more."""
    fallen = set()
    for row in reading.cells_of_gone(db, group_id, pair_ids):
        span = span_of(row.week)
        if span_of(week_of(row.since.date())) <= span <= span_of(week_of(row.until.date())):
            fallen.add((row.pair_id, row.shown_form_id, span))
    return Veil(span_of(week_of(today - LATE)), frozenset(fallen))


def is_enough(accounts: Collection[int], seen: Seen) -> bool:
    """Whether so many may be told of together: five, and of those whom nobody sees by name five or none."""
    veiled = len(seen.veiled.intersection(accounts))
    return len(set(accounts)) >= FEWEST and (not veiled or veiled >= FEWEST)


def veiled_sums(db: Session, group_id: int, seen: Seen, pair_ids: Collection[int], veil: Veil) -> list[Sum]:
    """Return the sums of those not seen by name over all cells that are told, each learner's by itself."""
    rows = _rows(db, group_id, seen.others, pair_ids)
    shown_to: dict[Cell, set[int]] = defaultdict(set)
    for row in rows:
        shown_to[row.pair_id, row.shown_form_id, span_of(row.week)].add(row.account_id)
    told = {cell for cell, accounts in shown_to.items() if cell[2] < veil.running and cell not in veil.fallen and is_enough(accounts, seen)}
    counted: dict[tuple[int, int, int, int], list[int]] = defaultdict(lambda: [0, 0, 0])
    for row in rows:
        if (row.pair_id, row.shown_form_id, span_of(row.week)) in told:
            sums = counted[row.account_id, row.pair_id, row.shown_form_id, row.said_form_id]
            for place, number in enumerate((row.times, row.fresh, row.three)):
                sums[place] += number
    return [Sum(*key, *sums) for key, sums in counted.items()]


def _rows(db: Session, group_id: int, pupils: Collection[Pupil], pair_ids: Collection[int]) -> list[SpanSum]:
    """Return sums by week; what holds answers from before somebody joined is put in without them."""
    accounts = {one.account_id for one in pupils}
    before = {cell for cell in begun_before(db, group_id, pair_ids) if cell[0] in accounts}
    rows = [row for row in reading.span_sums(db, accounts, pair_ids) if (row.account_id, row.pair_id) not in before]
    for cell, tally in folded_since(db, pupils, before).items():
        for key, number in tally.items():
            fresh, three = (number if counts else 0 for counts in (key.fresh, key.choices > 2))
            rows.append(SpanSum(*cell, key.shown_form_id, key.said_form_id, key.week, number, fresh, three))
    return rows
