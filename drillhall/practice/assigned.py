"""What is assigned to a learner: for the planning of her drills, and in words for whoever looks at her first page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from drillhall.core.rounds.outings import raised_targets
from drillhall.core.values import Outing
from drillhall.store.models.people import AccountRow
from drillhall.store.queries.leader import pairs_of_sets
from drillhall.store.queries.learner import TakenPair
from drillhall.store.queries.sets import Assigned, assigned_to, outings_ahead
from drillhall.words import Said, say


@dataclass(frozen=True, slots=True)
class SetForHer:
    """A pair set that a group of hers has set: since which day, for which day, and which pairs."""

    title: str
    group: str
    group_kind: str
    since: date
    for_day: date | None
    target_recall: float | None
    pair_ids: frozenset[int]

    @property
    def says(self) -> Said:
        """Why one of its rounds is there."""
        return say("Your class has set these") if self.group_kind == "class" else say("Your club has set these")


@dataclass(frozen=True, slots=True)
class AssignedToHer:
    """Everything assigned to a learner that runs on her day, and the days in the field that her groups have ahead."""

    sets: tuple[SetForHer, ...]
    today: date
    days_out: tuple[Outing, ...] = ()

    @property
    def outings(self) -> tuple[Outing, ...]:
        """Those with a date, as the planner knows them."""
        dated = tuple(Outing(one.for_day, one.since, one.pair_ids, one.target_recall) for one in self.sets if one.for_day is not None)
        return (*dated, *self.days_out)

    def raised_targets(self, *, own: float) -> dict[int, float]:
        """Return the target recall of each pair of which more is asked than her own; nobody's wish lowers it."""
        sets = (Outing(one.for_day or self.today, one.since, one.pair_ids, one.target_recall) for one in self.sets)
        return raised_targets((*sets, *self.days_out), own=own, today=self.today)

    def says_of(self, pair_id: int) -> Said | None:
        """Return who has set a pair, in words, or None."""
        return next((one.says for one in self.sets if pair_id in one.pair_ids), None)


def pairs_by_set(rows: Iterable[TakenPair]) -> dict[int, frozenset[int]]:
    """Return the pairs of each of a learner's sets."""
    sets: dict[int, set[int]] = defaultdict(set)
    for row in rows:
        sets[row.pair_set_id].add(row.id)
    return {set_id: frozenset(pair_ids) for set_id, pair_ids in sets.items()}


def the_assigned(
    db: Session, account: AccountRow, *, today: date, known: Mapping[int, frozenset[int]] = MappingProxyType({})
) -> AssignedToHer:
    """Return what is assigned to a learner on her local day, the nearest date first; what is over is left out.

    `known`: the pairs in use of sets that have been read already.
    """
    rows = [row for row in assigned_to(db, account.id) if row.from_day <= today and (row.for_day is None or row.for_day >= today)]
    ahead = outings_ahead(db, account.id, on=today)
    pairs = pairs_of_sets(db, ({row.pair_set_id for row in rows} | {set_id for set_id, *_ in ahead}) - known.keys())
    ids = {set_id: frozenset(pair.id for pair in its) for set_id, its in pairs.items()} | dict(known)
    zone = ZoneInfo(account.zone)
    days_out = tuple(
        Outing(day, max(made_at, since).astimezone(zone).date(), ids.get(set_id, frozenset())) for set_id, day, made_at, since in ahead
    )
    return AssignedToHer(tuple(_for_her(row, ids, account.zone) for row in rows), today, days_out)


def says_of_pairs(db: Session, account: AccountRow, pair_ids: Iterable[int], *, today: date) -> Mapping[int, Said]:
    """Return, of those pairs that a group of hers has set, who has set them."""
    assigned = the_assigned(db, account, today=today)
    return {pair_id: says for pair_id in pair_ids if (says := assigned.says_of(pair_id))}


def _for_her(row: Assigned, ids: Mapping[int, frozenset[int]], zone: str) -> SetForHer:
    joined = row.member_since.astimezone(ZoneInfo(zone)).date()
    return SetForHer(
        title=row.set_title,
        group=row.group_title,
        group_kind=row.group_kind,
        since=max(row.from_day, joined),
        for_day=row.for_day,
        target_recall=row.target_recall,
        pair_ids=ids.get(row.pair_set_id, frozenset()),
    )
