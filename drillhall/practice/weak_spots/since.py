"""Folds again what somebody had begun before she joined, so that the group is told what she answered since, and nothing else."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedRound, fold_pair
from drillhall.core.values import TallyKey
from drillhall.practice.logged import logged_rounds_of
from drillhall.practice.weak_spots.seeing import Pupil


def folded_since(db: Session, pupils: Iterable[Pupil], cells: Iterable[tuple[int, int]]) -> dict[tuple[int, int], Mapping[TallyKey, int]]:
    """Fold the rounds of some learners and pairs again, those alone in which every answer was given since she joined."""
    since = {one.account_id: one.since for one in pupils}
    wanted: dict[int, set[int]] = defaultdict(set)
    for account_id, pair_id in cells:
        if account_id in since:
            wanted[account_id].add(pair_id)
    logs = logged_rounds_of(db, wanted) if wanted else {}
    return {cell: fold_pair([one for one in rounds if _is_since(one, since[cell[0]])]).tally for cell, rounds in logs.items()}


def _is_since(logged: LoggedRound, since: datetime) -> bool:
    return all(answer.at >= since for showing in logged.showings for answer in showing.answers)
