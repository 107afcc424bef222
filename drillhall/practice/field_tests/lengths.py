"""Says how many questions a test should have, from what tests before it were worth: the group's own, else others' on the same pairs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.practice.field_tests.results import ClassResults, class_results
from drillhall.practice.group_log import FEWEST
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.queries import field_tests as reading

LOOKED_BACK: Final = 5
"""So many tests are looked back on, the latest."""


@dataclass(frozen=True, slots=True)
class KnownReliability:
    """What an earlier test was worth: its reliability, by how many sitters, and how many questions of its kind another would need.

    title: empty where it was another group's; needed: questions, or None, by wanted reliability in hundredths.
    """

    title: str
    questions: int
    sitters: int
    kr20: float
    needed: Mapping[int, int | None]


def find_known(db: Session, group_id: int, pair_ids: Sequence[int], *, kind: str, is_paid: bool, at: datetime) -> KnownReliability | None:
    """Return what the group's latest test was worth that may be told of; else what another group's was that asked of no other pairs.

    Of another group's nothing is told but that sum, and of fewer than five sitters nothing at all.
    """
    own = [row for row in reading.tests_of_group(db, group_id)[:LOOKED_BACK] if row.retired_at is None and row.until <= at]
    for row in own:
        found = _worth(row, class_results(db, row, kind=kind, is_paid=is_paid, at=at), row.title)
        if found is not None:
            return found
    return _elsewhere(db, group_id, pair_ids, at=at)


def _elsewhere(db: Session, group_id: int, pair_ids: Sequence[int], *, at: datetime) -> KnownReliability | None:
    """Return what the test was worth that most have sat, of the latest in other groups that asked of no other pairs."""
    found = []
    for row in reading.tests_on_pairs(db, pair_ids, not_of=group_id, over_by=at, limit=LOOKED_BACK):
        group = db.get_one(GroupRow, row.group_id)
        known = _worth(row, class_results(db, row, kind=group.kind, is_paid=group.is_paid, at=at), "")
        if known is not None and known.sitters >= FEWEST:
            found.append(known)
    return max(found, key=lambda one: one.sitters, default=None)


def _worth(row: FieldTestRow, results: ClassResults, title: str) -> KnownReliability | None:
    trusted = results.reliability
    if trusted is None or trusted.kr20 is None:
        return None
    return KnownReliability(title, trusted.questions, trusted.sitters, trusted.kr20, results.needed)
