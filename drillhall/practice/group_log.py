"""What a group may know of its learners: answers given since each joined, on pairs assigned to the group, and nothing else."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.folding import fold_pair
from drillhall.core.memory import USUAL_PARAMETERS, Parameters
from drillhall.core.values import Memory, TallyKey
from drillhall.practice.logged import logged_rounds_of
from drillhall.practice.remembering import memory_of, parameters_in
from drillhall.practice.skill import tally_key
from drillhall.store.queries import leader as reading

FEWEST = 5
"""Of fewer learners than this nothing is told in sum: it would tell of one of them."""


@dataclass(frozen=True, slots=True)
class Learner:
    """Somebody who learns in a group; `is_named`: whoever leads it may see her progress by name.

    `parameters` are those by which her rounds are folded, and so those by which her memory fades.
    """

    account_id: int
    name: str
    is_named: bool
    parameters: Parameters = USUAL_PARAMETERS


@dataclass(frozen=True, slots=True)
class Known:
    """What one learner's answers on one pair come to, of those that the group may know."""

    memory: Memory | None = None
    tally: Mapping[TallyKey, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GroupLog:
    """The learners of a group, and what is known of each by learner and pair."""

    learners: tuple[Learner, ...]
    known: Mapping[tuple[int, int], Known]

    def of(self, learner: Learner, pair_id: int) -> Known:
        """Return what is known of a learner about a pair."""
        return self.known.get((learner.account_id, pair_id), Known())

    def has_begun(self, learner: Learner, pair_ids: Collection[int]) -> bool:
        """Whether a learner has answered about any of some pairs."""
        return any(self.of(learner, pair_id).tally for pair_id in pair_ids)


def the_group_log(db: Session, group_id: int, kind: str, pair_ids: Collection[int]) -> GroupLog:
    """Return what a group may know about some pairs; a teacher sees the class by name, a leader those who agreed.

    What was folded from answers before somebody joined is folded again without them.
    """
    rows = reading.learners(db, group_id)
    accounts = [row.account_id for row in rows]
    before = reading.pairs_known_before(db, group_id, pair_ids)
    memories = {(row.account_id, row.pair_id): memory_of(row) for row in reading.memories(db, accounts, pair_ids)}
    tallies: dict[tuple[int, int], dict[TallyKey, int]] = defaultdict(dict)
    for row in reading.tallies(db, accounts, pair_ids):
        tallies[(row.account_id, row.pair_id)][tally_key(row)] = row.count
    known = {cell: Known(memories.get(cell), tallies.get(cell, {})) for cell in memories.keys() | tallies.keys()}
    taken = reading.own_parameters(db, accounts)
    learners = tuple(
        Learner(row.account_id, row.name, kind == "class" or row.lets_leader_see, parameters_in(taken.get(row.account_id))) for row in rows
    )
    return GroupLog(learners, known | _folded_since(db, learners, {row.account_id: row.since for row in rows}, before))


def _folded_since(
    db: Session, learners: Collection[Learner], since: Mapping[int, datetime], cells: Collection[tuple[int, int]]
) -> dict[tuple[int, int], Known]:
    """Fold the rounds of some learners and pairs again, those alone in which every answer was given since she joined."""
    parameters = {one.account_id: one.parameters for one in learners}
    wanted: dict[int, set[int]] = defaultdict(set)
    for account_id, pair_id in cells:
        if account_id in since:
            wanted[account_id].add(pair_id)
    logs = logged_rounds_of(db, wanted) if wanted else {}
    found = {}
    for account_id, pair_ids in wanted.items():
        for pair_id in pair_ids:
            rounds = [
                one
                for one in logs.get((account_id, pair_id), [])
                if all(answer.at >= since[account_id] for showing in one.showings for answer in showing.answers)
            ]
            fold = fold_pair(rounds, parameters=parameters[account_id])
            found[(account_id, pair_id)] = Known(fold.memory, fold.tally)
    return found
